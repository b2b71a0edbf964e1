//! `lives replace`: when to change a part before it fails.

use super::figure;
use crate::{
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use lives::{
    Life,
    replace::{Costs, Replacement, TwoClocks, best_age},
};
use serde_json::json;

/// The best age at which to change a part before it fails
#[derive(Debug, Args)]
pub struct Replace {
    /// Shape of the Weibull law of its life
    #[arg(long)]
    shape: f64,
    /// Scale of the Weibull law of its life, in hours or on any other clock
    #[arg(long)]
    scale: f64,
    /// Cost of a failure in use
    #[arg(long)]
    failure_cost: f64,
    /// Cost of a planned change
    #[arg(long)]
    planned_cost: f64,
    /// Shape of its life on a second clock (years beside hours)
    #[arg(long, requires = "second_scale", requires = "second_per_first")]
    second_shape: Option<f64>,
    /// Scale of its life on the second clock
    #[arg(long, requires = "second_shape")]
    second_scale: Option<f64>,
    /// How far the second clock goes for one unit of the first (a year in 80 hours: 0.0125)
    #[arg(long, requires = "second_shape")]
    second_per_first: Option<f64>,
}

impl Replace {
    /// Does it.
    pub fn run(&self, as_json: bool) -> Outcome {
        let usage = |error: &dyn std::fmt::Display| Failure::new(Kind::Usage, error);
        let first = Life::weibull(self.shape, self.scale).map_err(|error| usage(&error))?;
        let costs = Costs::new(self.failure_cost, self.planned_cost).map_err(|error| usage(&error))?;
        let found = match (self.second_shape, self.second_scale, self.second_per_first) {
            (Some(shape), Some(scale), Some(second_per_first)) => {
                let second = Life::weibull(shape, scale).map_err(|error| usage(&error))?;
                if !(second_per_first.is_finite() && second_per_first > 0.0) {
                    return Err(usage(&"--second-per-first must be a positive number"));
                }
                TwoClocks { first, second, second_per_first }.best_age(costs)
            }
            _ => best_age(&first, costs),
        };
        let answer = json!({
            "best_age": found.best_age,
            "cost_rate": found.cost_rate,
            "run_to_failure_cost_rate": found.run_to_failure_cost_rate,
            "nearly_as_good": found.nearly_as_good,
            "because": ["least cost for each unit of the clock in the long run: planned changes and failures over mean time in service (age replacement, Barlow and Proschan 1965)"],
            "caveats": ["the life and the costs are taken as known exactly"],
        });
        print::either(as_json, &answer, |_| words(&found))
    }
}

fn words(found: &Replacement) -> String {
    let Some(age) = found.best_age else {
        return format!(
            "Leave it until it fails: no planned change pays. Cost {} for each unit of the clock.\n",
            figure(found.cost_rate)
        );
    };
    let saved = 100.0 * (1.0 - found.cost_rate / found.run_to_failure_cost_rate);
    let range = match found.nearly_as_good {
        Some((early, Some(late))) => {
            format!("; from {} to {} costs hardly more", figure(early), figure(late))
        }
        Some((early, None)) => format!("; anything past {} costs hardly more", figure(early)),
        None => String::new(),
    };
    format!(
        "Change it at {}{range}. Cost {} for each unit of the clock, {saved:.0} % less than if left until it fails.\n",
        figure(age),
        figure(found.cost_rate)
    )
}
