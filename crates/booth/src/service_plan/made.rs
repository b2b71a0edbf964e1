//! The answer of the plan in the booth's own names.

use super::{
    bench::BenchTime,
    heeded::heeded,
    last_day,
    model::{Built, Job},
};
use crate::due::Desk;
use jiff::{ZonedDateTime, civil::Date};
use logbook::{Booth, EntryId, MachineId, ShowingId, booth::Pinned, ids::PlaceId};
use plan::{Doing, Fault, ModelError, Plan, Reason, Session};
use serde::Serialize;

/// Why a machine stands at a showing.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case", tag = "standing", content = "pin")]
pub enum Standing {
    /// The diary has it so.
    InDiary,
    /// A person pinned it, by this entry.
    Pinned(EntryId),
    /// The plan chose it.
    Chosen,
}

/// A machine at a showing.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct PlannedSeat<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// Who chose it.
    #[serde(flatten)]
    pub standing: Standing,
    /// Why it stands there.
    pub because: String,
}

/// A showing in the plan.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct PlannedShowing<'a> {
    /// The showing.
    pub showing: &'a ShowingId,
    /// What is shown.
    pub title: &'a str,
    /// Where.
    pub place: Option<&'a PlaceId>,
    /// When it starts.
    pub starts: ZonedDateTime,
    /// When it ends.
    pub ends: ZonedDateTime,
    /// Its machines.
    pub machines: Vec<PlannedSeat<'a>>,
    /// How many it lacks.
    pub missing: usize,
}

/// What a piece of work is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum WorkKind {
    /// Care of the machine type's list.
    Care,
    /// A part is changed before it fails.
    Change,
}

/// A piece of work at the bench.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct PlannedWork<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// What sort of work.
    pub kind: WorkKind,
    /// The care task, or the slot of the part.
    pub what: &'a str,
    /// In words.
    pub words: String,
    /// How long it takes, in minutes.
    pub minutes: f64,
    /// Hours run since it was last done, by then.
    pub hours_since: f64,
    /// Why it stands there.
    pub because: String,
    /// The pin that puts it there.
    pub pin: Option<EntryId>,
    /// Safety hangs on it.
    pub safety: bool,
}

/// A bench session.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct BenchSession<'a> {
    /// Where.
    pub place: String,
    /// When it begins.
    pub starts: ZonedDateTime,
    /// How long the bench is free, in minutes.
    pub minutes: i64,
    /// How much of that is used, in minutes.
    pub minutes_used: i64,
    /// Who.
    pub who: String,
    /// What is done, machine by machine.
    pub work: Vec<PlannedWork<'a>>,
}

/// A pin that stands in the logbook.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Unpinned {
    /// Where in the model it does not hold.
    pub at: String,
    /// Why.
    pub why: String,
}

/// The service plan.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ServicePlan<'a> {
    /// The first day.
    pub from: Date,
    /// The last day.
    pub to: Date,
    /// All of it in a few plain sentences.
    pub sentence: String,
    /// The showings, in the order of time.
    pub showings: Vec<PlannedShowing<'a>>,
    /// The bench sessions, in the order of time.
    pub sessions: Vec<BenchSession<'a>>,
    /// What cannot be met, in sentences.
    pub not_met: Vec<String>,
    /// What the plan does not settle and whoever follows it must: spares that lack, open faults, reels that must not run.
    pub heed: Vec<String>,
    /// Pins that cannot hold; nothing is planned then.
    pub pins_that_cannot_hold: Vec<Unpinned>,
    /// The cost, in minutes of work.
    pub cost_minutes: f64,
    /// No plan costs less than this, in minutes of work.
    pub bound_minutes: f64,
    /// No plan costs less, proven.
    pub proven: bool,
}

/// The plan that was found.
pub(super) fn made<'a>(built: &Built<'a>, desk: &Desk<'a>, answer: &Plan) -> ServicePlan<'a> {
    let mut made = empty(built);
    made.showings = built.showings.iter().map(|coming| showing(built, coming, answer)).collect();
    made.sessions = answer.sessions.iter().filter_map(|it| session(built, desk, it)).collect();
    made.not_met.extend(not_met(built, answer));
    made.heed = heeded(built, desk, &made);
    made.cost_minutes = answer.cost.0;
    made.bound_minutes = answer.bound.0;
    made.proven = answer.proven;
    made.sentence = sentence(&made);
    made
}

