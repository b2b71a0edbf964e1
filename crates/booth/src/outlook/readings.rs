//! What a reading that is heading past its limit may do to a showing.

use super::{
    hazards::{Spot, rare},
    rules::PAST_LIMIT_ONE_IN,
    troubles,
};
use crate::{
    due::Desk,
    sound::{Passing, View},
};
use logbook::{MachineId, booth::Machine};
use machine::Clock;
use risk::Chance;

/// A reading that may be past its limit by the end of a showing.
pub(super) struct Drift<'a> {
    pub passing: Passing<'a>,
    /// The chance of a stoppage by it.
    pub chance: Chance,
    /// Showings that the machine ran since it is past the limit, and stoppages of the machine in them.
    pub since: (usize, usize),
}

/// Returns what may be past the limit beyond which no film is to run by the end of the showing.
pub(super) fn weigh<'a>(spot: &Spot<'_, 'a>) -> Vec<Drift<'a>> {
    let all = past(spot.desk, spot.id, spot.machine, |clock| spot.used.until_the_end(clock));
    all.into_iter()
        .map(|passing| {
            let since = passing.past_since.map_or((0, 0), |at| troubles::since(spot, at));
            let stops = rare(1.0 + since.1 as f64, PAST_LIMIT_ONE_IN + since.0.max(since.1) as f64);
            // Whether it is past the limit is one doubt, how often that stops a showing another.
            let past = passing.chance.value();
            let chance = Chance::from_moments(past * stops.mean().value(), past * stops.second_moment())
                .expect("a mixture of a chance and of none has moments of a chance");
            Drift { passing, chance, since }
        })
        .collect()
}

/// The last word of a machine's readings is that no film is to run on it.
pub(super) fn bar_film<'a>(at: &Desk<'a>, id: &MachineId, machine: &'a Machine) -> bool {
    past(at, id, machine, |_| 0.0).iter().any(|passing| passing.past_since.is_some())
}

fn past<'a>(
    at: &Desk<'a>,
    id: &MachineId,
    machine: &'a Machine,
    ahead: impl Fn(Clock) -> f64,
) -> Vec<Passing<'a>> {
    View::of_the_present(at, at.library).passing(id, machine, ahead)
}
