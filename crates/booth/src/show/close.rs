//! What the marks of a show write into the logbook beside themselves: stoppages, hours, and that it was held.

use super::{
    marks::{Course, Dark, Phase, Ran, course_of, seconds},
    plan::ShowPlan,
};
use logbook::{
    Booth, EntryId, Fact, MachineId, PrintId, ShowingId, When,
    booth::ShowMarkRecord,
    fact::{self, RunKind, ShowMark, ShowingHeld, Stoppage},
};
use units::{Hours, Seconds};
use uuid::Uuid;

/// The id of the entry that a mark writes beside itself: its own, told apart in the last bits. So whoever takes the
/// mark back finds what it wrote, and a mark that is sent twice writes it once.
pub fn linked(mark: EntryId, number: u8) -> EntryId {
    EntryId(Uuid::from_u128(mark.0.as_u128() ^ u128::from(number)))
}

/// Whether an entry was written by this mark beside itself.
pub(super) fn is_linked(entry: EntryId, mark: EntryId) -> bool {
    let apart = entry.0.as_u128() ^ mark.0.as_u128();
    (1..=u128::from(u8::MAX)).contains(&apart)
}

/// The stoppage that a mark of "on again", or of the end, writes down; none if the show was not dark, or somebody
/// wrote it already. `mark` is not among the booth's marks yet.
pub fn stoppage_after(
    booth: &Booth,
    plan: Option<&ShowPlan>,
    showing: &ShowingId,
    mark: &ShowMarkRecord,
) -> Option<(When, Fact)> {
    let course = course_with(booth, plan, showing, mark);
    let dark = course.dark.iter().find(|dark| dark.until_ms == Some(mark.at.unix_ms))?;
    let is_written = booth
        .stoppages
        .iter()
        .any(|there| there.showing.as_ref() == Some(showing) && there.at.unix_ms == dark.from_ms);
    if is_written {
        return None;
    }
    Some(stoppage_of(plan, showing, dark, mark.at))
}

/// The stoppage of a dark stretch that ended at this moment.
pub(super) fn stoppage_of(
    plan: Option<&ShowPlan>,
    showing: &ShowingId,
    dark: &Dark,
    until: When,
) -> (When, Fact) {
    let reel = plan.and_then(|plan| plan.reels.get((dark.reel as usize).checked_sub(1)?));
    let of = reel.map_or_else(String::new, |reel| format!(" of {}", reel.title));
    let number = reel.map_or(dark.reel, |reel| reel.reel);
    let fact = Stoppage {
        showing: Some(showing.clone()),
        machine: dark.machine.clone(),
        dark_seconds: seconds(dark.from_ms, until.unix_ms),
        what: format!("Stopped in reel {number}{of}; tapped on the show page."),
    };
    (When { unix_ms: dark.from_ms, ..until }, fact.into())
}

fn course_with(booth: &Booth, plan: Option<&ShowPlan>, showing: &ShowingId, mark: &ShowMarkRecord) -> Course {
    let there = booth.shows.get(showing).map(Vec::as_slice).unwrap_or_default();
    let mut marks: Vec<&ShowMarkRecord> = there.iter().chain([mark]).collect();
    marks.sort_by_key(|mark| mark.at.unix_ms);
    course_of(plan, marks)
}

/// What the end of a show writes down: the hours of each machine and print, and that it was held. Nothing if the mark
/// does not end it, because somebody ended it before or it never began.
pub fn closing(
    booth: &Booth,
    plan: Option<&ShowPlan>,
    showing: &ShowingId,
    mark: &ShowMarkRecord,
) -> Vec<(When, Fact)> {
    let was_over = booth.shows.get(showing).is_some_and(|marks| course_of(plan, marks).phase == Phase::Over);
    let course = course_with(booth, plan, showing, mark);
    if was_over || mark.mark != ShowMark::Ended || course.over_ms != Some(mark.at.unix_ms) {
        return Vec::new();
    }
    closing_of(plan, &course, showing, mark.at)
}

/// The same of a course that is over.
pub(super) fn closing_of(
    plan: Option<&ShowPlan>,
    course: &Course,
    showing: &ShowingId,
    over: When,
) -> Vec<(When, Fact)> {
    let Some(began_ms) = course.began_ms else { return Vec::new() };
    let at = |unix_ms| When { unix_ms, ..over };
    let mut facts: Vec<(When, Fact)> =
        runs(plan, course, showing).into_iter().map(|(from_ms, ran)| (at(from_ms), ran.into())).collect();
    let held = ShowingHeld {
        showing: showing.clone(),
        // A showing that was marked and ended in the same second still took place.
        lasted_minutes: (seconds(began_ms, over.unix_ms).seconds() / 60.0).clamp(1.0 / 60.0, 1440.0),
        audience: None,
        note: String::new(),
    };
    facts.push((at(began_ms), held.into()));
    facts
}

/// What one machine ran of one print.
struct Tally {
    machine: MachineId,
    print: Option<PrintId>,
    from_ms: i64,
    ran: Seconds,
}

/// The runs of each machine, one for each print that it showed.
fn runs(plan: Option<&ShowPlan>, course: &Course, showing: &ShowingId) -> Vec<(i64, fact::Ran)> {
    let mut tallies: Vec<Tally> = Vec::new();
    for ran in &course.ran {
        let Some(machine) = &ran.machine else { continue };
        let reel = plan.and_then(|plan| plan.reels.get((ran.reel as usize).checked_sub(1)?));
        let print = reel.and_then(|reel| reel.print.clone());
        let time = run_time(plan, ran);
        let known = tallies.iter_mut().find(|tally| tally.machine == *machine && tally.print == print);
        match known {
            Some(tally) => tally.ran += time,
            None => {
                tallies.push(Tally { machine: machine.clone(), print, from_ms: ran.from_ms, ran: time });
            }
        }
    }
    let mut written: Vec<(i64, fact::Ran)> = Vec::with_capacity(tallies.len());
    for tally in tallies {
        // A print passes once, however many machines share it, and a lamp is struck once for the evening.
        let has_passed = tally.print.is_some() && written.iter().any(|(_, ran)| ran.print == tally.print);
        let was_struck = written.iter().any(|(_, ran)| ran.machine == tally.machine);
        let ran = fact::Ran {
            machine: tally.machine,
            run: RunKind::Showing,
            hours: to_the_second(tally.ran),
            lit_hours: None,
            strikes: was_struck.then_some(0),
            showing: Some(showing.clone()),
            print: tally.print,
            passes: has_passed.then_some(0),
            estimated: false,
        };
        written.push((tally.from_ms, ran));
    }
    written
}

/// How long a machine ran for a stretch of picture: with the leader that was threaded, where the reel began with it,
/// and the run-out, where it ended with it.
pub(super) fn run_time(plan: Option<&ShowPlan>, ran: &Ran) -> Seconds {
    let Some(until_ms) = ran.until_ms else { return Seconds::ZERO };
    let reel = plan.and_then(|plan| plan.reels.get((ran.reel as usize).checked_sub(1)?));
    let head = reel.filter(|_| ran.is_start).map_or(Seconds::ZERO, |reel| reel.head_seconds);
    let tail = reel.filter(|_| ran.is_end).map_or(Seconds::ZERO, |reel| reel.tail_seconds);
    seconds(ran.from_ms, until_ms) + head + tail
}

/// Taps are no better than a second; a run is no longer than the gate takes.
fn to_the_second(time: Seconds) -> Hours {
    Hours::new((time.seconds().round() / 3600.0).min(logbook::rules::LONGEST_RUN.hours()))
}
