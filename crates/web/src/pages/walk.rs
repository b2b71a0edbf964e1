//! The walk along the film path: one step at a time, one thumb.
//!
//! All steps stand in one page, so that a walk goes on when the server is lost. Without script each step is a plain
//! form of its own, and only the step that the address points at is seen; with script `walk.js` keeps what was said on
//! this device and sends it when it can.

use super::film_path::not_known;
use crate::{
    forms::{self, OUTCOMES},
    layout,
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, common_fields as common},
};
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use booth::{Walk, WalkKind, WalkStep};
use logbook::{
    EntryId, Fact, MachineId, ShowingId,
    booth::{Showing, ShowingState},
    fact::Outcome,
};
use machine::{CareKind, Hand};
use maud::{Markup, html};
use std::sync::Arc;
use views::{Place, html as show_as};

/// Shows a walk.
pub async fn show(visit: Visit, Path(machine): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let kind = kind_of(typed.get("for"))?;
    let answer = booth::walk(visit.booth(), visit.library(), &machine, kind, &visit.now)
        .map_err(|error| not_known(&error, &machine))?;
    let walk = &answer.value;
    let name = name_of(&visit, walk.machine, kind);
    let title = format!("{} · {}", walk.about.name, views::walk::name(kind).to_lowercase());
    let caveats: Vec<String> = answer.caveats.iter().map(|caveat| caveat.words.clone()).collect();
    let main = html! {
        h1 #walk-title { (title) }
        div.walk-steps data-walk=(name) data-machine=(walk.machine) data-for=(kind.as_str()) data-total=(walk.steps.len()) {
            @for step in &walk.steps {
                (one_step(&visit, walk, step, &name, if step.number == 1 { &caveats } else { &[] })?)
            }
            (the_end(walk))
        }
    };
    Ok(layout::bare_page(&visit, &title, "walk", &main, &["/assets/walk.js"]))
}

fn kind_of(word: Option<&str>) -> Result<WalkKind, Trouble> {
    let Some(word) = word else { return Ok(WalkKind::BeforeShowing) };
    WalkKind::from_word(word).ok_or_else(|| {
        let known: Vec<String> = WalkKind::ALL.iter().map(|kind| kind.as_str().to_owned()).collect();
        Trouble::not_understood(
            format!("There is no walk \"{word}\"."),
            format!("There are {}.", views::wording::listed(&known)),
        )
    })
}

/// The name of a walk: the same for one machine, one kind, one evening and one showing, so that it can be taken up
/// again, and so that a second showing has a walk of its own.
fn name_of(visit: &Visit, machine: &MachineId, kind: WalkKind) -> String {
    let evening = format!("{machine}-{}-{}", kind.as_str(), visit.today());
    let showing = match kind {
        WalkKind::BeforeShowing => showing_around(visit, machine, true),
        WalkKind::AfterShowing => showing_around(visit, machine, false),
        WalkKind::EveryReel | WalkKind::Due | WalkKind::All => None,
    };
    showing.map_or_else(|| evening.clone(), |showing| format!("{evening}-{showing}"))
}

/// Returns the machine's next planned showing of this evening, or the latest that has begun.
fn showing_around<'v>(visit: &'v Visit, machine: &MachineId, is_coming: bool) -> Option<&'v ShowingId> {
    let showings = visit.booth().showings.iter().filter(|(_, showing)| {
        let begun = showing.starts.timestamp() <= visit.now.timestamp();
        let still_stands = match showing.state {
            ShowingState::Planned => true,
            ShowingState::Held { .. } => !is_coming,
            ShowingState::Cancelled { .. } => false,
        };
        still_stands
            && begun != is_coming
            && visit.booth().evening_of_showing(showing).date() == visit.today()
            && showing.machines.iter().any(|(own, _)| own == machine)
    });
    let at = |(_, showing): &(&ShowingId, &Showing)| showing.starts.timestamp();
    let found = if is_coming { showings.min_by_key(at) } else { showings.max_by_key(at) };
    found.map(|(id, _)| id)
}

