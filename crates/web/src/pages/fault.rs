//! Faults, open and closed, and the way in: which machine, what is noticed, which print, does a show run.

use super::{unseen_fields, writer_field};
use crate::{
    fields,
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use ::logbook::{
    Draft, EntryId, Fact, FaultId, MachineId,
    booth::Fault,
    fact::{FaultOpened, PrintSort},
    ids::{SlotId, SymptomId},
};
use axum::{extract::RawQuery, http::StatusCode, response::Response};
use booth::desk::{MatchingSymptom, NotAtDesk, symptoms_of};
use machine::MachineType;
use maud::{Markup, html};
use std::{collections::BTreeSet, sync::Arc};
use views::Place;

/// So many closed faults are listed.
const CLOSED_SHOWN: usize = 30;
/// What sort of print it is, as forms say it.
const PRINTS: [(&str, &str, PrintSort); 3] = [
    ("disposable", "Ours, may be lost", PrintSort::Disposable),
    ("lent", "A lender's", PrintSort::Lent),
    ("only", "The only one", PrintSort::Only),
];

/// Lists the faults, the open ones first.
pub async fn list(visit: Visit) -> Answered {
    let mut all: Vec<(&FaultId, &Fault)> = visit.booth().faults.iter().collect();
    all.sort_by_key(|(_, fault)| std::cmp::Reverse(fault.opened.0.unix_ms));
    let (open, closed): (Vec<_>, Vec<_>) = all.into_iter().partition(|(_, fault)| fault.is_open());
    let main = html! {
        link rel="stylesheet" href="/assets/fault.css";
        h1 { "Faults" }
        p { "Say what you see, hear or smell; it says the next thing to do, and why." }
        p { a.button.main.broad-way #start href=(Place::NewFault(None).href()) { "Something is wrong" } }
        h2 { "Open" }
        @if open.is_empty() { p.quiet { "No fault is open." } }
        (rows(&visit, &open))
        @if !closed.is_empty() {
            h2 { "Dealt with" }
            (rows(&visit, &closed[..closed.len().min(CLOSED_SHOWN)]))
            @if closed.len() > CLOSED_SHOWN { p.quiet { (closed.len() - CLOSED_SHOWN) " older ones stand in the logbook." } }
        }
    };
    Ok(layout::page(&visit, Section::Faults, "Faults", &main))
}

fn rows(visit: &Visit, faults: &[(&FaultId, &Fault)]) -> Markup {
    html! {
        ul.choices {
            @for (id, fault) in faults {
                li { a href=(Place::Fault((*id).clone()).href()) data-fault=(id) {
                    strong { (fault.words) }
                    span { (machine_name(visit, &fault.machine)) ", " (views::wording::date(fault.opened.0.date(), visit.now.date())) (end_of(fault)) }
                } }
            }
        }
    }
}

fn end_of(fault: &Fault) -> String {
    match &fault.closed {
        Some((_, cause, _, _)) if !cause.is_empty() => format!(": {cause}"),
        None if !fault.requests.is_empty() => ": passed on".to_owned(),
        _ => String::new(),
    }
}

/// What people call a machine.
pub(super) fn machine_name<'v>(visit: &'v Visit, machine: &'v MachineId) -> &'v str {
    visit.booth().machines.get(machine).map_or(machine.as_str(), |known| known.name.as_str())
}

/// Asks what is wrong: the machine first, then what is noticed.
pub async fn start(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    match chosen_machine(&visit, &typed) {
        Some(machine) => noticed_page(&visit, &machine, &typed, &[], StatusCode::OK),
        None => Ok(machines_page(&visit, &typed)),
    }
}

/// The machine that was named, or the only one there is.
fn chosen_machine(visit: &Visit, typed: &Typed) -> Option<String> {
    let named = typed.get("machine").map(str::to_owned);
    let machines = &visit.booth().machines;
    let only = || machines.keys().next().filter(|_| machines.len() == 1).map(ToString::to_string);
    named.or_else(only)
}

fn machines_page(visit: &Visit, typed: &Typed) -> Response {
    // The show from which somebody came is not lost by choosing the machine.
    let kept = ["showing", "show"].into_iter().filter_map(|name| Some((name, typed.get(name)?)));
    let of_show: Vec<String> =
        kept.map(|(name, value)| format!("&{name}={}", views::address::escaped(value))).collect();
    let of_show = of_show.concat();
    let main = html! {
        h1 { "Which machine?" }
        ul.choices {
            @for (id, machine) in &visit.booth().machines {
                li { a href={ (Place::NewFault(Some(id.clone())).href()) (of_show) } data-machine=(id) {
                    strong { (machine.name) }
                    span { (machine.machine_type) }
                } }
            }
        }
    };
    layout::page(visit, Section::Faults, "Which machine?", &main)
}

fn noticed_page(
    visit: &Visit,
    machine: &str,
    typed: &Typed,
    problems: &[fields::Problem],
    status: StatusCode,
) -> Answered {
    let words = typed.get("words").unwrap_or("").trim();
    let symptoms = |words: &str| {
        symptoms_of(visit.booth(), visit.library(), machine, words).map_err(|error| not_at_desk(&error))
    };
    let (kind, mut found) = symptoms("")?;
    let at = typed.get("at");
    if let Some(slot) = at {
        found.retain(|symptom| symptom.shows_at.iter().any(|shown| shown == slot));
    }
    let fitting = if words.is_empty() { Vec::new() } else { symptoms(words)?.1 };
    let id = MachineId::new(machine);
    let name = machine_name(visit, &id);
    let narrowed = !words.is_empty() || at.is_some();
    let main = html! {
        link rel="stylesheet" href="/assets/fault.css";
        h1 { (name) ": what is wrong?" }
        (fields::problems(problems))
        (search("/faults/new", words, &html! {
            input type="hidden" name="machine" value=(machine);
            @for kept in ["showing", "show", "print_sort"] {
                @if let Some(value) = typed.get(kept) { input type="hidden" name=(kept) value=(value); }
            }
        }))
        @if narrowed {
            p.ways { a href=(Place::NewFault(Some(id.clone())).href()) { "Show everything" } }
        }
        form.entry method="post" action="/faults/new" data-form="fault-opened" {
            input type="hidden" name="machine" value=(machine);
            @if let Some(showing) = typed.get("showing") { input type="hidden" name="showing" value=(showing); }
            (print_choice(typed))
            (show_choice(visit, &id, typed))
            h2 { "What do you notice?" }
            (offered("symptom", words, &fitting, &found, at.is_some()))
            (writer_field(visit, typed, problems))
            (unseen_fields(visit, typed))
        }
        @if !narrowed { (places(kind, &found, machine)) }
    };
    Ok(layout::page_with(visit, Some(Section::Faults), "What is wrong?", &main, status))
}

/// Which print it is decides when to stop; said first, for it is asked first.
fn print_choice(typed: &Typed) -> Markup {
    html! {
        fieldset.side-by-side {
            legend { "Which print is in the machine?" }
            @for (value, words, _) in PRINTS {
                label.tick { input type="radio" name="print_sort" value=(value) checked[typed.get("print_sort") == Some(value)]; (words) }
            }
            label.tick { input type="radio" name="print_sort" value="" checked[typed.get("print_sort").is_none()]; "I can't say" }
        }
    }
}

/// Does an audience wait? Taken for so while a showing on this machine runs.
fn show_choice(visit: &Visit, machine: &MachineId, typed: &Typed) -> Markup {
    let running = match typed.get("show") {
        Some(said) => said == "running",
        None => running_showing(visit, machine).is_some(),
    };
    html! {
        fieldset.side-by-side {
            legend { "Does an audience wait?" }
            label.tick { input type="radio" name="show" value="running" checked[running]; "Yes, the show runs" }
            label.tick { input type="radio" name="show" value="over" checked[!running]; "No" }
        }
    }
}

/// The showing that runs on a machine now, by the diary.
fn running_showing(visit: &Visit, machine: &MachineId) -> Option<::logbook::ShowingId> {
    const LONGEST_HOURS: i64 = 4;
    let now = visit.now.timestamp();
    let runs = visit.booth().showings.iter().find(|(_, showing)| {
        let since = now.as_second() - showing.starts.timestamp().as_second();
        matches!(showing.state, ::logbook::booth::ShowingState::Planned)
            && (0..LONGEST_HOURS * 3600).contains(&since)
            && showing.machines.iter().any(|(own, _)| own == machine)
    });
    runs.map(|(id, _)| id.clone())
}

/// Asks for plain words; the answer is the page at `action`.
pub(super) fn search(action: &str, words: &str, kept: &Markup) -> Markup {
    html! {
        form.search method="get" action=(action) role="search" {
            (kept)
            div.words {
                div.field {
                    label for="field-words" { "In plain words" }
                    input #field-words type="search" name="words" value=(words) placeholder="sound, dark, jumps, smell" autocomplete="off";
                }
                button type="submit" { "Look" }
            }
        }
    }
}

/// What fits the words that were given, the best first, and all the rest by groups. Where nothing fits, the groups
/// stand there at once.
pub(super) fn offered(
    name: &str,
    words: &str,
    fitting: &[MatchingSymptom],
    all: &[MatchingSymptom],
    open: bool,
) -> Markup {
    html! {
        @if !fitting.is_empty() {
            div.noticed-list #fitting { @for symptom in fitting { (sighting(name, symptom)) } }
            h3 { "Or something else" }
        } @else if !words.is_empty() {
            p #none-fits { "No word of that is known. Look in the groups:" }
        }
        (groups(name, all, open))
    }
}

fn sighting(name: &str, symptom: &MatchingSymptom) -> Markup {
    html! {
        button type="submit" name=(name) value=(symptom.symptom) {
            (symptom.name)
            @if symptom.stop_now.is_some() { " " strong { "Stop at once." } }
        }
    }
}

fn groups(name: &str, found: &[MatchingSymptom], open: bool) -> Markup {
    let mut names: Vec<&str> = Vec::new();
    for symptom in found {
        if !names.contains(&symptom.group) {
            names.push(symptom.group);
        }
    }
    html! {
        @for group in names {
            details.noticed open[open] data-group=(group) {
                summary { (group) }
                div.noticed-list {
                    @for symptom in found.iter().filter(|symptom| symptom.group == group) { (sighting(name, symptom)) }
                }
            }
        }
    }
}

/// The same by the place in the machine at which it shows, along the film path.
fn places(kind: &MachineType, found: &[MatchingSymptom], machine: &str) -> Markup {
    let shown: BTreeSet<&str> =
        found.iter().flat_map(|symptom| &symptom.shows_at).map(String::as_str).collect();
    html! {
        h2 { "Or: where?" }
        details {
            summary { "Places along the film path" }
            ul.choices {
                @for part in kind.parts.iter().filter(|part| shown.contains(part.id.as_str())) {
                    li { a href=(at_place(machine, part.id.as_str())) { strong { (part.name) } span { (part.group.name()) } } }
                }
            }
        }
    }
}

fn at_place(machine: &str, slot: &str) -> String {
    format!("/faults/new?machine={}&at={}", views::address::escaped(machine), views::address::escaped(slot))
}

/// Opens a fault.
pub async fn open(visit: Visit, posted: Posted) -> Answered {
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let (pen, read) = (Arc::clone(&visit), Arc::clone(&posted));
    match write::blocking(move || put_down(&pen, &read.typed)).await {
        Ok((entry, fault)) => Ok(write::onwards(&visit, &posted.typed, entry, &Place::Fault(fault).href())),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            let machine = posted.typed.get("machine").unwrap_or_default();
            noticed_page(&visit, machine, &posted.typed, &problems, StatusCode::UNPROCESSABLE_ENTITY)
        }
    }
}

fn put_down(visit: &Visit, typed: &Typed) -> Result<(EntryId, FaultId), NotWritten> {
    let id = write::id_of(typed)?;
    if let Some(there) = visit.desk.store().get(id)?
        && let Fact::FaultOpened(opened) = &there.chained.entry.fact
    {
        return opened_before(id, opened, typed);
    }
    let machine = typed.get("machine").unwrap_or_default();
    let (kind, symptoms) =
        symptoms_of(visit.booth(), visit.library(), machine, "").map_err(|error| not_at_desk(&error))?;
    let asked = typed.get("symptom").unwrap_or_default();
    let Some(symptom) = symptoms.iter().find(|symptom| symptom.symptom == asked) else {
        let words = "Choose what you see, hear, smell or find.";
        return Err(NotWritten::Problems(vec![fields::Problem::new("symptom", words)]));
    };
    let (by, happened) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    let show_running = typed.get("show") == Some("running");
    let machine = MachineId::new(machine);
    let written = id.to_string();
    let fault = FaultId::new(format!("{machine}-{}", written.rsplit('-').next().unwrap_or(&written)));
    let slot = typed.get("at").filter(|slot| kind.part(slot).is_some()).map(SlotId::new);
    // The show page says which showing it is; elsewhere it is the one that runs by the diary.
    let named = typed.get("showing").and_then(|named| visit.booth().showings.get_key_value(named));
    let showing = named.map(|(id, _)| id.clone()).or_else(|| running_showing(visit, &machine));
    let print_sort = PRINTS.iter().find(|(value, _, _)| typed.get("print_sort") == Some(value));
    let fact = Fact::FaultOpened(FaultOpened {
        fault: fault.clone(),
        slot,
        words: symptom.name.clone(),
        showing: showing.filter(|_| show_running),
        machine,
        symptoms: vec![SymptomId::new(asked)],
        print_sort: print_sort.map(|(_, _, sort)| *sort),
        print: None,
        show_running,
    });
    write::put_down(visit, &[Draft { id, device: visit.desk.device(), happened, by, fact }])?;
    Ok((id, fault))
}

/// The same form once more, or the same with another symptom.
fn opened_before(id: EntryId, opened: &FaultOpened, typed: &Typed) -> Result<(EntryId, FaultId), NotWritten> {
    let symptom = opened.symptoms.first().map(SymptomId::as_str);
    if typed.get("symptom") == symptom && typed.get("machine") == Some(opened.machine.as_str()) {
        return Ok((id, opened.fault.clone()));
    }
    let right = "Go on at the fault; what else is noticed is said there.";
    let way = Place::Fault(opened.fault.clone()).href();
    Err(write::said_otherwise(id, right).way(way, "Go on at the fault").into())
}

/// What the desk cannot answer, as a page.
pub(super) fn not_at_desk(error: &NotAtDesk) -> Trouble {
    let words = error.to_string();
    let (what, right) = words.split_once("; ").unwrap_or((&words, "Choose one of the faults or machines"));
    Trouble::not_found(format!("{what}."), format!("{right}.")).way(Place::Faults.href(), "Faults")
}
