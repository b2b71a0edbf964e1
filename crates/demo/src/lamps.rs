//! Projection lamps: hidden lives, the keeper's planned changes, and what burns on the eve of tonight.

use crate::dice::{Dice, Stream, rounded};
use crate::pen::minutes_after;
use crate::runs::{Odometer, Run};
use crate::setting::Bird;
use jiff::civil::DateTime;
use logbook::fact::{Ending, RunKind};

/// Life of a 24 V 250 W halogen lamp of the 50 h class: Weibull shape and scale in hours (common practice, no source).
const HALOGEN: (f64, f64) = (4.0, 55.0);
/// Life of a 750 W tungsten lamp on mains volts (common practice, no source).
const TUNGSTEN: (f64, f64) = (3.5, 28.0);
/// How much Dunlin's pitted holder shortens lamp lives.
pub(crate) const HOLDER_FACTOR: f64 = 0.55;
/// Lamp life goes with the volts to the power of -12 (rule of thumb of lamp making, from memory).
const VOLTS_EXPONENT: f64 = -12.0;

/// One lamp in one machine.
#[derive(Debug, Clone)]
pub(crate) struct LampLife {
    pub(crate) bird: Bird,
    pub(crate) part: String,
    /// When it went in; absent: it was in when the log began.
    pub(crate) fitted: Option<DateTime>,
    /// Hours it had burnt before.
    pub(crate) age_h: f64,
    /// Hours at which it is going to fail, which nobody knows.
    pub(crate) hidden_life_h: f64,
    pub(crate) end: Option<LampEnd>,
}

/// How a lamp came out.
#[derive(Debug, Clone)]
pub(crate) struct LampEnd {
    pub(crate) at: DateTime,
    pub(crate) why: Ending,
    /// Hours burnt in its whole life.
    pub(crate) burnt_h: f64,
    /// The showing during which it went dark.
    pub(crate) on_screen: Option<usize>,
    /// The showing in whose evening it came out.
    pub(crate) outing: usize,
}

/// What the lamps of the machines that are booked tonight have burnt.
pub(crate) const TURNSTONE_NOW_H: f64 = 41.0;
pub(crate) const DUNLIN_NOW_H: f64 = 29.0;

/// How one machine's lamps are looked after.
struct Custom {
    bird: Bird,
    law: (f64, f64),
    first_age_h: f64,
    planned_at_h: f64,
    /// What the lamp has burnt when the log ends.
    now_h: Option<f64>,
}

const CUSTOMS: [Custom; 4] = [
    Custom {
        bird: Bird::Turnstone,
        law: HALOGEN,
        first_age_h: 0.5,
        planned_at_h: 44.0,
        now_h: Some(TURNSTONE_NOW_H),
    },
    Custom {
        bird: Bird::Dunlin,
        law: HALOGEN,
        first_age_h: 0.5,
        planned_at_h: 40.0,
        now_h: Some(DUNLIN_NOW_H),
    },
    Custom { bird: Bird::Phalarope, law: TUNGSTEN, first_age_h: 0.5, planned_at_h: 60.0, now_h: None },
    Custom { bird: Bird::Whimbrel, law: HALOGEN, first_age_h: 6.0, planned_at_h: 34.0, now_h: None },
];

/// The lamps of all machines, each machine's in order of time.
pub(crate) fn lives(odometer: &Odometer<'_>, volts: impl Fn(usize) -> f64, seed: u64) -> Vec<LampLife> {
    let mut dice = Dice::new(seed, Stream::Lamps);
    CUSTOMS.iter().flat_map(|custom| lives_of(custom, odometer, &volts, &mut dice)).collect()
}

fn lives_of(
    custom: &Custom,
    odometer: &Odometer<'_>,
    volts: &impl Fn(usize) -> f64,
    dice: &mut Dice,
) -> Vec<LampLife> {
    let runs: Vec<&Run> = odometer.of(custom.bird).filter(|run| run.lit() > 0.0).collect();
    let mut burning = Burning::new(custom, odometer.calendar.new_holder(), &runs, dice);
    for (n, run) in runs.iter().enumerate() {
        burning.run(n, run, volts(run.outing), dice);
    }
    burning.lives
}

/// One machine's lamps, run by run.
struct Burning<'a> {
    custom: &'a Custom,
    new_holder: i32,
    /// The run before which the lamp of tonight went in, and what it had burnt then.
    last: Option<(usize, f64)>,
    lives: Vec<LampLife>,
    /// Hours that the lamp in the machine has burnt.
    burnt_h: f64,
    /// The same as they count towards its life, at the volts of the halls.
    aged_h: f64,
}

impl<'a> Burning<'a> {
    fn new(custom: &'a Custom, new_holder: i32, runs: &[&Run], dice: &mut Dice) -> Self {
        let age_h = custom.first_age_h;
        let last = custom.now_h.map(|now_h| last_fitting(runs, now_h));
        let mut burning = Self { custom, new_holder, last, lives: Vec::new(), burnt_h: age_h, aged_h: age_h };
        let life_h = burning.hidden_life(0, dice).max(age_h + 3.0);
        burning.fit(None, age_h, life_h);
        burning
    }

