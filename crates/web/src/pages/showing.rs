//! One showing: how it stands, changing its plan, writing down that it was held or cancelled.

use super::{diary, form_frame};
use crate::{
    fields::{self, Problem},
    forms::{self, Ask, Form, showings},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use axum::{extract::Path, http::StatusCode, response::Response};
use logbook::{
    EntryId, Fact, MachineId, ShowingId,
    booth::{Showing, ShowingState},
    fact::{Assigned, Ran, RunKind, ShowingCancelled, ShowingHeld, ShowingPlanned},
};
use maud::{Markup, html};
use std::sync::Arc;
use units::Hours;
use views::{Place, html as show_as};

fn find<'v>(visit: &'v Visit, id: &str) -> Result<(&'v ShowingId, &'v Showing), Trouble> {
    visit.booth().showings.get_key_value(id).ok_or_else(|| {
        Trouble::not_found(format!("There is no showing \"{id}\" in the diary."), "Look for it in the diary.")
            .way(Place::Diary.href(), "Diary")
    })
}

/// Shows one showing.
pub async fn show(visit: Visit, Path(id): Path<String>) -> Answered {
    let (id, showing) = find(&visit, &id)?;
    let sheet = views::diary::showing_sheet(showing, visit.booth(), visit.today());
    let main = html! {
        (show_as::sheet(&sheet))
        @if showing.state == ShowingState::Planned {
            (machines_say(showing, &visit))
            (what_prints_say(showing, &visit))
            (before_it(showing, &visit))
            (running_it(id, &visit))
            p.ways {
                a #held href={ (Place::Showing(id.clone()).href()) "/held" } { "It was held" }
                a #change href={ (Place::Showing(id.clone()).href()) "/change" } { "Change the plan" }
                a #cancel href={ (Place::Showing(id.clone()).href()) "/cancelled" } { "Cancel it" }
            }
        } @else if visit.booth().shows.contains_key(id) {
            p.ways { a #report href={ (Place::Showing(id.clone()).href()) "/show/report" } { "Show report" } }
        }
    };
    Ok(layout::page(&visit, Section::Diary, &sheet.title, &main))
}

/// The ways to its programme and to the page on which it runs.
fn running_it(id: &ShowingId, visit: &Visit) -> Markup {
    let programme = booth::show::programme_of(visit.booth(), id);
    html! {
        p.ways {
            a #run href={ (Place::Showing(id.clone()).href()) "/show" } { "Run the show" }
            @if let Some((programme, _)) = programme {
                a href={ "/programmes/" (views::address::escaped(programme.as_str())) } { "Its programme" }
            } @else {
                a href={ "/programmes/new?showing=" (views::address::escaped(id.as_str())) } { "Make its programme" }
            }
        }
    }
}

/// What can be written down about a showing that is planned.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Deed {
    Change,
    Held,
    Cancelled,
}

impl Deed {
    /// Reads the last word of the address.
    fn from_word(word: &str) -> Result<Self, Trouble> {
        match word {
            "change" => Ok(Self::Change),
            "held" => Ok(Self::Held),
            "cancelled" => Ok(Self::Cancelled),
            _ => Err(Trouble::not_found(
                "There is no page at this address.",
                "Look for the showing in the diary.",
            )
            .way(Place::Diary.href(), "Diary")),
        }
    }

    const fn kind(self) -> &'static str {
        match self {
            Self::Change => "showing-planned",
            Self::Held => "showing-held",
            Self::Cancelled => "showing-cancelled",
        }
    }

    const fn title(self) -> &'static str {
        match self {
            Self::Change => "Change the plan",
            Self::Held => "It was held",
            Self::Cancelled => "Cancel it",
        }
    }

    fn form(self) -> &'static Form {
        forms::of_kind(self.kind()).expect("a test sees that every kind has a form")
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Change => "change",
            Self::Held => "held",
            Self::Cancelled => "cancelled",
        }
    }
}

/// A showing that is still planned.
fn find_planned<'v>(visit: &'v Visit, id: &str) -> Result<(&'v ShowingId, &'v Showing), Trouble> {
    let (id, showing) = find(visit, id)?;
    if showing.state == ShowingState::Planned {
        return Ok((id, showing));
    }
    Err(Trouble::new(
        StatusCode::CONFLICT,
        "Not planned any more",
        format!("{} was held or cancelled already.", showing.title),
        "Correct the entry that says so, if it is wrong.",
    )
    .way(Place::Showing(id.clone()).href(), "The showing"))
}