/// The entry of this very walk that a step's record comes from; a later word in the walk corrects it.
fn own_entry(visit: &Visit, step: &WalkStep<'_>, walk: &str) -> Result<Option<EntryId>, Trouble> {
    let Some(record) = step.already else { return Ok(None) };
    let Some(stored) = visit.desk.store().get(record.entry)? else { return Ok(None) };
    Ok(match &stored.chained.entry.fact {
        Fact::CareDone(done) if done.walk == walk && done.task.as_str() == step.task.id.as_str() => {
            Some(record.entry)
        }
        _ => None,
    })
}

fn one_step(
    visit: &Visit,
    walk: &Walk<'_>,
    step: &WalkStep<'_>,
    name: &str,
    caveats: &[String],
) -> Result<Markup, Trouble> {
    let own = own_entry(visit, step, name)?;
    let number = step.number;
    let total = walk.steps.len();
    Ok(html! {
        section id={ "step-" (number) } data-step=(number) data-task=(step.task.id) data-recorded=[own] {
            (progress(walk, number))
            @if let Some(part) = step.part {
                p.where { (part.group.name()) " · " (part.name) }
            }
            h2 { (step.task.name) }
            @if !caveats.is_empty() { (show_as::block(&views::Block::Caveats(caveats.to_vec()))) }
            @if let Some(preparation) = step.preparation { p { strong { (preparation) } } }
            (show_as::cautions(&step.cautions.iter().map(|caution| caution.words.clone()).collect::<Vec<_>>()))
            @if let Some(pass_on) = &step.pass_on { p.done-notice { (pass_on) } }
            @if step.task.who == Hand::Authorised { p.done-notice { "Only for an operator authorised in writing." } }
            div.how { (how(step)) }
            div.spread {}
            (recorded(step))
            (step_form(visit, walk, step, name, own))
            @if number == total { p.unseen { "This is the last step." } }
        }
    })
}

fn progress(walk: &Walk<'_>, number: usize) -> Markup {
    let total = walk.steps.len();
    let back = if number > 1 {
        format!("#step-{}", number - 1)
    } else {
        Place::FilmPath(walk.machine.clone()).href()
    };
    let on = if number < total { format!("#step-{}", number + 1) } else { "#step-end".to_owned() };
    html! {
        div.progress {
            a href=(back) aria-label=(if number > 1 { "Step back" } else { "Back to the film path" }) { "←" }
            progress max=(total) value=(walk.n_done()) aria-label="Steps written down" {}
            span.count { (number) " of " (total) }
            a href=(on) aria-label="Step on without a word" { "→" }
        }
    }
}

/// How the step is done: the task's own words, then what to look for, clean and oil at the part.
fn how(step: &WalkStep<'_>) -> Markup {
    html! {
        p { (step.task.steps) }
        @if let Some(part) = step.part {
            dl.facts {
                @for (name, text, shown) in [
                    ("Look", &part.look_for, true),
                    ("Clean", &part.clean, matches!(step.does, CareKind::Clean)),
                    ("Oil", &part.oil, matches!(step.does, CareKind::Oil | CareKind::Clean)),
                ] {
                    @if shown && !text.is_empty() { div { dt { (name) } dd { (text) } } }
                }
                @if !step.uses.is_empty() {
                    div { dt { "You need" } dd { (views::wording::listed(&step.uses.iter().map(|thing| thing.name.clone()).collect::<Vec<_>>())) } }
                }
                @if let Some(limit) = step.reading {
                    div { dt { "Reading" } dd {
                        (limit.name) ", " (limit.how) " "
                        a href=(reading_form(step)) { "Write the reading down" }
                    } }
                }
            }
        }
        @if let Some(item) = &step.due {
            p.quiet { (show_as::mark_with(item.state.into(), views::Mark::from(item.state).word())) " " (views::common::what_is_left(item)) }
        }
    }
}

fn reading_form(step: &WalkStep<'_>) -> String {
    let machine = step.due.as_ref().map(|item| item.machine.to_string());
    let quantity = step.reading.map(|limit| limit.quantity.to_string());
    let filled = [("machine", machine), ("quantity", quantity)];
    let filled = filled.into_iter().filter_map(|(key, value)| Some((key.to_owned(), value?))).collect();
    Place::LogKind("reading".to_owned(), filled).href()
}

