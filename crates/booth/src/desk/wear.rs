//! How the age of a part bears on the causes that come with it.

use crate::{
    day::Now,
    lived::{Entered, age_on, is_reckoned},
};
use lives::Life;
use logbook::{Booth, booth::Machine, ids::EntryId};
use machine::{LifeClock, MachineType, PriorLife};

/// What age does to the odds.
pub(super) struct Worn {
    pub(super) factor: f64,
    pub(super) words: String,
    pub(super) entry: EntryId,
}

/// Age alone makes a cause at most so much likelier or less likely: prior lives are rough.
const MOST: f64 = 5.0;
/// The stretch over which the rate is taken, as a share of the mean life.
const STRETCH: f64 = 0.05;
/// A factor nearer to one than this is not worth a word.
const WORTH_SAYING: f64 = 1.2;

/// Returns how much likelier the part in a slot is to fail now than over a mean life; none where nothing is known of
/// it or its age says next to nothing.
pub(super) fn wear(
    booth: &Booth,
    kind: &MachineType,
    machine: &Machine,
    slot: &str,
    now: &Now,
) -> Option<Worn> {
    let part = machine.fitted.get(slot)?;
    let life = booth.parts.get(part)?;
    let entry = life.open_stint()?.entry;
    let reckoned = kind.lives_of(slot).filter(|prior| is_reckoned(machine, kind, prior));
    let aged = reckoned.filter_map(|prior| Some((prior, age_on(booth, part, life, prior, now)?)));
    let name = kind.part(slot).map_or(slot, |part| part.name.as_str());
    let worn = aged.filter_map(|(prior, age)| {
        let factor = factor(prior, age)?;
        Some(Worn { factor, words: words(name, prior, age), entry })
    });
    worn.max_by(|a, b| a.factor.total_cmp(&b.factor)).filter(|worn| is_worth_saying(worn.factor))
}

fn is_worth_saying(factor: f64) -> bool {
    !(1.0 / WORTH_SAYING..WORTH_SAYING).contains(&factor)
}

/// The rate of failure at this age over the mean rate of a whole life.
fn factor(prior: &PriorLife, age: Entered) -> Option<f64> {
    let life = Life::weibull(prior.shape, prior.scale).ok()?;
    let (mean, age) = (life.mean(), middle(age));
    let span = STRETCH * mean;
    let rate = (life.cumulative_hazard(age + span) - life.cumulative_hazard(age)) / span;
    Some((rate * mean).clamp(1.0 / MOST, MOST))
}

fn middle(age: Entered) -> f64 {
    match age {
        Entered::At(age) => age,
        Entered::Within(low, high) => f64::midpoint(low, high),
    }
}

fn words(name: &str, prior: &PriorLife, age: Entered) -> String {
    let unit = match prior.clock {
        LifeClock::Hours => "running hours",
        LifeClock::LampHours => "lamp hours",
        LifeClock::Years => "years",
        LifeClock::Strikes => "strikes",
        LifeClock::Showings => "showings",
        LifeClock::Operations => "operations",
    };
    let said = match age {
        Entered::At(age) => format!("{age:.0}"),
        Entered::Within(low, high) => format!("{low:.0} to {high:.0}"),
    };
    format!("{name}: {said} {unit} old; such parts last about {:.0}", prior.scale)
}
