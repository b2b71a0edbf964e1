//! The show: one dim page for one hand, from the first picture to the report.
//!
//! Every tap is an entry. Without script the buttons are plain forms and the figures those of the moment at which the
//! page was asked for; with script `show.js` keeps taps on this device until they are sent, and counts by the clock.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::{Theme, Visit},
    write::{self, NotWritten, common_fields as common},
};
use ::logbook::{
    Draft, EntryId, Fact, PersonId, ShowingId, When,
    booth::{ShowMarkRecord, Showing},
    fact::{ShowMark, ShowMarked, Withdraws},
    rules,
};
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use booth::{
    Answer,
    prints::PrintWarning,
    show::{self, Course, Next, Phase, ShowPlan, Standing},
};
use maud::{Markup, html};
use serde_json::{Value, json};
use std::sync::Arc;
use store::StoreError;
use views::{Place, html as show_as};

fn find<'v>(visit: &'v Visit, id: &str) -> Result<(&'v ShowingId, &'v Showing), Trouble> {
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

/// Takes one tap.
pub async fn take(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    let (showing, _) = find(&visit, &id)?;
    let showing = showing.clone();
    let wants_json = posted.wants_json;
    let visit = Arc::new(visit);
    let pen = Arc::clone(&visit);
    let named = showing.clone();
    let written = write::blocking(move || mark(&pen, &named, &posted.typed)).await;
    answer(written, wants_json, &showing)
}

/// Takes a tap back, and whatever it wrote beside itself.
pub async fn undo(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    let (showing, _) = find(&visit, &id)?;
    let showing = showing.clone();
    let wants_json = posted.wants_json;
    let visit = Arc::new(visit);
    let pen = Arc::clone(&visit);
    let named = showing.clone();
    let written = write::blocking(move || take_back(&pen, &named, &posted.typed)).await;
    answer(written, wants_json, &showing)
}

fn answer(written: Result<EntryId, NotWritten>, wants_json: bool, showing: &ShowingId) -> Answered {
    let address = format!("{}/show", Place::Showing(showing.clone()).href());
    match written {
        Ok(entry) if wants_json => Ok(as_json(StatusCode::OK, &json!({ "entry": entry }))),
        Ok(_) => Ok(Redirect::to(&address).into_response()),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            let words: Vec<String> = problems.into_iter().map(|problem| problem.words).collect();
            Err(Trouble::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "Not written down",
                words.join(" "),
                "Go back to the show and tap again.",
            )
            .way(address, "Back to the show"))
        }
    }
}

/// Writes a tap down, with the stoppage that it ends and, at the end of the show, the hours and that it was held.
fn mark(visit: &Visit, showing: &ShowingId, typed: &Typed) -> Result<EntryId, NotWritten> {
    let id = write::id_of(typed)?;
    if visit.desk.store().get(id)?.is_some() {
        return Ok(id);
    }
    let (by, at) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    let at = tapped_at(visit, typed).unwrap_or(at);
    // What hangs on a tap is made of the show as it stands by now: another hand may have been quicker.
    let pen = visit.desk.pen();
    let folded = visit.desk.folded()?;
    let booth = &folded.booth;
    let Some(found) = booth.showings.get(showing) else {
        return Err(Trouble::not_found(
            "This showing is not in the diary any more.",
            "Look for it in the diary.",
        )
        .into());
    };
    let plan = show::plan_of(booth, visit.library(), (showing, found)).ok().map(|plan| plan.value);
    let fact = read_mark(showing, plan.as_ref(), typed)?;
    let record = ShowMarkRecord {
        at,
        mark: fact.mark,
        reel: fact.reel,
        machine: fact.machine.clone(),
        note: String::new(),
        entry: id,
        by: by.clone(),
    };
    let stoppage = show::stoppage_after(booth, plan.as_ref(), showing, &record);
    let closing = show::closing(booth, plan.as_ref(), showing, &record);
    let device = visit.desk.device();
    let draft = |id, happened, fact| Draft { id, device, happened, by: by.clone(), fact };
    let own = draft(id, at, fact.into());
    let further = stoppage.into_iter().chain(closing).zip(1..);
    let further = further.map(|((at, fact), number)| draft(show::linked(id, number), at, fact));
    let all: Vec<Draft> = std::iter::once(own.clone()).chain(further).collect();
    match write::put_down_on(visit, booth, all) {
        // What the tap says must not be lost for what hangs on it: hours can be written down by hand.
        Err(NotWritten::Problems(_)) => write::put_down_on(visit, booth, vec![own])?,
        other => other?,
    }
    // A tap that waited on a phone may come after the end that it belongs before.
    drop(pen);
    if show::course_of(plan.as_ref(), booth.shows.get(showing).into_iter().flatten()).phase == Phase::Over {
        follow(visit, showing, &by)?;
    }
    Ok(id)
}

