//! `prints`: the prints on the shelf and the bench, what state they are in, and whether a reel may be shown.

use super::logbook::add;
use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::prints::{self, PrintSheet, told};
use clap::{Args, Subcommand};
use jiff::civil::DateTime;
use logbook::{
    Fact, PrintId,
    fact::{PrintHandled, PrintInspected, ShrinkageTaken},
};
use serde::de::DeserializeOwned;
use units::{Frames, Metres};

/// The prints: what state each reel is in, and whether it may be shown
#[derive(Debug, Args)]
pub struct Prints {
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// Every print, those that are wanted next first
    List,
    /// One print: its reels, what was found, on which machine it may run, and what appeared since when
    Show(Which),
    /// On which machine each reel may be shown, or not at all, and why
    Decide(Which),
    /// The condition report, as it goes back with the print
    Report(Which),
    /// What the prints of a showing say: reels that must not be shown, or only on conditions
    Before {
        /// The showing, by its short name in the diary
        showing: String,
    },
    /// Write down what was found along a reel
    Inspect(Box<Inspect>),
    /// Write down that a print came, was rewound, cleaned or mended, or went out
    Handled(Handled),
}

#[derive(Debug, Args)]
struct Which {
    /// The print, by its short name (`feature-07`)
    print: String,
}

#[derive(Debug, Args)]
struct Inspect {
    /// The print, by its short name
    print: String,
    /// The reel, by its number in the print
    reel: u32,
    /// One finding, as often as there are (`12.4 m splice tape weak`, `48 ft + 12 to 50 ft perforations 4: sound side`)
    #[arg(long, value_name = "FINDING")]
    found: Vec<String>,
    /// Shrinkage at head, middle and tail, in that order (`0.7 %`, or the length of 100 perforations: `756.7 mm`)
    #[arg(long, value_name = "SHRINKAGE")]
    shrinkage: Vec<String>,
    /// What its edge says (safety, nitrate, nothing-to-read)
    #[arg(long)]
    edge: Option<String>,
    /// What it is made of (acetate, polyester, nitrate)
    #[arg(long)]
    base: Option<String>,
    /// Acid paper after a day in the closed can, 0 to 3
    #[arg(long)]
    acid_level: Option<f64>,
    /// Does it smell of vinegar?
    #[arg(long)]
    vinegar: Option<bool>,
    /// Colour gone (none, slight, strong)
    #[arg(long)]
    fade: Option<String>,
    /// Is there a leader to thread by?
    #[arg(long)]
    leader: Option<bool>,
    /// Which end lies outside (heads-out, tails-out)
    #[arg(long)]
    wound: Option<String>,
    /// Its length as measured (`303 m`, `995 ft`)
    #[arg(long)]
    length: Option<String>,
    /// What it is wound on
    #[arg(long, default_value = "")]
    spool: String,
    /// In words
    #[arg(long, default_value = "")]
    note: String,
    /// When, on the booth's clock (`2026-11-20T19:30`); left out: now
    #[arg(long, value_name = "MOMENT")]
    at: Option<DateTime>,
}

#[derive(Debug, Args)]
struct Handled {
    /// The print, by its short name
    print: String,
    /// What was done (arrived, rewound, cleaned, mended, sent)
    deed: String,
    /// With which reels; left out: all of them
    #[arg(long = "reel")]
    reels: Vec<u32>,
    /// Which end lies outside now (heads-out, tails-out)
    #[arg(long)]
    wound: Option<String>,
    /// From whom it came, or to whom it went
    #[arg(long, default_value = "")]
    whom: String,
    /// In what state
    #[arg(long, default_value = "")]
    condition: String,
    /// In words
    #[arg(long, default_value = "")]
    note: String,
    /// When, on the booth's clock; left out: now
    #[arg(long, value_name = "MOMENT")]
    at: Option<DateTime>,
}

impl Prints {
    /// Answers, or writes.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let today = desk.today();
        match &self.question {
            Question::List => {
                let rows = prints::prints(&desk.booth, &desk.library);
                if common.json {
                    return print::json(&views::prints::rows_json(&rows));
                }
                print::sheet(&views::prints::list(&rows, today))
            }
            Question::Show(which) => {
                let sheet = find(&desk, &which.print)?;
                answer(common, &sheet, || views::prints::sheet(&sheet, &desk.booth, today))
            }
            Question::Decide(which) => {
                let sheet = find(&desk, &which.print)?;
                answer(common, &sheet, || views::prints::decisions(&sheet))
            }
            Question::Report(which) => {
                let sheet = find(&desk, &which.print)?;
                answer(common, &sheet, || views::prints::report(&sheet, &desk.booth, today))
            }
            Question::Before { showing } => before(common, &desk, showing),
            Question::Inspect(inspect) => {
                let fact = inspect.fact(&desk)?;
                write(common, &desk, inspect.at, fact)
            }
            Question::Handled(handled) => {
                let fact = handled.fact()?;
                write(common, &desk, handled.at, fact)
            }
        }
    }
}