/// Nothing is planned, because pins cannot hold.
pub(super) fn unpinned<'a>(built: &Built<'a>, faults: &[Fault]) -> ServicePlan<'a> {
    let mut made = empty(built);
    let tell = |fault: &Fault| Unpinned { at: fault.at.clone(), why: fault.what.clone() };
    made.pins_that_cannot_hold = faults.iter().map(tell).collect();
    let why: Vec<String> = faults.iter().map(ToString::to_string).collect();
    made.sentence = format!(
        "Nothing is planned, because these pins cannot hold: {}. Take one of them out.",
        why.join("; ")
    );
    made
}

/// Nothing is planned, because what the logbook adds up to is no model.
pub(super) fn not_planned<'a>(built: &Built<'a>, fault: &ModelError) -> ServicePlan<'a> {
    let mut made = empty(built);
    made.sentence = format!("Nothing could be planned: {fault}.");
    made
}

fn empty<'a>(built: &Built<'a>) -> ServicePlan<'a> {
    ServicePlan {
        from: built.clock.today.date(),
        to: last_day(built.clock.today, built.wanted).date(),
        sentence: String::new(),
        showings: Vec::new(),
        sessions: Vec::new(),
        not_met: built.not_met.clone(),
        heed: Vec::new(),
        pins_that_cannot_hold: Vec::new(),
        cost_minutes: 0.0,
        bound_minutes: 0.0,
        proven: false,
    }
}

fn showing<'a>(built: &Built<'a>, coming: &crate::coming::Coming<'a>, answer: &Plan) -> PlannedShowing<'a> {
    let id = coming.id.as_str();
    let found = answer.showings.iter().find(|it| it.showing == id);
    let seat = |seat: &plan::Seat| {
        let (machine, _) = built.booth.machines.get_key_value(seat.machine.as_str())?;
        let standing = built.standing.get(&(coming.id, machine)).copied().unwrap_or(Standing::Chosen);
        let because = match standing {
            Standing::InDiary => "it stands so in the diary".to_owned(),
            Standing::Pinned(_) => "a person pinned it".to_owned(),
            Standing::Chosen => plainly(&seat.because),
        };
        Some(PlannedSeat { machine, standing, because })
    };
    let missing = answer.unstaffed.iter().find(|it| it.showing == id).map_or(0, |it| it.missing);
    PlannedShowing {
        showing: coming.id,
        title: &coming.showing.title,
        place: coming.showing.place.as_ref(),
        starts: coming.showing.starts.clone(),
        ends: coming.showing.ends().to_zoned_datetime(coming.showing.starts.time_zone().clone()),
        machines: found.into_iter().flat_map(|it| it.machines.iter().filter_map(seat)).collect(),
        missing,
    }
}

fn session<'a>(built: &Built<'a>, desk: &Desk<'a>, it: &Session) -> Option<BenchSession<'a>> {
    let time: &BenchTime = built.benches.iter().find(|time| time.id == it.slot)?;
    Some(BenchSession {
        place: place_name(built.booth, &time.place),
        starts: built.clock.moment(time.starts),
        minutes: time.minutes,
        minutes_used: it.minutes_used.0,
        who: time.who.clone(),
        work: it.work.iter().filter_map(|doing| planned_work(built, desk, doing, time.on)).collect(),
    })
}

pub(super) fn place_name(booth: &Booth, id: &str) -> String {
    booth.places.get(id).map_or_else(|| id.to_owned(), |place| place.name.clone())
}

