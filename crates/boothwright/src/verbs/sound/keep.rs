//! Writing a measurement into the logbook: its readings, with the recording beside them.

use super::setting::Setting;
use crate::{
    cli::Common,
    failure::{Failure, Kind},
};
use booth::sound::{Measured, Noted, facts};
use clap::Args;
use jiff::civil::DateTime;
use serde_json::{Value, json};
use std::{
    collections::BTreeMap,
    fs::File,
    io::{Seek, SeekFrom},
};
use views::{Block, Sheet, Words};

/// What is written down.
#[derive(Debug, Args)]
pub struct Keep {
    /// Write the readings into the logbook and keep the recording with them
    #[arg(long)]
    log: bool,
    /// The readings are the machine's baseline from here on
    #[arg(long, requires = "log")]
    baseline: bool,
    /// A condition that the recording does not show (`"lower loop=at the mark"`); may be given several times
    #[arg(long = "condition", value_name = "NAME=WORDS", requires = "log", value_parser = condition)]
    conditions: Vec<(String, String)>,
    /// When it was recorded, on the booth's clock (`2026-11-20T19:30`); left out: now
    #[arg(long, value_name = "MOMENT", requires = "log")]
    at: Option<DateTime>,
}

fn condition(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((name, words)) if !name.trim().is_empty() => {
            Ok((name.trim().to_owned(), words.trim().to_owned()))
        }
        _ => Err("give a name and words, as in `lower loop=at the mark`".to_owned()),
    }
}

/// What was written.
pub struct Kept {
    recording: String,
    baseline: bool,
    written: Vec<(String, String)>,
    left_out: Vec<&'static str>,
}

impl Keep {
    /// True if the result is to be written down.
    pub const fn is_asked(&self) -> bool {
        self.log
    }

    /// Keeps the recording and writes its readings.
    pub fn write(
        &self,
        common: &Common,
        setting: &Setting,
        figures: &[Measured],
        file: &mut File,
    ) -> Result<Kept, Failure> {
        let (Some(desk), Some(machine), Some(kind)) = (&setting.desk, &setting.machine, setting.kind())
        else {
            return Err(Failure::new(Kind::Usage, "--log needs to know which machine was recorded"));
        };
        let by = desk.who(common)?;
        let happened = self.at.map_or_else(|| Ok(desk.when()), |at| desk.moment(at))?;
        let mut noted = Noted {
            machine: machine.clone(),
            recording: None,
            baseline: self.baseline,
            conditions: self.conditions.iter().cloned().collect::<BTreeMap<_, _>>(),
        };
        // What the gate would refuse is refused before anything is kept.
        let (drafts, left_out) = facts(figures, kind, &noted);
        if drafts.is_empty() {
            return Err(Failure::new(
                Kind::Refused,
                format!("nothing was written: {} has no limit for what was measured", kind.id),
            ));
        }
        file.seek(SeekFrom::Start(0)).map_err(|error| {
            Failure::new(Kind::World, format!("cannot read the recording again: {error}"))
        })?;
        let recording = desk.store.attachments().put_from(file)?.id.to_string();
        noted.recording = Some(recording.clone());
        let mut written = Vec::new();
        for (fact, one) in facts(figures, kind, &noted).0.into_iter().zip(names(figures, &left_out)) {
            let entry = desk.write(by.clone(), happened, fact)?;
            written.push((one.to_owned(), entry.id.to_string()));
        }
        Ok(Kept { recording, baseline: self.baseline, written, left_out })
    }
}

/// The quantities that are written, in their order.
fn names<'f>(
    figures: &'f [Measured],
    left_out: &'f [&'static str],
) -> impl Iterator<Item = &'static str> + 'f {
    figures.iter().map(|one| one.quantity).filter(|quantity| !left_out.contains(quantity))
}

impl Kept {
    /// Adds what was written to the answer.
    pub fn tell(&self, sheet: &mut Sheet, answer: &mut Value) {
        answer["recording"] = json!(self.recording);
        answer["entries"] = self
            .written
            .iter()
            .map(|(quantity, entry)| json!({ "quantity": quantity, "entry": entry }))
            .collect();
        let baseline = if self.baseline { " as the baseline" } else { "" };
        sheet.heading("Written down");
        let mut lines: Vec<Words> = self
            .written
            .iter()
            .map(|(quantity, entry)| format!("{quantity}{baseline}, entry {entry}").into())
            .collect();
        lines.push(format!("recording {}", self.recording).into());
        lines.extend(
            self.left_out
                .iter()
                .map(|quantity| format!("not written: {quantity}, which the type does not limit").into()),
        );
        sheet.push(Block::List(lines));
    }
}
