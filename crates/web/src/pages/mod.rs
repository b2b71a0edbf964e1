//! The pages, one file for each: parse, ask, view.

pub mod about;
pub mod attachments;
pub mod calculators;
pub mod correct;
pub mod diary;
pub mod due;
pub mod entry;
pub mod fault;
pub mod fault_case;
pub mod fault_deed;
pub mod fault_request;
pub mod film_path;
pub mod first_run;
pub mod hall;
pub mod lives;
pub mod log;
pub mod logbook;
pub mod machine;
pub mod machines;
pub mod outlook;
pub mod part;
pub mod plan;
pub mod print_bench;
pub mod prints;
mod programme_form;
pub mod programmes;
pub mod show;
pub mod show_tap;
pub mod showing;
pub mod sound;
pub mod sound_bench;
pub mod sound_result;
pub mod sound_trend;
pub mod stores;
pub mod theme;
pub mod tonight;
pub mod walk;

use crate::{fields::Problem, forms, typed::Typed, visit::Visit, write::common_fields as common};
use maud::{Markup, html};

/// Shows when it happened, by whom it is written, and what a form carries unseen.
fn form_frame(visit: &Visit, typed: &Typed, problems: &[Problem]) -> Markup {
    html! {
        (when_fields(visit, typed, problems))
        (writer_field(visit, typed, problems))
        (unseen_fields(visit, typed))
    }
}

/// The id and the way back.
fn unseen_fields(visit: &Visit, typed: &Typed) -> Markup {
    let id = typed.get(common::ID).map_or_else(|| visit.desk.new_id().to_string(), str::to_owned);
    html! {
        input type="hidden" name=(common::ID) value=(id);
        @if let Some(back) = typed.get(common::BACK) {
            input type="hidden" name=(common::BACK) value=(back);
        }
    }
}

/// Day and time.
fn when_fields(visit: &Visit, typed: &Typed, problems: &[Problem]) -> Markup {
    let mut filled = typed.clone();
    forms::fill_when(&mut filled, ::logbook::When::from_zoned(&visit.now));
    let problem = problems.iter().find(|problem| problem.key == forms::DAY || problem.key == forms::TIME);
    html! {
        fieldset class=[problem.map(|_| "field wrong")] data-field="happened" {
            legend { "When" }
            span.hint { "Leave the time empty if only the day is known." }
            div.two {
                div {
                    label.unseen for="field-happened_day" { "Day" }
                    input #field-happened_day type="date" name=(forms::DAY) required
                        value=(filled.raw(forms::DAY).unwrap_or(""));
                }
                div {
                    label.unseen for="field-happened_time" { "Time" }
                    input #field-happened_time type="time" name=(forms::TIME)
                        value=(filled.raw(forms::TIME).unwrap_or(""));
                }
            }
            @if let Some(problem) = problem { span.problem { (problem.words) } }
        }
    }
}

/// Who writes: a choice if there are several people, else unseen.
fn writer_field(visit: &Visit, typed: &Typed, problems: &[Problem]) -> Markup {
    let people = &visit.booth().people;
    let chosen = typed.get(common::BY).map(str::to_owned);
    let chosen =
        chosen.or_else(|| visit.probable_writer().map(|writer| writer.to_string())).unwrap_or_default();
    let problem = problems.iter().find(|problem| problem.key == common::BY);
    html! {
        @if people.len() > 1 {
            div class=(if problem.is_some() { "field wrong" } else { "field" }) data-field=(common::BY) {
                label for="field-by" { "Written by" }
                select #field-by name=(common::BY) {
                    @for (id, person) in people {
                        option value=(id) selected[id.as_str() == chosen] { (person.name) }
                    }
                }
                @if let Some(problem) = problem { span.problem { (problem.words) } }
            }
        } @else {
            input type="hidden" name=(common::BY) value=(chosen);
        }
    }
}
