//! One fault on the desk: the one next thing to do, large; what is known and was done folded beneath.

use super::fault::{not_at_desk, offered, search};
use crate::{
    fields,
    layout::{self, Section},
    trouble::Answered,
    typed::Typed,
    visit::Visit,
    write::common_fields as common,
};
use ::logbook::{
    booth::{Fault, Person},
    ids::PersonId,
};
use axum::{
    extract::{Path, RawQuery},
    http::StatusCode,
    response::Response,
};
use booth::desk::{
    AtOnce, Change, CloseWords, FaultSheet, MakeSafe, NextStep, Odd, OpenFault, RequestLines, Shifted,
    ShowClock, StepCard, StepKind, open, symptoms_of,
};
use maud::{Markup, html};
use views::{Place, html as show_as};

/// So many likely causes are shown.
const ODDS_SHOWN: usize = 8;

/// Shows a fault.
pub async fn show(visit: Visit, Path(fault): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    page(&visit, &fault, typed.get("words").unwrap_or("").trim(), &[], StatusCode::OK)
}

/// A fault's page with what was looked for on it, and with what could not be written down.
fn page(
    visit: &Visit,
    fault: &str,
    looked_for: &str,
    problems: &[fields::Problem],
    status: StatusCode,
) -> Answered {
    let case = match open(visit.booth(), visit.library(), fault, &visit.now) {
        Ok(case) => case,
        Err(error) => return without_the_desk(visit, fault, &error),
    };
    let sheet = case.sheet();
    let main = html! {
        link rel="stylesheet" href="/assets/fault.css";
        div.case-head {
            h1 { (sheet.words) }
            p { a href=(Place::Machine(case.machine.clone()).href()) { (sheet.machine_name) } ", "
                span.clock data-clock=(clock_word(sheet.clock)) { (clock_words(sheet.clock)) } }
            @if let Some(show) = running_show(visit, &case, &sheet) { p.ways { a #back-to-show href=(show) { "Back to the show" } } }
        }
        (fields::problems(problems))
        @if sheet.clock == ShowClock::ShowRunning && !matches!(sheet.next, NextStep::Closed { .. }) {
            p.stop-line #stop-line { strong { "Stop at once: " } "smoke, a bubbling frame, a shock, a tearing noise. Dowser shut or lamp off, mains off, house lights." }
        }
        div.case-page {
            div {
                section.now.stop[matches!(sheet.next, NextStep::MakeSafe(_))] #now data-do=(word_of(&sheet.next)) {
                    (next(visit, &case, &sheet, looked_for))
                }
                (take_back(visit, &sheet))
            }
            div { (folded(visit, &case, &sheet)) }
        }
    };
    Ok(layout::page_with(visit, Some(Section::Faults), &sheet.words, &main, status))
}

/// The page of the show in which the fault came up, while an audience waits.
fn running_show(visit: &Visit, case: &OpenFault<'_>, sheet: &FaultSheet) -> Option<String> {
    let showing = case.fault.showing.as_ref().filter(|_| sheet.clock == ShowClock::ShowRunning)?;
    visit.booth().shows.get(showing)?;
    Some(format!("{}/show", Place::Showing(showing.clone()).href()))
}

/// A fault of a machine that the desk knows nothing of: what is known of it, and the plain ways on.
fn without_the_desk(visit: &Visit, fault: &str, error: &booth::desk::NotAtDesk) -> Answered {
    let Some((id, known)) = visit.booth().faults.get_key_value(fault) else { return Err(not_at_desk(error)) };
    let filled = vec![("fault".to_owned(), id.to_string())];
    let main = html! {
        h1 { (known.words) }
        p { "The desk cannot help here: " (error) "." }
        p.ways {
            a href=(Place::LogKind("fault-closed".to_owned(), filled.clone()).href()) { "Close it" }
            a href=(Place::LogKind("fault-noted".to_owned(), filled).href()) { "More about it" }
            a href=(Place::Entry(known.opened.1).href()) { "Its entry" }
        }
    };
    Ok(layout::page(visit, Section::Faults, &known.words, &main))
}

const fn clock_word(clock: ShowClock) -> &'static str {
    match clock {
        ShowClock::ShowRunning => "show-running",
        ShowClock::AfterShow => "after-show",
    }
}

