//! What a show was: planned against held, stoppages, hours, reels, faults.

use super::{
    close::run_time,
    marks::{Course, Phase, course_of},
    plan::ShowPlan,
};
use crate::{Answer, Caveat, CaveatKind, Ground};
use logbook::{
    Booth, EntryId, FaultId, MachineId, ShowingId,
    booth::{Fault, Showing, ShowingState},
};
use serde::Serialize;
use units::{Hours, Seconds};

/// One reel as it was shown.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ReelRun {
    /// Its place in the programme, from 1.
    pub place: u32,
    /// What it belongs to.
    pub title: String,
    /// Its number in the print.
    pub reel: u32,
    /// The machine that ran it; absent: it was not shown.
    pub machine: Option<MachineId>,
    /// When its first picture came, in milliseconds since 1970.
    pub from_ms: Option<i64>,
    /// When its last picture went.
    pub until_ms: Option<i64>,
    /// How long its picture was to run.
    pub planned_seconds: Seconds,
    /// How long it was on the screen.
    pub shown_seconds: Seconds,
}

/// A stoppage of the show.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ShowStoppage {
    /// When, in milliseconds since 1970.
    pub at_ms: i64,
    /// For how long.
    pub dark_seconds: Seconds,
    /// The machine.
    pub machine: Option<MachineId>,
    /// What happened, in words.
    pub what: String,
    /// The entry that says so.
    pub entry: EntryId,
}

/// The hours of one machine.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct MachineHours {
    /// The machine.
    pub machine: MachineId,
    /// What it was to run.
    pub planned_hours: Hours,
    /// What it ran by the marks, leaders and run-outs by the plan.
    pub marked_hours: Hours,
}

/// What a show was.
#[derive(Clone, Debug, Serialize)]
pub struct ShowReport {
    /// What is shown.
    pub title: String,
    /// Where it stands.
    pub phase: Phase,
    /// When it was to begin, in milliseconds since 1970.
    pub planned_start_ms: i64,
    /// When it was to end.
    pub planned_end_ms: i64,
    /// When its first picture came.
    pub began_ms: Option<i64>,
    /// When it was over.
    pub over_ms: Option<i64>,
    /// By how much it ended later than planned.
    pub late_seconds: Option<Seconds>,
    /// How long the logbook says that it lasted, in minutes.
    pub held_minutes: Option<f64>,
    /// The reels.
    pub reels: Vec<ReelRun>,
    /// The stoppages, in order of time.
    pub stoppages: Vec<ShowStoppage>,
    /// How long the screen was dark unasked.
    pub dark_seconds: Seconds,
    /// The hours of each machine.
    pub machines: Vec<MachineHours>,
    /// Faults that were met in it.
    #[serde(serialize_with = "fault_ids")]
    pub faults: Vec<(FaultId, Fault)>,
}

fn fault_ids<S: serde::Serializer>(faults: &[(FaultId, Fault)], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(faults.iter().map(|(id, fault)| as_read::Named {
        fault: id,
        machine: &fault.machine,
        words: &fault.words,
        closed: fault.closed.is_some(),
    }))
}

/// A fault as scripts read it.
mod as_read {
    use logbook::{FaultId, MachineId};
    use serde::Serialize;

    #[derive(Serialize)]
    pub struct Named<'a> {
        pub fault: &'a FaultId,
        pub machine: &'a MachineId,
        pub words: &'a str,
        pub closed: bool,
    }
}

/// Reports a show, over or not.
pub fn report(
    booth: &Booth,
    plan: Option<&Answer<ShowPlan>>,
    (id, showing): (&ShowingId, &Showing),
) -> Answer<ShowReport> {
    let marks = booth.shows.get(id).map(Vec::as_slice).unwrap_or_default();
    let because = marks
        .iter()
        .map(|mark| Ground::Entry { entry: mark.entry, words: mark_in_words(mark.reel).into() })
        .collect();
    let plan = plan.map(|plan| &plan.value);
    let course = course_of(plan, marks);
    let planned_start_ms = showing.starts.timestamp().as_millisecond();
    let lasts = plan.map_or(Seconds::new(showing.length_minutes * 60.0), |plan| plan.lasts_seconds);
    let planned_end_ms = planned_start_ms.saturating_add((lasts.seconds() * 1000.0) as i64);
    let stoppages = stoppages(booth, id);
    let value = ShowReport {
        title: showing.title.clone(),
        phase: course.phase,
        planned_start_ms,
        planned_end_ms,
        began_ms: course.began_ms,
        over_ms: course.over_ms,
        late_seconds: course.over_ms.map(|over| Seconds::new((over - planned_end_ms) as f64 / 1000.0)),
        held_minutes: match &showing.state {
            ShowingState::Held { lasted_minutes, .. } => Some(*lasted_minutes),
            ShowingState::Planned | ShowingState::Cancelled { .. } => None,
        },
        reels: plan.map(|plan| reels(plan, &course)).unwrap_or_default(),
        dark_seconds: stoppages.iter().map(|one| one.dark_seconds).fold(Seconds::ZERO, |sum, one| sum + one),
        stoppages,
        machines: machine_hours(plan, &course),
        faults: faults(booth, id),
    };
    Answer { caveats: caveats(&value), value, because }
}

