//! The film path: every part in its place, showing where it stands.

use crate::{
    age::{PartAge, age_of},
    answer::{Answer, COMMON_PRACTICE, Ground},
    day::Now,
    due::{Desk, DueItem, DueState, counts, fitness_caveat, fitted},
    join,
    known::{NotKnown, find_machine, find_type},
};
use jiff::{ZonedDateTime, civil};
use logbook::{
    Booth, FaultId, MachineId, PartId,
    booth::{CareRecord, Fault, Machine, PartLife, Stint},
    fact::Outcome,
};
use machine::{CareTask, Clock, Library, MachineType, Part};
use serde::Serialize;

/// Where a part stands, the worst first. No part is called good: that nothing is known against it is all we know.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SlotState {
    /// A fault is open here.
    Fault,
    /// Care of it is overdue.
    Overdue,
    /// Care of it is due.
    Due,
    /// The last look found that it wants attention.
    Attention,
    /// Care of it is soon due.
    Soon,
    /// There is care of it of which there is no record.
    NoRecord,
    /// Care of it is put off.
    Deferred,
    /// Its care is up to date.
    UpToDate,
    /// Its type asks for no care by hours or days.
    NoCare,
}

impl SlotState {
    /// Every state, the worst first.
    pub const ALL: &'static [Self] = &[
        Self::Fault,
        Self::Overdue,
        Self::Due,
        Self::Attention,
        Self::Soon,
        Self::NoRecord,
        Self::Deferred,
        Self::UpToDate,
        Self::NoCare,
    ];

    /// The word that JSON, class names and commands use.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Fault => "fault",
            Self::Overdue => "overdue",
            Self::Due => "due",
            Self::Attention => "attention",
            Self::Soon => "soon",
            Self::NoRecord => "no-record",
            Self::Deferred => "deferred",
            Self::UpToDate => "up-to-date",
            Self::NoCare => "no-care",
        }
    }

    const fn of(due: DueState) -> Self {
        match due {
            DueState::Overdue => Self::Overdue,
            DueState::Due => Self::Due,
            DueState::Soon => Self::Soon,
            DueState::NoRecord => Self::NoRecord,
            DueState::Deferred => Self::Deferred,
            DueState::Ok => Self::UpToDate,
        }
    }
}

impl std::fmt::Display for SlotState {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

/// A machine as a row of parts.
#[derive(Clone, Debug)]
pub struct FilmPath<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// Its state and name.
    pub about: &'a Machine,
    /// Its type.
    pub kind: &'a MachineType,
    /// Every part, in the order of the type: along the film, then light, drive, electrical, case.
    pub slots: Vec<SlotView<'a>>,
    /// Open faults that name no slot.
    pub faults_elsewhere: Vec<(&'a FaultId, &'a Fault)>,
}

impl<'a> FilmPath<'a> {
    /// The part in a slot.
    pub fn slot(&self, slot: &str) -> Option<&SlotView<'a>> {
        self.slots.iter().find(|view| view.part.id.as_str() == slot)
    }
}

/// One part in its place.
#[derive(Clone, Debug)]
pub struct SlotView<'a> {
    /// What the type says of it: name, drawn place, dangers and cautions, who may touch it.
    pub part: &'a Part,
    /// Where it stands.
    pub state: SlotState,
    /// The part with an identity of its own that is fitted there, if one is known.
    pub fitted: Option<FittedPart<'a>>,
    /// Its care by hours, days and events.
    pub due: Vec<DueItem<'a>>,
    /// Every care task in which it has a share, with the last record of each.
    pub care: Vec<(&'a CareTask, Option<&'a CareRecord>)>,
    /// The last care that counted.
    pub last_care: Option<(&'a CareTask, &'a CareRecord)>,
    /// The next day on which some care of it falls due, and the task.
    pub next_due: Option<(civil::Date, &'a CareTask)>,
    /// Open faults here.
    pub open_faults: Vec<(&'a FaultId, &'a Fault)>,
}

/// A part with an identity of its own, where it is fitted.
#[derive(Clone, Copy, Debug)]
pub struct FittedPart<'a> {
    /// The part.
    pub id: &'a PartId,
    /// Its life so far.
    pub life: &'a PartLife,
    /// Its time in this slot.
    pub stint: &'a Stint,
    /// How old it is.
    pub age: PartAge,
    /// Which of its ages counts here: the lamp's for a projection lamp, else hours run.
    pub clock: Clock,
}

