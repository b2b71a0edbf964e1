//! What may stop a showing, and what it would cost.

use crate::chance::Chance;
use serde::{Deserialize, Serialize};
use units::{Probability, Seconds};

/// What happens to the showing if a hazard strikes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// How long the screen stays dark where the showing can go on.
    pub pause: Seconds,
    /// The chance that the showing cannot go on.
    pub lost: Probability,
    /// What a lost showing counts for, in dark seconds: what is left of it, as a rule.
    pub lost_dark: Seconds,
}

impl Outcome {
    /// The showing goes on after a pause.
    pub fn pause(pause: Seconds) -> Self {
        Self { pause, lost: Probability::NEVER, lost_dark: Seconds::ZERO }
    }

    /// The showing is over.
    pub fn lost(lost_dark: Seconds) -> Self {
        Self { pause: Seconds::ZERO, lost: Probability::ALWAYS, lost_dark }
    }

    /// What `other` says with a chance, and else what this says.
    #[must_use]
    pub fn or(self, other: Self, chance: Probability) -> Self {
        let (here, there) = (chance.complement().value(), chance.value());
        let mixed = |one: f64, its: f64, two: f64, others: f64| {
            let all = one + two;
            Seconds::new(if all > 0.0 { (one * its + two * others) / all } else { its })
        };
        let (lost, others) = (here * self.lost.value(), there * other.lost.value());
        Self {
            pause: mixed(here - lost, self.pause.seconds(), there - others, other.pause.seconds()),
            lost: Probability::clamped(lost + others),
            lost_dark: mixed(lost, self.lost_dark.seconds(), others, other.lost_dark.seconds()),
        }
    }

    /// The dark seconds to expect once the hazard has struck.
    pub fn dark(self) -> Seconds {
        let lost = self.lost.value();
        Seconds::new(lost * self.lost_dark.seconds() + (1.0 - lost) * self.pause.seconds())
    }
}

/// One thing that may stop the showing, named by whoever asks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hazard<K> {
    /// What it is.
    pub key: K,
    /// The chance that it strikes in this showing.
    pub chance: Chance,
    /// What it does then.
    pub outcome: Outcome,
}

impl<K> Hazard<K> {
    /// The dark seconds to expect from it in this showing.
    pub fn dark(&self) -> Seconds {
        Seconds::new(self.chance.mean().value() * self.outcome.dark().seconds())
    }
}
