//! What to believe of each cause, as a case stands; contradictions are named and set aside.

use super::{
    Answer, Aside, Case, SetAside, Situation, Why,
    exact::{Exact, Failed, exact},
    hypotheses::Hypotheses,
};
use crate::model::{CauseId, TroubleModel};
use serde::Serialize;
use units::Probability;

/// How likely one cause was at the beginning of a case, and is now.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Belief {
    /// The cause.
    pub cause: CauseId,
    /// The chance that it was there when the case began, from all that is known now.
    pub at_start: Probability,
    /// The chance that it is there now, after what was tried. In a closed case: that it is what was cured.
    pub now: Probability,
}

/// What to believe, as a case stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beliefs {
    /// All causes that bear on the case, the likeliest now first. Several may be there at once, so that the chances
    /// need not add up to 1.
    pub causes: Vec<Belief>,
    /// The chance that something is there that the model does not list.
    pub unlisted: Probability,
    /// What is not counted, and why.
    pub set_aside: Vec<SetAside>,
    /// The last remedy did it.
    pub closed: bool,
    /// The exact answer was out of reach; these chances take at most three causes at once.
    pub approximate: bool,
}

impl Beliefs {
    /// The chance that this cause is there now; 0 for one that does not bear on the case.
    pub fn now(&self, cause: &CauseId) -> Probability {
        let found = self.causes.iter().find(|belief| belief.cause == *cause);
        found.map_or(Probability::NEVER, |belief| belief.now)
    }
}

/// Returns what to believe of each cause that bears on the case. `slip` is the chance that a person answers wrongly.
///
/// Where answers contradict each other outright, the least trusted of them is set aside (questions before swaps,
/// looks and measurements; the older before the newer) until the rest can be.
pub fn beliefs(model: &TroubleModel, case: &Case, slip: Probability) -> Beliefs {
    let settled = Settled::of(model, case, slip);
    settled.beliefs(model)
}

/// A case without its contradictions, and the chances of its causes.
#[derive(Debug, Clone)]
pub(crate) struct Settled {
    pub(crate) situation: Situation,
    pub(crate) at_start: Vec<f64>,
    pub(crate) now: Vec<f64>,
    pub(crate) approximate: bool,
}

impl Settled {
    pub(crate) fn of(model: &TroubleModel, case: &Case, slip: Probability) -> Self {
        let mut situation = Situation::of(model, case, slip);
        if situation.fixed {
            return Self::closed(model, case, slip, situation);
        }
        loop {
            match exact(&situation) {
                Ok(Exact { at_start, now }) => return Self { situation, at_start, now, approximate: false },
                Err(Failed::Contradiction(sources)) => situation.set_aside_one_of(&sources),
                Err(Failed::TooLarge(_)) => {
                    let now = Hypotheses::of(&situation, &situation.priors).marginals(situation.priors.len());
                    return Self { at_start: now.clone(), now, situation, approximate: true };
                }
            }
        }
    }

    /// A closed case: which cause was it that the last remedy cured?
    fn closed(model: &TroubleModel, case: &Case, slip: Probability, mut situation: Situation) -> Self {
        let mut before = case.clone();
        before.answers.pop();
        let settled = Self::of(model, &before, slip);
        let done = situation.done.last().expect("a case is closed by a remedy");
        let mut hypotheses = Hypotheses::of(&settled.situation, &settled.now);
        hypotheses.given_fixed(&settled.situation, &done.cures);
        let now = hypotheses.marginals(settled.now.len());
        situation.set_aside = settled.situation.set_aside;
        Self { situation, at_start: now.clone(), now, approximate: settled.approximate }
    }

    pub(crate) fn beliefs(self, model: &TroubleModel) -> Beliefs {
        let Self { situation, at_start, now, approximate } = self;
        let bears = |cause: usize| {
            let in_symptoms = situation.symptoms.iter().flatten().map(|link| link.0);
            let in_findings = situation
                .findings
                .iter()
                .flat_map(|finding| finding.ups.iter().chain(&finding.downs))
                .map(|link| link.0);
            in_symptoms.chain(in_findings).any(|other| other == cause)
        };
        let mut causes: Vec<Belief> = (0..situation.n_listed)
            .filter(|&cause| bears(cause))
            .map(|cause| Belief {
                cause: model.causes()[cause].id.clone(),
                at_start: Probability::clamped(at_start[cause]),
                now: Probability::clamped(now[cause]),
            })
            .collect();
        causes.sort_by(|a, b| b.now.total_cmp(&a.now).then_with(|| a.cause.cmp(&b.cause)));
        let none_unlisted: f64 = now[situation.n_listed..].iter().map(|chance| 1.0 - chance).product();
        Beliefs {
            causes,
            unlisted: Probability::clamped(1.0 - none_unlisted),
            closed: situation.fixed,
            set_aside: situation.set_aside,
            approximate,
        }
    }
}

impl Situation {
    /// Sets aside the least trusted of findings that contradict each other.
    fn set_aside_one_of(&mut self, sources: &[super::Source]) {
        let least = *sources.first().expect("a contradiction has at least one piece");
        let with = sources[1..].iter().map(|source| source.aside()).collect();
        self.set_aside.push(SetAside { what: least.aside(), why: Why::Contradicts { with } });
        self.findings.retain(|finding| finding.source != least);
    }
}

impl Case {
    /// The answer at this place, for the faces to show what was set aside.
    pub fn answer_of(&self, aside: &Aside) -> Option<&Answer> {
        match aside {
            Aside::Answer(place) => self.answers.get(*place),
            _ => None,
        }
    }
}
