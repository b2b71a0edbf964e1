//! Parts whose planned change is worth weighing, and what the others leave of risk.

use super::rules::{STOPPAGE_MINUTES, WORTH_A_CHANGE};
use crate::{
    due::Desk,
    lived::{Beliefs, Entered, age_on, is_reckoned},
};
use ::lives::bayes::Posterior;
use logbook::{MachineId, booth::Machine};
use machine::{LifeClock, Loss, MachineType, PriorLife, Stops};
use plan::RiskPoint;
use units::Hours;

/// The ages of a curve of risk are told at so many points.
const POINTS: u32 = 8;

/// A part that could be changed in the plan.
pub(super) struct Change<'a> {
    pub life: &'a PriorLife,
    pub minutes: f64,
    pub age: f64,
    pub mean_life: f64,
    pub credits: f64,
    pub risk: Vec<RiskPoint>,
    /// The chance that it fails within the hours that the diary has for its machine.
    pub chance: f64,
}

/// What a machine's parts do to its showings.
#[derive(Default)]
pub(super) struct Parts<'a> {
    pub changes: Vec<Change<'a>>,
    /// Stoppages per hour of the parts that are not worth a change, weighed by how long they keep the screen dark.
    pub rest_per_hour: f64,
}

/// Looks at every part of a machine for which a life is known by hours.
pub(super) fn parts<'a>(
    desk: &Desk<'a>,
    beliefs: &Beliefs<'a>,
    id: &'a MachineId,
    machine: &'a Machine,
    hours_ahead: f64,
) -> Parts<'a> {
    let mut parts = Parts::default();
    let Some(kind) = desk.kind_of(machine) else { return parts };
    for life in &kind.lives {
        let Some(loss) = life.loss.as_ref().filter(|loss| loss.stops != Stops::Nothing) else { continue };
        let by_hours = matches!(life.clock, LifeClock::Hours | LifeClock::LampHours);
        if by_hours && is_reckoned(machine, kind, life) {
            let belief = beliefs.of(kind, life, id);
            parts.add(desk, kind, machine, &Known { life, loss, belief: &belief }, hours_ahead);
        }
    }
    parts
}

struct Known<'a, 'b> {
    life: &'a PriorLife,
    loss: &'a Loss,
    belief: &'b Posterior,
}

impl<'a> Parts<'a> {
    fn add(
        &mut self,
        desk: &Desk<'a>,
        kind: &'a MachineType,
        machine: &'a Machine,
        known: &Known<'a, '_>,
        hours_ahead: f64,
    ) {
        let life = known.life;
        let fitted = machine.fitted.get(life.slot.as_str());
        let part = fitted.and_then(|id| desk.booth.parts.get_key_value(id));
        let age = part.and_then(|(id, part)| age_on(desk.booth, id, part, life, &desk.now));
        // Of an age that is not known the middle of what it can be is taken, as long as nothing better is.
        let age = match age.unwrap_or(Entered::Within(0.0, life.scale)) {
            Entered::At(age) => age,
            Entered::Within(low, high) => f64::midpoint(low, high),
        };
        let weight = weight(known.loss);
        let chance = known.belief.mean_failure_chance(age, hours_ahead.max(1.0)).value();
        match known.loss.bench_minutes {
            Some(minutes) if hours_ahead > 0.0 && chance >= WORTH_A_CHANGE => {
                let credits = kind.spares_for(life.slot.as_str()).map(|spare| spare.cost.credits).next();
                self.changes.push(Change {
                    life,
                    minutes,
                    age,
                    mean_life: known.belief.mean_life(0.9).mean.max(1.0),
                    credits: credits.unwrap_or(0.0),
                    risk: risk(known.belief, age + hours_ahead, weight),
                    chance,
                });
            }
            _ => self.rest_per_hour += weight * chance / hours_ahead.max(1.0),
        }
    }
}

/// How much one failure weighs against the stoppage by which the plan counts.
fn weight(loss: &Loss) -> f64 {
    loss.minutes.unwrap_or(STOPPAGE_MINUTES * 2.0) / STOPPAGE_MINUTES
}

/// What a stoppage costs in the plan, where a dark minute is worth so many minutes of work.
pub(super) fn stoppage_cost(dark_minute: f64) -> f64 {
    STOPPAGE_MINUTES * dark_minute
}

/// The rate of failure by age. A part that was well when young may be believed the better for having lived: the plan
/// counts as if the rate never fell.
fn risk(belief: &Posterior, until: f64, weight: f64) -> Vec<RiskPoint> {
    let mut highest: f64 = 0.0;
    let point = |at: u32| {
        let age = until * f64::from(at) / f64::from(POINTS);
        let step = (until / f64::from(POINTS)).clamp(0.25, 2.0);
        highest = highest.max(weight * belief.mean_failure_chance(age, step).value() / step);
        RiskPoint { hours: Hours::new(age), stoppages_per_hour: highest.min(60.0) }
    };
    (0..=POINTS).map(point).collect()
}
