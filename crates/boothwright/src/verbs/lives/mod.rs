//! `lives`: how long parts last, when to change them, how many spares to hold.

mod choice;
mod fit;
mod picture;
mod replace;
mod show;
mod spares;

use crate::{cli::Common, failure::Outcome};
use clap::{Args, Subcommand};

/// How long parts last, when to change them, how many spares to hold
#[derive(Debug, Args)]
pub struct Lives {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// How long the booth's parts last, when to change them, and where each fitted one stands
    Show(show::Show),
    /// Fit a law of life to a table of lives
    Fit(fit::Fit),
    /// The best age at which to change a part before it fails
    Replace(replace::Replace),
    /// How many spares to hold until more can come
    Spares(spares::Spares),
}

impl Lives {
    /// Does it.
    pub fn run(&self, common: &Common) -> Outcome {
        match &self.what {
            What::Show(verb) => verb.run(common),
            What::Fit(verb) => verb.run(common.json),
            What::Replace(verb) => verb.run(common.json),
            What::Spares(verb) => verb.run(common.json),
        }
    }
}

/// A number to four figures, as much as lives can bear.
fn figure(value: f64) -> String {
    if !value.is_finite() {
        return "no bound".to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let decimals = (3.0 - value.abs().log10().floor()).clamp(0.0, 12.0);
    format!("{value:.0$}", decimals as usize)
}
