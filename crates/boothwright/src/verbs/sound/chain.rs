//! `sound response`, `noise`, `focus`, `buzztrack`: the rest of the sound chain.

use super::{
    heard::{Recordings, Told},
    setting::About,
};
use crate::{
    cli::Common,
    failure::{Failure, Kind, Outcome},
};
use booth::sound::{Characteristic, Measured, RecordedAt, characteristic, tones_weighed};
use clap::{Args, ValueEnum};
use film::Gauge;
use machine::RoomCurve;
use sound::{BuzzReport, BuzzRequest, FocusReport, NoiseReport, ResponseReport, TrackSide};
use units::{Decibels, Hertz};
use views::plot;

/// Response from a multi-frequency film
#[derive(Debug, Args)]
pub struct Response {
    #[command(flatten)]
    recordings: Recordings,
    #[command(flatten)]
    about: About,
    /// The tone at 0 dB, in Hz; left out: 1000, or 400 where the film has no 1000
    #[arg(long, value_name = "HZ")]
    tone: Option<f64>,
    /// Gauge whose characteristic it is held against; left out: that of the machine
    #[arg(long)]
    gauge: Option<String>,
    /// Recorded in front of the loudspeakers, not at the line output
    #[arg(long)]
    in_the_room: bool,
    /// The room holds less than 150 cubic metres
    #[arg(long, requires = "in_the_room")]
    small_room: bool,
    /// Curve that the room follows; left out: that of the machine's type
    #[arg(long, value_enum, requires = "in_the_room")]
    curve: Option<Curve>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Curve {
    /// ISO 2969, SMPTE ST 202
    X,
    /// The older, narrower one
    N,
}

impl From<Curve> for RoomCurve {
    fn from(curve: Curve) -> Self {
        match curve {
            Curve::X => Self::X,
            Curve::N => Self::N,
        }
    }
}

impl Response {
    /// Measures.
    pub fn run(&self, common: &Common) -> Outcome {
        let setting = self.about.open(common)?;
        let asked: Option<Gauge> =
            self.gauge.as_ref().map(|gauge| gauge.parse()).transpose().map_err(|error| {
                Failure::new(
                    Kind::Usage,
                    format!("--gauge `{}`: {error}", self.gauge.as_deref().unwrap_or_default()),
                )
            })?;
        let gauge = asked.or_else(|| setting.kind().map(|kind| kind.gauge));
        let at = match (self.in_the_room, self.small_room) {
            (false, _) => RecordedAt::Line,
            (true, false) => RecordedAt::Room,
            (true, true) => RecordedAt::SmallRoom,
        };
        let own = setting.kind().and_then(|kind| kind.features.room_curve);
        let curve = self.curve.map(RoomCurve::from).or(own);
        let wanted = gauge.and_then(|gauge| characteristic(gauge, at, curve));
        let bench = setting.bench(self.tone);
        self.recordings.run(common, &setting, &RESPONSE, &|source| {
            let report = bench.response(source)?;
            Ok(Answered { report, wanted })
        })
    }
}

struct Answered {
    report: ResponseReport,
    wanted: Option<&'static Characteristic>,
}

const RESPONSE: Told<Answered> = Told {
    figures: |answered| Measured::of_response(&answered.report),
    sheet: |answered, known| views::sound::response(&answered.report, answered.wanted, known),
    json: |answered, known| views::sound::json::response(&answered.report, answered.wanted, known),
    picture: |Answered { report, wanted }| {
        plot::response::response(&tones_weighed(report, *wanted), *wanted, report.reference_hz)
    },
};

/// Noise, hum and distortion
#[derive(Debug, Args)]
pub struct Noise {
    #[command(flatten)]
    recordings: Recordings,
    #[command(flatten)]
    about: About,
    /// Peak level of the reference tone at the same settings, in dB (0: full scale, so `-12`); left out: a tone in the
    /// recording itself
    #[arg(long, value_name = "DB", allow_negative_numbers = true)]
    reference: Option<f64>,
}

impl Noise {
    /// Measures.
    pub fn run(&self, common: &Common) -> Outcome {
        let setting = self.about.open(common)?;
        let bench = setting.bench(None);
        let reference = self.reference.map(Decibels::new);
        self.recordings.run(common, &setting, &NOISE, &|source| bench.noise(source, reference))
    }
}

const NOISE: Told<NoiseReport> = Told {
    figures: Measured::of_noise,
    sheet: views::sound::noise,
    json: views::sound::json::with_readings,
    picture: plot::levels::noise_lines,
};

/// Sound focus and azimuth from a high tone
#[derive(Debug, Args)]
pub struct Focus {
    #[command(flatten)]
    recordings: Recordings,
    #[command(flatten)]
    about: About,
    /// The high tone, in Hz (5000, 7000, 9000); left out: the strongest from 3 kHz up
    #[arg(long, value_name = "HZ")]
    tone: Option<f64>,
}

impl Focus {
    /// Measures.
    pub fn run(&self, common: &Common) -> Outcome {
        let setting = self.about.open(common)?;
        let bench = setting.bench(self.tone);
        self.recordings.run(common, &setting, &FOCUS, &|source| bench.focus(source))
    }
}

const FOCUS: Told<FocusReport> = Told {
    figures: Measured::of_focus,
    sheet: views::sound::focus,
    json: views::sound::json::with_readings,
    picture: plot::levels::focus,
};

/// Which side of a buzz track is heard, and which way to move the beam
#[derive(Debug, Args)]
pub struct BuzzTrack {
    #[command(flatten)]
    recordings: Recordings,
    #[command(flatten)]
    about: About,
    /// The two tones of the film, in Hz
    #[arg(long, value_names = ["HZ", "HZ"], num_args = 2, default_values_t = [300.0, 1000.0])]
    tones: Vec<f64>,
    /// Side of the track on which the first tone lies (the film's sheet says it)
    #[arg(long)]
    first_lies: Option<Side>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Side {
    Picture,
    Edge,
}

impl BuzzTrack {
    /// Measures.
    pub fn run(&self, common: &Common) -> Outcome {
        let setting = self.about.open(common)?;
        let bench = setting.bench(None);
        let tones = match self.tones.as_slice() {
            [first, second] => (Hertz::new(*first), Hertz::new(*second)),
            _ => BuzzRequest::default().tones,
        };
        let first_lies = self.first_lies.map(|side| match side {
            Side::Picture => TrackSide::Picture,
            Side::Edge => TrackSide::Edge,
        });
        let request = BuzzRequest { tones, first_lies };
        self.recordings.run(common, &setting, &BUZZ_TRACK, &|source| {
            let report = bench.buzz_track(source, &request)?;
            Ok(Buzz { report, request })
        })
    }
}

struct Buzz {
    report: BuzzReport,
    request: BuzzRequest,
}

const BUZZ_TRACK: Told<Buzz> = Told {
    figures: |buzz| Measured::of_buzz_track(&buzz.report),
    sheet: |buzz, known| views::sound::buzz_track(&buzz.report, &buzz.request, known),
    json: |buzz, known| views::sound::json::with_readings(&buzz.report, known),
    picture: |buzz| plot::buzz::buzz_track(&buzz.report, &buzz.request),
};
