//! What an open fault may do in a coming showing, by what the desk believes of it.

use super::case::OpenFault;
use faults::advise::Outcome;
use logbook::booth::Fault;
use machine::{Hand, MachineType, SpareId, Stops, Symptom};
use units::Probability;

/// What an open fault may do in a coming showing.
#[derive(Clone, Debug)]
pub struct Prognosis {
    /// What the audience loses if it comes back.
    pub stops: Stops,
    /// Why the machine must not run before it is settled.
    pub stop_now: Option<String>,
    /// What was noticed, in the words of the type.
    pub noticed: Vec<String>,
    /// The likeliest cause, with its chance.
    pub likeliest: Option<(String, Probability)>,
    /// What it takes to go on, cause by cause; the chances make 1.
    pub ways: Vec<Way>,
    /// What working it through beforehand may do; absent where that is no operator's work, or nothing is known.
    pub mending: Option<Mending>,
}

/// What it takes to go on where one of the causes is behind it.
#[derive(Clone, PartialEq, Debug)]
pub struct Way {
    /// The chance that it is so.
    pub chance: Probability,
    /// Minutes until the show goes on; absent: not within a showing.
    pub minutes: Option<f64>,
    /// The spare that must lie ready.
    pub spare: Option<SpareId>,
}

/// What working a fault through at the desk may do.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Mending {
    /// Minutes to expect.
    pub minutes: f64,
    /// The chance that it is still there afterwards, since nobody here may or can mend it.
    pub leaves: Probability,
}

/// What the type knows of what was noticed of a fault.
pub(super) fn noticed<'k>(kind: &'k MachineType, fault: &Fault) -> impl Iterator<Item = &'k Symptom> {
    fault.symptoms.iter().filter_map(|id| kind.trouble.symptom(id.as_str()))
}

/// Why the machine must not run before the fault is settled, where it must not.
pub(crate) fn stop_now<'k>(kind: &'k MachineType, fault: &Fault) -> Option<&'k str> {
    noticed(kind, fault).find_map(|symptom| symptom.stop_now.as_deref())
}

/// A remedy that cures a cause with at least this chance is what one reaches for in a showing.
const SURE_ENOUGH: f64 = 0.5;

impl OpenFault<'_> {
    /// What the fault may do in a coming showing; none where nothing was noticed that the machine's type knows.
    pub fn prognosis(&self) -> Option<Prognosis> {
        let symptoms: Vec<_> = self.symptoms().collect();
        let stops = symptoms.iter().map(|symptom| symptom.stops).min_by_key(|stops| match stops {
            Stops::Picture => 0,
            Stops::Sound => 1,
            Stops::Nothing => 2,
        })?;
        let advice = self.advice();
        let hands = symptoms.iter().map(|symptom| symptom.during.takes.seconds() / 60.0).fold(0.0, f64::max);
        let causes = &advice.beliefs.causes;
        let all: f64 =
            causes.iter().map(|belief| belief.now.value()).sum::<f64>() + advice.beliefs.unlisted.value();
        let share =
            |chance: Probability| Probability::clamped(if all > 0.0 { chance.value() / all } else { 0.0 });
        let mut ways: Vec<Way> = causes
            .iter()
            .map(|belief| Way { chance: share(belief.now), ..self.way(belief.cause.as_str(), hands) })
            .collect();
        // What nobody listed is met with the hands, or not at all; the hands are what the type says to do at once.
        ways.push(Way { chance: share(advice.beliefs.unlisted), minutes: None, spare: None });
        let likeliest = causes.first().map(|belief| (self.cause_name(belief.cause.as_str()), belief.now));
        let beyond: f64 = causes
            .iter()
            .filter(|belief| self.is_beyond(belief.cause.as_str()))
            .map(|belief| share(belief.now).value())
            .sum::<f64>()
            + share(advice.beliefs.unlisted).value();
        let mending = match &advice.outcome {
            Outcome::Next(step) => Some(Mending {
                // What passing it on would cost is not work at the machine.
                minutes: (advice.still_expected - beyond * self.setting.costs.give_up)
                    .max(step.time.seconds() / 60.0),
                leaves: Probability::clamped(beyond),
            }),
            _ => None,
        };
        Some(Prognosis {
            stops,
            stop_now: stop_now(self.kind, self.fault).map(str::to_owned),
            noticed: symptoms.iter().map(|symptom| symptom.name.clone()).collect(),
            likeliest,
            ways,
            mending,
        })
    }

    /// The operator has no remedy for a cause.
    fn is_beyond(&self, cause: &str) -> bool {
        let mut remedies = self.kind.trouble.remedies.iter();
        !remedies.any(|remedy| remedy.who == Hand::Operator && remedy.cures(cause).value() >= SURE_ENOUGH)
    }

    /// What it takes to go on with this cause: the quickest of the operator's remedies that can be done while people wait.
    fn way(&self, cause: &str, hands: f64) -> Way {
        let remedies = self.kind.trouble.remedies.iter();
        let quickest = remedies
            .filter(|remedy| remedy.who == Hand::Operator && remedy.during_show)
            .filter(|remedy| remedy.cures(cause).value() >= SURE_ENOUGH)
            .min_by(|a, b| a.takes.seconds().total_cmp(&b.takes.seconds()));
        let spare = quickest.and_then(|remedy| remedy.spare.clone());
        Way { chance: Probability::NEVER, minutes: quickest.map(|remedy| remedy.minutes().max(hands)), spare }
    }
}
