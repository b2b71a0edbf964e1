//! One part on one machine, on one clock: from which age it was watched to which, and how that ended.

use crate::day::Now;
use logbook::{
    Booth, EntryId, MachineId, PartId,
    booth::{Clocks, PartLife, Stint},
    fact::{Ending, RunKind},
    ids::SlotId,
};
use machine::{LifeClock, PriorLife};

/// How old a part was when it was first met.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Entered {
    /// So old.
    At(f64),
    /// Nobody knows; somewhere between.
    Within(f64, f64),
}

/// A part's time in one slot of one machine.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Stretch<'a> {
    /// The part.
    pub part: &'a PartId,
    /// The machine it was in.
    pub machine: &'a MachineId,
    /// The slot.
    pub slot: &'a SlotId,
    /// Its age when it came in.
    pub entered: Entered,
    /// How long it was there, on the clock.
    pub watched: f64,
    /// How it ended; none: it is still in.
    pub ending: Option<Ending>,
    /// The entry that fitted it.
    pub entry: EntryId,
}

impl Stretch<'_> {
    /// True where its end there was a failure: it failed, or was found worn past use.
    ///
    /// A planned change, a part borrowed for another machine, one broken by something else and one of which nobody
    /// wrote why it came out are lives that went on, as far as wear is concerned.
    pub fn failed(&self) -> bool {
        matches!(self.ending, Some(Ending::Failed | Ending::Worn))
    }
}

const DAYS_PER_YEAR: f64 = 365.25;

/// The stretches of a part's life on a clock, first to last; none for a clock that the logbook does not keep.
pub fn stretches<'a>(
    booth: &'a Booth,
    part: &'a PartId,
    life: &'a PartLife,
    prior: &PriorLife,
    now: &Now,
) -> Vec<Stretch<'a>> {
    let mut entered = brought(life, prior);
    let mut made = Vec::with_capacity(life.stints.len());
    for stint in &life.stints {
        let Some(watched) = watched(booth, stint, prior.clock, now) else { return Vec::new() };
        let ending = stint.ended.as_ref().map(|end| end.why);
        let (machine, slot) = (&stint.machine, &stint.slot);
        made.push(Stretch { part, machine, slot, entered, watched, ending, entry: stint.entry });
        entered = match entered {
            Entered::At(age) => Entered::At(age + watched),
            Entered::Within(low, high) => Entered::Within(low + watched, high + watched),
        };
    }
    made
}

/// How old a part is now on a clock; none for a clock that the logbook does not keep, or for a part never fitted.
pub fn age_on(
    booth: &Booth,
    part: &PartId,
    life: &PartLife,
    prior: &PriorLife,
    now: &Now,
) -> Option<Entered> {
    let last = stretches(booth, part, life, prior, now).pop()?;
    Some(match last.entered {
        Entered::At(age) => Entered::At(age + last.watched),
        Entered::Within(low, high) => Entered::Within(low + last.watched, high + last.watched),
    })
}

/// What a part brought with it. A part that was new in hours was new in every way.
fn brought(life: &PartLife, prior: &PriorLife) -> Entered {
    let new = life.age_hours.is_some_and(|hours| hours.hours() <= 0.0);
    let known = match prior.clock {
        LifeClock::Hours | LifeClock::LampHours => life.age_hours.map(|hours| hours.hours().max(0.0)),
        LifeClock::Years => life.age_days.map(|days| f64::from(days) / DAYS_PER_YEAR),
        LifeClock::Strikes => life.strikes.map(f64::from),
        LifeClock::Showings | LifeClock::Operations => None,
    };
    let in_hours = matches!(prior.clock, LifeClock::Hours | LifeClock::LampHours);
    match (known, life.age_band_hours.filter(|_| in_hours)) {
        (Some(age), _) => Entered::At(age),
        (None, _) if new => Entered::At(0.0),
        (None, Some((low, high))) if low.hours() >= 0.0 && high > low => {
            Entered::Within(low.hours(), high.hours())
        }
        // As old as the type gives such a part to live, at most: all that is known is that it was alive.
        (None, _) => Entered::Within(0.0, prior.scale),
    }
}

fn watched(booth: &Booth, stint: &Stint, clock: LifeClock, now: &Now) -> Option<f64> {
    let machine = booth.machines.get(&stint.machine)?;
    let end = stint.ended.as_ref().map_or(machine.clocks, |end| end.clocks);
    let spent = |read: fn(&Clocks) -> f64| (read(&end) - read(&stint.clocks_at_fitting)).max(0.0);
    Some(match clock {
        LifeClock::Hours => spent(|clocks| clocks.hours_run().hours()),
        LifeClock::LampHours => spent(|clocks| clocks.lit.hours()),
        LifeClock::Strikes => spent(|clocks| f64::from(clocks.strikes)),
        LifeClock::Years => {
            let last = stint.ended.as_ref().map_or(now.day, |end| now.day_of(end.at));
            f64::from(last.since(now.day_of(stint.fitted)).max(0)) / DAYS_PER_YEAR
        }
        LifeClock::Showings => {
            let until = stint.ended.as_ref().map_or(i64::MAX, |end| end.at.unix_ms);
            let inside = |ms: i64| stint.fitted.unix_ms <= ms && ms < until;
            let shown =
                machine.runs.iter().filter(|run| run.run == RunKind::Showing && inside(run.at.unix_ms));
            shown.count() as f64
        }
        LifeClock::Operations => return None,
    })
}