/// What was written down this evening; the script fills it too.
fn recorded(step: &WalkStep<'_>) -> Markup {
    html! {
        p.recorded role="status" hidden[step.already.is_none()] {
            @if let Some(record) = step.already {
                "Written down: " strong { (outcome_word(record.outcome)) }
                @if !record.note.is_empty() { " “" (record.note) "”" }
            }
        }
    }
}

fn outcome_word(outcome: Outcome) -> &'static str {
    views::film_path::outcome(outcome)
}

fn step_form(
    visit: &Visit,
    walk: &Walk<'_>,
    step: &WalkStep<'_>,
    name: &str,
    own: Option<EntryId>,
) -> Markup {
    let next = if step.number < walk.steps.len() {
        format!("step-{}", step.number + 1)
    } else {
        "step-end".to_owned()
    };
    let action = Place::Walk(walk.machine.clone(), walk.walk.as_str().to_owned()).href();
    let writer = visit.probable_writer().map(|writer| writer.to_string()).unwrap_or_default();
    html! {
        form method="post" action=(action) enctype="multipart/form-data" data-step-form=(step.number) {
            input type="hidden" name=(common::ID) value=(visit.desk.new_id());
            input type="hidden" name=(common::BY) value=(writer);
            input type="hidden" name="machine" value=(walk.machine);
            input type="hidden" name="task" value=(step.task.id);
            input type="hidden" name="walk" value=(name);
            input type="hidden" name="next" value=(next);
            @if let Some(own) = own { input type="hidden" name=(common::CORRECTS) value=(own); }
            div.results {
            details.broad {
                summary { "A note or a photo" }
                div.field {
                    label for={ "note-" (step.number) } { "Note" }
                    textarea id={ "note-" (step.number) } name="note" rows="2" {}
                }
                div.field {
                    label for={ "photo-" (step.number) } { "Photo" }
                    input id={ "photo-" (step.number) } type="file" name=(common::PHOTO) accept="image/*" capture="environment";
                }
            }
            (results(step))
            }
        }
    }
}

/// The buttons: what is most often right is the broad one at the bottom.
fn results(step: &WalkStep<'_>) -> Markup {
    let allowed: Vec<(&str, &str, Outcome)> = OUTCOMES
        .iter()
        .filter_map(|(value, words)| {
            let outcome = outcome_of(value)?;
            step.outcomes.contains(&outcome).then_some((*value, *words, outcome))
        })
        .collect();
    let main = allowed.iter().find(|(_, _, outcome)| matches!(outcome, Outcome::Fine | Outcome::Done));
    let others = allowed.iter().filter(|one| main.is_none_or(|main| main.0 != one.0));
    html! {
        @for (value, words, _) in others {
            button type="submit" name="outcome" value=(value) class=[main.is_none().then_some("broad")] { (words) }
        }
        @if let Some((value, words, _)) = main {
            button.main.broad type="submit" name="outcome" value=(value) { (words) }
        }
    }
}

fn outcome_of(word: &str) -> Option<Outcome> {
    Some(match word {
        "fine" => Outcome::Fine,
        "done" => Outcome::Done,
        "attention" => Outcome::Attention,
        "cannot-tell" => Outcome::CannotTell,
        "skipped" => Outcome::Skipped,
        _ => return None,
    })
}

/// The end of the walk: what was written down, what was left out.
fn the_end(walk: &Walk<'_>) -> Markup {
    html! {
        section #step-end data-step="end" {
            @if !walk.steps.is_empty() {
                div.progress {
                    a href={ "#step-" (walk.steps.len()) } aria-label="Step back" { "←" }
                    progress max=(walk.steps.len()) value=(walk.n_done()) aria-label="Steps written down" {}
                    span.count { "The end" }
                }
            }
            h2 { "The end of the walk" }
            p.lead { (views::walk::summary(walk)) }
            (to_settle(walk))
            ul.step-list {
                @for step in &walk.steps {
                    li { a href={ "#step-" (step.number) } data-step-link=(step.number) {
                        span.quiet { (step.number) }
                        span { (step.task.name) }
                        span.said { (step.already.map_or("not written down", |record| outcome_word(record.outcome))) }
                    } }
                }
            }
            p.ways {
                a href=(Place::FilmPath(walk.machine.clone()).href()) { "Film path" }
                a href=(Place::Tonight.href()) { "Tonight" }
            }
        }
    }
}

