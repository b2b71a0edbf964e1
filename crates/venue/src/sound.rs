//! The loudspeaker in the room: level at each row, direct and from the walls, headroom and delay.

use std::f64::consts::PI;

use film::Gauge;
use serde::Serialize;
use units::{CubicMetres, Decibels, Metres, Seconds, SquareMetres, Times, Watts};

use crate::answer::{Judgement, Missing, Working};
use crate::estimate::{Estimate, reach};
use crate::setting::{PictureGiven, SeatsGiven, SoundGiven};
use crate::sight::SightAnswer;

/// The level at one row, at the amplifier's full power.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SoundRow {
    /// The row, from 1; 0 for a place that is no row.
    pub row: u32,
    /// From the loudspeaker.
    #[serde(rename = "distance_m")]
    pub distance: Estimate<Metres>,
    /// Level at full power.
    #[serde(rename = "level_db")]
    pub level: Estimate<Decibels>,
    /// By how much the direct sound is above that from the walls; below zero the walls win.
    #[serde(rename = "direct_over_room_db")]
    pub direct_over_room: Estimate<Decibels>,
    /// How long sound takes from the screen.
    #[serde(rename = "delay_ms", serialize_with = "milliseconds")]
    pub delay: Estimate<Seconds>,
    /// The same in frames at 24 fps.
    pub delay_frames: Estimate<Times>,
}

fn milliseconds<S: serde::Serializer>(time: &Estimate<Seconds>, out: S) -> Result<S::Ok, S::Error> {
    time.map(|time| Times::new(time.as_milliseconds())).serialize(out)
}

/// Sound in the hall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SoundAnswer {
    /// Row by row.
    pub rows: Vec<SoundRow>,
    /// The room constant `R = A / (1 - mean absorption)`.
    #[serde(rename = "room_constant_m2")]
    pub room_constant: Estimate<SquareMetres>,
    /// Where direct sound and that from the walls are equal.
    #[serde(rename = "critical_distance_m")]
    pub critical_distance: Estimate<Metres>,
    /// The level that loud passages should reach at the last row.
    #[serde(rename = "wanted_peak_db")]
    pub wanted: Decibels,
    /// Where that level comes from.
    pub wanted_source: &'static str,
    /// What is left above it at the last row at full power.
    #[serde(rename = "headroom_db")]
    pub headroom: Estimate<Decibels>,
    /// Against zero: `within` is enough.
    pub judgement: Judgement,
    /// The power that the wanted level takes at the last row.
    #[serde(rename = "power_needed_w")]
    pub power_needed: Estimate<Watts>,
    /// First row to last, the level falls by so much.
    #[serde(rename = "front_to_back_db")]
    pub front_to_back: Estimate<Decibels>,
    /// The sums.
    pub workings: Vec<Working>,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// The room constant by Sabine: `A = 0.161 V / T`, `R = A / (1 - A / S)`. Infinite for a room without echo.
pub fn room_constant(volume: CubicMetres, surface: SquareMetres, reverberation: Seconds) -> SquareMetres {
    let absorption = SABINE * volume.cubic_metres() / reverberation.seconds();
    // A mean absorption of one would be an open field; a hall has no more than this.
    let mean = (absorption / surface.square_metres()).min(0.95);
    SquareMetres::new(mean * surface.square_metres() / (1.0 - mean))
}

/// Sabine's constant in seconds a metre at about 20 °C, from memory.
const SABINE: f64 = 0.161;

/// Where direct and reverberant sound are equal: `sqrt(Q R / 16 pi)`.
pub fn critical_distance(directivity: Times, room_constant: SquareMetres) -> Metres {
    Metres::new((directivity.times() * room_constant.square_metres() / (16.0 * PI)).sqrt())
}

/// The level at a distance: `S + 10 log P + 10 log (1 / r² + 16 pi / (Q R))`, from `Lp = Lw + 10 log (Q / (4 pi r²) +
/// 4 / R)` with the sensitivity S at 1 m on the axis for 1 W.
pub fn level_at(
    distance: Metres,
    sensitivity: Decibels,
    power: Watts,
    directivity: Times,
    room_constant: SquareMetres,
) -> Decibels {
    let direct = 1.0 / distance.metres().powi(2);
    let room = 16.0 * PI / (directivity.times() * room_constant.square_metres());
    Decibels::new(sensitivity.decibels() + 10.0 * power.watts().log10() + 10.0 * (direct + room).log10())
}

/// The speed of sound: `331.3 sqrt(1 + t / 273.15)` m/s, from memory.
fn speed_of_sound(celsius: f64) -> f64 {
    331.3 * (1.0 + celsius / 273.15).sqrt()
}

/// What loud passages should reach at the last row, when nobody says otherwise.
const fn wanted_peak(gauge: Gauge) -> (Decibels, &'static str) {
    match gauge {
        Gauge::Mm35 => (
            Decibels::new(94.0),
            "85 dB(C) from pink noise at 50 % modulation (a lecture text on cinema reference level), 6 dB to full modulation, 3 dB for the loudest track: trade text on cinema levels",
        ),
        Gauge::Mm16 | Gauge::Super8 | Gauge::Standard8 => {
            (Decibels::new(85.0), "dialogue at 65 to 72 dB, peaks under 85 dB: common practice, no source")
        }
    }
}

