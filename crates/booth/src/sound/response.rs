//! What response a sound chain should have, and how far a measured one is off.

use ::sound::{ResponseReport, ResponseTone};
use film::Gauge;
use machine::{MachineType, RoomCurve};
use units::{Decibels, Hertz};

/// Where a recording was made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RecordedAt {
    /// At the line output, before the room.
    #[default]
    Line,
    /// In the room, in front of the loudspeakers.
    Room,
    /// In a room of less than 150 cubic metres.
    SmallRoom,
}

impl RecordedAt {
    /// Every place.
    pub const ALL: [Self; 3] = [Self::Line, Self::Room, Self::SmallRoom];

    /// Its word in addresses and options.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Line => "line",
            Self::Room => "room",
            Self::SmallRoom => "small-room",
        }
    }

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Line => "At the line output",
            Self::Room => "In the room, in front of the loudspeakers",
            Self::SmallRoom => "In a small room, less than 150 cubic metres",
        }
    }

    /// The place of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.word() == word)
    }
}

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
    /// Single tones in a room stand in waves; none at the line output.
    pub in_a_room: bool,
}

/// 16 mm optical sound at the amplifier's output, the loss of the scanning slit included.
const FLAT_16: Characteristic = Characteristic {
    name: "16 mm, flat from 80 Hz to 5 kHz",
    source: "common practice, no source",
    table: &[(80.0, 0.0), (5000.0, 0.0)],
    tolerance: Decibels::new(3.0),
    in_a_room: false,
};

/// 35 mm optical sound before the room's equaliser.
const FLAT_35: Characteristic = Characteristic {
    name: "35 mm before the room, flat from 50 Hz to 10 kHz",
    source: "common practice, no source",
    table: &[(50.0, 0.0), (10_000.0, 0.0)],
    tolerance: Decibels::new(3.0),
    in_a_room: false,
};

/// Rooms with wide-range loudspeakers: flat to 2 kHz, 3 dB an octave above, and 6 dB an octave above 10 kHz.
const X_CURVE: Characteristic = Characteristic {
    name: "the X curve of the room",
    source: "ISO 2969 / SMPTE ST 202: the table and its 3 dB from memory, the slope of 3 dB an octave above 2 kHz as \
             glossaries of the trade print it",
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
    in_a_room: true,
};

/// The same for less than 150 cubic metres: half the slope above 2 kHz.
const X_CURVE_SMALL: Characteristic = Characteristic {
    name: "the X curve of a small room",
    source: "a glossary of the trade: under 150 cubic metres 1.5 dB an octave above 2 kHz; the low end as in ISO 2969 \
             / SMPTE ST 202, from memory",
    table: &[(40.0, -2.0), (50.0, -1.0), (63.0, 0.0), (2000.0, 0.0), (16_000.0, -4.5)],
    tolerance: Decibels::new(3.0),
    in_a_room: true,
};

/// The older curve for prints with a single track of narrow range.
const N_CURVE: Characteristic = Characteristic {
    name: "the N curve of the room",
    source: "four glossaries of the trade agree on its points: flat from 100 Hz to 1.6 kHz, -7 dB at 40 Hz, -10 dB at \
             5 kHz, -18 dB at 8 kHz; straight lines between them and the 3 dB: common practice, no source",
    table: &[(40.0, -7.0), (100.0, 0.0), (1600.0, 0.0), (5000.0, -10.0), (8000.0, -18.0)],
    tolerance: Decibels::new(3.0),
    in_a_room: true,
};

/// Returns what a gauge's optical sound should give where it was recorded; in a room, by the curve that the hall
/// follows. None where nothing is agreed on: at the line output of Super 8 and Standard 8, or with no curve named.
pub fn characteristic(
    gauge: Gauge,
    at: RecordedAt,
    curve: Option<RoomCurve>,
) -> Option<&'static Characteristic> {
    match (at, curve) {
        (RecordedAt::Line, _) => match gauge {
            Gauge::Mm35 => Some(&FLAT_35),
            Gauge::Mm16 => Some(&FLAT_16),
            _ => None,
        },
        (_, None) => None,
        (_, Some(RoomCurve::N)) => Some(&N_CURVE),
        (RecordedAt::Room, Some(RoomCurve::X)) => Some(&X_CURVE),
        (RecordedAt::SmallRoom, Some(RoomCurve::X)) => Some(&X_CURVE_SMALL),
    }
}

/// The same for a machine type, with the curve that it names unless another is asked for.
pub fn characteristic_of(
    kind: &MachineType,
    at: RecordedAt,
    asked: Option<RoomCurve>,
) -> Option<&'static Characteristic> {
    characteristic(kind.gauge, at, asked.or(kind.features.room_curve))
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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn level(wanted: &Characteristic, hz: f64) -> f64 {
        wanted.level(Hertz::new(hz)).unwrap().decibels()
    }

    /// Flat to 2 kHz and 3 dB an octave above, as glossaries of the trade print the X curve; a table in whole decibels
    /// keeps to that slope within half a decibel up to 10 kHz.
    #[test]
    fn the_x_curve_falls_three_decibels_an_octave() {
        for hz in [63.0, 400.0, 1000.0, 2000.0] {
            assert_eq!(level(&X_CURVE, hz), 0.0);
        }
        for hz in [2500.0, 4000.0, 5000.0, 8000.0, 10_000.0] {
            let slope = -3.0 * f64::log2(hz / 2000.0);
            assert!((level(&X_CURVE, hz) - slope).abs() < 0.5, "{hz} Hz");
            assert!((level(&X_CURVE_SMALL, hz) - slope / 2.0).abs() < 1e-9, "{hz} Hz, small room");
        }
        assert_eq!(X_CURVE.level(Hertz::new(20_000.0)), None);
    }

    /// Four glossaries of the trade: flat from 100 Hz to 1.6 kHz, -7 dB at 40 Hz, -10 dB at 5 kHz, -18 dB at 8 kHz.
    #[test]
    fn the_n_curve_goes_through_its_printed_points() {
        let printed =
            [(40.0, -7.0), (100.0, 0.0), (400.0, 0.0), (1600.0, 0.0), (5000.0, -10.0), (8000.0, -18.0)];
        for (hz, db) in printed {
            assert!((level(&N_CURVE, hz) - db).abs() < 1e-9, "{hz} Hz");
        }
    }

    #[test]
    fn the_type_says_which_curve_its_hall_follows_and_the_line_output_follows_none() {
        let library = machine::shipped();
        let of = |id: &str, at, asked| characteristic_of(library.get(id).unwrap(), at, asked);
        assert_eq!(of("portable-16mm-halogen", RecordedAt::Room, None), Some(&N_CURVE));
        assert_eq!(of("portable-16mm-halogen", RecordedAt::Line, None), Some(&FLAT_16));
        assert_eq!(of("portable-16mm-halogen", RecordedAt::Room, Some(RoomCurve::X)), Some(&X_CURVE));
        assert_eq!(of("booth-35mm-xenon", RecordedAt::Room, None), Some(&X_CURVE));
        assert_eq!(of("booth-35mm-xenon", RecordedAt::SmallRoom, None), Some(&X_CURVE_SMALL));
        assert_eq!(of("booth-35mm-xenon", RecordedAt::Line, Some(RoomCurve::N)), Some(&FLAT_35));
        for at in RecordedAt::ALL {
            assert_eq!(of("super8-sound", at, None), None);
            assert_eq!(RecordedAt::from_word(at.word()), Some(at));
        }
    }
}
