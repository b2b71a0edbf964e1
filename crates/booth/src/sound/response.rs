//! What response a sound chain should have, and how far a measured one is off.

use ::sound::{ResponseReport, ResponseTone};
use film::Gauge;
use units::{Decibels, Hertz};

/// A response that a chain should have, relative to the reference tone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Characteristic {
    /// What it is, in a few words.
    pub name: &'static str,
    /// Where the figures come from.
    pub source: &'static str,
    /// Frequency in Hz and level in dB; between them along a straight line over the logarithm of the frequency.
    table: &'static [(f64, f64)],
    /// How far a tone may be off to either side.
    pub tolerance: Decibels,
}

/// 16 mm optical sound at the amplifier's output, the loss of the scanning slit included.
const FLAT_16: Characteristic = Characteristic {
    name: "16 mm, flat from 80 Hz to 5 kHz",
    source: "common practice, no source",
    table: &[(80.0, 0.0), (5000.0, 0.0)],
    tolerance: Decibels::new(3.0),
};

/// 35 mm optical sound before the room's equaliser.
const FLAT_35: Characteristic = Characteristic {
    name: "35 mm before the room, flat from 50 Hz to 10 kHz",
    source: "common practice, no source",
    table: &[(50.0, 0.0), (10_000.0, 0.0)],
    tolerance: Decibels::new(3.0),
};

/// 35 mm in the room, in front of the loudspeakers.
const ROOM_35: Characteristic = Characteristic {
    name: "35 mm in the room",
    source: "ISO 2969 / SMPTE ST 202, from memory",
    table: &[
        (40.0, -2.0),
        (50.0, -1.0),
        (63.0, 0.0),
        (2000.0, 0.0),
        (2500.0, -1.0),
        (3150.0, -2.0),
        (4000.0, -3.0),
        (5000.0, -4.0),
        (6300.0, -5.0),
        (8000.0, -6.0),
        (10_000.0, -7.0),
        (12_500.0, -9.0),
        (16_000.0, -11.0),
    ],
    tolerance: Decibels::new(3.0),
};

/// Returns what a gauge's optical sound should give at the line output or, `in_the_room`, in front of the loudspeakers.
/// For Super 8 and Standard 8 nothing is agreed on.
pub fn characteristic(gauge: Gauge, in_the_room: bool) -> Option<&'static Characteristic> {
    match gauge {
        Gauge::Mm35 if in_the_room => Some(&ROOM_35),
        Gauge::Mm35 => Some(&FLAT_35),
        Gauge::Mm16 => Some(&FLAT_16),
        _ => None,
    }
}

impl Characteristic {
    /// The level that a tone should have; none outside the range of the characteristic.
    pub fn level(&self, hz: Hertz) -> Option<Decibels> {
        let hz = hz.hertz();
        let pair = self.table.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&hz))?;
        let along = (hz / pair[0].0).ln() / (pair[1].0 / pair[0].0).ln();
        Some(Decibels::new(pair[0].1 + along * (pair[1].1 - pair[0].1)))
    }

    /// The lowest and the highest tone that it speaks of.
    pub fn range(&self) -> (Hertz, Hertz) {
        let ends = self.table.first().zip(self.table.last());
        ends.map_or((Hertz::ZERO, Hertz::ZERO), |(low, high)| (Hertz::new(low.0), Hertz::new(high.0)))
    }

    /// Its bends, for a drawing.
    pub fn bends(&self) -> impl Iterator<Item = (Hertz, Decibels)> + '_ {
        self.table.iter().map(|(hz, level)| (Hertz::new(*hz), Decibels::new(*level)))
    }
}

/// A tone against the characteristic.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToneWeighed {
    /// The tone as measured.
    pub tone: ResponseTone,
    /// How far it is off; none where nothing is agreed on.
    pub off: Option<Decibels>,
    /// Inside the tolerance; none where nothing is agreed on.
    pub holds: Option<bool>,
}

/// Weighs every tone of a report against a characteristic, brought to the same reference tone.
pub fn tones_weighed(report: &ResponseReport, wanted: Option<&Characteristic>) -> Vec<ToneWeighed> {
    let nought = wanted.and_then(|wanted| wanted.level(report.reference_hz)).unwrap_or(Decibels::ZERO);
    let weigh = |tone: &ResponseTone| {
        let level = wanted.and_then(|wanted| wanted.level(tone.hz));
        let off = level.map(|level| tone.level_db - (level - nought));
        let holds = off.zip(wanted).map(|(off, wanted)| off.abs() <= wanted.tolerance);
        ToneWeighed { tone: *tone, off, holds }
    };
    report.tones.iter().map(weigh).collect()
}