const NEEDED: Missing = Missing {
    question: "the sound in the hall",
    needs: "the amplifier's power, and rows or the length of the hall",
    fields: &["amplifier", "first-row", "rows", "hall-length"],
};

/// What the sums start from, customary values filled in.
struct Room {
    amplifier: Estimate<Watts>,
    sensitivity: Estimate<Decibels>,
    directivity: Estimate<Times>,
    constant: Estimate<SquareMetres>,
    temperature: Estimate<units::Celsius>,
}

impl Room {
    fn inputs(&self, distance: Estimate<Metres>) -> [Estimate<Times>; 5] {
        [
            distance.bare(),
            self.sensitivity.bare(),
            self.amplifier.bare(),
            self.directivity.bare(),
            self.constant.bare(),
        ]
    }

    fn level(&self, distance: Estimate<Metres>) -> Estimate<Decibels> {
        let [level] =
            reach(self.inputs(distance), |[distance, sensitivity, power, directivity, constant]| {
                [level_at(
                    Metres::new(distance),
                    Decibels::new(sensitivity),
                    Watts::new(power),
                    Times::new(directivity),
                    SquareMetres::new(constant),
                )
                .decibels()]
            });
        level.of()
    }

    fn row(&self, row: u32, distance: Estimate<Metres>) -> SoundRow {
        let inputs = [distance.bare(), self.directivity.bare(), self.constant.bare()];
        let [direct_over_room] = reach(inputs, |[distance, directivity, constant]| {
            let critical = critical_distance(Times::new(directivity), SquareMetres::new(constant));
            [20.0 * (critical.metres() / distance).log10()]
        });
        let [delay] = reach([distance.bare(), self.temperature.bare()], |[distance, celsius]| {
            [distance / speed_of_sound(celsius)]
        });
        SoundRow {
            row,
            distance,
            level: self.level(distance),
            direct_over_room: direct_over_room.of(),
            delay: delay.of(),
            delay_frames: delay.map(|seconds| seconds * 24.0),
        }
    }

    /// The power for a level at a distance.
    fn power_for(&self, wanted: Decibels, distance: Estimate<Metres>) -> Estimate<Watts> {
        let inputs =
            [distance.bare(), self.sensitivity.bare(), self.directivity.bare(), self.constant.bare()];
        let [power] = reach(inputs, |[distance, sensitivity, directivity, constant]| {
            let at_one_watt = level_at(
                Metres::new(distance),
                Decibels::new(sensitivity),
                Watts::new(1.0),
                Times::new(directivity),
                SquareMetres::new(constant),
            );
            [10.0_f64.powf((wanted - at_one_watt).decibels() / 10.0)]
        });
        power.of()
    }

    /// Front to back, with the room unsure in the same way for both.
    fn fall(&self, first: Estimate<Metres>, last: Estimate<Metres>) -> Estimate<Decibels> {
        let inputs = [first.bare(), last.bare(), self.directivity.bare(), self.constant.bare()];
        let [fall] = reach(inputs, |[first, last, directivity, constant]| {
            let room = 16.0 * PI / (directivity * constant);
            [10.0 * ((1.0 / (first * first) + room) / (1.0 / (last * last) + room)).log10()]
        });
        fall.of()
    }
}

/// A loudspeaker of a portable machine: 88 to 96 dB for 1 W at 1 m; common practice, no source.
fn usual_sensitivity() -> Estimate<Decibels> {
    Estimate::between(Decibels::new(88.0), Decibels::new(92.0), Decibels::new(96.0))
}

/// Directivity of a loudspeaker for speech: 2 against a wall to 10 for a horn; common practice, no source.
fn usual_directivity() -> Estimate<Times> {
    Estimate::between(Times::new(2.0), Times::new(5.0), Times::new(10.0))
}

/// Reverberation of a hall that nobody has measured; common practice, no source.
fn usual_reverberation() -> Estimate<Seconds> {
    Estimate::between(Seconds::new(0.8), Seconds::new(1.2), Seconds::new(2.0))
}

/// Height of a hall that nobody has measured; common practice, no source.
fn usual_height() -> Estimate<Metres> {
    Estimate::between(Metres::new(3.0), Metres::new(4.0), Metres::new(6.0))
}

fn constant(
    given: &SoundGiven,
    picture: &PictureGiven,
    seats: &SeatsGiven,
    farthest: Estimate<Metres>,
) -> Estimate<SquareMetres> {
    let length = picture.hall_length.unwrap_or_else(|| farthest.map(|distance| distance + Metres::new(1.5)));
    let width = seats.hall_width.unwrap_or_else(|| {
        Estimate::between(length.low() * 0.5, length.likely() * 0.65, length.high() * 0.8)
    });
    let height = seats.hall_height.unwrap_or_else(usual_height);
    let time = given.reverberation.unwrap_or_else(usual_reverberation);
    let inputs = [length.bare(), width.bare(), height.bare(), time.bare()];
    let [constant] = reach(inputs, |[length, width, height, time]| {
        let surface = 2.0 * (length * width + length * height + width * height);
        let volume = CubicMetres::new(length * width * height);
        [room_constant(volume, SquareMetres::new(surface), Seconds::new(time)).square_metres()]
    });
    constant.of()
}

