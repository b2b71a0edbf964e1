//! `sound flutter` and `sound speed`: one measurement, two ways of saying it.

use super::{
    heard::{Recordings, Told},
    setting::About,
};
use crate::{cli::Common, failure::Outcome};
use booth::sound::Measured;
use clap::Args;
use sound::FlutterReport;
use views::plot;

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
        self.measure(common, &WHOLE)
    }

    fn measure(&self, common: &Common, told: &Told<FlutterReport>) -> Outcome {
        let setting = self.about.open(common)?;
        let bench = setting.bench(self.tone);
        self.recordings.run(common, &setting, told, &|source| bench.flutter(source))
    }
}

impl Speed {
    /// Measures.
    pub fn run(&self, common: &Common) -> Outcome {
        self.same.measure(common, &SPEED_ONLY)
    }
}

const WHOLE: Told<FlutterReport> = Told {
    figures: Measured::of_flutter,
    sheet: views::sound::flutter,
    json: views::sound::json::flutter,
    picture: plot::spectrum::flutter_spectrum,
};

const SPEED_ONLY: Told<FlutterReport> = Told {
    figures: Measured::of_speed,
    sheet: views::sound::speed,
    picture: plot::speed::speed_against_time,
    ..WHOLE
};
