//! When it pays to change a part before it fails.

use ::lives::{
    bayes::Posterior,
    replace::{Costs, best_age_believed},
};
use logbook::Booth;
use machine::{PriorLife, Stops};

/// What a minute of dark or silent screen is worth in minutes of work, where nobody says otherwise. Our choice, no source.
pub const DARK_MINUTE_WORTH: f64 = 10.0;

/// Reads what a minute of dark screen is worth to somebody, in minutes of work; a comma will do for the point.
///
/// Fails with what would be right where it is no number from 0.1 to 1000.
pub fn read_dark_minute(text: &str) -> Result<f64, &'static str> {
    match text.trim().replace(',', ".").parse::<f64>() {
        Ok(worth) if (0.1..=1000.0).contains(&worth) => Ok(worth),
        _ => Err("write minutes of work from 0.1 to 1000, such as 10"),
    }
}

/// How long a showing is taken to last before the booth has shown any. Common practice, no source.
const USUAL_SHOWING_MINUTES: f64 = 100.0;

/// The best age for a planned change, in minutes of work.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Change {
    /// The age, on the clock of the life.
    pub best_age: f64,
    /// Ages between which it costs hardly more: at most a twentieth. No upper end where leaving it costs no more.
    pub nearly: Option<(f64, Option<f64>)>,
    /// What the part costs for each unit of the clock if it is changed at that age.
    pub rate: f64,
    /// The same if it is left until it fails.
    pub rate_if_left: f64,
    /// Minutes of work that a planned change takes.
    pub planned_minutes: f64,
    /// What a failure costs: the work, and the dark minutes for what they are worth.
    pub failure_minutes: f64,
    /// Dark or silent minutes of a failure.
    pub dark_minutes: f64,
}

/// Why there is no best age.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NoChange {
    /// No showing stops for it.
    StopsNothing,
    /// It is a technician's work, and what that costs is not known here.
    Technician,
    /// It is best left until it fails.
    LeftUntilItFails,
}

impl NoChange {
    /// In words, a part of a sentence.
    pub const fn words(self) -> &'static str {
        match self {
            Self::StopsNothing => "no showing stops for it, so it is changed when it is worn",
            Self::Technician => {
                "a planned change is a technician's work, and what it costs is not known here"
            }
            Self::LeftUntilItFails => {
                "no planned change pays: it is best left until it fails, with a spare at hand"
            }
        }
    }
}

pub(super) fn change(
    booth: &Booth,
    life: &PriorLife,
    belief: &Posterior,
    dark_minute: f64,
) -> Result<Change, NoChange> {
    let loss =
        life.loss.as_ref().filter(|loss| loss.stops != Stops::Nothing).ok_or(NoChange::StopsNothing)?;
    let planned = loss.bench_minutes.ok_or(NoChange::Technician)?;
    // What cannot be put right in a showing costs what is left of it: all from the strike, half from any moment after.
    let left = loss.at_strike + (1.0 - loss.at_strike) / 2.0;
    let dark = loss.minutes.unwrap_or_else(|| left * mean_showing_minutes(booth));
    let failure = planned + dark_minute * dark;
    let costs = Costs::new(failure, planned).map_err(|_| NoChange::LeftUntilItFails)?;
    let found = best_age_believed(belief, costs);
    let best_age = found.best_age.ok_or(NoChange::LeftUntilItFails)?;
    Ok(Change {
        best_age,
        nearly: found.nearly_as_good,
        rate: found.cost_rate,
        rate_if_left: found.run_to_failure_cost_rate,
        planned_minutes: planned,
        failure_minutes: failure,
        dark_minutes: dark,
    })
}

fn mean_showing_minutes(booth: &Booth) -> f64 {
    let lengths =
        || booth.showings.values().map(|showing| showing.length_minutes).filter(|minutes| *minutes > 0.0);
    let n = lengths().count();
    if n == 0 { USUAL_SHOWING_MINUTES } else { lengths().sum::<f64>() / n as f64 }
}