/// Shows a form about a showing.
pub async fn form(visit: Visit, Path((id, word)): Path<(String, String)>) -> Answered {
    let deed = Deed::from_word(&word)?;
    let (id, showing) = find_planned(&visit, &id)?;
    let mut typed = Typed::default();
    if deed == Deed::Change {
        typed = forms::fill(deed.form(), &Ask::of(&visit), &planned(id, showing));
    }
    Ok(form_page(&visit, deed, (id, showing), typed, &[], StatusCode::OK))
}

fn form_page(
    visit: &Visit,
    deed: Deed,
    (id, showing): (&ShowingId, &Showing),
    mut typed: Typed,
    problems: &[Problem],
    status: StatusCode,
) -> Response {
    let address = Place::Showing(id.clone()).href();
    let action = format!("{address}/{}", deed.word());
    if deed == Deed::Held {
        typed.set_if_missing("lasted_minutes", || views::wording::tenths(showing.length_minutes));
        let starts = logbook::When::from_zoned(&showing.starts);
        forms::fill_when(&mut typed, starts.known_to(logbook::Precision::Minute));
    }
    let main = html! {
        p { a href=(address) { (showing.title) } }
        h1 { (deed.title()) }
        (fields::problems(problems))
        @if deed == Deed::Change {
            (diary::planning_form(visit, &action, &typed, problems, "Change it"))
        } @else {
            form.entry method="post" action=(action) data-form=(deed.kind()) novalidate {
                (fields::show(&(deed.form().fields)(&Ask::of(visit)), &typed, problems))
                @if deed == Deed::Held { (what_ran(visit, showing, &typed, problems)) }
                (form_frame(visit, &typed, problems))
                button.main type="submit" {
                    (if deed == Deed::Held { "Write it down" } else { "Cancel the showing" })
                }
            }
        }
    };
    layout::page_with(visit, Some(Section::Diary), deed.title(), &main, status)
}

fn what_ran(visit: &Visit, showing: &Showing, typed: &Typed, problems: &[Problem]) -> Markup {
    html! {
        fieldset {
            legend { "What each machine ran" }
            span.hint { "These hours are added to the machine. Leave empty what is written down elsewhere." }
            @for (machine, hours) in &showing.machines { (ran_field(visit, machine, *hours, typed, problems)) }
        }
    }
}

