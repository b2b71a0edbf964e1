//! `fault answer`: a question is answered.

use super::common::{Did, at_desk, say, word, write};
use crate::{cli::Common, desk::Desk, failure::Outcome};
use booth::desk::find_asked;
use clap::Args;
use logbook::{
    fact::{Asked, FaultAnswered, FaultReply},
    ids::{AskedId, QuantityId},
};

/// Answer a question or check
#[derive(Debug, Args)]
pub struct Answer {
    /// The fault, or the beginning of its name
    fault: String,
    /// What was asked: the id of a check, circumstance or symptom, or words of it
    what: String,
    /// yes, no, cannot-tell or skip
    #[arg(value_name = "ANSWER")]
    said: String,
    /// What was read, where the check takes a reading
    #[arg(long, allow_negative_numbers = true)]
    value: Option<f64>,
    /// The unit of what was read
    #[arg(long, default_value = "")]
    unit: String,
    /// How long it took, in minutes
    #[arg(long)]
    minutes: Option<f64>,
    /// In words
    #[arg(long, default_value = "")]
    note: String,
}

/// The answers that there are.
pub const ANSWERS: [(&str, FaultReply); 5] = [
    ("yes", FaultReply::Yes),
    ("no", FaultReply::No),
    ("cannot-tell", FaultReply::CannotTell),
    ("skip", FaultReply::Skipped),
    ("skipped", FaultReply::Skipped),
];

impl Answer {
    /// Writes the answer, and says what comes next.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let reply = word("the answer", &self.said, &ANSWERS)?;
        let (fact, words) = {
            let open = at_desk(&desk, &self.fault)?;
            let asked = find_asked(open.kind, &self.what)?;
            let check = open.kind.trouble.check(asked.id).filter(|_| asked.asked == Asked::Check);
            let quantity = check.and_then(|check| check.reading.as_ref()).filter(|_| self.value.is_some());
            let fact = FaultAnswered {
                fault: open.id.clone(),
                asked: asked.asked,
                which: AskedId::new(asked.id),
                answer: reply,
                quantity: quantity.map(|quantity| QuantityId::new(quantity.as_str())),
                value: self.value,
                unit: self.unit.clone(),
                minutes: self.minutes,
                note: self.note.clone(),
            };
            (fact, format!("{}: {}.", asked.name, self.said))
        };
        let fault = fact.fault.clone();
        let entry = write(common, &desk, fact)?;
        say(common, &mut desk, &fault, &Did { entry: Some(entry), words, ..Did::default() })
    }
}