    /// Dunlin's holder is pitted until it is renewed.
    fn is_pitted(&self, day: i32) -> bool {
        self.custom.bird == Bird::Dunlin && day < self.new_holder
    }

    fn hidden_life(&self, day: i32, dice: &mut Dice) -> f64 {
        let life_h = dice.weibull(self.custom.law.0, self.custom.law.1);
        // The pits are deep: between 21 and 34 hours, whatever the lamp.
        if self.is_pitted(day) { (life_h * HOLDER_FACTOR).clamp(21.0, 34.0) } else { life_h }
    }

    fn fit(&mut self, fitted: Option<DateTime>, age_h: f64, hidden_life_h: f64) {
        let (bird, part) =
            (self.custom.bird, format!("{}-lamp-{}", self.custom.bird.id(), self.lives.len() + 1));
        (self.burnt_h, self.aged_h) = (age_h, age_h);
        self.lives.push(LampLife {
            bird,
            part,
            fitted,
            age_h,
            hidden_life_h: rounded(hidden_life_h, 2),
            end: None,
        });
    }

    fn run(&mut self, n: usize, run: &Run, volts: f64, dice: &mut Dice) {
        // Bad contacts heat a lamp more than any mains does.
        let strain =
            if self.is_pitted(run.day) { 1.0 } else { (volts / 230.0).powf(-VOLTS_EXPONENT).min(1.6) };
        let ageing_h = run.lit() * strain;
        if let Some(end) = self.end(n, run, ageing_h, dice) {
            let changed_in_run = run.at < end.at;
            self.change(n, run.day, end, dice);
            if changed_in_run {
                return;
            }
        }
        self.burnt_h += run.lit();
        self.aged_h += ageing_h;
    }

    /// Whether and how the lamp in the machine comes out before or in this run.
    fn end(&self, n: usize, run: &Run, ageing_h: f64, dice: &mut Dice) -> Option<LampEnd> {
        let is_last = self.last.is_some_and(|(at, _)| n >= at);
        let makes_room = self.last.is_some_and(|(at, _)| n == at);
        let is_planned = run.kind == RunKind::Rehearsal && self.burnt_h >= self.custom.planned_at_h;
        let left_h = self.lives.last().map_or(0.0, |lamp| lamp.hidden_life_h - self.aged_h);
        if makes_room || is_planned && !is_last {
            return Some(taken_out(run, self.burnt_h));
        }
        (!is_last && ageing_h > left_h).then(|| failure(run, self.burnt_h, left_h, ageing_h, dice))
    }

    fn change(&mut self, n: usize, day: i32, end: LampEnd, dice: &mut Dice) {
        let life_h = self.hidden_life(day, dice);
        let last = self.last.filter(|(at, _)| n >= *at);
        // The lamp of tonight is alive tonight.
        let least_h = last.and(self.custom.now_h).unwrap_or(0.0) * 1.15;
        let fitted = minutes_after(end.at, 5);
        if let Some(lamp) = self.lives.last_mut() {
            lamp.end = Some(end);
        }
        self.fit(Some(fitted), last.map_or(0.0, |(_, age_h)| age_h), life_h.max(least_h));
    }
}

/// A lamp that comes out while it is good: a young one is kept for another day.
fn taken_out(run: &Run, burnt_h: f64) -> LampEnd {
    LampEnd {
        at: minutes_after(run.at, -25),
        why: if burnt_h < 30.0 { Ending::Borrowed } else { Ending::Planned },
        burnt_h: rounded(burnt_h, 2),
        on_screen: None,
        outing: run.outing,
    }
}

/// Of the lamps whose time has come, about as many die when they are struck.
const DIES_WHEN_STRUCK: f64 = 0.45;

/// A lamp that goes dark in the middle of a run, or when it is struck for it: then it is nobody's stoppage.
fn failure(run: &Run, burnt: f64, left_aged: f64, ageing: f64, dice: &mut Dice) -> LampEnd {
    if dice.chance(DIES_WHEN_STRUCK) {
        let at = minutes_after(run.at, -8);
        return LampEnd {
            at,
            why: Ending::Failed,
            burnt_h: rounded(burnt, 2),
            on_screen: None,
            outing: run.outing,
        };
    }
    let part = (left_aged / ageing).clamp(0.02, 0.98);
    let minutes = (run.hours * 60.0 * part).max(1.0) as i64;
    LampEnd {
        at: minutes_after(run.at, minutes),
        why: Ending::Failed,
        burnt_h: rounded(burnt + run.lit() * part, 2),
        on_screen: (run.kind == RunKind::Showing).then_some(run.outing),
        outing: run.outing,
    }
}

/// Finds the evening from which a lamp that has burnt `now_h` today was in, and what it had burnt on the bench before.
fn last_fitting(runs: &[&Run], now_h: f64) -> (usize, f64) {
    let (mut lit, mut best) = (0.0, (runs.len(), now_h));
    for (n, run) in runs.iter().enumerate().rev() {
        lit += run.lit();
        if lit > now_h {
            break;
        }
        if run.kind == RunKind::Rehearsal {
            best = (n, rounded(now_h - lit, 2));
        }
    }
    best
}
