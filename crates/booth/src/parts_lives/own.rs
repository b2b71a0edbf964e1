//! The lives that the booth has seen.

use super::CONFIDENCE;
use crate::lived::{Entered, Stretch};
use ::lives::{
    LifeRecord, Lives,
    curve::{Curve, kaplan_meier},
};
use logbook::{EntryId, MachineId, PartId, fact::Ending};

/// A part's time in one machine.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct OwnLife<'a> {
    /// The part.
    pub part: &'a PartId,
    /// The machine.
    pub machine: &'a MachineId,
    /// Its age when it came in.
    pub entered: Entered,
    /// How long it was there, on the clock.
    pub watched: f64,
    /// Why it came out; none: it is still in.
    pub ending: Option<Ending>,
    /// It came to its end there: it failed, or was found worn past use.
    pub failed: bool,
    /// The entry that fitted it.
    pub entry: EntryId,
}

impl<'a> OwnLife<'a> {
    pub(super) fn of(stretch: &Stretch<'a>) -> Self {
        Self {
            part: stretch.part,
            machine: stretch.machine,
            entered: stretch.entered,
            watched: stretch.watched,
            ending: stretch.ending,
            failed: stretch.failed(),
            entry: stretch.entry,
        }
    }

    /// Its age when it was last seen there; none where nobody knows how old it came in.
    pub fn last_age(&self) -> Option<f64> {
        match self.entered {
            Entered::At(age) => Some(age + self.watched),
            Entered::Within(..) => None,
        }
    }

    /// The same as a record; none where its age is not known, or it was watched for no time at all.
    fn record(&self) -> Option<LifeRecord> {
        let Entered::At(entered) = self.entered else { return None };
        let left = self.last_age().filter(|left| *left > entered)?;
        let record = if self.failed { LifeRecord::failed(left) } else { LifeRecord::censored(left) };
        Some(record.entered_at(entered))
    }
}

/// What lives of known age draw by themselves (Kaplan and Meier); none where there are none.
pub(super) fn curve(own: &[OwnLife<'_>]) -> Option<Curve> {
    let records: Vec<LifeRecord> = own.iter().filter_map(OwnLife::record).collect();
    if records.is_empty() {
        return None;
    }
    let lives = Lives::new(records).expect("each record ends after it began");
    Some(kaplan_meier(&lives, CONFIDENCE).expect("every failure of a stretch was seen"))
}
