//! Readings: hidden trends of four machines, and what instruments made of them.

use crate::care::{Deed, MISSING};
use crate::diary::{Calendar, Outing};
use crate::dice::{Dice, Stream, rounded};
use crate::fleet::kind_of;
use crate::lamps::LampLife;
use crate::names::{quantity, slot};
use crate::parts::Change;
use crate::pen::{Hand, Pen, minutes_after};
use crate::runs::{Odometer, Run};
use crate::setting::{BARN, Bird, HALLS, Hall, KEEPER};
use jiff::civil::DateTime;
use logbook::EntryId;
use logbook::fact::Reading;
use machine::{Basis, Library, ReadingLimit, Repeats};
use std::collections::BTreeMap;

/// Loss of light with each hour of the lamp, and in its last weeks (common practice, no source).
const LIGHT_LOSS_PER_H: f64 = 0.0055;
/// Light goes with the volts to the power of 3.4 (rule of thumb of lamp making, from memory).
const LIGHT_EXPONENT: f64 = 3.4;
/// The exciter lamp sags so much (common practice, no source).
pub(crate) const EXCITER_DB_PER_H: f64 = -0.03;
/// Light on the small screen at the bench.
const BENCH_LUX: f64 = 150.0;

/// A hidden trend: one level before a day, and a straight way to another level after it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ramp {
    pub(crate) bird: Bird,
    pub(crate) quantity: &'static str,
    pub(crate) from_day: i32,
    pub(crate) to_day: i32,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) sd: f64,
    /// What it is after the last day, when it was mended then.
    pub(crate) mended: Option<f64>,
}

impl Ramp {
    pub(crate) fn at(&self, day: i32) -> f64 {
        if let Some(mended) = self.mended.filter(|_| day >= self.to_day) {
            return mended;
        }
        let way = f64::from(day - self.from_day) / f64::from((self.to_day - self.from_day).max(1));
        self.low + (self.high - self.low) * way.clamp(0.0, 1.0)
    }
}

/// The trends that the stories have: drum, claw, felt, gate, capacitors.
pub(crate) fn ramps(calendar: &Calendar) -> Vec<Ramp> {
    let (crossing, end) = (calendar.crossing(), calendar.days);
    let ramp = |bird, quantity, from_day, to_day, low, high, sd, mended| Ramp {
        bird,
        quantity,
        from_day,
        to_day,
        low,
        high,
        sd,
        mended,
    };
    let felt = calendar.visits(Bird::Dunlin)[1];
    let capacitors = calendar.visits(Bird::Phalarope)[2];
    vec![
        ramp(Bird::Turnstone, quantity::FLUTTER, crossing, end, 0.21, 0.375, 0.008, None),
        ramp(Bird::Dunlin, quantity::FLUTTER, 0, end, 0.24, 0.26, 0.012, None),
        ramp(Bird::Phalarope, quantity::FLUTTER, 0, end, 0.35, 0.35, 0.015, None),
        ramp(Bird::Whimbrel, quantity::FLUTTER, 0, end, 0.13, 0.13, 0.008, None),
        ramp(Bird::Turnstone, quantity::SPIN_DOWN, crossing, end, 33.0, 17.0, 1.5, None),
        ramp(Bird::Dunlin, quantity::SPIN_DOWN, 0, end, 29.0, 28.0, 1.4, None),
        ramp(Bird::Phalarope, quantity::SPIN_DOWN, 0, end, 41.0, 40.0, 1.9, None),
        ramp(Bird::Whimbrel, quantity::SPIN_DOWN, 0, end, 46.0, 46.0, 2.0, None),
        ramp(Bird::Dunlin, quantity::TENSION_EMPTY, 0, felt, 1.2, 2.1, 0.09, Some(1.25)),
        ramp(Bird::Dunlin, quantity::GATE_FRICTION, 0, end, 1.4, 0.9, 0.08, None),
        ramp(Bird::Phalarope, quantity::HUM, calendar.month(2.0), capacitors, -46.0, -36.0, 0.6, Some(-50.0)),
        ramp(Bird::Dunlin, quantity::CLAW_NOTCH, 0, end, 0.04, 0.13, 0.004, None),
    ]
}

