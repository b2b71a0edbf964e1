//! `fault tried`: what a remedy did.

use super::common::{Did, at_desk, say, word, write};
use crate::{cli::Common, desk::Desk, failure::Outcome};
use booth::desk::{OpenFault, find_remedy};
use clap::Args;
use logbook::{
    fact::{FaultTried, RemedyResult, Used},
    ids::{ItemId, RemedyId},
};
use machine::Remedy;

/// Say what a remedy did
#[derive(Debug, Args)]
pub struct Tried {
    /// The fault, or the beginning of its name
    fault: String,
    /// The remedy: its id, or words of it
    remedy: String,
    /// helped, no, cannot-tell or skip
    result: String,
    /// No spare was taken from the stock
    #[arg(long)]
    no_spare: bool,
    /// How long it took, in minutes
    #[arg(long)]
    minutes: Option<f64>,
    /// In words
    #[arg(long, default_value = "")]
    note: String,
}

/// The results that there are.
pub const RESULTS: [(&str, RemedyResult); 8] = [
    ("helped", RemedyResult::Helped),
    ("yes", RemedyResult::Helped),
    ("no", RemedyResult::DidNotHelp),
    ("did-not-help", RemedyResult::DidNotHelp),
    ("cannot-tell", RemedyResult::CannotTell),
    ("skip", RemedyResult::Skipped),
    ("skipped", RemedyResult::Skipped),
    ("not-done", RemedyResult::Skipped),
];

impl Tried {
    /// Writes it, draws the spare from the stock, and says what comes next.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let result = word("the result", &self.result, &RESULTS)?;
        let (fact, words) = {
            let open = at_desk(&desk, &self.fault)?;
            let remedy = find_remedy(open.kind, &self.remedy)?;
            let (used, spare) = if self.no_spare || result == RemedyResult::Skipped {
                (Vec::new(), String::new())
            } else {
                spare(&open, remedy)
            };
            let fact = FaultTried {
                fault: open.id.clone(),
                remedy: RemedyId::new(remedy.id.as_str()),
                result,
                minutes: self.minutes,
                used,
                note: self.note.clone(),
            };
            (fact, format!("{}: {}.{spare}", remedy.name, self.result))
        };
        let fault = fact.fault.clone();
        let entry = write(common, &desk, fact)?;
        say(common, &mut desk, &fault, &Did { entry: Some(entry), words, ..Did::default() })
    }
}

/// The spare that leaves the stock, and a sentence about it. What nobody ever counted cannot be drawn from.
pub fn spare(open: &OpenFault<'_>, remedy: &Remedy) -> (Vec<Used>, String) {
    let Some(spare) = &remedy.spare else { return (Vec::new(), String::new()) };
    match open.booth.stock.get(spare.as_str()).filter(|item| item.is_known()) {
        Some(item) => {
            let used = Used { item: ItemId::new(spare.as_str()), count: 1 };
            (vec![used], format!(" One {} leaves the stock: {} are left.", item.name, item.count - 1))
        }
        None => (Vec::new(), format!(" Nobody ever counted `{spare}`, so that none leaves the stock.")),
    }
}
