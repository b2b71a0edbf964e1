//! `lives fit`: a law of life from a table.

use super::{choice, figure, picture};
use crate::{
    desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::{Args, ValueEnum};
use lives::{
    Life,
    fit::{self, IntervalMethod, Intervals, Model},
    goodness,
    table::{LifeTable, TableError, fit_table},
};
use serde_json::{Value, json};
use std::{path::PathBuf, thread};

/// Fit a law of life to a table of lives
#[derive(Debug, Args)]
pub struct Fit {
    /// Table of lives: text with columns `entered`, `left`, `ending`, or pairs of binary numbers (`.f64`)
    file: PathBuf,
    /// Which law; `best` compares them
    #[arg(long, value_enum, default_value = "weibull")]
    model: Law,
    /// Confidence of the intervals
    #[arg(long, default_value_t = 0.95, value_parser = confidence)]
    confidence: f64,
    /// How the intervals are found
    #[arg(long, value_enum, default_value = "corrected")]
    intervals: How,
    /// Judge the law by so many sets of lives drawn from it (left out: 199 with `--model best`, else none)
    #[arg(long, value_parser = clap::value_parser!(u16).range(19..=9999))]
    resamples: Option<u16>,
    /// Seed of those sets; the same seed draws the same
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Draw survival with its points and band
    #[arg(long, value_name = "FILE.svg")]
    plot: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Law {
    Exponential,
    Weibull,
    ShiftedWeibull,
    Lognormal,
    Gamma,
    Best,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum How {
    Corrected,
    LikelihoodRatio,
    Wald,
}

impl How {
    const fn method(self) -> IntervalMethod {
        match self {
            Self::Corrected => IntervalMethod::Corrected,
            Self::LikelihoodRatio => IntervalMethod::LikelihoodRatio,
            Self::Wald => IntervalMethod::Wald,
        }
    }
}

impl Law {
    const fn model(self) -> Option<Model> {
        match self {
            Self::Exponential => Some(Model::Exponential),
            Self::Weibull => Some(Model::Weibull),
            Self::ShiftedWeibull => Some(Model::ShiftedWeibull),
            Self::Lognormal => Some(Model::Lognormal),
            Self::Gamma => Some(Model::Gamma),
            Self::Best => None,
        }
    }
}

fn confidence(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|share| *share > 0.0 && *share < 1.0)
        .ok_or_else(|| "write a share between 0 and 1, for example 0.95".to_owned())
}

/// Threads that help with a great table.
fn threads() -> usize {
    thread::available_parallelism().map_or(1, usize::from).min(4)
}

impl Fit {
    /// Does it.
    pub fn run(&self, as_json: bool) -> Outcome {
        let table = self.table()?;
        let fits = self.fits(&table)?;
        let fit = fits.first().expect("fitting fails where no law could be fitted");
        if let Some(file) = &self.plot {
            let lives = table.lives().map_err(|error| Failure::new(Kind::Refused, error))?;
            picture::write(file, &lives, fit)?;
        }
        let judged = self.judged(&table, fit)?;
        let answer = answer(fit, &fits, judged.as_ref(), self.intervals.method());
        print::either(as_json, &answer, |_| {
            words(fit, self.intervals.method()) + &choice::in_words(&fits, judged.as_ref())
        })
    }

    /// Whether the law can be that of the lives; none where nobody asked.
    fn judged(&self, table: &LifeTable, fit: &fit::Fit) -> Result<Option<choice::Judged>, Failure> {
        let usual = (self.model == Law::Best).then_some(choice::RESAMPLES);
        let Some(resamples) = self.resamples.or(usual) else { return Ok(None) };
        let lives = table.lives().map_err(|error| Failure::new(Kind::Refused, error))?;
        Ok(Some(goodness::judge(fit, &lives, resamples.into(), self.seed)))
    }

    fn table(&self) -> Result<LifeTable, Failure> {
        let file = self.file.display();
        let bytes = desk::read_whole(&self.file)?;
        let pairs = self.file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("f64"));
        let table =
            if pairs { LifeTable::from_pairs(&bytes) } else { LifeTable::from_text(&bytes, threads()) };
        table.map_err(|error: TableError| Failure::new(Kind::Refused, format!("{file}: {error}")))
    }

    /// The fit that was asked for; of several, the best first.
    fn fits(&self, table: &LifeTable) -> Result<Vec<fit::Fit>, Failure> {
        let refused = |error: fit::FitError| Failure::new(Kind::Refused, error);
        let of = |model| fit_table(model, table, self.confidence, threads());
        let Some(model) = self.model.model() else {
            let mut fits: Vec<fit::Fit> = Model::ALL.into_iter().filter_map(|model| of(model).ok()).collect();
            choice::best_first(&mut fits);
            return if fits.is_empty() {
                of(Model::Weibull).map(|fit| vec![fit]).map_err(refused)
            } else {
                Ok(fits)
            };
        };
        of(model).map(|fit| vec![fit]).map_err(refused)
    }
}

fn answer(
    fit: &fit::Fit,
    fits: &[fit::Fit],
    judged: Option<&choice::Judged>,
    method: IntervalMethod,
) -> Value {
    let b10 = |life: &Life| life.quantile(0.1);
    let mut answer = json!({
        "model": fit.model.name(),
        "shape": fit.life.shape(),
        "scale": fit.life.scale(),
        "log_likelihood": fit.ln_likelihood,
        "intervals": fit.intervals(method),
        "interval_method": method.name(),
        "confidence": fit.confidence,
        "wald_intervals": fit.wald,
        "likelihood_ratio_intervals": fit.likelihood_ratio,
        "mean_life": fit.life.mean(),
        "mean_life_interval": fit.interval_of(Life::mean),
        "b10_life": b10(&fit.life),
        "b10_life_interval": fit.interval_of(b10),
        "n": fit.n,
        "failures": fit.failures,
        "criterion": fit.criterion(),
        "corrected_criterion": fit.corrected_criterion(),
        "bayes_criterion": fit.bayes_criterion(),
        "because": because(fit, fits, judged),
        "caveats": choice::caveats(fit, judged),
    });
    if fit.model == Model::ShiftedWeibull {
        answer["location"] = json!(fit.life.location());
    }
    if fits.len() > 1 {
        answer["compared"] = choice::compared(fits);
    }
    if let Some(Ok(judged)) = judged {
        answer["judgement"] = json!(judged);
    }
    answer
}

fn because(fit: &fit::Fit, fits: &[fit::Fit], judged: Option<&choice::Judged>) -> Vec<String> {
    let mut because = vec![format!(
        "{} of {} lives ended in failure; the others had lasted as long as they were watched",
        fit.failures, fit.n
    )];
    because.push("maximum likelihood: the law under which these lives were least surprising".to_owned());
    because.extend(choice::sentences(fits, judged));
    because
}

fn words(fit: &fit::Fit, method: IntervalMethod) -> String {
    let intervals: Intervals = fit.intervals(method);
    let line = |name: &str, value: f64, interval: Option<fit::Interval>| {
        let range = interval.map_or(String::new(), |interval| {
            format!("  ({} to {})", figure(interval.low), figure(interval.high))
        });
        format!("  {name:<10} {}{range}\n", figure(value))
    };
    let mut text = format!("{} law of {} lives, {} failures\n", fit.model.name(), fit.n, fit.failures);
    if fit.model != Model::Exponential {
        text += &line("shape", fit.life.shape(), intervals.shape);
    }
    text += &line("scale", fit.life.scale(), intervals.scale);
    if fit.model == Model::ShiftedWeibull {
        text += &line("location", fit.life.location(), intervals.location);
    }
    text += &line("mean life", fit.life.mean(), Some(fit.interval_of(Life::mean)));
    text += &line("B10 life", fit.life.quantile(0.1), Some(fit.interval_of(|life| life.quantile(0.1))));
    for caveat in &fit.caveats {
        text += &format!("  Beware: it {caveat}.\n");
    }
    text
}