/// Readings beside those that care brings: machine, quantity, one every so many days.
const SERIES: [(Bird, &str, i32); 12] = [
    (Bird::Turnstone, quantity::FLUTTER, 28),
    (Bird::Dunlin, quantity::FLUTTER, 56),
    (Bird::Phalarope, quantity::FLUTTER, 84),
    (Bird::Whimbrel, quantity::FLUTTER, 84),
    (Bird::Turnstone, quantity::SOUND_LEVEL, 28),
    (Bird::Dunlin, quantity::SOUND_LEVEL, 28),
    (Bird::Dunlin, quantity::TENSION_EMPTY, 28),
    (Bird::Dunlin, quantity::GATE_FRICTION, 42),
    (Bird::Phalarope, quantity::HUM, 28),
    (Bird::Whimbrel, quantity::SCREEN_LIGHT, 56),
    (Bird::Dunlin, quantity::SPEED, 56),
    (Bird::Turnstone, quantity::SPEED, 56),
];

/// Where and when something was read.
struct Moment<'a> {
    bird: Bird,
    at: DateTime,
    day: i32,
    hall: Option<&'a Hall>,
    volts: f64,
}

/// The instruments of the booth.
pub(crate) struct Instruments<'a> {
    pub(crate) library: &'a Library,
    pub(crate) odometer: &'a Odometer<'a>,
    pub(crate) outings: &'a [Outing],
    pub(crate) lamps: &'a [LampLife],
    pub(crate) changes: &'a [Change],
    /// Mains in each showing.
    pub(crate) volts: &'a [f64],
    ramps: Vec<Ramp>,
    dice: Dice,
    /// What has its baseline.
    based: Vec<(Bird, String)>,
}

/// The mains of each showing, as its hall has it.
pub(crate) fn volts(outings: &[Outing], seed: u64) -> Vec<f64> {
    let mut dice = Dice::new(!seed, Stream::Readings);
    outings.iter().map(|outing| rounded(dice.normal(outing.hall.volts, outing.hall.volts_sd), 0)).collect()
}

impl<'a> Instruments<'a> {
    pub(crate) fn new(
        library: &'a Library,
        odometer: &'a Odometer<'a>,
        outings: &'a [Outing],
        lamps: &'a [LampLife],
        changes: &'a [Change],
        volts: &'a [f64],
        seed: u64,
    ) -> Self {
        let ramps = ramps(odometer.calendar);
        let dice = Dice::new(seed, Stream::Readings);
        Self { library, odometer, outings, lamps, changes, volts, ramps, dice, based: Vec::new() }
    }

