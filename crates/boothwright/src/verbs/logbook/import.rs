//! `logbook import`: a spreadsheet with a dry run first, or another logbook; all of it or nothing.

use crate::{
    cli::Common,
    desk::{self, Desk},
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use exchange::{
    jsonl,
    sheet::{self, Confidence, DryRun, Ground, Mapping, Question, Table},
};
use logbook::{Booth, Entry};
use serde::Serialize;
use std::{
    collections::BTreeSet,
    fmt::Write,
    io::{self, IsTerminal},
    path::PathBuf,
};
use store::EntryStore;

/// The largest exported logbook that is read into memory.
const LARGEST_EXPORT_BYTES: u64 = 4 << 30;

/// Bring in a spreadsheet (CSV) or another logbook (JSON Lines)
#[derive(Debug, Args)]
pub struct Import {
    /// The file: `.jsonl` is another logbook, anything else a spreadsheet saved as CSV
    file: PathBuf,
    /// What the columns mean, as docs/import.md shows it; left out: guessed, and asked where a terminal is there
    #[arg(long, value_name = "FILE")]
    mapping: Option<PathBuf>,
    /// Write down what was guessed and answered, for the next time
    #[arg(long, value_name = "FILE")]
    save_mapping: Option<PathBuf>,
    /// Rows to leave out, by the numbers that the dry run shows
    #[arg(long, value_name = "ROWS", value_delimiter = ',')]
    leave_out: Vec<usize>,
    /// Only show what would be written
    #[arg(long, conflicts_with = "yes")]
    dry_run: bool,
    /// Write it without asking, if no row keeps it back
    #[arg(long)]
    yes: bool,
}

impl Import {
    /// Imports.
    pub fn run(&self, common: &Common) -> Outcome {
        let is_export = self.file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("jsonl"));
        if is_export { self.merge(common) } else { self.spreadsheet(common) }
    }

    /// Takes in another logbook: the union of both.
    fn merge(&self, common: &Common) -> Outcome {
        /// What merging answers.
        #[derive(Serialize)]
        struct Answer {
            added: usize,
            already_there: usize,
        }
        let bytes = desk::read_bytes(&self.file, LARGEST_EXPORT_BYTES)?;
        let lines = jsonl::read(&bytes).map_err(|errors| {
            let listed: Vec<_> =
                errors.iter().take(20).map(|error| format!("{}: {error}", self.file.display())).collect();
            let more = errors.len().saturating_sub(listed.len());
            let more = if more > 0 { format!("\n… and {more} more") } else { String::new() };
            Failure::new(Kind::Refused, format!("nothing was imported\n{}{more}", listed.join("\n")))
        })?;
        let desk = Desk::open(common, true)?;
        let records: Vec<_> = lines.into_iter().map(|line| line.chained).collect();
        if self.dry_run {
            let mut added = 0;
            for record in &records {
                added += usize::from(desk.store.get(record.record.id)?.is_none());
            }
            let answer = Answer { added, already_there: records.len() - added };
            return print::either(common.json, &answer, |answer| {
                format!("{} entries would be new, {} are here already.\n", answer.added, answer.already_there)
            });
        }
        let merged = desk.store.append_records(&records)?;
        let answer = Answer { added: merged.added, already_there: merged.already_there };
        print::either(common.json, &answer, |answer| {
            format!("{} entries are new, {} were here already.\n", answer.added, answer.already_there)
        })
    }

    fn spreadsheet(&self, common: &Common) -> Outcome {
        let bytes = desk::read_bytes(&self.file, sheet::LARGEST_FILE as u64)?;
        let table = Table::read(&bytes)
            .map_err(|error| Failure::new(Kind::Refused, format!("{}: {error}", self.file.display())))?;
        let desk = Desk::open(common, false)?;
        let by = desk.who(common)?;
        let mapping = self.mapping(&table, &desk, common.json)?;
        if let Some(file) = &self.save_mapping {
            std::fs::write(file, sheet::mapping_as_toml(&mapping)).map_err(|error| {
                Failure::new(Kind::World, format!("cannot write {}: {error}", file.display()))
            })?;
        }
        let read = |booth: &Booth, entries: &[Entry]| {
            let leave_out: BTreeSet<_> = self.leave_out.iter().copied().collect();
            let (now, device) = (desk.when(), desk.store.device());
            let ground = Ground { booth, entries, now, device, by: by.clone(), leave_out };
            sheet::read_sheet(&table, &mapping, &ground)
        };
        let entries = desk.store.entries()?;
        let run = read(&desk.booth, &entries);
        if common.json {
            print::json(&sheet::dry_run_as_json(&run))?;
        } else {
            print::text(&sheet::dry_run_as_text(&run))?;
        }
        if self.dry_run {
            return run.blocked().map_or(Ok(()), |blocked| {
                Err(Failure::new(Kind::Refused, format!("this would not be imported: {blocked}")))
            });
        }
        self.write(common, &desk, (entries, run), read)
    }

    /// Reads the mapping, or guesses it and asks what cannot be guessed.
    fn mapping(&self, table: &Table, desk: &Desk, quietly: bool) -> Result<Mapping, Failure> {
        if let Some(file) = &self.mapping {
            let text = desk::read_text(file, 1 << 20)?;
            return Mapping::read(&text).map_err(|errors| {
                let listed: Vec<_> =
                    errors.iter().map(|error| format!("{}: {error}", file.display())).collect();
                Failure::new(Kind::Refused, listed.join("\n")).hinted("docs/import.md describes the mapping")
            });
        }
        let guess = sheet::guess(table);
        if !quietly {
            print::text(&guessed(&guess))?;
        }
        let mut mapping = guess.mapping;
        if io::stdin().is_terminal() && !quietly && !self.yes && !self.dry_run {
            ask_all(table, &mut mapping, desk)?;
        }
        Ok(mapping)
    }

    /// Writes what was shown; where others wrote since, what the sheet comes to by now, if that is as much.
    fn write(
        &self,
        common: &Common,
        desk: &Desk,
        (known, shown): (Vec<Entry>, DryRun),
        read: impl Fn(&Booth, &[Entry]) -> DryRun,
    ) -> Outcome {
        let new = shown.drafts.len();
        let mut as_shown = Some(ready(desk, known, shown)?);
        if new == 0 {
            return Ok(());
        }
        if !self.yes && !agreed(common.json, new)? {
            return print::text("Nothing was imported.\n");
        }
        desk.doubt_the_clock()?;
        desk.write_all(|booth| {
            if let Some(entries) = as_shown.take() {
                return Ok(entries);
            }
            let known = desk.store.entries()?;
            let anew = read(booth, &known);
            if anew.drafts.len() != new {
                let by_now = anew.drafts.len();
                let what = format!("others wrote meanwhile, and the sheet comes to {by_now} entries by now, not {new}: nothing was imported");
                return Err(Failure::new(Kind::Refused, what).hinted("import it again and look at what it shows"));
            }
            ready(desk, known, anew)
        })?;
        if common.json { Ok(()) } else { print::text(&format!("Imported: {new} entries.\n")) }
    }
}

