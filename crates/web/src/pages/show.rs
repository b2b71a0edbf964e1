//! The show: one dim page for one hand, from the first picture to the report.
//!
//! Every tap is an entry. Without script the buttons are plain forms and the figures those of the moment at which the
//! page was asked for; with script `show.js` keeps taps on this device until they are sent, and counts by the clock.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::{Theme, Visit},
    write::common_fields as common,
};
use ::logbook::{ShowingId, booth::Showing};
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use booth::{
    Answer,
    prints::PrintWarning,
    show::{self, Course, Next, Phase, ShowPlan, Standing},
};
use maud::{Markup, html};
use serde_json::{Value, json};
use views::{Place, html as show_as};

pub(super) fn find<'v>(visit: &'v Visit, id: &str) -> Result<(&'v ShowingId, &'v Showing), Trouble> {
    show::find_showing(visit.booth(), id).map_err(|error| {
        Trouble::not_found(format!("{error}."), "Look for it in the diary.").way(Place::Diary.href(), "Diary")
    })
}

fn plan_of(visit: &Visit, found: (&ShowingId, &Showing)) -> Result<Answer<ShowPlan>, Trouble> {
    show::plan_of(visit.booth(), visit.library(), found).map_err(|error| {
        Trouble::new(
            StatusCode::CONFLICT,
            "No programme to run",
            format!("{error}."),
            "Make a programme first.",
        )
        .way(
            format!("/programmes/new?showing={}", views::address::escaped(found.0.as_str())),
            "A new programme",
        )
        .way(Place::Showing(found.0.clone()).href(), "The showing")
    })
}

/// How the show stands now.
struct Moment {
    course: Course,
    standing: Standing,
    now_ms: i64,
}

fn now(visit: &Visit, plan: &ShowPlan, (id, showing): (&ShowingId, &Showing)) -> Moment {
    let marks = visit.booth().shows.get(id).map(Vec::as_slice).unwrap_or_default();
    let course = show::course_of(Some(plan), marks);
    // As late as can be: a page sets its clock by this, and whatever comes after it makes that clock late.
    let now_ms = visit.desk.now(visit.booth()).timestamp().as_millisecond();
    let standing = show::standing(plan, &course, showing, now_ms);
    Moment { course, standing, now_ms }
}

/// Everything that the page knows, for its script and for a second phone.
fn state(visit: &Visit, plan: &Answer<ShowPlan>, found: (&ShowingId, &Showing)) -> Value {
    let (id, showing) = found;
    let Moment { course, standing, now_ms } = now(visit, &plan.value, found);
    let marks = visit.booth().shows.get(id).map(Vec::as_slice).unwrap_or_default();
    let marks: Vec<Value> = marks
        .iter()
        .map(|mark| {
            json!({ "entry": mark.entry, "at_ms": mark.at.unix_ms, "mark": mark.mark, "reel": mark.reel, "machine": mark.machine })
        })
        .collect();
    json!({
        "showing": id,
        "title": showing.title,
        "starts_ms": showing.starts.timestamp().as_millisecond(),
        "zone_offset_seconds": showing.starts.offset().seconds(),
        "now_ms": now_ms,
        "plan": plan.value,
        "marks": marks,
        "course": course,
        "standing": standing,
        "because": plan.because,
        "caveats": plan.caveats,
    })
}

/// The state of the show as JSON.
pub async fn figures(visit: Visit, Path(id): Path<String>) -> Answered {
    let found = find(&visit, &id)?;
    let plan = plan_of(&visit, found)?;
    Ok(as_json(StatusCode::OK, &state(&visit, &plan, found)))
}