fn mark_in_words(reel: u32) -> String {
    format!("a tap in reel {reel}")
}

fn stoppages(booth: &Booth, id: &ShowingId) -> Vec<ShowStoppage> {
    let own = booth.stoppages.iter().filter(|stoppage| stoppage.showing.as_ref() == Some(id));
    own.map(|stoppage| ShowStoppage {
        at_ms: stoppage.at.unix_ms,
        dark_seconds: stoppage.dark,
        machine: stoppage.machine.clone(),
        what: stoppage.what.clone(),
        entry: stoppage.entry,
    })
    .collect()
}

fn faults(booth: &Booth, id: &ShowingId) -> Vec<(FaultId, Fault)> {
    let own = booth.faults.iter().filter(|(_, fault)| fault.showing.as_ref() == Some(id));
    own.map(|(id, fault)| (id.clone(), fault.clone())).collect()
}

fn reels(plan: &ShowPlan, course: &Course) -> Vec<ReelRun> {
    plan.reels
        .iter()
        .map(|reel| {
            let own: Vec<_> = course.ran.iter().filter(|ran| ran.reel == reel.place).collect();
            let shown = own.iter().filter_map(|ran| Some(super::marks::seconds(ran.from_ms, ran.until_ms?)));
            ReelRun {
                place: reel.place,
                title: reel.title.clone(),
                reel: reel.reel,
                machine: own.first().and_then(|ran| ran.machine.clone()),
                from_ms: own.first().map(|ran| ran.from_ms),
                until_ms: own.last().and_then(|ran| ran.until_ms),
                planned_seconds: reel.picture_seconds,
                shown_seconds: shown.fold(Seconds::ZERO, |sum, one| sum + one),
            }
        })
        .collect()
}

fn machine_hours(plan: Option<&ShowPlan>, course: &Course) -> Vec<MachineHours> {
    let mut machines: Vec<MachineHours> = plan
        .into_iter()
        .flat_map(|plan| &plan.machines)
        .map(|planned| MachineHours {
            machine: planned.machine.clone(),
            planned_hours: planned.running_hours,
            marked_hours: Hours::ZERO,
        })
        .collect();
    for ran in &course.ran {
        let Some(machine) = &ran.machine else { continue };
        let time = run_time(plan, ran).as_hours();
        match machines.iter_mut().find(|known| known.machine == *machine) {
            Some(known) => known.marked_hours += time,
            None => machines.push(MachineHours {
                machine: machine.clone(),
                planned_hours: Hours::ZERO,
                marked_hours: time,
            }),
        }
    }
    machines
}

fn caveats(report: &ShowReport) -> Vec<Caveat> {
    let mut caveats = Vec::new();
    if report.phase == Phase::Waiting && report.held_minutes.is_some() {
        let words = "This showing was written down as held, but nothing was tapped while it ran.";
        caveats.push(Caveat::new(CaveatKind::NoRecord, words));
    }
    if !matches!(report.phase, Phase::Waiting | Phase::Over) {
        let words = "The show still runs: the hours are written down when its end is tapped.";
        caveats.push(Caveat::new(CaveatKind::StaleDiary, words));
    }
    let missed = report.reels.iter().filter(|reel| reel.from_ms.is_none()).count();
    if report.phase == Phase::Over && missed > 0 {
        let words = format!("{} of the programme not tapped.", crate::words::many(missed, "reel"));
        caveats.push(Caveat::new(CaveatKind::NoRecord, words));
    }
    caveats
}
