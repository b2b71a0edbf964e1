//! `tonight`: what to know and do before the coming showings.

use crate::{cli::Common, desk::Desk, failure::Outcome, print};
use booth::KeptBeliefs;
use clap::Args;

/// What to know and do before the coming showings
#[derive(Debug, Args)]
pub struct Tonight {
    /// Minutes there are for work before the next showing, instead of the time until the doors open
    #[arg(long, value_name = "MINUTES", value_parser = minutes)]
    minutes: Option<f64>,
}

/// Reads minutes of work.
fn minutes(text: &str) -> Result<f64, String> {
    match text.trim().replace(',', ".").parse::<f64>() {
        Ok(minutes) if (0.0..=1440.0).contains(&minutes) => Ok(minutes),
        _ => Err("write minutes from 0 to 1440, such as 20".to_owned()),
    }
}

impl Tonight {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let answer = booth::tonight(&desk.booth, &desk.library, &desk.now);
        let kept = KeptBeliefs::default();
        let outlooks = booth::outlooks_tonight(&desk.booth, &desk.library, &desk.now, &kept, self.minutes);
        if common.json {
            return print::json(&views::json::tonight(&answer, &outlooks, &desk.booth));
        }
        let mut sheet = views::tonight::sheet(&answer, &outlooks, &desk.booth);
        let case = booth::stores::case_of_next_evening(&desk.booth, &desk.library, &desk.now);
        if let Some(words) = views::stores::no_spare(&case) {
            sheet.say(words);
        }
        print::sheet(&sheet)
    }
}