    /// Writes the readings that go with the care, the monthly ones and the light in the halls, in order of time.
    pub(crate) fn write(&mut self, pen: &mut Pen, deeds: &[Deed<'_>]) -> Vec<EntryId> {
        let mut wanted: Vec<(Moment<'a>, String, &'static str)> = Vec::new();
        for bird in Bird::ALL {
            // The nominal mains is what later readings are compared with.
            let at = self.odometer.calendar.start.at(13, 0, 0, 0);
            let nominal = Moment { bird, at, day: 0, hall: None, volts: 230.0 };
            wanted.push((nominal, quantity::VOLTS.to_owned(), KEEPER));
        }
        for deed in deeds {
            if let Some(quantity) = &deed.task.reading {
                wanted.push((self.moment(deed.bird, deed.at), quantity.to_string(), deed.by));
            }
        }
        wanted.extend(self.series());
        wanted.extend(self.light_in_halls());
        wanted.sort_by_key(|(moment, ..)| moment.at);
        wanted
            .into_iter()
            .filter_map(|(moment, quantity, by)| self.read(pen, &moment, &quantity, by))
            .collect()
    }

    fn series(&mut self) -> Vec<(Moment<'a>, String, &'static str)> {
        let mut wanted = Vec::new();
        for (bird, quantity, every) in SERIES {
            let mut day = 6 + bird as i32;
            while day < self.odometer.calendar.days {
                let off = bird == Bird::Phalarope && self.is_away(day);
                if !off && !self.dice.chance(MISSING) {
                    let at = self.odometer.calendar.date(day).at(11, 0, 0, 0);
                    let at = minutes_after(at, self.dice.whole(0, 90));
                    wanted.push((self.moment(bird, at), quantity.to_owned(), KEEPER));
                }
                day += every;
            }
        }
        wanted
    }

    fn is_away(&self, day: i32) -> bool {
        self.odometer.calendar.quarantine().contains(&day) || self.odometer.calendar.idle().contains(&day)
    }

    fn light_in_halls(&mut self) -> Vec<(Moment<'a>, String, &'static str)> {
        let outings = self.outings;
        let mut wanted = Vec::new();
        for outing in outings.iter().filter(|outing| outing.held()) {
            for (bird, _) in &outing.on {
                if self.dice.chance(0.6) {
                    let at = outing.minute(-40 - self.dice.whole(0, 5));
                    wanted.push((self.moment(*bird, at), quantity::LUMINANCE.to_owned(), outing.operator));
                }
            }
        }
        wanted
    }

    fn moment(&self, bird: Bird, at: DateTime) -> Moment<'a> {
        let outings = self.outings;
        let near = |(_, outing): &(usize, &Outing)| {
            outing.uses(bird) && outing.minute(-180) < at && at < minutes_after(outing.ends(), 120)
        };
        let there = outings.iter().enumerate().find(near);
        Moment {
            bird,
            at,
            day: self.odometer.calendar.day(at.date()),
            hall: there.map(|(_, outing)| outing.hall),
            volts: there.map_or(231.0, |(n, _)| self.volts[n]),
        }
    }

    fn read(
        &mut self,
        pen: &mut Pen,
        moment: &Moment<'_>,
        quantity: &str,
        by: &'static str,
    ) -> Option<EntryId> {
        let limit = kind_of(self.library, moment.bird).limit(quantity)?;
        let value = self.value(moment, limit);
        let key = (moment.bird, quantity.to_owned());
        let baseline = !self.based.contains(&key);
        if baseline {
            self.based.push(key);
        }
        let fact = Reading {
            machine: moment.bird.id().into(),
            quantity: quantity.into(),
            value,
            unit: limit.unit.as_str().to_owned(),
            uncertainty: uncertainty(limit, value),
            slot: None,
            method: limit.instrument.clone(),
            conditions: self.conditions(moment, limit),
            recording: None,
            baseline,
        };
        Some(pen.write(moment.at, Hand::phone(by).later(90), fact))
    }

    /// What the instrument shows.
    fn value(&mut self, moment: &Moment<'_>, limit: &ReadingLimit) -> f64 {
        let name = limit.quantity.as_str();
        let ramp = self.ramps.iter().find(|ramp| ramp.bird == moment.bird && ramp.quantity == name).copied();
        if let Some(ramp) = ramp {
            return rounded(self.dice.normal(ramp.at(moment.day), ramp.sd), places(ramp.high));
        }
        match name {
            quantity::SOUND_LEVEL => {
                let hours = self.exciter_hours(moment);
                rounded(self.dice.normal(EXCITER_DB_PER_H * hours, 0.4), 1)
            }
            quantity::VOLTS => moment.volts,
            quantity::FREQUENCY if moment.hall == Some(&HALLS[BARN]) => {
                rounded(self.dice.between(48.6, 51.1), 1)
            }
            quantity::FREQUENCY => rounded(self.dice.normal(50.0, 0.03), 2),
            quantity::SCREEN_LIGHT => rounded(self.light(moment, BENCH_LUX), 0),
            quantity::LUMINANCE => {
                let lux = moment.hall.map_or(BENCH_LUX, |hall| hall.lux);
                rounded(self.light(moment, lux) / std::f64::consts::PI, 1)
            }
            quantity::LAMP_VOLTS => rounded(self.dice.normal(23.7, 0.1), 1),
            quantity::SPEED => {
                rounded(self.dice.normal([0.4, -0.6, -0.9, 0.0][moment.bird as usize], 0.08), 2)
            }
            quantity::VIBRATION => rounded(self.dice.normal(0.8, 0.06), 2),
            _ => self.ordinary(limit),
        }
    }

