//! `lives spares`: how many to hold.

use crate::{
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use lives::{
    Life,
    spares::{Demand, Fitted},
};
use serde_json::json;
use units::Probability;

/// How many spares to hold until more can come
#[derive(Debug, Args)]
pub struct Spares {
    /// Failures expected before more can come, where they come by chance alone (Poisson)
    #[arg(long, conflicts_with_all = ["shape", "scale", "span", "age"], required_unless_present = "shape")]
    expected: Option<f64>,
    /// Shape of the Weibull law of the part's life
    #[arg(long, requires = "scale", requires = "span")]
    shape: Option<f64>,
    /// Scale of the Weibull law of the part's life, in running hours
    #[arg(long, requires = "shape")]
    scale: Option<f64>,
    /// Running hours of each machine before more can come
    #[arg(long, requires = "shape")]
    span: Option<f64>,
    /// Age of each part that is fitted now; name it once for each machine that shares the store
    #[arg(long, requires = "shape")]
    age: Vec<f64>,
    /// The chance that the spares are enough
    #[arg(long, default_value_t = 0.95)]
    service: f64,
}

impl Spares {
    /// Does it.
    pub fn run(&self, as_json: bool) -> Outcome {
        let usage = |error: &dyn std::fmt::Display| Failure::new(Kind::Usage, error);
        let service =
            Probability::new(self.service).map_err(|error| usage(&format!("--service: {error}")))?;
        if service.value() >= 1.0 {
            return Err(usage(&"--service: no stock is enough for certain; write 0.99 or less than 1"));
        }
        let (demand, because) = self.demand()?;
        let stock = demand.stock_for(service);
        let answer = json!({
            "spares": stock.spares,
            "covered": stock.covered,
            "expected_use": stock.expected_use,
            "service": service,
            "because": [because],
            "caveats": ["the life is taken as known exactly, and each failure as independent of the others"],
        });
        print::either(as_json, &answer, |_| {
            let noun = if stock.spares == 1 { "spare" } else { "spares" };
            format!(
                "Hold {} {noun}: enough with a chance of {:.1} %. About {:.1} will be used.\n",
                stock.spares,
                100.0 * stock.covered.value(),
                stock.expected_use
            )
        })
    }

    fn demand(&self) -> Result<(Demand, &'static str), Failure> {
        let positive = |name: &str, value: f64| {
            let right = value.is_finite() && value >= 0.0;
            if right {
                Ok(value)
            } else {
                Err(Failure::new(Kind::Usage, format!("{name} must not be {value}")))
            }
        };
        if let Some(expected) = self.expected {
            let expected = positive("--expected", expected)?;
            return Ok((Demand::poisson(expected), "failures come by chance alone: Poisson's law"));
        }
        let (Some(shape), Some(scale), Some(span)) = (self.shape, self.scale, self.span) else {
            return Err(Failure::new(Kind::Usage, "give --expected, or --shape, --scale and --span"));
        };
        let life = Life::weibull(shape, scale).map_err(|error| Failure::new(Kind::Usage, error))?;
        let span = positive("--span", span)?;
        let ages = if self.age.is_empty() { vec![0.0] } else { self.age.clone() };
        let ages = ages.into_iter().map(|age| positive("--age", age)).collect::<Result<Vec<f64>, _>>()?;
        let fitted: Vec<Fitted> = ages.into_iter().map(|age| Fitted { life, age, span }).collect();
        Ok((
            Demand::of_all(&fitted),
            "each fitted part fails from its age on, its successors from new: a renewal process, summed over the machines that share the store",
        ))
    }
}
