//! What the logbook tells that bears on the odds before anything is asked.
//!
//! Each circumstance multiplies the odds of one cause. The factors are common practice, no source, but for wear, whose
//! factor follows from the part's age and its prior life.

use super::{request::read_in_words, wear::wear};
use crate::{
    day::Now,
    due::DueState,
    due::due_for,
    verdict::{Verdict, judge},
};
use jiff::ZonedDateTime;
use logbook::{
    Booth, FaultId, MachineId,
    booth::{Fault, Machine, ReadingRecord},
    ids::EntryId,
};
use machine::{Cause, Library, MachineType, ReadingLimit, Trouble};
use serde::Serialize;
use std::collections::BTreeSet;

/// Why a circumstance bears on a cause.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CircumstanceKind {
    /// The age of its part.
    Wear,
    /// The care that keeps it away is overdue.
    CareOverdue,
    /// A part was fitted or taken out there shortly before.
    JustFitted,
    /// The last reading lies beyond its limit.
    Reading,
    /// The same fault was there not long ago.
    SameLately,
}

impl CircumstanceKind {
    /// The word that JSON and cases use.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Wear => "wear",
            Self::CareOverdue => "care-overdue",
            Self::JustFitted => "just-fitted",
            Self::Reading => "reading",
            Self::SameLately => "same-lately",
        }
    }
}

/// One circumstance.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Circumstance {
    /// What sort.
    pub kind: CircumstanceKind,
    /// The cause that it bears on.
    pub cause: machine::CauseId,
    /// By how much the odds are multiplied.
    pub factor: f64,
    /// In a sentence, without its full stop.
    pub words: String,
    /// The entry that tells it.
    pub entry: Option<EntryId>,
}

/// Overdue care makes what it keeps away likelier by this.
const OVERDUE: f64 = 2.0;
/// A fault after a service is most likely from that service.
const JUST_FITTED: f64 = 4.0;
/// So many hours of running after something was fitted, it is still new.
const STILL_NEW_HOURS: f64 = 3.0;
/// A reading beyond the bound at which something is to be done.
const BEYOND: f64 = 3.0;
/// A reading that wants watching.
const WATCHED: f64 = 1.5;
/// What was wrong within a month is likely wrong again.
const SAME_LATELY: f64 = 3.0;
/// A month, in milliseconds.
const MONTH_MS: i64 = 31 * 86_400_000;

/// Returns what bears on the causes of what was noticed, in the order of the type's table.
pub(super) fn circumstances(
    booth: &Booth,
    library: &Library,
    id: &FaultId,
    fault: &Fault,
    kind: &MachineType,
    now: &ZonedDateTime,
) -> Vec<Circumstance> {
    let Some(machine) = booth.machines.get(&fault.machine) else { return Vec::new() };
    let look = Look { booth, id, fault, kind, machine, now: Now::new(now, &booth.settings) };
    let overdue = look.overdue(library, now);
    let lately = look.lately();
    let mut found = Vec::new();
    for cause in in_question(&kind.trouble, fault) {
        // Of a part that wears its age says more than that it is new; of any other, that somebody was at it.
        found.extend(look.worn(cause).or_else(|| look.disturbed(cause)));
        found.extend(overdue.iter().filter_map(|task| late(kind, cause, task)).take(1));
        found.extend(look.read(cause));
        found.extend(
            lately
                .iter()
                .find(|(known, _)| *known == cause.id.as_str())
                .map(|(_, entry)| same(cause, *entry)),
        );
    }
    found
}

/// The causes of what was noticed.
fn in_question<'k>(trouble: &'k Trouble, fault: &Fault) -> Vec<&'k Cause> {
    let noticed = fault.symptoms.iter().filter_map(|symptom| trouble.symptom(symptom.as_str()));
    let ids: BTreeSet<&str> =
        noticed.flat_map(|symptom| &symptom.causes).map(|entry| entry.cause.as_str()).collect();
    trouble.causes.iter().filter(|cause| ids.contains(cause.id.as_str())).collect()
}

fn late(kind: &MachineType, cause: &Cause, task: &str) -> Option<Circumstance> {
    let named = cause.care.iter().find(|care| care.as_str() == task)?;
    let name = kind.care.iter().find(|care| care.id == *named).map_or(task, |care| care.name.as_str());
    Some(Circumstance {
        kind: CircumstanceKind::CareOverdue,
        cause: cause.id.clone(),
        factor: OVERDUE,
        words: format!("“{name}” is overdue"),
        entry: None,
    })
}