const fn clock_words(clock: ShowClock) -> &'static str {
    match clock {
        ShowClock::ShowRunning => "The show runs",
        ShowClock::AfterShow => "After the show",
    }
}

const fn word_of(next: &NextStep) -> &'static str {
    match next {
        NextStep::MakeSafe(_) => "make-safe",
        NextStep::AtOnce(_) => "at-once",
        NextStep::Step(_) => "step",
        NextStep::Later { .. } => "later",
        NextStep::PassOn { .. } => "pass-on",
        NextStep::Close(_) => "close",
        NextStep::Closed { .. } => "closed",
        NextStep::PickSymptom { .. } => "pick-symptom",
    }
}

fn next(visit: &Visit, case: &OpenFault<'_>, sheet: &FaultSheet, looked_for: &str) -> Markup {
    let form = |deed: &str, inside: &Markup| deed_form(visit, &sheet.fault, deed, inside);
    match &sheet.next {
        NextStep::MakeSafe(safe) => make_safe(safe, &form),
        NextStep::AtOnce(now) => at_once(now, &form),
        NextStep::Step(step) => step_card(step, &form),
        NextStep::Later { words } => html! {
            h2 { "Leave it for now" }
            p.what { (words) }
            (form("mark", &html! { div.answers { button.main.whole name="mark" value="show-over" { "The audience has gone" } } }))
        },
        NextStep::PassOn { why, request, written } => pass_on(case, why, request, *written, &form),
        NextStep::Close(close) => closing(case, close, &form),
        NextStep::Closed { cause, cure, on } => html! {
            h2 { "Dealt with on " (views::wording::date(*on, visit.now.date())) }
            dl.facts {
                @if !cause.is_empty() { div { dt { "It was" } dd { (cause) } } }
                @if !cure.is_empty() { div { dt { "It was mended by" } dd { (cure) } } }
            }
            p.ways { a href=(Place::Faults.href()) { "Faults" } a href=(Place::Machine(case.machine.clone()).href()) { (sheet.machine_name) } }
        },
        NextStep::PickSymptom { words } => html! {
            h2 { "What do you notice?" }
            p.what { (words) }
            (search(&Place::Fault(case.id.clone()).href(), looked_for, &html! {}))
            (form("noticed", &pick(visit, case, looked_for)))
        },
    }
}

/// A plain form that writes one deed down.
fn deed_form(visit: &Visit, fault: &str, deed: &str, inside: &Markup) -> Markup {
    let writer = visit.probable_writer().map(|writer| writer.to_string()).unwrap_or_default();
    html! {
        form method="post" action={ "/faults/" (views::address::escaped(fault)) } data-deed=(deed) {
            input type="hidden" name=(common::ID) value=(visit.desk.new_id());
            input type="hidden" name=(common::BY) value=(writer);
            input type="hidden" name="deed" value=(deed);
            (inside)
        }
    }
}

fn make_safe(safe: &MakeSafe, form: &dyn Fn(&str, &Markup) -> Markup) -> Markup {
    html! {
        h2 { "Stop. " (safe.drill_name) }
        @for why in &safe.why { p.what { strong { (why) } } }
        ol { @for line in &safe.drill { li { (line) } } }
        (form("mark", &html! { div.answers { button.main.whole name="mark" value="made-safe" { "It is stopped and safe" } } }))
    }
}

/// What the hands do now, with the audience waiting.
fn at_once(now: &AtOnce, form: &dyn Fn(&str, &Markup) -> Markup) -> Markup {
    html! {
        h2 { "Now, with your hands" @if now.seconds > 0.0 { " (" (format!("{:.0}", now.seconds)) "\u{a0}s)" } }
        @if now.drill.is_empty() {
            @for words in &now.words { p.what { (words) } }
        } @else {
            ol { @for line in &now.drill { li { (line) } } }
        }
        p.what { strong { (now.go_on) } }
        (form("mark", &html! {
            div.answers {
                button.main.whole name="mark" value="done-at-once" { "Done; go on" }
                button.whole.less name="mark" value="show-over" { "The audience has gone" }
            }
        }))
    }
}

