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
    let forced = custom.now_h.map(|now_h| last_fitting(&runs, now_h));
    let new_holder = odometer.calendar.new_holder();
    let life = |dice: &mut Dice, day: i32| {
        let life = dice.weibull(custom.law.0, custom.law.1);
        if custom.bird == Bird::Dunlin && day < new_holder {
            // The pits are deep: between 21 and 34 hours, whatever the lamp.
            (life * HOLDER_FACTOR).clamp(21.0, 34.0)
        } else {
            life
        }
    };
    let name = |n: usize| format!("{}-lamp-{n}", custom.bird.id());
    let first = life(dice, 0).max(custom.first_age_h + 3.0);
    let mut lives = vec![LampLife {
        bird: custom.bird,
        part: name(1),
        fitted: None,
        age_h: custom.first_age_h,
        hidden_life_h: first,
        end: None,
    }];
    // Hours burnt, and hours as they count towards the hidden life at the volts of the hall.
    let (mut burnt, mut aged) = (custom.first_age_h, custom.first_age_h);
    for (n, run) in runs.iter().enumerate() {
        let is_last = forced.is_some_and(|(at, _)| n >= at);
        let lamp = lives.last_mut().expect("there is always a lamp in the machine");
        let starts_evening = run.kind == RunKind::Rehearsal;
        let planned = starts_evening && !is_last && burnt >= custom.planned_at_h;
        let forced_now = forced.filter(|(at, _)| *at == n);
        let pitted = custom.bird == Bird::Dunlin && run.day < new_holder;
        let strain = if pitted { 1.0 } else { (volts(run.outing) / 230.0).powf(-VOLTS_EXPONENT).min(1.6) };
        let ageing = run.lit() * strain;
        let fails = !is_last && aged + ageing > lamp.hidden_life_h;
        let end = if planned || forced_now.is_some() {
            let why = if burnt < 30.0 { Ending::Borrowed } else { Ending::Planned };
            Some(LampEnd {
                at: minutes_after(run.at, -25),
                why,
                burnt_h: rounded(burnt, 2),
                on_screen: None,
                outing: run.outing,
            })
        } else if fails {
            Some(failure(run, burnt, lamp.hidden_life_h - aged, ageing, dice))
        } else {
            None
        };
        if let Some(end) = end {
            let age_h = forced_now.map_or(0.0, |(_, age_h)| age_h);
            let fitted = minutes_after(end.at, if end.why == Ending::Failed { 4 } else { 5 });
            let after = run.at < end.at;
            let life = life(dice, run.day);
            let life = if is_last { life.max(custom.now_h.unwrap_or(0.0) * 1.15) } else { life };
            lamp.end = Some(end);
            let part = name(lives.len() + 1);
            let bird = custom.bird;
            lives.push(LampLife {
                bird,
                part,
                fitted: Some(fitted),
                age_h,
                hidden_life_h: rounded(life, 2),
                end: None,
            });
            (burnt, aged) = (age_h, age_h);
            if after {
                continue;
            }
        }
        burnt += run.lit();
        aged += ageing;
    }
    lives
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
