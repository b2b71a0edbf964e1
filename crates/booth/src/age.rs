//! How old a part is, wherever it has lived.

use crate::day::Now;
use logbook::{
    Booth,
    booth::{Clocks, PartLife, Stint},
};
use serde::Serialize;
use units::Hours;

/// The age of a part on each clock that it has.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize)]
pub struct PartAge {
    /// Hours run with film, over all machines.
    pub hours_run: Hours,
    /// Hours with the lamp lit, over all machines; those it brought with it count here too.
    pub hours_lit: Hours,
    /// Strikes of the lamp, over all machines.
    pub strikes: u32,
    /// Days since it was first met, and those it brought with it.
    pub days: i32,
    /// Its age when first met is unknown: the figures are the least they can be.
    pub at_least: bool,
}

/// Returns how old a part is: what it brought with it and what every machine it lived in has run meanwhile.
pub fn age_of(booth: &Booth, life: &PartLife, now: &Now) -> PartAge {
    let brought = life.age_hours.unwrap_or(Hours::ZERO);
    let first = life.stints.first().map_or(now.day, |stint| now.day_of(stint.fitted));
    let mut age = PartAge {
        hours_run: brought,
        hours_lit: brought,
        strikes: life.strikes.unwrap_or(0),
        days: now.day.since(first).max(0).saturating_add_unsigned(life.age_days.unwrap_or(0)),
        at_least: life.age_hours.is_none(),
    };
    for stint in &life.stints {
        age.add(stint, clocks_at_end(booth, stint));
    }
    age
}

impl PartAge {
    fn add(&mut self, stint: &Stint, end: Option<Clocks>) {
        let from = &stint.clocks_at_fitting;
        let Some(end) = end else { return };
        self.hours_run += end.hours_run() - from.hours_run();
        self.hours_lit += end.lit - from.lit;
        self.strikes = self.strikes.saturating_add(end.strikes.saturating_sub(from.strikes));
    }
}

/// The machine's counters when the part came out, or now while it is still in.
fn clocks_at_end(booth: &Booth, stint: &Stint) -> Option<Clocks> {
    match &stint.ended {
        Some(end) => Some(end.clocks),
        None => booth.machines.get(&stint.machine).map(|machine| machine.clocks),
    }
}
