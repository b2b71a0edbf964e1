//! The walk: care step by step along the film path.

use crate::{
    answer::{Answer, Ground},
    day::Now,
    due::{Desk, DueItem, DueState, Scratch, fitness_caveat, plan},
    known::{NotKnown, find_machine, find_type},
};
use jiff::ZonedDateTime;
use logbook::{
    Booth, MachineId,
    booth::{CareRecord, LeftOut, Machine},
    fact::Outcome,
};
use machine::{
    CareKind, CareTask, Caution, Consumable, Hand, Library, MachineState, MachineType, Part, ReadingLimit,
    SlotId, Trigger,
};
use serde::Serialize;

/// Which walk.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum WalkKind {
    /// What is done before every showing.
    BeforeShowing,
    /// What is done after every showing.
    AfterShowing,
    /// What is done at every reel.
    EveryReel,
    /// What is due or overdue.
    Due,
    /// Every care task that the type knows.
    All,
}

impl WalkKind {
    /// Every kind of walk.
    pub const ALL: &'static [Self] =
        &[Self::BeforeShowing, Self::AfterShowing, Self::EveryReel, Self::Due, Self::All];

    /// The word that addresses and commands use.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::BeforeShowing => "before-showing",
            Self::AfterShowing => "after-showing",
            Self::EveryReel => "every-reel",
            Self::Due => "due",
            Self::All => "all",
        }
    }

    /// Reads the word of an address or a command.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.as_str() == word)
    }
}

/// A walk along one machine.
#[derive(Clone, Debug)]
pub struct Walk<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// Its state and name.
    pub about: &'a Machine,
    /// Its type.
    pub kind: &'a MachineType,
    /// Which walk.
    pub walk: WalkKind,
    /// The steps, along the film path.
    pub steps: Vec<WalkStep<'a>>,
    /// Minutes of what is left for an operator to do.
    pub minutes_left: f64,
}

impl Walk<'_> {
    /// How many steps are done already.
    pub fn n_done(&self) -> usize {
        self.steps.iter().filter(|step| step.already.is_some()).count()
    }
}

/// One step of a walk.
#[derive(Clone, Debug)]
pub struct WalkStep<'a> {
    /// Its place in the walk, from 1.
    pub number: usize,
    /// The care task.
    pub task: &'a CareTask,
    /// The slot at which one stands.
    pub slot: Option<&'a SlotId>,
    /// The part there.
    pub part: Option<&'a Part>,
    /// What the hand does.
    pub does: CareKind,
    /// The cautions that belong where the hand is.
    pub cautions: &'a [Caution],
    /// The state in which the machine must be.
    pub state: MachineState,
    /// What to do to bring it there; none if the step before left it so.
    pub preparation: Option<&'static str>,
    /// How long a practised hand takes.
    pub minutes: f64,
    /// What is used up.
    pub uses: Vec<&'a Consumable>,
    /// The limits of the reading that is taken, if one is.
    pub reading: Option<&'a ReadingLimit>,
    /// Where its interval stands; none for care that belongs to reels and showings only.
    pub due: Option<DueItem<'a>>,
    /// The record, if it was done this evening already.
    pub already: Option<&'a CareRecord>,
    /// That it was left out or could not be told this evening; it is still to do, but it was not forgotten.
    pub left_out: Option<&'a LeftOut>,
    /// What to say if this is a technician's work: then it is passed on, not done.
    pub pass_on: Option<String>,
    /// True if only an operator who is authorised in writing may do it; the step says so.
    pub authorised_only: bool,
    /// What may be written down.
    pub outcomes: &'static [Outcome],
}

/// What may be written down after a look, a test or a reading.
const LOOKED: &[Outcome] = &[Outcome::Fine, Outcome::Attention, Outcome::CannotTell, Outcome::Skipped];
/// What may be written down after work.
const WORKED: &[Outcome] = &[Outcome::Done, Outcome::Attention, Outcome::CannotTell, Outcome::Skipped];
/// What may be written down where the work is passed on.
const PASSED_ON: &[Outcome] = &[Outcome::Skipped];