fn minutes(seconds: f64) -> String {
    if seconds < 90.0 { format!("{seconds:.0} s") } else { format!("{:.0} min", (seconds / 60.0).ceil()) }
}

/// The one next thing, with its caution before it and its answers under it.
fn step_card(step: &StepCard, form: &dyn Fn(&str, &Markup) -> Markup) -> Markup {
    let cautions: Vec<String> = step.cautions.iter().map(|caution| caution.words.clone()).collect();
    html! {
        h2 data-step=(step.id) { (step.name) }
        (show_as::cautions(&cautions))
        @if !step.prepare.is_empty() {
            ul.tools { @for first in &step.prepare { li { (first.words) } } }
        }
        @if !step.words.is_empty() { p.what { (step.words) } }
        (worth(step))
        @match step.kind {
            StepKind::Condition => (form("condition", &question(step))),
            StepKind::Check => (form("check", &question(step))),
            StepKind::Remedy => (form("remedy", &remedy(step))),
        }
    }
}

/// How long it takes, why it comes now, what may come of it.
fn worth(step: &StepCard) -> Markup {
    html! {
        p.quiet { strong { (minutes(step.time_seconds)) } ". " (step.why) }
        @if step.may.iter().any(|may| !may.then.is_empty()) {
            details {
                summary { "What it may tell" }
                @for may in &step.may {
                    p { strong { (may.words) } " (" (may.chance.in_words()) ")"
                        @if let Some(then) = may.then.first().filter(|_| may.answer != "helped") {
                            ": then most likely " (then.name) ", " (then.chance.in_words())
                        } "." }
                }
            }
        }
    }
}

/// The answers, as what is seen: a yes or no before it could say the opposite of the question to a tired hand.
fn question(step: &StepCard) -> Markup {
    html! {
        input type="hidden" name="which" value=(step.id);
        div.answers {
            button name="answer" value="yes" { (step.yes) }
            button name="answer" value="no" { (step.no) }
            button.less name="answer" value="cannot-tell" { "I can't tell" }
            button.less name="answer" value="skipped" { "Skip" }
        }
    }
}

fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_lowercase).collect();
    format!("{first}{}", letters.as_str())
}

fn remedy(step: &StepCard) -> Markup {
    html! {
        input type="hidden" name="which" value=(step.id);
        @if let Some(spare) = &step.spare {
            @match spare.in_stock {
                Some(count) if count > 0 => label.tick {
                    input #use-spare type="checkbox" name="use_spare" value=(spare.item);
                    span { "I fit one from the store: " strong { (spare.name) } ", " (count) " there" }
                },
                Some(_) => p.quiet { (spare.name) ": none left in the store." },
                None => p.quiet { "It takes: " (spare.name) ". The store has no count of it." },
            }
        }
        div.answers {
            button name="result" value="helped" { "It helped" }
            button name="result" value="did-not-help" { "Still there" }
            button.less name="result" value="cannot-tell" { "I can't tell" }
            button.less name="result" value="skipped" { "Skip" }
        }
    }
}