/// Returns every part of a machine in its place, showing where it stands.
pub fn film_path<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: &str,
    now: &ZonedDateTime,
) -> Result<Answer<FilmPath<'a>>, NotKnown> {
    let (at, id, about) = find_machine(booth, machine)?;
    let kind = find_type(library, id, about)?;
    let desk = Desk::new(booth, library, now);
    let items = desk.count_one(at);
    let faults = open_faults(booth, id);
    let view = View { booth, about, kind, items: &items, faults: &faults, now: &desk.now };
    let slots = kind.parts.iter().map(|part| view.slot(part)).collect();
    let here = |fault: &Fault| fault.slot.as_ref().is_some_and(|slot| kind.part(slot.as_str()).is_some());
    let faults_elsewhere = faults.iter().filter(|(_, fault)| !here(fault)).copied().collect();
    let mut caveats = desk.caveats_of(&[at]);
    caveats.extend(fitness_caveat(desk.booth.machine_name(id), about));
    let worst = "a part shows the worst of its open faults, its care and what the last look found";
    let because = vec![Ground::Rule { words: worst.into(), source: COMMON_PRACTICE }, crate::due::GRACE];
    Ok(Answer { value: FilmPath { machine: id, about, kind, slots, faults_elsewhere }, because, caveats })
}

/// The open faults of a machine, in the order in which they were opened.
pub fn open_faults<'a>(booth: &'a Booth, machine: &MachineId) -> Vec<(&'a FaultId, &'a Fault)> {
    booth.faults.iter().filter(|(_, fault)| fault.closed.is_none() && fault.machine == *machine).collect()
}

struct View<'v, 'a> {
    booth: &'a Booth,
    about: &'a Machine,
    kind: &'a MachineType,
    items: &'v [DueItem<'a>],
    faults: &'v [(&'a FaultId, &'a Fault)],
    now: &'v Now,
}

impl<'a> View<'_, 'a> {
    fn slot(&self, part: &'a Part) -> SlotView<'a> {
        let has_share = |task: &CareTask| task.parts.contains(&part.id);
        let due: Vec<DueItem<'a>> = self.items.iter().filter(|item| has_share(item.task)).copied().collect();
        let care: Vec<(&CareTask, Option<&CareRecord>)> =
            self.kind.care_for(part.id.as_str()).map(|task| (task, self.record(task, part))).collect();
        let done = care.iter().filter_map(|(task, record)| Some((*task, (*record)?)));
        let last_care = done.filter(|(_, record)| counts(record.outcome)).max_by_key(|(_, record)| record.at);
        let at_slot =
            |fault: &Fault| fault.slot.as_ref().is_some_and(|slot| slot.as_str() == part.id.as_str());
        let open_faults: Vec<(&FaultId, &Fault)> =
            self.faults.iter().filter(|(_, fault)| at_slot(fault)).copied().collect();
        let next_due = due
            .iter()
            .filter_map(|item| Some((item.forecast_date()?, item.task)))
            .min_by_key(|(date, _)| *date);
        SlotView {
            part,
            state: state(&due, &care, !open_faults.is_empty()),
            fitted: self.fitted(part),
            due,
            care,
            last_care,
            next_due,
            open_faults,
        }
    }

    /// The latest record of a task: the whole task's, or that of this slot.
    fn record(&self, task: &CareTask, part: &Part) -> Option<&'a CareRecord> {
        let task = join::logbook_task(&task.id);
        let mut point = logbook::CarePointId { task, slot: None };
        let whole = self.about.care.get(&point);
        point.slot = Some(join::logbook_slot(&part.id));
        whole.into_iter().chain(self.about.care.get(&point)).max_by_key(|record| record.at)
    }

    fn fitted(&self, part: &Part) -> Option<FittedPart<'a>> {
        let (id, life, stint) = fitted(self.booth, self.about, part.id.as_str())?;
        let age = age_of(self.booth, life, self.now);
        Some(FittedPart { id, life, stint, age, clock: join::clock_of_slot(self.kind, part.id.as_str()) })
    }
}

/// The worst of what is known of a part.
fn state(due: &[DueItem<'_>], care: &[(&CareTask, Option<&CareRecord>)], faulty: bool) -> SlotState {
    // Only what was found last counts: once it is cleaned or mended, the next record says so.
    let attention = care.iter().any(|(_, record)| record.is_some_and(|r| r.outcome == Outcome::Attention));
    let own = [(faulty, SlotState::Fault), (attention, SlotState::Attention)];
    let own = own.into_iter().filter_map(|(holds, state)| holds.then_some(state));
    own.chain(due.iter().map(|item| SlotState::of(item.state))).min().unwrap_or(SlotState::NoCare)
}
