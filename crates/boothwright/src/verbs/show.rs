//! `show`: how a show stands, and the report of it.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::show;
use clap::{Args, Subcommand};
use serde_json::json;

/// A show: what runs, what is left, and the report when it is over
#[derive(Debug, Args)]
pub struct Show {
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// What is on which machine, what is left, drift against plan, what to do next
    State {
        /// The showing, by its short name in the diary
        showing: String,
    },
    /// Planned against held, stoppages, hours, reels, faults
    Report {
        /// The showing, by its short name in the diary
        showing: String,
    },
}

impl Show {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        match &self.question {
            Question::State { showing } => state(common, &desk, showing),
            Question::Report { showing } => report(common, &desk, showing),
        }
    }
}

fn state(common: &Common, desk: &Desk, showing: &str) -> Outcome {
    let found = show::find_showing(&desk.booth, showing).map_err(Failure::not_known)?;
    let plan = show::plan_of(&desk.booth, &desk.library, found)
        .map_err(|error| Failure::new(Kind::Refused, error))?;
    let marks = desk.booth.shows.get(found.0).map(Vec::as_slice).unwrap_or_default();
    let course = show::course_of(Some(&plan.value), marks);
    let now_ms = desk.now.timestamp().as_millisecond();
    let standing = show::standing(&plan.value, &course, found.1, now_ms);
    if common.json {
        let state = json!({
            "showing": found.0,
            "now_ms": now_ms,
            "standing": standing,
            "course": course,
            "because": plan.because,
            "caveats": plan.caveats,
        });
        return print::json(&views::show::with_moments(state, &found.1.starts));
    }
    print::sheet(&views::show::standing_sheet(&plan.value, &standing, &found.1.starts))
}

fn report(common: &Common, desk: &Desk, showing: &str) -> Outcome {
    let found = show::find_showing(&desk.booth, showing).map_err(Failure::not_known)?;
    let plan = show::plan_of(&desk.booth, &desk.library, found).ok();
    let answer = show::report(&desk.booth, plan.as_ref(), found);
    if common.json {
        return print::json(&views::show::with_moments(report_of(&answer), &found.1.starts));
    }
    print::sheet(&views::show::report_sheet(&answer, &desk.booth, &found.1.starts, desk.today()))
}

/// The report with its reasons and caveats beside it.
fn report_of(answer: &booth::Answer<show::ShowReport>) -> serde_json::Value {
    let mut value = json!(answer.value);
    value["because"] = json!(answer.because);
    value["caveats"] = json!(answer.caveats);
    value
}
