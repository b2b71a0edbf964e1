//! `show`: how a show stands, and the report of it.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::show;
use clap::{Args, Subcommand};
use logbook::{Draft, Entry, EntryId, Fact, PersonId, ShowingId};
use serde_json::json;
use store::{EntryStore, StoreError};

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
    /// Let hours, stoppages and the showing's end follow the marks as they stand now, by correcting entries
    ///
    /// This is done by itself when a mark is corrected or taken back here; it is for marks that came with another
    /// logbook. What somebody wrote by hand since stays.
    Follow {
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
            Question::Follow { showing } => {
                let (id, _) = show::find_showing(&desk.booth, showing).map_err(Failure::not_known)?;
                let by = desk.who(common)?;
                let written = follow(common, &desk, &by, id)?;
                print::either(common.json, &json!({ "written": written }), |_| match written.len() {
                    0 => "Nothing to write: hours, stoppages and end are what the marks say.\n".to_owned(),
                    n => format!("{n} written: see `logbook list`.\n"),
                })
            }
            Question::Report { showing } => report(common, &desk, showing),
        }
    }
}

/// Lets what the marks of a show wrote follow them, after an entry that may have changed them.
pub fn follow_entry(common: &Common, desk: &Desk, by: &PersonId, entry: &Entry) -> Result<(), Failure> {
    let mut about = entry.clone();
    // A settlement of a settlement is about the first entry.
    while let Some(named) = store::settled_by(&about.fact) {
        if let Fact::Corrects(said) = &about.fact
            && let Fact::ShowMarked(marked) = &*said.with
        {
            follow(common, desk, by, &marked.showing)?;
        }
        match desk.store.get(named)? {
            Some(earlier) => about = earlier.chained.entry,
            None => return Ok(()),
        }
    }
    match &about.fact {
        Fact::ShowMarked(marked) => follow(common, desk, by, &marked.showing).map(drop),
        _ => Ok(()),
    }
}

fn follow(common: &Common, desk: &Desk, by: &PersonId, showing: &ShowingId) -> Result<Vec<String>, Failure> {
    let written = desk.write_all(|booth| {
        let get = |id| Ok::<_, StoreError>(desk.store.get(id)?.map(|stored| stored.chained.entry));
        let marks = store::marks_of(&desk.store, showing)?;
        let settlements = |id| desk.store.settlements(id);
        let steps = show::steps_to_follow(booth, &desk.library, showing, &marks, get, settlements)?;
        let drafts = steps.into_iter().map(|step| {
            let id = step.id.unwrap_or_else(|| EntryId(uuid::Uuid::now_v7()));
            Draft {
                id,
                device: desk.store.device(),
                happened: step.happened,
                by: by.clone(),
                fact: step.fact,
            }
        });
        drafts.map(|draft| Ok(booth::gate::accept(draft, booth, &desk.library, desk.when())?)).collect()
    })?;
    let ids: Vec<String> = written.iter().map(|entry| entry.id.to_string()).collect();
    if !ids.is_empty() && !common.json {
        print::aside(&format!("boothwright: {} written so that hours and end follow the marks", ids.len()));
    }
    Ok(ids)
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