/// What stands against its machines: tests on which safety hangs, and what looks found.
fn machines_say(showing: &Showing, visit: &Visit) -> Markup {
    let lines = machine_lines(showing, visit);
    html! { @if !lines.is_empty() { div #machines-say { (show_as::blocks(&[views::Block::List(lines)])) } } }
}

/// The same in one line that opens, for the show page: nothing there may push a tap off the screen.
pub(super) fn machines_say_in_short(showing: &Showing, visit: &Visit) -> Markup {
    let lines = machine_lines(showing, visit);
    html! {
        @if !lines.is_empty() {
            details #machines-say {
                summary { "To settle before the first picture: " (lines.len()) }
                (show_as::blocks(&[views::Block::List(lines)]))
            }
        }
    }
}

fn machine_lines(showing: &Showing, visit: &Visit) -> Vec<views::Words> {
    showing.machines.iter().flat_map(|(id, _)| machine_says(id, visit)).collect()
}

fn machine_says(id: &MachineId, visit: &Visit) -> Vec<views::Words> {
    let Some(machine) = visit.booth().machines.get(id) else { return Vec::new() };
    let due = booth::due_for(visit.booth(), visit.library(), id.as_str(), &visit.now);
    let mut lines = due.map_or_else(|_| Vec::new(), |due| views::common::untested(&due.value));
    if let Some(kind) = visit.library().get(machine.machine_type.as_str()) {
        let found = booth::attentions(visit.booth(), kind, (id, machine));
        lines.extend(views::common::attention(&found));
    }
    let name = views::common::machine_name(visit.booth(), id.as_str());
    lines.into_iter().map(|line| views::Words::new().strong(format!("{name}: ")).and(line)).collect()
}

/// The reels that must not be shown, or only on conditions.
fn what_prints_say(showing: &Showing, visit: &Visit) -> Markup {
    let warnings = booth::prints::warnings(visit.booth(), visit.library(), showing);
    let lines = views::prints::warnings(&warnings);
    html! {
        @if !lines.is_empty() {
            h2 #prints { "Its prints" }
            (show_as::blocks(&[views::Block::List(lines)]))
        }
    }
}

fn before_it(showing: &Showing, visit: &Visit) -> Markup {
    html! {
        p.ways {
            @for (machine, _) in &showing.machines {
                @let name = views::common::machine_name(visit.booth(), machine.as_str());
                a href=(Place::Walk(machine.clone(), "before-showing".to_owned()).href()) { "Walk " (name) }
            }
        }
    }
}

/// The plan as an entry would say it.
fn planned(id: &ShowingId, showing: &Showing) -> Fact {
    let assigned = |(machine, hours): &(MachineId, Hours)| Assigned {
        machine: machine.clone(),
        running_hours: Some(*hours),
    };
    ShowingPlanned {
        showing: id.clone(),
        title: showing.title.clone(),
        starts: showing.starts.clone(),
        length_minutes: showing.length_minutes,
        place: showing.place.clone(),
        machines: showing.machines.iter().map(assigned).collect(),
        prints: showing.prints.clone(),
        note: showing.note.clone(),
    }
    .into()
}

/// The name of the field for the id of a machine's run.
fn run_id_field(machine: &str) -> String {
    format!("run-id-of-{machine}")
}

fn ran_field(
    visit: &Visit,
    machine: &MachineId,
    hours: Hours,
    typed: &Typed,
    problems: &[Problem],
) -> Markup {
    let key = showings::hours_field(machine.as_str());
    let run_id = run_id_field(machine.as_str());
    let id = typed.get(&run_id).map_or_else(|| visit.desk.new_id().to_string(), str::to_owned);
    let value = typed.raw(&key).map_or_else(|| format!("{:.2}", hours.hours()), str::to_owned);
    let problem = problems.iter().find(|problem| problem.key == key);
    html! {
        div class=(if problem.is_some() { "field wrong" } else { "field" }) data-field=(key) {
            label for={ "field-ran-" (machine) } { (views::common::machine_name(visit.booth(), machine.as_str())) }
            span.with-unit {
                input id={ "field-ran-" (machine) } type="text" name=(key) value=(value) autocomplete="off";
                span { "h" }
            }
            input type="hidden" name=(run_id) value=(id);
            @if let Some(problem) = problem { span.problem { (problem.words) } }
        }
    }
}

/// Reads what each machine ran; an empty field is no run.
fn runs(id: &ShowingId, showing: &Showing, typed: &Typed) -> Result<Vec<(EntryId, Fact)>, Problem> {
    let mut runs = Vec::new();
    for (machine, _) in &showing.machines {
        let key = showings::hours_field(machine.as_str());
        let Some(text) = typed.get(&key) else { continue };
        let hours = fields::hours(text).map_err(|words| Problem::new(key, words))?;
        let run_id = typed.get(&run_id_field(machine.as_str())).and_then(|id| id.parse().ok());
        let run_id = run_id.ok_or_else(|| Problem::new("", "This form has lost its ids; open it again."))?;
        let ran = Ran {
            machine: machine.clone(),
            run: RunKind::Showing,
            hours,
            lit_hours: None,
            strikes: None,
            showing: Some(id.clone()),
            print: None,
            passes: None,
            estimated: false,
        };
        runs.push((run_id, ran.into()));
    }
    Ok(runs)
}

/// Takes a form about a showing.
pub async fn take(visit: Visit, Path((id, word)): Path<(String, String)>, posted: Posted) -> Answered {
    let deed = Deed::from_word(&word)?;
    let (id, showing) = find(&visit, &id)?;
    let (id, showing) = (id.clone(), showing.clone());
    let with = match deed {
        Deed::Held => runs(&id, &showing, &posted.typed),
        Deed::Change | Deed::Cancelled => Ok(Vec::new()),
    };
    let base = base(deed, &id, &showing);
    let (visit, posted) = (Arc::new(visit), Arc::new(posted));
    let (pen, read) = (Arc::clone(&visit), Arc::clone(&posted));
    let written = match with {
        Ok(with) => {
            write::blocking(move || write::form_over(&pen, deed.form(), &read, Some(&base), with)).await
        }
        Err(problem) => Err(NotWritten::Problems(vec![problem])),
    };
    match written {
        Ok(entry) => Ok(write::onwards(&visit, &posted.typed, entry, &Place::Showing(id).href())),
        Err(NotWritten::Trouble(trouble)) => Err(*trouble),
        Err(NotWritten::Problems(problems)) => {
            let (about, typed) = ((&id, &showing), posted.typed.clone());
            Ok(form_page(&visit, deed, about, typed, &problems, StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}

/// What is settled before the form is read: which showing, and for a change what is not asked.
fn base(deed: Deed, id: &ShowingId, showing: &Showing) -> Fact {
    match deed {
        Deed::Change => planned(id, showing),
        Deed::Held => ShowingHeld {
            showing: id.clone(),
            lasted_minutes: showing.length_minutes,
            audience: None,
            note: String::new(),
        }
        .into(),
        Deed::Cancelled => ShowingCancelled { showing: id.clone(), why: String::new() }.into(),
    }
}