/// Lets what the marks of a show wrote beside themselves follow the marks as they stand by now. What the gate refuses
/// is left to a person: the marks themselves are written already.
pub(super) fn follow(visit: &Visit, showing: &ShowingId, by: &PersonId) -> Result<(), NotWritten> {
    let _pen = visit.desk.pen();
    let folded = visit.desk.folded()?;
    let Some(found) = folded.booth.showings.get(showing) else { return Ok(()) };
    let plan = show::plan_of(&folded.booth, visit.library(), (showing, found)).ok().map(|plan| plan.value);
    let store = visit.desk.store();
    let get = |id| Ok::<_, StoreError>(store.get(id)?.map(|stored| stored.chained.entry));
    let written = show::written_by(&store::marks_of(store, showing)?, get, |id| store.settlements(id))?;
    let device = visit.desk.device();
    let now = When::from_zoned(&visit.now);
    for step in show::following(&folded.booth, plan.as_ref(), showing, &written) {
        let id = step.id.unwrap_or_else(|| visit.desk.new_id());
        let draft = Draft { id, device, happened: step.happened, by: by.clone(), fact: step.fact };
        if let Ok(entry) = ::booth::accept(draft, &folded.booth, visit.library(), now) {
            visit.desk.append(&[entry])?;
        }
    }
    Ok(())
}

fn read_mark(showing: &ShowingId, plan: Option<&ShowPlan>, typed: &Typed) -> Result<ShowMarked, NotWritten> {
    let word = typed.get("mark").unwrap_or_default();
    let mark: Option<ShowMark> = serde_json::from_value(json!(word)).ok();
    let reel: Option<u32> = typed.get("reel").and_then(|reel| reel.parse().ok()).filter(|reel| *reel > 0);
    let (Some(mark), Some(reel)) = (mark, reel) else {
        return Err(Trouble::not_understood(
            "This tap does not say what happened in which reel.",
            "Go back to the show and tap again.",
        )
        .into());
    };
    let planned = plan.and_then(|plan| plan.reels.get(reel as usize - 1)).map(|reel| reel.machine.clone());
    let machine = typed.get("machine").map(::logbook::MachineId::new).or(planned);
    Ok(ShowMarked { showing: showing.clone(), mark, reel, machine, note: String::new() })
}

/// The moment of the tap on the server's clock, as the device reckons it; nothing if that cannot be.
fn tapped_at(visit: &Visit, typed: &Typed) -> Option<When> {
    let unix_ms: i64 = typed.get("at_ms")?.parse().ok()?;
    let now = When::from_zoned(&visit.now);
    let latest = now.unix_ms + rules::CLOCK_SKEW_MS;
    (latest - 400 * 86_400_000..=latest).contains(&unix_ms).then_some(When { unix_ms, ..now })
}

fn take_back(visit: &Visit, showing: &ShowingId, typed: &Typed) -> Result<EntryId, NotWritten> {
    let id = write::id_of(typed)?;
    if visit.desk.store().get(id)?.is_some() {
        return Ok(id);
    }
    let mark: EntryId = typed.get("undo").and_then(|entry| entry.parse().ok()).ok_or_else(|| {
        Trouble::not_understood("This does not say which tap is taken back.", "Go back to the show.")
    })?;
    let of_this_show = visit.desk.store().get(mark)?.is_some_and(
        |stored| matches!(stored.chained.entry.fact, Fact::ShowMarked(marked) if marked.showing == *showing),
    );
    if !of_this_show {
        return Err(Trouble::not_understood(
            "What is to be taken back is not a tap of this show.",
            "Look for the entry in the logbook and take it back there.",
        )
        .into());
    }
    let (by, at) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    let device = visit.desk.device();
    let mut drafts = Vec::new();
    for number in 0..=u8::MAX {
        let entry = show::linked(mark, number);
        if visit.desk.store().get(entry)?.is_none() {
            break;
        }
        // Another hand was quicker.
        let settlements = visit.desk.store().settlements(entry)?;
        if settlements.iter().any(|settled| matches!(settled.fact, Fact::Withdraws(_))) {
            continue;
        }
        let fact = Withdraws { entry, why: show::TAPPED_BY_MISTAKE.to_owned() }.into();
        drafts.push(Draft { id: show::linked(id, number), device, happened: at, by: by.clone(), fact });
    }
    write::put_down(visit, drafts)?;
    follow(visit, showing, &by)?;
    Ok(id)
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

fn as_json(status: StatusCode, value: &Value) -> Response {
    (
        status,
        [(header::CONTENT_TYPE, "application/json"), (header::CACHE_CONTROL, "no-store")],
        value.to_string(),
    )
        .into_response()
}