    /// Light at a screen: less with the hours of the lamp, and with low mains.
    fn light(&mut self, moment: &Moment<'_>, lux: f64) -> f64 {
        let age = self.lamp_hours(moment);
        let own = [1.08, 0.95, 0.86, 1.02][moment.bird as usize];
        let loss = LIGHT_LOSS_PER_H * age + 0.01 * (age - 38.0).max(0.0);
        let volts = (moment.volts / 230.0).powf(LIGHT_EXPONENT);
        lux * own * (1.0 - loss) * volts * self.dice.normal(1.0, 0.04)
    }

    fn lamp_hours(&self, moment: &Moment<'_>) -> f64 {
        let mut own = self.lamps.iter().filter(|lamp| lamp.bird == moment.bird);
        let lamp = own.rfind(|lamp| lamp.fitted.is_none_or(|at| at <= moment.at));
        let Some(lamp) = lamp else { return 0.0 };
        let from = lamp.fitted.unwrap_or(self.odometer.calendar.start.at(0, 0, 0, 0));
        let count = |run: &Run| if run.at >= from { run.lit() } else { 0.0 };
        lamp.age_h + self.odometer.before(moment.bird, moment.at, count)
    }

    fn exciter_hours(&self, moment: &Moment<'_>) -> f64 {
        let mut changed = self.changes.iter().filter(|change| {
            change.bird == moment.bird && change.slot == slot::EXCITER && change.at <= moment.at
        });
        let from =
            changed.next_back().map_or(self.odometer.calendar.start.at(0, 0, 0, 0), |change| change.at);
        let count = |run: &Run| if run.at >= from { run.running() } else { 0.0 };
        self.odometer.before(moment.bird, moment.at, count)
    }

    /// A healthy machine's reading: inside the bounds of good.
    fn ordinary(&mut self, limit: &ReadingLimit) -> f64 {
        if limit.basis == Basis::DifferenceFromReference {
            return rounded(self.dice.normal(0.0, 0.3), 1);
        }
        let (centre, spread) = match (limit.good.low, limit.good.high) {
            (Some(low), Some(high)) => (f64::midpoint(low, high), (high - low) * 0.08),
            (Some(low), None) => (low * 1.25, low * 0.04),
            (None, Some(high)) if high < 0.0 => (high * 1.12, high.abs() * 0.01),
            (None, Some(high)) => (high * 0.7, high * 0.05),
            (None, None) => (1.0, 0.05),
        };
        let value = self.dice.normal(centre, spread);
        rounded(if centre >= 0.0 { value.max(0.0) } else { value }, places(centre))
    }

    fn conditions(&mut self, moment: &Moment<'_>, limit: &ReadingLimit) -> BTreeMap<String, String> {
        if self.dice.chance(MISSING) {
            return BTreeMap::new();
        }
        let place = moment.hall.map_or("bench", |hall| hall.name);
        let mut conditions = BTreeMap::from([("place".to_owned(), place.to_owned())]);
        if limit.conditions.iter().any(|word| word == "mains volts") {
            conditions.insert("mains volts".to_owned(), moment.volts.to_string());
        }
        if limit.conditions.iter().any(|word| word == "lamp hours") {
            conditions.insert("lamp hours".to_owned(), rounded(self.lamp_hours(moment), 0).to_string());
        }
        conditions
    }
}

/// As many places as a person writes for a value of this size.
fn places(size: f64) -> i32 {
    match size.abs() {
        s if s == 0.0 || s >= 50.0 => 0,
        s if s >= 5.0 => 1,
        s if s >= 0.2 => 2,
        _ => 3,
    }
}

fn uncertainty(limit: &ReadingLimit, value: f64) -> Option<f64> {
    Some(match limit.repeats? {
        Repeats::Percent(percent) => rounded(value.abs() * percent / 100.0, 3),
        Repeats::Amount(amount) => amount,
    })
}
