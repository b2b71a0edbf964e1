//! The buzz track: one tone on either side of the scanned strip, neither of which should be heard.

use super::survey::survey;
use crate::SoundError;
use crate::recording::Source;
use serde::Serialize;
use units::{Decibels, Hertz};

/// A side of the sound track.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TrackSide {
    /// Towards the picture.
    Picture,
    /// Towards the edge of the film.
    Edge,
}

impl TrackSide {
    const fn towards(self) -> &'static str {
        match self {
            Self::Picture => "towards the picture",
            Self::Edge => "towards the edge of the film",
        }
    }

    const fn other(self) -> Self {
        match self {
            Self::Picture => Self::Edge,
            Self::Edge => Self::Picture,
        }
    }
}

/// The tones of the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BuzzRequest {
    /// The two tones.
    pub tones: (Hertz, Hertz),
    /// On which side the first tone lies, if it is known (the film's sheet says so).
    pub first_lies: Option<TrackSide>,
}

impl Default for BuzzRequest {
    /// 300 and 1000 Hz, on sides that the film's sheet names (SMPTE RP 67-2002).
    fn default() -> Self {
        Self { tones: (Hertz::new(300.0), Hertz::new(1000.0)), first_lies: None }
    }
}

/// Where the scanning beam stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BuzzReport {
    /// Peak level of the first tone below full scale, if it is heard.
    pub first_dbfs: Option<Decibels>,
    /// The same of the second tone.
    pub second_dbfs: Option<Decibels>,
    /// The tone that is louder, if either is heard.
    pub louder_hz: Option<Hertz>,
    /// The side to move the scanning beam to, where the film's sides are known.
    pub move_towards: Option<TrackSide>,
    /// What to do, in words.
    pub what_to_do: String,
    /// What the reader must know.
    pub caveats: Vec<String>,
}

/// Window of the spectrum, seconds.
const WINDOW_SECONDS: f64 = 0.7;
/// A tone is heard from so far above the noise beside it.
const HEARD_DB: f64 = 10.0;
/// What the machine's speed may be off.
const REACH: f64 = 0.045;
/// Within so many decibels both tones are equally loud.
const EQUAL_DB: f64 = 1.0;

/// Says which side of a buzz track is heard and which way to move the scanning beam.
pub fn measure_buzz_track(source: &mut dyn Source, request: &BuzzRequest) -> Result<BuzzReport, SoundError> {
    let survey = survey(source, WINDOW_SECONDS)?;
    let density = &survey.density;
    let level = |tone: Hertz| {
        let hz = tone.hertz();
        let range = density.bin(hz * (1.0 - REACH))..=density.bin(hz * (1.0 + REACH));
        let at = |bin: usize| density.power.get(bin).copied().unwrap_or_default();
        let peak = range.max_by(|&a, &b| at(a).total_cmp(&at(b)))?;
        let floor = survey.floor_near(peak as f64 * density.bin_hz, 12, 40);
        let power: f64 = (peak.saturating_sub(6)..=peak + 6).map(|b| (at(b) - floor).max(0.0)).sum();
        let above = 10.0 * (at(peak) / floor.max(f64::MIN_POSITIVE)).log10();
        (above > HEARD_DB).then(|| Decibels::new(10.0 * (2.0 * power * density.bin_hz).log10()))
    };
    let (first, second) = (level(request.tones.0), level(request.tones.1));
    let louder_is_first = match (first, second) {
        (None, None) => None,
        (Some(a), Some(b)) if (a - b).abs().decibels() < EQUAL_DB => None,
        (Some(a), Some(b)) => Some(a > b),
        (Some(_), None) => Some(true),
        (None, Some(_)) => Some(false),
    };
    let move_towards = louder_is_first.and_then(|is_first| {
        let first_lies = request.first_lies?;
        Some(if is_first { first_lies.other() } else { first_lies })
    });
    let louder_hz = louder_is_first.map(|is_first| if is_first { request.tones.0 } else { request.tones.1 });
    let what_to_do = advice(first.is_some() || second.is_some(), louder_hz, move_towards);
    Ok(BuzzReport {
        first_dbfs: first,
        second_dbfs: second,
        louder_hz,
        move_towards,
        what_to_do,
        caveats: survey.oddities.clone(),
    })
}

fn advice(heard: bool, louder: Option<Hertz>, towards: Option<TrackSide>) -> String {
    match (louder, towards) {
        (None, _) if !heard => "neither tone is heard: the scanning beam stands right".to_owned(),
        (None, _) => {
            "both tones are heard equally: the scanning beam is too long, or scattered light falls beside \
                      the track; the position is right"
                .to_owned()
        }
        (Some(louder), Some(side)) => {
            format!("the {:.0} Hz tone is heard: move the scanning beam {}", louder.hertz(), side.towards())
        }
        (Some(louder), None) => format!(
            "the {0:.0} Hz tone is heard: move the scanning beam away from the side that carries {0:.0} Hz, until \
             neither is heard",
            louder.hertz()
        ),
    }
}
