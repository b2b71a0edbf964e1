//! How much a machine has been used: since it entered, lately, and where it stood idle.

use super::type_plan::TypePlan;
use crate::day::{Now, days_between_ms};
use logbook::{
    booth::{Clocks, Machine},
    fact::RunKind,
};
use machine::Clock;
use units::Hours;

/// Use of the last three months is "recent" (common practice, no source).
const RECENT_DAYS: i64 = 90;
/// A booth's year has its seasons, so that use of a whole year counts too (common practice, no source).
const YEAR_DAYS: i64 = 365;
/// A rate is never taken over less than a week: the first evening says little of the days to come.
const LEAST_DAYS: i64 = 7;
/// A run with film of so many minutes does what an exercise run does (the type files ask for ten; common practice, no source).
const EXERCISE_MINUTES: f64 = 10.0;

/// The four counters, as amounts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Amounts {
    running: f64,
    motor: f64,
    lit: f64,
    strikes: f64,
}

impl Amounts {
    pub fn on(&self, clock: Clock) -> f64 {
        match clock {
            Clock::Running => self.running,
            Clock::Motor => self.motor,
            Clock::Lamp => self.lit,
            Clock::Strikes => self.strikes,
        }
    }

    /// Counts a run; its lamp time is that of an ordinary run of its kind.
    fn count(&mut self, run: RunKind, hours: f64) {
        self.motor += hours;
        if run == RunKind::Rewind {
            return;
        }
        self.running += hours;
        if matches!(run, RunKind::Showing | RunKind::Rehearsal) {
            self.lit += hours;
            self.strikes += 1.0;
        }
    }

    fn busier(self, other: Self, days: f64, other_days: f64) -> Self {
        let rate = |a: f64, b: f64| (a / days).max(b / other_days);
        Self {
            running: rate(self.running, other.running),
            motor: rate(self.motor, other.motor),
            lit: rate(self.lit, other.lit),
            strikes: rate(self.strikes, other.strikes),
        }
    }
}

/// A time without a run, between two moments.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Gap {
    pub from_ms: i64,
    pub to_ms: i64,
    /// A run that is as good as an exercise run came after it.
    pub ran_since: bool,
}

/// How much a machine has been used.
#[derive(Clone, Debug)]
pub(crate) struct Usage {
    /// The counters when it entered.
    pub at_entry: Clocks,
    /// On each clock, so much a day: in the last three months or in the last year, whichever was busier.
    ///
    /// Taking the busier of the two keeps a quiet summer from putting care off, and more hours never lower it.
    pub per_day: Amounts,
    /// For each idle time of the type: the last gap that is at least as long.
    pub idle: Vec<Option<Gap>>,
}

impl Usage {
    pub fn of(machine: &Machine, plan: &TypePlan<'_>, now: &Now) -> Self {
        let entered = machine.added.0.unix_ms;
        let [mut before, mut here, mut year, mut recent] = [Amounts::default(); 4];
        let mut idle = vec![None; plan.idle_days.len()];
        let mut last = entered;
        for run in &machine.runs {
            let (at, hours) = (run.at.unix_ms, run.hours.hours());
            if at < entered { &mut before } else { &mut here }.count(run.run, hours);
            if at <= now.unix_ms {
                let days_ago = days_between_ms(at, now.unix_ms);
                if days_ago < YEAR_DAYS {
                    year.count(run.run, hours);
                }
                if days_ago < RECENT_DAYS {
                    recent.count(run.run, hours);
                }
                note_gap(&mut idle, &plan.idle_days, Gap { from_ms: last, to_ms: at, ran_since: false });
                if run.run != RunKind::Rewind && hours * 60.0 >= EXERCISE_MINUTES {
                    idle.iter_mut().flatten().for_each(|gap| gap.ran_since = true);
                }
                last = last.max(at);
            }
        }
        note_gap(&mut idle, &plan.idle_days, Gap { from_ms: last, to_ms: now.unix_ms, ran_since: false });
        let here_days = days_between_ms(entered, now.unix_ms);
        let over = |window: i64| here_days.clamp(LEAST_DAYS, window) as f64;
        let hours_at_entry = machine.clocks.hours_run().hours() - here.running;
        Self {
            at_entry: Clocks {
                showing: Hours::new(hours_at_entry.max(0.0)),
                rewinding: Hours::new(before.motor - before.running),
                lit: Hours::new(before.lit),
                strikes: before.strikes as u32,
                ..Clocks::default()
            },
            per_day: recent.busier(year, over(RECENT_DAYS), over(YEAR_DAYS)),
            idle,
        }
    }
}

fn note_gap(idle: &mut [Option<Gap>], thresholds: &[u32], gap: Gap) {
    for (found, days) in idle.iter_mut().zip(thresholds) {
        if days_between_ms(gap.from_ms, gap.to_ms) >= i64::from(*days) {
            *found = Some(gap);
        }
    }
}