/// Level, headroom and delay over the rows. Missing when the amplifier or the rows are not known.
pub(crate) fn answer(
    given: &SoundGiven,
    picture: &PictureGiven,
    seats: &SeatsGiven,
    sight: Option<&SightAnswer>,
) -> Result<SoundAnswer, Missing> {
    let amplifier = given.amplifier.ok_or(NEEDED)?;
    let distances = distances(picture, seats, sight)?;
    let (Some(&(_, first)), Some(&(_, last))) = (distances.first(), distances.last()) else {
        return Err(NEEDED);
    };
    let constant = constant(given, picture, seats, last);
    let room = Room {
        amplifier,
        sensitivity: given.sensitivity.unwrap_or_else(usual_sensitivity),
        directivity: given.directivity.unwrap_or_else(usual_directivity),
        constant,
        temperature: given.temperature.unwrap_or_else(|| {
            Estimate::between(units::Celsius::new(15.0), units::Celsius::new(20.0), units::Celsius::new(25.0))
        }),
    };
    let (usual, source) = wanted_peak(picture.format.gauge);
    let wanted = given.wanted_level.map_or(usual, Estimate::likely);
    let headroom = room.level(last).map(|level| level - wanted);
    let [critical] = reach([room.directivity.bare(), constant.bare()], |[directivity, constant]| {
        [critical_distance(Times::new(directivity), SquareMetres::new(constant)).metres()]
    });
    let rows: Vec<SoundRow> = distances.iter().map(|&(row, distance)| room.row(row, distance)).collect();
    Ok(SoundAnswer {
        caveats: caveats(given, seats, &rows),
        rows,
        room_constant: constant,
        critical_distance: critical.of(),
        wanted,
        wanted_source: if given.wanted_level.is_some() { "as given" } else { source },
        headroom,
        judgement: Judgement::of(headroom, Decibels::ZERO, Decibels::new(f64::MAX)),
        power_needed: room.power_for(wanted, last),
        front_to_back: room.fall(first, last),
        workings: workings(),
    })
}

/// The rows' distances from the loudspeaker at the screen; without rows, a third of the hall and its whole length.
fn distances(
    picture: &PictureGiven,
    seats: &SeatsGiven,
    sight: Option<&SightAnswer>,
) -> Result<Vec<(u32, Estimate<Metres>)>, Missing> {
    if let Some(sight) = sight {
        return Ok(sight.rows.iter().map(|row| (row.row, row.distance)).collect());
    }
    let last = picture.hall_length.ok_or(NEEDED)?;
    let first = seats.first_row.unwrap_or_else(|| last.map(|length| length / 3.0));
    Ok(vec![(0, first), (0, last)])
}

fn workings() -> Vec<Working> {
    vec![
        Working {
            gives: "level",
            formula: "Lp = Lw + 10 log(Q / (4 pi r²) + 4 / R); with a sensitivity at 1 m: S + 10 log P + 10 log(1 / r² + 16 pi / (Q R))",
            source: "room acoustics, as in a lecture text on sound in rooms",
        },
        Working {
            gives: "room constant",
            formula: "R = A / (1 - A / S), A = 0.161 V / T (Sabine)",
            source: "from memory",
        },
        Working { gives: "critical distance", formula: "sqrt(Q R / (16 pi))", source: "from memory" },
        Working { gives: "delay", formula: "distance / (331.3 sqrt(1 + t / 273.15))", source: "from memory" },
    ]
}

fn caveats(given: &SoundGiven, seats: &SeatsGiven, rows: &[SoundRow]) -> Vec<String> {
    let mut caveats = vec!["the loudspeaker is taken to stand at the screen, aimed at the rows".to_owned()];
    let mut taken = |missing: bool, words: &str| {
        if missing {
            caveats.push(words.to_owned());
        }
    };
    taken(
        given.sensitivity.is_none(),
        "the loudspeaker's sensitivity is taken as 88 to 96 dB for 1 W at 1 m",
    );
    taken(given.directivity.is_none(), "its directivity is taken as 2 to 10");
    taken(
        given.reverberation.is_none(),
        "the reverberation is taken as 0.8 to 2 s; clap your hands and count, and remember that people take a third of it away",
    );
    taken(seats.hall_height.is_none(), "the hall's height is taken as 3 to 6 m");
    if given.reverberation.is_some_and(|time| time.likely() > Seconds::new(1.5)) {
        caveats.push("over 1.5 s speech runs together: bring the loudspeaker nearer, tilt it at the audience, hang cloth".to_owned());
    }
    if let Some(row) = rows.iter().find(|row| row.direct_over_room.likely() < Decibels::new(-12.0)) {
        caveats.push(format!(
            "from row {} on the walls are heard more than 12 dB above the loudspeaker: speech will be hard to follow",
            row.row
        ));
    }
    caveats
}