fn find<'d>(desk: &'d Desk, print: &str) -> Result<PrintSheet<'d>, Failure> {
    prints::print_sheet(&desk.booth, &desk.library, &PrintId::new(print)).ok_or_else(|| {
        Failure::new(Kind::Usage, format!("no print is called `{print}` in this logbook"))
            .hinted("`prints list` names them all")
    })
}

fn answer(common: &Common, sheet: &PrintSheet<'_>, lay_out: impl FnOnce() -> views::Sheet) -> Outcome {
    if common.json {
        return print::json(&views::prints::print_json(sheet));
    }
    print::sheet(&lay_out())
}

fn before(common: &Common, desk: &Desk, showing: &str) -> Outcome {
    let known = desk.booth.showings.get(showing).ok_or_else(|| {
        Failure::new(Kind::Usage, format!("no showing is called `{showing}` in the diary"))
            .hinted("`tonight --json` and `logbook list` name the showings")
    })?;
    let warnings = prints::warnings(&desk.booth, &desk.library, known);
    if common.json {
        return print::json(&views::prints::warnings_json(&warnings));
    }
    let mut sheet = views::Sheet::new(format!("{}: its prints", known.title));
    let lines = views::prints::warnings(&warnings);
    if lines.is_empty() {
        sheet.say("Nothing that was found on its prints speaks against showing them.");
    } else {
        sheet.push(views::Block::List(lines));
    }
    print::sheet(&sheet)
}

fn write(common: &Common, desk: &Desk, at: Option<DateTime>, fact: Fact) -> Outcome {
    let by = desk.who(common)?;
    let happened = match at {
        Some(at) => desk.moment(at)?,
        None => desk.when(),
    };
    let entry = desk.write(by, happened, fact)?;
    add::said(common.json, &entry)
}

fn word<T: DeserializeOwned>(field: &str, text: Option<&String>) -> Result<Option<T>, Failure> {
    text.map(|text| add::word(field, text)).transpose()
}

fn amiss(error: &dyn std::error::Error) -> Failure {
    Failure::new(Kind::Usage, error.to_string())
}

impl Inspect {
    fn fact(&self, desk: &Desk) -> Result<Fact, Failure> {
        let sheet = find(desk, &self.print)?;
        let gauge = sheet.gauge.ok_or_else(|| {
            Failure::new(
                Kind::Refused,
                format!("the gauge `{}` of this print is not known", sheet.print.gauge),
            )
            .hinted("correct the print first: 16mm, 35mm, super8 or standard8")
        })?;
        let known = sheet.print.reels.iter().find(|reel| reel.reel == self.reel).map(|reel| reel.length_m);
        let length = self.length.as_ref().map(|text| text.parse::<Metres>()).transpose();
        let length = length.map_err(|error| amiss(&error))?;
        let frames = length.or(known).and_then(|length| gauge.frames_in(length).ok()).unwrap_or_default();
        let found =
            self.found.iter().map(|line| told::read_finding(line, gauge)).collect::<Result<Vec<_>, _>>();
        let last = i64::try_from(self.shrinkage.len().saturating_sub(1).max(1)).unwrap_or(i64::MAX);
        let shrinkage = self.shrinkage.iter().zip(0_i64..).map(|(text, place)| {
            let (shrinkage_percent, how) = told::read_shrinkage(text, gauge)?;
            let at_frame = Frames::new(frames.count() * place / last);
            Ok(ShrinkageTaken { at_frame, shrinkage_percent, how })
        });
        let shrinkage: Result<Vec<_>, told::NotAFinding> = shrinkage.collect();
        Ok(PrintInspected {
            print: PrintId::new(&self.print),
            reel: self.reel,
            length_m: length,
            base: word("--base", self.base.as_ref())?,
            edge: word("--edge", self.edge.as_ref())?,
            shrinkage: shrinkage.map_err(|error| amiss(&error))?,
            acid_level: self.acid_level,
            vinegar: self.vinegar,
            fade: word("--fade", self.fade.as_ref())?,
            leader: self.leader,
            wound: word("--wound", self.wound.as_ref())?,
            spool: self.spool.clone(),
            found: found.map_err(|error| amiss(&error))?,
            note: self.note.clone(),
            photos: Vec::new(),
        }
        .into())
    }
}

impl Handled {
    fn fact(&self) -> Result<Fact, Failure> {
        let deed = word("the deed", Some(&self.deed))?;
        Ok(PrintHandled {
            print: PrintId::new(&self.print),
            deed: deed.ok_or_else(|| Failure::new(Kind::Usage, "the deed is needed"))?,
            reels: self.reels.clone(),
            wound: word("--wound", self.wound.as_ref())?,
            whom: self.whom.clone(),
            condition: self.condition.clone(),
            note: self.note.clone(),
        }
        .into())
    }
}