fn same(cause: &Cause, entry: EntryId) -> Circumstance {
    Circumstance {
        kind: CircumstanceKind::SameLately,
        cause: cause.id.clone(),
        factor: SAME_LATELY,
        words: format!("the same was found within the last month: {}", cause.name),
        entry: Some(entry),
    }
}

struct Look<'a> {
    booth: &'a Booth,
    id: &'a FaultId,
    fault: &'a Fault,
    kind: &'a MachineType,
    machine: &'a Machine,
    now: Now,
}

impl Look<'_> {
    fn name(&self) -> &MachineId {
        &self.fault.machine
    }

    /// The tasks that are overdue.
    fn overdue(&self, library: &Library, now: &ZonedDateTime) -> Vec<String> {
        let due = due_for(self.booth, library, self.name().as_str(), now);
        let items = due.map(|answer| answer.value).unwrap_or_default();
        let overdue = items.iter().filter(|item| item.state == DueState::Overdue);
        overdue.map(|item| item.task.id.to_string()).collect()
    }

    fn worn(&self, cause: &Cause) -> Option<Circumstance> {
        let slot = cause.part.as_ref().filter(|_| cause.wears)?;
        let worn = wear(self.booth, self.kind, self.machine, slot.as_str(), &self.now)?;
        Some(Circumstance {
            kind: CircumstanceKind::Wear,
            cause: cause.id.clone(),
            factor: worn.factor,
            words: worn.words,
            entry: Some(worn.entry),
        })
    }

    /// Something went into or out of its place within the last hours of running.
    fn disturbed(&self, cause: &Cause) -> Option<Circumstance> {
        let slot = cause.part.as_ref()?;
        let (at, entry) = self.machine.disturbed.get(slot.as_str())?;
        let since = self.machine.runs.iter().filter(|run| run.at.unix_ms > at.unix_ms);
        let hours: f64 = since.map(|run| run.hours.hours()).sum();
        let name = self.kind.part(slot.as_str()).map_or(slot.as_str(), |part| part.name.as_str());
        (hours <= STILL_NEW_HOURS).then(|| Circumstance {
            kind: CircumstanceKind::JustFitted,
            cause: cause.id.clone(),
            factor: JUST_FITTED,
            words: format!("{name}: worked on {hours:.1} running hours ago, on {}", at.date()),
            entry: Some(*entry),
        })
    }

    /// The last reading of a quantity that tells of its part.
    fn read(&self, cause: &Cause) -> Option<Circumstance> {
        let slot = cause.part.as_ref()?;
        let limits = self.kind.limits.iter().filter(|limit| limit.parts.contains(slot));
        let judged = limits.filter_map(|limit| self.judged(slot.as_str(), limit));
        let (factor, reading, limit) = judged.max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(Circumstance {
            kind: CircumstanceKind::Reading,
            cause: cause.id.clone(),
            factor,
            words: format!(
                "{} read {} on {}",
                limit.name,
                read_in_words(reading.value, &reading.unit),
                reading.at.date()
            ),
            entry: Some(reading.entry),
        })
    }

    fn judged<'l>(
        &self,
        slot: &str,
        limit: &'l ReadingLimit,
    ) -> Option<(f64, &ReadingRecord, &'l ReadingLimit)> {
        let of = |reading: &&ReadingRecord| {
            reading.quantity.as_str() == limit.quantity.as_str()
                && reading.slot.as_ref().is_none_or(|own| own.as_str() == slot)
        };
        let last = self.machine.readings.iter().rev().find(of)?;
        let factor = match judge(self.machine, last, limit).verdict {
            Verdict::Act | Verdict::Stop => BEYOND,
            Verdict::Watch => WATCHED,
            Verdict::Good | Verdict::CannotTell => return None,
        };
        Some((factor, last, limit))
    }

    /// Causes that were confirmed at this machine within a month before.
    fn lately(&self) -> Vec<(String, EntryId)> {
        let opened = self.fault.opened.0.unix_ms;
        let others =
            self.booth.faults.iter().filter(|(id, fault)| *id != self.id && fault.machine == *self.name());
        let confirmed = others.filter_map(|(_, fault)| {
            let (at, _, _, entry) = fault.closed.as_ref()?;
            let lately = at.unix_ms <= opened && opened - at.unix_ms <= MONTH_MS;
            Some((fault.confirmed.cause.as_ref().filter(|_| lately)?.to_string(), *entry))
        });
        confirmed.collect()
    }
}