/// What the walk found to want attention, each with the two ways on; the script shows and hides them as one says it.
fn to_settle(walk: &Walk<'_>) -> Markup {
    let found =
        |step: &&WalkStep<'_>| step.already.is_some_and(|record| record.outcome == Outcome::Attention);
    let can = || walk.steps.iter().filter(|step| step.outcomes.contains(&Outcome::Attention));
    let back = Place::Walk(walk.machine.clone(), walk.walk.as_str().to_owned()).href() + "#step-end";
    let filled = [("machine", walk.machine.to_string()), ("back", back)];
    let filled = filled.map(|(key, value)| (key.to_owned(), value)).to_vec();
    let fitness = Place::LogKind("fitness-set".to_owned(), filled).href();
    html! {
        div #to-settle hidden[!can().any(|step| found(&step))] {
            h3 { "To settle before it runs" }
            @for step in can() {
                div.settle data-settle=(step.number) hidden[!found(&step)] {
                    p {
                        (show_as::mark_with(views::Mark::Attention, "attention: ")) strong { (step.task.name) }
                        @if step.task.safety { ". " strong { (views::common::NOT_BEFORE_SETTLED) } }
                    }
                    p.ways {
                        a href=(fault_at(walk, step)) { "Open a fault" }
                        a href=(fitness) { "May it be used?" }
                    }
                }
            }
        }
    }
}

/// The fault desk at the place where something was found.
fn fault_at(walk: &Walk<'_>, step: &WalkStep<'_>) -> String {
    let desk = Place::NewFault(Some(walk.machine.clone())).href();
    match step.slot {
        Some(slot) => format!("{desk}&at={}", views::address::escaped(slot.as_str())),
        None => desk,
    }
}

/// Takes one step.
pub async fn take(
    visit: Visit,
    Path(machine): Path<String>,
    RawQuery(query): RawQuery,
    mut posted: Posted,
) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let kind = kind_of(typed.get("for"))?;
    if !visit.booth().machines.contains_key(machine.as_str()) {
        return Err(Trouble::no_machine(&machine));
    }
    posted.typed.set_if_missing("machine", || machine.clone());
    let form = forms::of_kind("care-done").expect("a test sees that every kind has a form");
    let walk = posted.typed.get("walk").unwrap_or_default().to_owned();
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let (pen, read) = (Arc::clone(&visit), Arc::clone(&posted));
    let base =
        serde_json::json!({ "machine": machine, "task": "", "outcome": "skipped", "walk": walk }).to_string();
    let base = logbook::wire::decode_fact(form.kind, logbook::wire::VERSION, &base);
    let written = write::blocking(move || write::form_over(&pen, form, &read, Some(&base), Vec::new())).await;
    match written {
        Ok(entry) if posted.wants_json => Ok(as_json(StatusCode::OK, &serde_json::json!({ "entry": entry }))),
        Ok(_) => {
            let next = posted.typed.get("next").unwrap_or("step-end");
            let address = Place::Walk(MachineId::new(&machine), kind.as_str().to_owned()).href();
            Ok(Redirect::to(&format!("{address}#{}", views::address::escaped(next))).into_response())
        }
        Err(refused) => {
            let walk = Place::Walk(MachineId::new(&machine), kind.as_str().to_owned()).href();
            let right = "Go back to the step and say it another way.";
            Err(refused.on_a_page("Not written down", right, (walk, "Back to the walk")))
        }
    }
}

/// Answers a script.
pub(super) fn as_json(status: StatusCode, value: &serde_json::Value) -> Response {
    (status, [(header::CONTENT_TYPE, "application/json")], value.to_string()).into_response()
}