fn planned_work<'a>(built: &Built<'a>, desk: &Desk<'a>, doing: &Doing, on: Date) -> Option<PlannedWork<'a>> {
    let at = built.model.work.iter().position(|work| work.id == doing.work)?;
    let hours_since = doing.hours_since.hours();
    let because = plainly(&doing.because);
    Some(match &built.jobs[at] {
        Job::Care(item) => {
            let pin = built.pins.iter().find(|pin| {
                let same = |task: &str, day: Date| task == item.task.id.as_str() && day == on;
                pin.machine == *item.machine
                    && matches!(&pin.what, Pinned::Care { task, on } if same(task.as_str(), *on))
            });
            PlannedWork {
                machine: item.machine,
                kind: WorkKind::Care,
                what: item.task.id.as_str(),
                words: item.task.name.clone(),
                minutes: item.task.minutes(),
                hours_since,
                because: if pin.is_some() { "a person pinned it".to_owned() } else { because },
                pin: pin.map(|pin| pin.entry),
                safety: item.task.safety,
            }
        }
        Job::Change { machine, change } => {
            let kind = built.booth.machines.get(*machine).and_then(|machine| desk.kind_of(machine));
            let slot = change.life.slot.as_str();
            let name = kind.and_then(|kind| kind.part(slot)).map_or(slot, |part| part.name.as_str());
            PlannedWork {
                machine,
                kind: WorkKind::Change,
                what: slot,
                words: format!("Change before it fails: {name}"),
                minutes: change.minutes,
                hours_since,
                because: format!(
                    "left in, it would fail in this time with a chance of {}; {because}",
                    units::Probability::clamped(change.chance).in_words()
                ),
                pin: None,
                safety: false,
            }
        }
    })
}

fn not_met(built: &Built<'_>, answer: &Plan) -> Vec<String> {
    let title = |id: &str| {
        let coming = built.showings.iter().find(|coming| coming.id.as_str() == id);
        coming.map_or_else(
            || id.to_owned(),
            |coming| format!("{} on {}", coming.showing.title, coming.showing.starts.strftime("%-d %b")),
        )
    };
    let mut said: Vec<String> = Vec::new();
    for it in &answer.unstaffed {
        let machines = if it.missing == 1 { "a machine" } else { "machines" };
        said.push(format!("{} lacks {machines}: {}.", title(&it.showing), it.because));
    }
    // Of care that is late at many showings in a row the first says enough.
    let mut told: Vec<&str> = Vec::new();
    for it in answer.overdue.iter().filter(|it| built.model.work.iter().any(|work| work.id == it.work)) {
        if told.contains(&it.work.as_str()) {
            continue;
        }
        told.push(&it.work);
        let name = job_name(built, &it.work);
        said.push(format!("{name} will be past its limit at {}: {}.", title(&it.showing), it.because));
    }
    said
}

fn job_name(built: &Built<'_>, id: &str) -> String {
    let at = built.model.work.iter().position(|work| work.id == id);
    match at.map(|at| &built.jobs[at]) {
        Some(Job::Care(item)) => format!("{}: {}", built.booth.machine_name(item.machine), item.task.name),
        Some(Job::Change { machine, change }) => {
            format!("{}: the change of the {}", built.booth.machine_name(machine), change.life.slot)
        }
        None => id.to_owned(),
    }
}

/// A reason without the signs that set names apart in a model.
fn plainly(reason: &Reason) -> String {
    reason.words.replace('`', "")
}

/// The plan in a few sentences.
fn sentence(made: &ServicePlan<'_>) -> String {
    let n = made.showings.len();
    let lacking = made.showings.iter().filter(|showing| showing.missing > 0).count();
    let showings = match (n, lacking) {
        (0, _) => "No showing stands in the diary".to_owned(),
        (1, 0) => "The one showing has its machine".to_owned(),
        (n, 0) => format!("All {n} showings have their machines"),
        (n, lacking) => format!("{lacking} of {n} showings lack a machine"),
    };
    let pieces: usize = made.sessions.iter().map(|session| session.work.len()).sum();
    let bench = match made.sessions.first() {
        None => "no bench session is needed".to_owned(),
        Some(first) => format!(
            "{pieces} pieces of work stand in {} bench session{}, the first on {} ({} minutes)",
            made.sessions.len(),
            if made.sessions.len() == 1 { "" } else { "s" },
            first.starts.strftime("%A, %-d %B"),
            first.minutes_used
        ),
    };
    let rest = match made.not_met.len() {
        0 => "Nothing passes a limit.".to_owned(),
        1 => "One thing cannot be met.".to_owned(),
        n => format!("{n} things cannot be met."),
    };
    format!("{showings}; {bench}. {rest}")
}