/// Shows the show.
pub async fn show(visit: Visit, Path(id): Path<String>, RawQuery(query): RawQuery) -> Answered {
    // Whatever the inks elsewhere: nothing here may light up the hall.
    let visit = Visit { theme: Theme::Dark, ..visit };
    let found = find(&visit, &id)?;
    let plan = plan_of(&visit, found)?;
    let stand = now(&visit, &plan.value, found);
    let showing = found.1;
    let address = format!("{}/show", Place::Showing(found.0.clone()).href());
    let barred = booth::prints::barred(visit.booth(), visit.library(), showing);
    let knows = Typed::from_query(query.as_deref().unwrap_or("")).get(KNOWN).is_some();
    if !barred.is_empty() && !knows && stand.standing.phase == Phase::Waiting {
        return Ok(barred_first(&visit, found, &barred));
    }
    let writer = visit.probable_writer().map(|writer| writer.to_string()).unwrap_or_default();
    let main = html! {
        link rel="stylesheet" href="/assets/show.css";
        h1.unseen { "Show: " (showing.title) }
        @if !barred.is_empty() { (show_as::blocks(&[barred_lines(&barred)])) }
        div #show data-address=(address) data-by=(writer) data-state=(state(&visit, &plan, found)) data-phase=(phase(stand.standing.phase)) {
            (clocks(&stand, showing))
            @if stand.standing.phase == Phase::Waiting { (super::showing::machines_say_in_short(showing, &visit)) }
            ul #show-machines .plain { @for on in &stand.standing.machines { li { (on_machine(on)) } } }
            div.show-middle {
                p #show-what { (what(&stand.standing)) }
                p #show-count role="timer" aria-live="off" { (count(&stand.standing)) }
                p #show-next aria-live="polite" { (stand.standing.next) }
            }
            dl.show-left {
                div { dt { "Reel" } dd #show-reel { (units::show::running_time(stand.standing.reel_left_seconds)) } }
                div { dt { "Programme" } dd #show-programme { (units::show::running_time(stand.standing.programme_left_seconds)) } }
                div { dt { "Stoppages" } dd #show-stoppages { (stand.course.dark.len()) } }
            }
            p #show-awake .quiet hidden {}
            div #show-taps { (taps(&visit, &plan.value, &stand, &address, &writer)) }
            p.ways.show-foot {
                a #show-wrong href=(wrong(found.0, &stand)) { "Something is wrong" }
                a #show-report href={ (address) "/report" } { "Report" }
                a href=(Place::Showing(found.0.clone()).href()) { "Leave" }
            }
            @if !plan.caveats.is_empty() && stand.standing.phase == Phase::Waiting {
                (show_as::block(&views::Block::Caveats(plan.caveats.iter().map(|caveat| caveat.words.clone()).collect())))
            }
        }
    };
    Ok(layout::bare_page(&visit, &showing.title, "show", &main, &["/assets/show.js"]))
}

/// That somebody has read which reels must not run.
const KNOWN: &str = "known";

fn barred_lines(barred: &[PrintWarning<'_>]) -> views::Block {
    views::Block::List(barred.iter().map(views::prints::barred_line).collect())
}

/// Before the first picture: a reel that must not run is read and left out with a tap; nothing else can be tapped yet.
fn barred_first(
    visit: &Visit,
    (id, showing): (&ShowingId, &Showing),
    barred: &[PrintWarning<'_>],
) -> Response {
    let mut reels: Vec<u32> = barred.iter().map(|warning| warning.reel).collect();
    reels.sort_unstable();
    reels.dedup();
    let address = Place::Showing(id.clone()).href();
    let main = html! {
        link rel="stylesheet" href="/assets/show.css";
        h1 { (showing.title) }
        div #barred {
            p.lead { "Before the first picture:" }
            (show_as::blocks(&[views::Block::List(views::prints::warnings(barred))]))
            p { a.button.main.broad-way #know-barred href={ (address) "/show?" (KNOWN) "=yes" } {
                "I know; " (views::prints::reels(&reels)) @if reels.len() == 1 { " is" } @else { " are" } " left out"
            } }
            p.ways { a href=(address) { "The showing" } }
        }
    };
    layout::bare_page(visit, &showing.title, "show", &main, &[])
}

fn phase(phase: Phase) -> &'static str {
    match phase {
        Phase::Waiting => "waiting",
        Phase::Running => "running",
        Phase::Paused => "paused",
        Phase::Stopped => "stopped",
        Phase::Between => "between",
        Phase::Over => "over",
    }
}

fn clocks(stand: &Moment, showing: &Showing) -> Markup {
    let at = |ms| views::show::clock(ms, &showing.starts);
    html! {
        div.show-clocks {
            span #show-clock { (at(stand.now_ms)) }
            span { "ends " span #show-end { (at(stand.standing.end_ms)) } }
            span #show-drift { (views::show::drift(stand.standing.drift_seconds)) }
        }
    }
}

fn on_machine(on: &show::OnMachine) -> Markup {
    html! {
        strong { (on.name) } " "
        @match (on.running, on.next) {
            (Some(running), Some(next)) => { "runs reel " (running) ", then reel " (next) }
            (Some(running), None) => { "runs reel " (running) }
            (None, Some(next)) => { "reel " (next) " next" }
            (None, None) => { "done" }
        }
    }
}

/// What the big figure counts to.
fn what(standing: &Standing) -> &'static str {
    match (standing.phase, standing.ahead.map(|ahead| ahead.cue)) {
        (Phase::Waiting, _) => "Runs in all",
        (Phase::Paused, _) => "Paused for",
        (Phase::Stopped, _) => "Dark for",
        (Phase::Between, _) => "Between reels for",
        (Phase::Over, _) => "Over",
        (Phase::Running, Some(show::Cue::Motor)) => "To the motor cue",
        (Phase::Running, Some(show::Cue::Changeover)) => "To the changeover",
        (Phase::Running, _) => "To the end of the reel",
    }
}

fn count(standing: &Standing) -> String {
    let time = match standing.phase {
        Phase::Waiting => standing.programme_left_seconds,
        Phase::Over => return "–".to_owned(),
        Phase::Running => standing.ahead.map_or(standing.reel_left_seconds, |ahead| ahead.in_seconds),
        Phase::Paused | Phase::Stopped | Phase::Between => standing.dark_seconds.unwrap_or_default(),
    };
    units::show::running_time_in_tenths(time)
}

/// Where the fault desk begins for what runs now.
fn wrong(showing: &ShowingId, stand: &Moment) -> String {
    let machine = stand.course.ran.last().and_then(|ran| ran.machine.clone());
    let mut address =
        format!("/faults/new?showing={}&show=running", views::address::escaped(showing.as_str()));
    if let Some(machine) = machine {
        address.push_str("&machine=");
        address.push_str(&views::address::escaped(machine.as_str()));
    }
    address
}

/// The taps that make sense now; the most likely one is the large one.
fn taps(visit: &Visit, plan: &ShowPlan, stand: &Moment, address: &str, writer: &str) -> Markup {
    let here = stand.course.reel;
    let reel = plan.reels.get((here as usize).wrapping_sub(1));
    let offered: Vec<(&str, u32, &str)> = match stand.standing.phase {
        Phase::Waiting => vec![("started", 1, "Picture on the screen")],
        Phase::Running => {
            let main = match reel.map(|reel| reel.next) {
                Some(Next::Changeover) => ("changed-over", here + 1, "Changed over"),
                Some(Next::End) => ("ended", here, "The end"),
                _ => ("reel-ended", here, "Reel ended"),
            };
            let mut all = vec![main, ("stopped", here, "It stopped"), ("paused", here, "Pause")];
            if main.0 == "changed-over" {
                all.push(("reel-ended", here, "Reel ended"));
            }
            all
        }
        Phase::Paused | Phase::Stopped => vec![("resumed", here, "On again"), ("ended", here, "The end")],
        Phase::Between if (here as usize) < plan.reels.len() => {
            vec![("started", here + 1, "Picture on the screen"), ("ended", here, "The end")]
        }
        Phase::Between => vec![("ended", here, "The end")],
        Phase::Over => Vec::new(),
    };
    html! {
        @for (place, (mark, reel, words)) in offered.iter().enumerate() {
            form method="post" action=(address) class=[(place == 0).then_some("broad")] {
                input type="hidden" name=(common::ID) value=(visit.desk.new_id());
                input type="hidden" name=(common::BY) value=(writer);
                input type="hidden" name="reel" value=(reel);
                button.main[place == 0] type="submit" name="mark" value=(mark) { (words) }
            }
        }
        @if let Some(last) = stand.course.last {
            form method="post" action={ (address) "/undo" } {
                input type="hidden" name=(common::ID) value=(visit.desk.new_id());
                input type="hidden" name=(common::BY) value=(writer);
                button type="submit" name="undo" value=(last.entry) { "Take back: " (views::entry::mark(last.mark)) }
            }
        }
    }
}

/// Shows the report.
pub async fn report(visit: Visit, Path(id): Path<String>) -> Answered {
    let found = find(&visit, &id)?;
    let plan = show::plan_of(visit.booth(), visit.library(), found).ok();
    let answer = show::report(visit.booth(), plan.as_ref(), found);
    let sheet = views::show::report_sheet(&answer, visit.booth(), &found.1.starts, visit.today());
    let address = Place::Showing(found.0.clone()).href();
    let main = html! {
        (show_as::sheet(&sheet))
        p.ways {
            @if answer.value.phase != Phase::Over { a.main href={ (address) "/show" } { "The show" } }
            a href=(address) { "The showing" }
            a href={ "/logbook?about=" (views::address::escaped(found.0.as_str())) } { "Its entries" }
        }
        p.quiet { "A stoppage says what it was better in your own words: open it and correct it." }
    };
    Ok(layout::page(&visit, Section::Diary, &sheet.title, &main))
}

pub(super) fn as_json(status: StatusCode, value: &Value) -> Response {
    (
        status,
        [(header::CONTENT_TYPE, "application/json"), (header::CACHE_CONTROL, "no-store")],
        value.to_string(),
    )
        .into_response()
}