/// Returns a walk along a machine, in film-path order.
///
/// A step that was done this evening carries its record, so that a walk can be taken up again where it was left.
/// At every reel a step counts as done only since the machine last ran, before a showing only since the last one.
pub fn walk<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: &str,
    walk: WalkKind,
    now: &ZonedDateTime,
) -> Result<Answer<Walk<'a>>, NotKnown> {
    let (at, id, about) = find_machine(booth, machine)?;
    let kind = find_type(library, id, about)?;
    let desk = Desk::new(booth, library, now);
    let items = desk.count_one(at);
    let mut done = Scratch::default();
    done.gather(&plan(kind), about);
    let mut steps: Vec<WalkStep<'a>> = Vec::new();
    let last = desk.last_showing_ms(id, about, i64::MAX);
    for task in kind.care.iter().filter(|task| belongs(task, walk, &items)) {
        let record = kind.task_position(task.id.as_str()).and_then(|at| done.done(at));
        let already = record.filter(|record| is_fresh(record, about, last, walk, &desk.now));
        let item = items.iter().find(|item| item.task.id == task.id).copied();
        let before = steps.last().map(|step| step.state);
        let step = step(kind, task, steps.len() + 1, before, already, item);
        steps.push(WalkStep { left_out: left_out(about, task, &desk.now), ..step });
    }
    let left = |step: &&WalkStep<'_>| step.already.is_none() && step.pass_on.is_none();
    let minutes_left = steps.iter().filter(left).map(|step| step.minutes).sum();
    let mut caveats = desk.caveats_of(&[at]);
    caveats.extend(fitness_caveat(desk.booth.machine_name(id), about));
    let because = vec![Ground::TypeFile {
        machine_type: kind.id.to_string(),
        line: walk.as_str().to_owned(),
        words: format!("care of {}, edition {}", kind.name, kind.edition),
    }];
    Ok(Answer { value: Walk { machine: id, about, kind, walk, steps, minutes_left }, because, caveats })
}

/// That a task was left out this evening, at any of its slots.
fn left_out<'a>(machine: &'a Machine, task: &CareTask, now: &Now) -> Option<&'a LeftOut> {
    let mut own = machine.left_out.iter().filter(|(point, _)| point.task.as_str() == task.id.as_str());
    own.find(|(_, left_out)| now.day_of(left_out.at) == now.day).map(|(_, left_out)| left_out)
}

fn belongs(task: &CareTask, walk: WalkKind, items: &[DueItem<'_>]) -> bool {
    match walk {
        WalkKind::BeforeShowing => task.answers(Trigger::BeforeShowing),
        WalkKind::AfterShowing => task.answers(Trigger::AfterShowing),
        WalkKind::EveryReel => task.answers(Trigger::EveryReel),
        WalkKind::Due => items.iter().any(|item| item.task.id == task.id && item.state.is_due()),
        WalkKind::All => true,
    }
}

/// True if the record belongs to this evening, and at every reel to the time since the machine last ran.
///
/// Before a showing it must be later than the last one.
fn is_fresh(
    record: &CareRecord,
    machine: &Machine,
    last_showing: Option<i64>,
    walk: WalkKind,
    now: &Now,
) -> bool {
    let last_run = machine.runs.last().map(|run| run.at.unix_ms);
    let since_last_run = match walk {
        WalkKind::EveryReel => last_run.is_none_or(|ran| record.at.unix_ms > ran),
        WalkKind::BeforeShowing => last_showing.is_none_or(|last| record.at.unix_ms > last),
        _ => true,
    };
    now.day_of(record.at) == now.day && since_last_run
}

fn step<'a>(
    kind: &'a MachineType,
    task: &'a CareTask,
    number: usize,
    state_before: Option<MachineState>,
    already: Option<&'a CareRecord>,
    due: Option<DueItem<'a>>,
) -> WalkStep<'a> {
    let slot = task.stands_at();
    let pass_on = pass_on(task);
    let looked = matches!(task.kind, CareKind::Look | CareKind::Test | CareKind::Measure);
    WalkStep {
        number,
        task,
        slot,
        part: slot.and_then(|slot| kind.part(slot.as_str())),
        does: task.kind,
        cautions: &task.cautions,
        state: task.state,
        preparation: (state_before != Some(task.state)).then(|| task.state.preparation()),
        minutes: task.minutes(),
        uses: task.uses.iter().filter_map(|thing| kind.consumable(thing.as_str())).collect(),
        reading: task.reading.as_ref().and_then(|quantity| kind.limit(quantity.as_str())),
        due: due.filter(|item| item.state != DueState::Ok || item.last_done().is_some()),
        already,
        left_out: None,
        outcomes: if pass_on.is_some() {
            PASSED_ON
        } else if looked {
            LOOKED
        } else {
            WORKED
        },
        pass_on,
        authorised_only: task.who == Hand::Authorised,
    }
}

fn pass_on(task: &CareTask) -> Option<String> {
    (task.who == Hand::Technician).then(|| {
        format!(
            "{}: work for a qualified technician. Do not open anything; write down what you saw and ask for it.",
            task.name
        )
    })
}
