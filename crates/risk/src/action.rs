//! What can be done about the hazards of a showing.

use crate::{
    chance::Chance,
    hazard::{Hazard, Outcome},
};
use serde::{Deserialize, Serialize};
use units::Probability;

/// How an action changes one hazard. Each makes it milder or leaves it; none makes it worse.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Change {
    /// It has this chance from now on (another part stands there); of several, the least holds.
    Becomes(Chance),
    /// Only this share of its chance is left (the rest would have struck in the rehearsal).
    Leaves(Probability),
    /// It costs no more than this (a spare lies ready, a second machine stands threaded); of several, the mildest holds.
    Costs(Outcome),
}

/// One change to one hazard.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Effect {
    /// Which hazard, by its place in the list.
    pub hazard: usize,
    /// The change.
    pub change: Change,
}

/// Something that several actions need and that is done once for all of them (the lamphouse open and cool).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Preparation<K> {
    /// What it is.
    pub key: K,
    /// How long it takes.
    pub minutes: f64,
}

/// Something of which there are only so many: spares in the case, a machine that stays at home.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Supply<K> {
    /// What it is.
    pub key: K,
    /// How many there are.
    pub count: usize,
}

/// A hazard whose outcome rests on a spare that lies ready.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Lean {
    /// Which hazard, by its place in the list.
    pub hazard: usize,
    /// Which supply, by its place in the list.
    pub supply: usize,
    /// What the hazard does once the last one has been taken.
    pub without: Outcome,
}

/// Something that a person can do before the doors open.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Action<K> {
    /// What it is.
    pub key: K,
    /// How long it takes, without its preparations.
    pub minutes: f64,
    /// The preparations it needs, by their places in the list.
    pub needs: Vec<usize>,
    /// The supplies of which it takes one each, by their places in the list.
    pub takes: Vec<usize>,
    /// What it changes.
    pub effects: Vec<Effect>,
}

/// The chance and the outcome that the changes leave, whatever their order; `outcome` is that before any of them.
pub(crate) fn after<K>(
    hazard: &Hazard<K>,
    mut outcome: Outcome,
    changes: impl Iterator<Item = Change>,
) -> (Chance, Outcome) {
    let (mut chance, mut share) = (hazard.chance, Probability::ALWAYS);
    for change in changes {
        match change {
            Change::Becomes(other) if other.mean() < chance.mean() => chance = other,
            Change::Leaves(left) => share = share.and(left),
            Change::Costs(other) if other.dark() < outcome.dark() => outcome = other,
            Change::Becomes(_) | Change::Costs(_) => {}
        }
    }
    (chance.thinned(share), outcome)
}
