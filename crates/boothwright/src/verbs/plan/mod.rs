//! `plan`: which machine for which showing, and when to do which care, over the logbook or over a model in a file.

mod fix;
mod solve;

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::{
    Answer, KeptBeliefs,
    parts_lives::{DARK_MINUTE_WORTH, read_dark_minute},
    service_plan::{LONGEST_DAYS, ServicePlan, USUAL_DAYS, Wanted, service_plan},
};
use clap::{Args, Subcommand, ValueEnum};
use std::{fs, path::PathBuf};

/// Which machine for which showing, and when to do which work, at the least expected cost
#[derive(Debug, Args)]
pub struct Plan {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Plan the coming weeks of the diary
    Show(Asked),
    /// Write the plan of the coming weeks as a file for another program
    Export {
        #[command(flatten)]
        asked: Asked,
        /// In which form
        #[arg(long = "as", value_enum, value_name = "FORM")]
        form: Form,
        /// Into this file (left out: to the output)
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
    },
    /// Fix a choice: a machine for a showing, or a day for care
    Pin(fix::Fix),
    /// Let the plan choose again what was fixed
    Unpin(fix::Loosen),
    /// Plan a model written as JSON (docs/plan.md has its form)
    Solve(solve::Solve),
}

#[derive(Debug, Args)]
struct Asked {
    /// Days from today
    #[arg(long, value_name = "DAYS", default_value_t = USUAL_DAYS,
        value_parser = clap::value_parser!(i32).range(1..=i64::from(LONGEST_DAYS)))]
    days: i32,
    /// Choose the machines of every showing anew, also where the diary names them
    #[arg(long)]
    afresh: bool,
    /// Minutes at the bench on an evening without a showing
    #[arg(long, value_name = "MINUTES", default_value_t = booth::service_plan::EVENING_MINUTES,
        value_parser = clap::value_parser!(i64).range(0..=600))]
    evening_minutes: i64,
    /// Minutes at the bench before a showing
    #[arg(long, value_name = "MINUTES", default_value_t = booth::service_plan::BEFORE_MINUTES,
        value_parser = clap::value_parser!(i64).range(0..=600))]
    before_minutes: i64,
    /// What a minute of dark screen is worth in minutes of work
    #[arg(long, value_name = "MINUTES", default_value_t = DARK_MINUTE_WORTH, value_parser = read_dark_minute)]
    dark_minute: f64,
}

/// A form that other programs read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// JSON, with reasons
    Json,
    /// Comma-separated lines for a spreadsheet
    Csv,
    /// A calendar (RFC 5545)
    Calendar,
}

impl Plan {
    /// Plans, and prints or writes the plan.
    pub fn run(&self, common: &Common) -> Outcome {
        match &self.what {
            What::Solve(solve) => solve.run(common.json),
            What::Pin(pin) => pin.run(common),
            What::Unpin(unpin) => unpin.run(common),
            What::Show(asked) => {
                let desk = Desk::open(common, false)?;
                let kept = KeptBeliefs::default();
                let answer = asked.answer(&desk, &kept);
                if common.json {
                    return print::json(&views::plan::json(&answer));
                }
                print::sheet(&views::plan::sheet(&answer, &desk.booth, desk.today()))
            }
            What::Export { asked, form, to } => {
                let desk = Desk::open(common, false)?;
                let kept = KeptBeliefs::default();
                let answer = asked.answer(&desk, &kept);
                let text = written(&answer, &desk, *form)?;
                match to {
                    None => print::text(&text),
                    Some(file) => fs::write(file, text).map_err(|error| {
                        Failure::new(Kind::World, format!("cannot write {}: {error}", file.display()))
                    }),
                }
            }
        }
    }
}

impl Asked {
    fn answer<'d>(&self, desk: &'d Desk, kept: &'d KeptBeliefs) -> Answer<ServicePlan<'d>> {
        let wanted = Wanted {
            days: self.days,
            afresh: self.afresh,
            evening_minutes: self.evening_minutes,
            before_minutes: self.before_minutes,
            dark_minute: self.dark_minute,
        };
        service_plan(&desk.booth, &desk.library, &desk.now, kept, wanted)
    }
}

fn written(answer: &Answer<ServicePlan<'_>>, desk: &Desk, form: Form) -> Result<String, Failure> {
    if !answer.value.pins_that_cannot_hold.is_empty() {
        return Err(Failure::new(Kind::Refused, answer.value.sentence.trim_end_matches('.'))
            .hinted("`boothwright plan unpin ENTRY` takes a pin out"));
    }
    Ok(match form {
        Form::Csv => views::plan::csv(&answer.value, &desk.booth),
        Form::Calendar => views::plan::calendar(&answer.value, &desk.booth, &desk.now),
        Form::Json => format!("{:#}\n", views::plan::json(answer)),
    })
}
