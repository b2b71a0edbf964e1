//! Recordings of Turnstone's test film, each with what to make it of: three for a baseline after the crossing, then some
//! as the drum wears.

use crate::diary::Calendar;
use crate::dice::{Dice, Stream, rounded};
use crate::names::quantity;
use crate::pen::{Hand, Pen, minutes_after};
use crate::readings::Ramp;
use crate::setting::{Bird, KEEPER};
use ::sound::make::{Made, MadeLevel, MadeLine, Sample};
use jiff::civil::{Date, DateTime, time};
use logbook::fact::Fact;
use logbook::{Entry, MachineId};
use machine::{Library, Mains, Rate, Running};
use std::collections::BTreeMap;
use units::{Decibels, FramesPerSecond, Hertz, Percent, Seconds};

/// The tone of the booth's flutter film.
const TONE: Hertz = Hertz::new(3150.0);
/// Sound speed, at which every machine of the booth runs.
const SPEED: FramesPerSecond = FramesPerSecond::new(24.0);
/// Low enough to keep a recording small, high enough for the tone and its side-bands.
const SAMPLE_RATE: u32 = 16_000;
/// How far Turnstone runs fast, as its other readings have it.
const SPEED_ERROR: f64 = 0.4;
/// What the pull-down leaves on every machine.
const CLAW_DEPTH: f64 = 0.02;
/// Peak deviation of the drum's line for each hundredth of weighted flutter beyond what the pull-down makes.
const DEPTH_OF_WEIGHTED: f64 = 1.12;
/// The booth's hiss below the tone.
const HISS: Decibels = Decibels::new(46.0);
/// So many entries may be written of one recording.
const MOST_ENTRIES: usize = 8;

/// A recording that the booth kept of a test film: how it is made, and who wrote down what it says.
#[derive(Debug, Clone, PartialEq)]
pub struct TestRecording {
    /// The machine that played.
    pub machine: MachineId,
    /// Its type.
    pub machine_type: String,
    /// The sound.
    pub made: Made,
    /// What it says is a baseline.
    pub baseline: bool,
    /// What the recording itself does not show.
    pub conditions: BTreeMap<String, String>,
    /// Entries with id, time and writer, still without their facts.
    blanks: Vec<Entry>,
}

impl TestRecording {
    /// Returns the entries for what the recording says.
    pub fn entries(&self, facts: Vec<Fact>) -> Vec<Entry> {
        assert!(facts.len() <= self.blanks.len(), "a recording says no more than {MOST_ENTRIES} things");
        self.blanks.iter().zip(facts).map(|(blank, fact)| Entry { fact, ..blank.clone() }).collect()
    }
}

/// When each was recorded, and whether it is a baseline: day of the log, time.
fn sittings(calendar: &Calendar) -> Vec<(DateTime, bool)> {
    let at = |date: Date, minutes: i64| minutes_after(date.to_datetime(time(14, 10, 0, 0)), minutes);
    let after = calendar.date(calendar.crossing() + 10);
    let mut all: Vec<_> = [0, 9, 17].map(|minutes| (at(after, minutes), true)).into();
    let later = [calendar.month(9.0), calendar.days - 3].map(|day| (at(calendar.date(day), 0), false));
    all.extend(later);
    all
}

/// Every recording, in order of time.
pub(crate) fn recordings(
    calendar: &Calendar,
    library: &Library,
    ramps: &[Ramp],
    seed: u64,
) -> Vec<TestRecording> {
    let own = |ramp: &&Ramp| ramp.bird == Bird::Turnstone && ramp.quantity == quantity::FLUTTER;
    let ramp = ramps.iter().find(own).expect("Turnstone's flutter has a trend");
    let (mut dice, mut pen) = (Dice::new(seed, Stream::Sound), Pen::of_sound(calendar.today, seed));
    let record = |(at, baseline): (DateTime, bool)| {
        let weighted = dice.normal(ramp.at(calendar.day(at.date())), ramp.sd / 2.0);
        TestRecording {
            machine: Bird::Turnstone.id().into(),
            machine_type: Bird::Turnstone.character().machine_type.to_owned(),
            made: made(library, weighted, &mut dice),
            baseline,
            conditions: BTreeMap::from([
                ("lower loop".to_owned(), "two fingers".to_owned()),
                ("recorder".to_owned(), "laptop at the line output".to_owned()),
            ]),
            blanks: blanks(&mut pen, at),
        }
    };
    sittings(calendar).into_iter().map(record).collect()
}

fn blanks(pen: &mut Pen, at: DateTime) -> Vec<Entry> {
    let ids: Vec<_> = (0..MOST_ENTRIES)
        .map(|_| {
            pen.write(
                at,
                Hand::laptop(KEEPER),
                logbook::fact::Noted { about: None, words: String::new(), photos: Vec::new() },
            )
        })
        .collect();
    let mut blanks: Vec<Entry> = ids.into_iter().map(|id| pen.entry(id).clone()).collect();
    blanks.sort_by_key(|entry| entry.recorded.unix_ms);
    blanks
}

/// A minute of the film as a machine plays it whose drum runs out by so much.
fn made(library: &Library, weighted: f64, dice: &mut Dice) -> Made {
    let speed_error = rounded(dice.normal(SPEED_ERROR, 0.05), 3);
    let mut line = |rotating: &str, depth: f64| MadeLine {
        rate: turns(library, rotating) * (1.0 + speed_error / 100.0),
        depth: Percent::new(rounded(depth, 4)),
        phase: rounded(dice.between(0.0, 1.0), 4),
    };
    let drum = DEPTH_OF_WEIGHTED * (weighted - CLAW_DEPTH).max(0.0);
    let lines = vec![line("drum", drum), line("claw-shaft", CLAW_DEPTH)];
    Made {
        rate: SAMPLE_RATE,
        sample: Sample::I16,
        length: Seconds::new(60.0),
        tone: TONE,
        speed_error: Percent::new(speed_error),
        lines,
        levels: vec![MadeLevel { rate: Hertz::new(24.0), depth: Percent::new(4.0) }],
        noise: Some(HISS),
        splices: vec![Seconds::new(rounded(dice.between(20.0, 40.0), 2))],
        seed: dice.below(u32::MAX).into(),
        ..Made::default()
    }
}

/// How often a rotating part of the machine turns at sound speed.
fn turns(library: &Library, rotating: &str) -> Hertz {
    let kind = crate::fleet::kind_of(library, Bird::Turnstone);
    let film_thickness = film::Base::Acetate.thickness().thickness;
    let running = Running { speed: SPEED, film_thickness, mains: Mains::Fifty };
    let part = kind.rotating_part(rotating).expect("the shipped type has the part");
    match part.turn_rate(kind, running) {
        Some(Rate::Steady(rate)) => rate,
        _ => unreachable!("drum and claw shaft turn steadily"),
    }
}