/// Returns the entries of a sheet that nothing keeps back.
fn ready(desk: &Desk, known: Vec<Entry>, run: DryRun) -> Result<Vec<Entry>, Failure> {
    let entries = run.into_entries().map_err(|blocked| {
        Failure::new(Kind::Refused, format!("nothing was imported: {blocked}")).hinted(
            "mend the sheet, say more in a mapping (docs/import.md), or name the rows with --leave-out",
        )
    })?;
    checked(desk, known, entries)
}

/// Checks what needs the machine types; the logbook's own rules were passed in the dry run.
fn checked(desk: &Desk, known: Vec<Entry>, mut new: Vec<Entry>) -> Result<Vec<Entry>, Failure> {
    if new.is_empty() {
        return Ok(new);
    }
    let booth = logbook::fold(known.into_iter().chain(new.iter().cloned()).collect()).booth;
    let mut refused = String::new();
    for entry in &mut new {
        if let Err(refusal) = booth::gate::fits_types(&entry.by, &mut entry.fact, &booth, &desk.library) {
            let _ = writeln!(refused, "  {}: {refusal}", entry.happened.date());
        }
    }
    if refused.is_empty() {
        return Ok(new);
    }
    Err(Failure::new(
        Kind::Refused,
        format!("nothing was imported; these do not fit the machines' types:\n{refused}"),
    ))
}

fn guessed(guess: &sheet::Guess) -> String {
    let mut text = String::from("The columns are taken to mean:\n");
    for column in &guess.columns {
        let field = column.field.map_or("not read", |field| field.word());
        let sure = match column.confidence {
            Confidence::Unsure => " (not sure)",
            _ => "",
        };
        let _ = writeln!(text, "  {:<24} {field}{sure}: {}", column.heading, column.because);
    }
    text.push('\n');
    text
}

/// Asks until nothing that is needed is left; what may be left open is asked once.
fn ask_all(table: &Table, mapping: &mut Mapping, desk: &Desk) -> Outcome {
    let mut asked = Vec::new();
    loop {
        let questions = sheet::questions(table, mapping, &desk.booth, desk.now.date());
        let Some(question) =
            questions.into_iter().find(|question| question.needed || !asked.contains(&question.subject))
        else {
            return Ok(());
        };
        asked.push(question.subject.clone());
        if !ask(&question, mapping)? {
            return Ok(());
        }
    }
}

/// Asks one question; returns false at the end of the input.
fn ask(question: &Question, mapping: &mut Mapping) -> Result<bool, Failure> {
    let mut text = format!("{}\n", question.text);
    for choice in &question.choices {
        let _ = writeln!(text, "  {:<20} {}", choice.answer, choice.words);
    }
    if let Some(free) = &question.free {
        let _ = writeln!(text, "  or {free}");
    }
    if !question.needed {
        text.push_str("  (an empty line leaves it open)\n");
    }
    print::text(&text)?;
    loop {
        print::text("> ")?;
        let mut line = String::new();
        let read = io::stdin()
            .read_line(&mut line)
            .map_err(|error| Failure::new(Kind::World, format!("the terminal cannot be read: {error}")))?;
        if read == 0 {
            return Ok(false);
        }
        let line = line.trim();
        if line.is_empty() && !question.needed {
            return Ok(true);
        }
        match sheet::answer(mapping, question, line) {
            Ok(()) => return Ok(true),
            Err(bad) => print::text(&format!("{bad}\n"))?,
        }
    }
}

/// Asks whether to write; without a terminal the answer is no, and says how to say yes.
fn agreed(quietly: bool, entries: usize) -> Result<bool, Failure> {
    if quietly || !io::stdin().is_terminal() {
        return Err(Failure::new(Kind::Refused, "nothing was imported: nobody is here to agree")
            .hinted("look at the dry run, then say --yes"));
    }
    print::text(&format!("Write these {entries} entries? [yes/no] "))?;
    let mut line = String::new();
    io::stdin()
        .read_line(&mut line)
        .map_err(|error| Failure::new(Kind::World, format!("the terminal cannot be read: {error}")))?;
    Ok(matches!(line.trim().to_lowercase().as_str(), "yes" | "y"))
}
