//! `sound flutter` and `sound speed`: one measurement, two ways of saying it.

use super::{
    heard::{Heard, Recordings},
    setting::About,
};
use crate::{cli::Common, failure::Outcome};
use booth::sound::Measured;
use clap::Args;
use serde_json::Value;
use sound::FlutterReport;
use views::{Picture, Sheet, plot, sound::Known};

/// Speed, wow and flutter of a steady tone, and the parts behind its lines
#[derive(Debug, Args)]
pub struct Flutter {
    #[command(flatten)]
    recordings: Recordings,
    #[command(flatten)]
    about: About,
    /// The tone that the film carries, in Hz (3150, 3000, 1000 …); left out: the nearest customary one
    #[arg(long, value_name = "HZ")]
    tone: Option<f64>,
}

/// Speed of a steady tone: error, frames a second, drift, run-up
#[derive(Debug, Args)]
pub struct Speed {
    #[command(flatten)]
    same: Flutter,
}

impl Flutter {
    /// Measures.
    pub fn run(&self, common: &Common) -> Outcome {
        self.measure(common, |report| Box::new(Whole(report)))
    }

    fn measure(&self, common: &Common, said: fn(FlutterReport) -> Box<dyn Heard>) -> Outcome {
        let setting = self.about.open(common)?;
        let bench = setting.bench(self.tone);
        self.recordings.run(common, &setting, &|source| bench.flutter(source).map(said))
    }
}

impl Speed {
    /// Measures.
    pub fn run(&self, common: &Common) -> Outcome {
        self.same.measure(common, |report| Box::new(SpeedOnly(report)))
    }
}

struct Whole(FlutterReport);

impl Heard for Whole {
    fn figures(&self) -> Vec<Measured> {
        Measured::of_flutter(&self.0)
    }

    fn sheet(&self, known: &Known<'_>) -> Sheet {
        views::sound::flutter(&self.0, known)
    }

    fn json(&self, known: &Known<'_>) -> Value {
        views::sound::json::flutter(&self.0, known)
    }

    fn picture(&self) -> Option<Picture> {
        Some(plot::spectrum::flutter_spectrum(&self.0))
    }
}

struct SpeedOnly(FlutterReport);

impl Heard for SpeedOnly {
    fn figures(&self) -> Vec<Measured> {
        Measured::of_speed(&self.0)
    }

    fn sheet(&self, known: &Known<'_>) -> Sheet {
        views::sound::speed(&self.0, known)
    }

    fn json(&self, known: &Known<'_>) -> Value {
        views::sound::json::flutter(&self.0, known)
    }

    fn picture(&self) -> Option<Picture> {
        Some(plot::speed::speed_against_time(&self.0))
    }
}