fn pass_on(
    case: &OpenFault<'_>,
    why: &str,
    request: &RequestLines,
    written: bool,
    form: &dyn Fn(&str, &Markup) -> Markup,
) -> Markup {
    html! {
        h2 { "Pass it on to " (request.to) }
        p.what { (why) }
        @if written {
            p { "The request is written." }
            p.ways { a.button.main #request href=(Place::RepairRequest(case.id.clone()).href()) { "Read or print the request" } }
        } @else {
            (form("request", &html! { div.answers { button.main.whole #write-request name="request" value="write" { "Write the repair request" } } }))
        }
        p.quiet { "When it is mended, say below what it was." }
    }
}

/// A remedy helped: which cause was it?
fn closing(case: &OpenFault<'_>, close: &CloseWords, form: &dyn Fn(&str, &Markup) -> Markup) -> Markup {
    let offered = |cause: &str| close.causes.iter().any(|known| known.cause == cause);
    let others: Vec<Odd> =
        case.causes_to_close_with().into_iter().filter(|odd| !offered(&odd.cause)).collect();
    html! {
        h2 { "It runs again. What was it?" }
        p.what { "This helped: " (lower_first(&close.remedy.name)) "." }
        (form("close", &html! {
            input type="hidden" name="remedy" value=(close.remedy.id);
            div.answers {
                @for (place, cause) in close.causes.iter().enumerate() {
                    label.tick { input type="radio" name="cause" value=(cause.cause) checked[place == 0];
                        span { (cause.name) " " span.quiet { (cause.in_words) } } }
                }
                @if !others.is_empty() {
                    details.whole { summary { "It was another" }
                        @for cause in &others {
                            label.tick { input type="radio" name="cause" value=(cause.cause); span { (cause.name) } }
                        }
                    }
                }
                label.tick { input type="radio" name="cause" value="" checked[close.causes.is_empty()]; "Something else, or nobody saw" }
                button.main.whole #confirm { "Close the fault" }
            }
        }))
    }
}

/// So many symptoms are offered for the words in which a fault was written.
const LIKELIEST: usize = 3;

/// What may be noticed, for a fault that was written in words only: what fits its words on top, then all the groups.
fn pick(visit: &Visit, case: &OpenFault<'_>, looked_for: &str) -> Markup {
    let symptoms = |words: &str| {
        let found = symptoms_of(visit.booth(), visit.library(), case.machine.as_str(), words);
        found.map(|(_, found)| found).unwrap_or_default()
    };
    let mut fitting = if looked_for.is_empty() { symptoms(&case.fault.words) } else { symptoms(looked_for) };
    if looked_for.is_empty() {
        fitting.truncate(LIKELIEST);
    }
    offered("which", looked_for, &fitting, &symptoms(""), false)
}

/// Takes the last answer back.
fn take_back(visit: &Visit, sheet: &FaultSheet) -> Markup {
    let Some(last) = sheet.done.last().filter(|_| !matches!(sheet.next, NextStep::Closed { .. })) else {
        return html! {};
    };
    let inside = html! {
        input type="hidden" name="entry" value=(last.entry);
        button #take-back type="submit" { "Take back: " (last.words) }
    };
    html! { div.take-back { (deed_form(visit, &sheet.fault, "undo", &inside)) } }
}

fn folded(visit: &Visit, case: &OpenFault<'_>, sheet: &FaultSheet) -> Markup {
    let open = matches!(sheet.next, NextStep::Closed { .. });
    html! {
        @if !case.kind.trouble.stop_signs.is_empty() && !open {
            details.folded #stop-signs open[sheet.clock == ShowClock::ShowRunning] { summary { "Stop at once if" }
                ul { @for sign in &case.kind.trouble.stop_signs { li { (sign.words) } } } }
        }
        @if !sheet.odds.is_empty() && !open {
            details.folded #odds { summary { "What it may be" } (odds(&sheet.odds)) }
        }
        @if !sheet.changed.is_empty() {
            details.folded #changed open[open] { summary { "What changed the odds" } (changed(&sheet.changed)) }
        }
        @if !sheet.ruled_out.is_empty() {
            details.folded #ruled-out open[open] { summary { "Ruled out" }
                ul { @for cause in &sheet.ruled_out { li { (cause.name) } } } }
        }
        @if !sheet.unlikely.is_empty() && !open {
            details.folded #unlikely { summary { "Unlikely by what was seen" }
                ul { @for cause in &sheet.unlikely { li { (cause.name) } } } }
        }
        @if !sheet.done.is_empty() {
            details.folded #tried open[open] { summary { "What was done" } (done(visit, sheet)) }
        }
        @if !open { (other_ways(visit, case, sheet)) }
        (show_as::block(&views::Block::Caveats(sheet.set_aside.iter().chain(&sheet.caveats).cloned().collect())))
    }
}

fn odds(odds: &[Odd]) -> Markup {
    html! {
        ul.odds {
            @for odd in odds.iter().take(ODDS_SHOWN) {
                li data-cause=(odd.cause) {
                    div.odd { span { (odd.name) @if let Some(whose) = odd.beyond { " " span.quiet { "for " (whose) } } } span { (odd.in_words) } }
                    progress max="100" value=(format!("{:.0}", odd.chance.value() * 100.0)) aria-hidden="true" {}
                }
            }
        }
    }
}

fn changed(changes: &[Change]) -> Markup {
    html! {
        ul.plain {
            @for change in changes {
                li {
                    strong { (change.words) }
                    ul {
                        @for shift in moved(change).take(3) {
                            li { (shift.name) ": " (shift.before.in_words()) " → " (shift.after.in_words()) }
                        }
                    }
                    @if !change.ruled_out.is_empty() {
                        p.quiet { "Ruled out: " (views::wording::listed(&change.ruled_out.iter().map(|one| one.name.clone()).collect::<Vec<_>>())) "." }
                    }
                }
            }
        }
    }
}

/// The causes whose chance is said in other words than before.
fn moved(change: &Change) -> impl Iterator<Item = &Shifted> {
    change.shifts.iter().filter(|shift| shift.before.in_words() != shift.after.in_words())
}

fn done(visit: &Visit, sheet: &FaultSheet) -> Markup {
    html! {
        ol.steps-done {
            @for step in &sheet.done {
                li { a href=(Place::Entry(step.entry).href()) { (step.words) } " "
                    span.quiet { (step.at) ", " (person(visit, &step.by)) @if !step.note.is_empty() { ": " (step.note) } } }
            }
        }
    }
}

fn person<'v>(visit: &'v Visit, by: &'v PersonId) -> &'v str {
    visit.booth().people.get(by).map_or(by.as_str(), |person| person.name.as_str())
}

/// The clock, handing over, another symptom, passing on, closing by hand.
fn other_ways(visit: &Visit, case: &OpenFault<'_>, sheet: &FaultSheet) -> Markup {
    let form = |deed: &str, inside: &Markup| deed_form(visit, &sheet.fault, deed, inside);
    let people = &visit.booth().people;
    let me = visit.probable_writer();
    let others: Vec<_> = people.iter().filter(|(id, _)| Some(*id) != me.as_ref()).collect();
    let (mark, words) = match sheet.clock {
        ShowClock::ShowRunning => ("show-over", "The audience has gone"),
        ShowClock::AfterShow => ("show-runs", "An audience waits"),
    };
    html! {
        details.folded #other { summary { "Other ways" }
            (form("mark", &html! { p { button #clock name="mark" value=(mark) { (words) } } }))
            @if !matches!(sheet.next, NextStep::PassOn { .. }) {
                (form("request", &html! { p { button name="request" value="write" { "Write a repair request now" } } }))
            }
            @if !others.is_empty() { (form("hand-over", &hand_over(&others))) }
            p.ways {
                @if !case.fault.requests.is_empty() { a href=(Place::RepairRequest(case.id.clone()).href()) { "The repair request" } }
                a href=(by_hand(case.fault, &sheet.fault)) { "Close it" }
            }
        }
    }
}

fn hand_over(others: &[(&PersonId, &Person)]) -> Markup {
    html! {
        div.field {
            label for="field-to" { "Hand over to" }
            select #field-to name="to" {
                @for (id, person) in others { option value=(id) { (person.name) } }
            }
        }
        p { button { "Hand it over" } }
    }
}

fn by_hand(fault: &Fault, id: &str) -> String {
    let filled = [("fault", id), ("machine", fault.machine.as_str())];
    let filled = filled.map(|(key, value)| (key.to_owned(), value.to_owned())).to_vec();
    Place::LogKind("fault-closed".to_owned(), filled).href()
}

/// Answers with the page of a fault to which something could not be written.
pub(super) fn refused(
    visit: &Visit,
    fault: &str,
    problems: &[fields::Problem],
) -> Result<Response, crate::trouble::Trouble> {
    page(visit, fault, "", problems, StatusCode::UNPROCESSABLE_ENTITY)
}
