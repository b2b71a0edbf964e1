//! Invented faults, and what checks and remedies come to with them.

use crate::{
    advise::Setting,
    case::{Hypotheses, Reply, Settled, Tried, with_slips, yes_chance},
    model::{Check, Remedy, TroubleModel},
};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use std::collections::HashSet;

/// A fault that nobody at the machine can see. All luck is drawn beforehand, so that it is the same fault whichever way
/// it is worked on.
#[derive(Clone)]
pub(super) struct Fault {
    /// The causes that are there, and whether each brings the symptom about.
    pub(super) causes: Vec<(usize, bool)>,
    /// For each check, where its answer falls between 0 and 1.
    replies: Vec<f64>,
    /// The remedies that cure, each with its cause.
    cures: HashSet<(usize, usize)>,
}

/// How faults come and go, as the model has it.
pub(super) struct Luck<'a> {
    pub(super) model: &'a TroubleModel,
    pub(super) setting: &'a Setting,
    pub(super) settled: &'a Settled,
}

impl Luck<'_> {
    /// Draws the causes, and which of them show the symptom, given that at least one does.
    pub(super) fn draw(&self, hypotheses: &Hypotheses, dice: &mut ChaCha8Rng) -> Fault {
        let mut point: f64 = dice.random();
        let drawn = hypotheses.chances.iter().position(|chance| {
            point -= chance;
            point < 0.0
        });
        let set = hypotheses.sets[drawn.unwrap_or(0)];
        let there = |bit: usize| set >> bit & 1 == 1;
        let causes: Vec<usize> = (0..hypotheses.causes.len())
            .filter(|&bit| there(bit))
            .map(|bit| hypotheses.causes[bit])
            .collect();
        let links = &self.settled.situation.symptoms[0];
        let strength = |cause: usize| links.iter().find(|link| link.0 == cause).map_or(0.0, |link| link.1);
        loop {
            let shows: Vec<(usize, bool)> =
                causes.iter().map(|&cause| (cause, dice.random::<f64>() < strength(cause))).collect();
            if shows.iter().any(|(_, shows)| *shows) {
                let replies = self.model.checks().iter().map(|_| dice.random()).collect();
                let cures = self.lucky_cures(&shows, dice);
                return Fault { causes: shows, replies, cures };
            }
        }
    }

    /// Which remedies would cure which of these causes.
    fn lucky_cures(&self, causes: &[(usize, bool)], dice: &mut ChaCha8Rng) -> HashSet<(usize, usize)> {
        let mut lucky = HashSet::new();
        for (place, remedy) in self.model.remedies().iter().enumerate() {
            for cure in &remedy.cures {
                let cause = self.model.known(&cure.cause);
                let is_there = causes.iter().any(|(there, _)| *there == cause);
                if is_there && dice.random::<f64>() < cure.success.value() {
                    lucky.insert((place, cause));
                }
            }
        }
        lucky
    }

    /// Is there, for everything that shows the symptom, a remedy that this operator may try and that would cure it?
    pub(super) fn curable(&self, fault: &Fault) -> bool {
        let own = |remedy: usize| self.model.remedies()[remedy].work.level <= self.setting.who;
        let mut showing = fault.causes.iter().filter(|(_, shows)| *shows);
        showing.all(|(cause, _)| fault.cures.iter().any(|(remedy, of)| of == cause && own(*remedy)))
    }

    /// The chance that a drawn fault cannot be cured.
    pub(super) fn beyond_cure(&self, hypotheses: &Hypotheses) -> f64 {
        let of = |set: &u64| 1.0 - self.curable_of(hypotheses, *set);
        hypotheses.sets.iter().zip(&hypotheses.chances).map(|(set, chance)| chance * of(set)).sum()
    }

    /// The chance that a combination can be cured, over all that may show of it.
    fn curable_of(&self, hypotheses: &Hypotheses, set: u64) -> f64 {
        let links = &self.settled.situation.symptoms[0];
        let there = hypotheses.causes.iter().enumerate().filter(|(bit, _)| set >> bit & 1 == 1);
        let cured = |cause: usize| match self.model.causes().get(cause) {
            Some(_) => self.model.cure_chance(cause, self.setting.who),
            None => 0.0,
        };
        // Each cause shows and is cured, or does not show; but not all of them do not show.
        let (mut shown_or_not, mut none_shows) = (1.0, 1.0);
        for (_, &cause) in there {
            let shows = links.iter().find(|link| link.0 == cause).map_or(0.0, |link| link.1);
            shown_or_not *= shows * cured(cause) + 1.0 - shows;
            none_shows *= 1.0 - shows;
        }
        if none_shows < 1.0 { (shown_or_not - none_shows) / (1.0 - none_shows) } else { 0.0 }
    }

    /// What a check answers.
    pub(super) fn answer(&self, check: &Check, fault: &Fault) -> Reply {
        let answers = check
            .answers
            .iter()
            .map(|one| (self.model.known(&one.cause), with_slips(one.yes, self.setting.slip)));
        let otherwise = with_slips(check.otherwise, self.setting.slip);
        let there = |cause: usize| fault.causes.iter().any(|(other, _)| *other == cause);
        let place = self.model.checks().iter().position(|known| known.id == check.id);
        let drawn = fault.replies[place.expect("the check is the model's own")];
        if drawn < yes_chance(answers, otherwise, there) { Reply::Yes } else { Reply::No }
    }

    /// Treats the fault, and runs the machine to see.
    pub(super) fn treat(&self, remedy: &Remedy, fault: &mut Fault) -> Tried {
        let place = self.model.remedies().iter().position(|known| known.id == remedy.id);
        let place = place.expect("the remedy is the model's own");
        fault.causes.retain(|(cause, _)| !fault.cures.contains(&(place, *cause)));
        if fault.causes.iter().any(|(_, shows)| *shows) { Tried::NotFixed } else { Tried::Fixed }
    }
}
