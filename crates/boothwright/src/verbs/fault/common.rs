//! What the verbs of the fault desk share.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::desk::{FaultSheet, NotAtDesk, OpenFault, open};
use logbook::{Entry, Fact, FaultId};
use serde::Serialize;

impl From<NotAtDesk> for Failure {
    fn from(error: NotAtDesk) -> Self {
        let hint = match &error {
            NotAtDesk::Fault { .. } => "`boothwright fault list` has the faults",
            NotAtDesk::Name { what: "symptom", .. } => {
                "`boothwright fault symptoms MACHINE` has what one can pick"
            }
            NotAtDesk::NoTroubles { .. } | NotAtDesk::Unsound { .. } => {
                "`boothwright types check FILE` says what is wrong"
            }
            NotAtDesk::NotKnown(_) => "`boothwright machines` has the machines",
            NotAtDesk::Name { .. } => "`boothwright fault explain FAULT` has the steps with their ids",
        };
        Self::new(Kind::Usage, &error).hinted(hint)
    }
}

/// What a verb that writes answers: the entry, and the fault as it stands now.
#[derive(Serialize)]
struct Written<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    entry: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    taken_back: Option<String>,
    #[serde(flatten)]
    sheet: &'a FaultSheet,
}

/// What was done by the verb.
#[derive(Default)]
pub struct Did {
    /// The entry that it wrote.
    pub entry: Option<Entry>,
    /// The entry that it took back.
    pub taken_back: Option<logbook::EntryId>,
    /// A line about it.
    pub words: String,
}

/// Puts a fault on the desk.
pub fn at_desk<'d>(desk: &'d Desk, fault: &str) -> Result<OpenFault<'d>, Failure> {
    Ok(open(&desk.booth, &desk.library, fault, &desk.now)?)
}

/// Says what was done, and what comes next.
pub fn say(common: &Common, desk: &mut Desk, fault: &FaultId, did: &Did) -> Outcome {
    desk.refresh()?;
    let sheet = at_desk(desk, fault.as_str())?.sheet();
    if common.json {
        let entry = did.entry.as_ref().map(|entry| entry.id.to_string());
        let taken_back = did.taken_back.map(|entry| entry.to_string());
        return print::json(&Written { entry, taken_back, sheet: &sheet });
    }
    if !did.words.is_empty() {
        print::text(&format!("{}\n\n", did.words))?;
    }
    print::sheet(&views::desk::sheet(&sheet))
}

/// Writes a fact about a fault, now.
pub fn write(common: &Common, desk: &Desk, fact: impl Into<Fact>) -> Result<Entry, Failure> {
    desk.write(desk.who(common)?, desk.when(), fact.into())
}

/// Reads a word of a closed list; other spellings of the same are taken, too, and a beginning that means one thing only.
pub fn word<T: Copy + PartialEq>(what: &str, asked: &str, words: &[(&str, T)]) -> Result<T, Failure> {
    let low = match asked.trim().to_lowercase().replace([' ', '_'], "-") {
        short if short == "n" => "no".to_owned(),
        other => other,
    };
    let begun = || words.iter().filter(|(word, _)| !low.is_empty() && word.starts_with(&low));
    let one_meaning = || begun().next().filter(|(_, value)| begun().all(|(_, other)| other == value));
    let meant = words.iter().find(|(word, _)| *word == low).or_else(one_meaning);
    meant.map(|(_, value)| *value).ok_or_else(|| {
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        Failure::new(Kind::Usage, format!("{what} `{asked}` is not one of {}", known.join(", ")))
    })
}
