//! The posteriors of a case, exactly: as a network of causes and of what was found, and a junction tree over it.
//!
//! # Method
//! Each cause is one variable that also knows by which of the remedies done so far it was cured: absent, cured by the
//! first, by the second …, still there. What did not happen speaks of each cause alone, and is a likelihood on it. What
//! did happen is a noisy-OR, built up cause by cause in one common order, so that the tables stay small also where
//! several findings share many causes. Everything that was not looked at is barren and not even built.

use super::findings::{Finding, Situation, Source};
use crate::{
    exact::JunctionTree,
    network::{Cause, Evidence, Network, NetworkBuilder, NetworkError, VariableId, noisy_or},
};

/// How likely each cause was at the beginning, and is now.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Exact {
    pub(super) at_start: Vec<f64>,
    pub(super) now: Vec<f64>,
}

/// Why there are none.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Failed {
    /// These contradict each other.
    Contradiction(Vec<Source>),
    /// The network is too entangled.
    TooLarge(NetworkError),
}

impl From<NetworkError> for Failed {
    fn from(error: NetworkError) -> Self {
        Self::TooLarge(error)
    }
}

pub(super) fn exact(situation: &Situation) -> Result<Exact, Failed> {
    let lives: Vec<Life> = (0..situation.priors.len()).map(|cause| Life::of(situation, cause)).collect();
    let built = Built::of(situation, &lives)?;
    let tree = JunctionTree::new(&built.network)?;
    let found = tree.posteriors(&built.network, &built.evidence).map_err(|impossible| {
        let mut sources: Vec<Source> = impossible.pieces.iter().map(|&piece| built.sources[piece]).collect();
        sources.sort_unstable();
        sources.dedup();
        Failed::Contradiction(sources)
    })?;
    let mut exact = Exact { at_start: situation.priors.clone(), now: Vec::new() };
    for (cause, life) in lives.iter().enumerate() {
        let chances = built.variables[cause].map_or(life.chances.as_slice(), |variable| found.of(variable));
        exact.at_start[cause] = 1.0 - chances[0];
        exact.now.push(chances[chances.len() - 1]);
    }
    Ok(exact)
}

/// What may have become of one cause: never there, cured by one of the remedies, still there.
pub(super) struct Life {
    /// For each state between the first and the last: after how many remedies it was gone.
    gone_after: Vec<usize>,
    pub(super) chances: Vec<f64>,
}

impl Life {
    pub(super) fn of(situation: &Situation, cause: usize) -> Self {
        let prior = situation.priors[cause];
        let (mut gone_after, mut chances, mut left) = (Vec::new(), vec![1.0 - prior], prior);
        for (time, done) in situation.done.iter().enumerate() {
            for &(_, success) in done.cures.iter().filter(|(cured, _)| *cured == cause) {
                gone_after.push(time + 1);
                chances.push(left * success);
                left *= 1.0 - success;
            }
        }
        chances.push(left);
        Self { gone_after, chances }
    }

    pub(super) fn n_states(&self) -> usize {
        self.chances.len()
    }

    /// Whether the cause is there after so many remedies, in one of its states.
    pub(super) fn there(&self, state: usize, time: usize) -> bool {
        match state {
            0 => false,
            last if last + 1 == self.n_states() => true,
            cured => time < self.gone_after[cured - 1],
        }
    }
}

struct Built {
    network: Network,
    evidence: Evidence,
    /// Where each piece of evidence comes from.
    sources: Vec<Source>,
    variables: Vec<Option<VariableId>>,
}

/// What has to be said of a variable, before the network is whole.
struct Said {
    variable: VariableId,
    likelihood: Vec<f64>,
    source: Source,
}

impl Built {
    fn of(situation: &Situation, lives: &[Life]) -> Result<Self, NetworkError> {
        let mut builder = NetworkBuilder::new();
        let mut variables = vec![None; lives.len()];
        for finding in &situation.findings {
            for &(cause, _) in finding.ups.iter().chain(&finding.downs) {
                if variables[cause].is_none() {
                    let states = (0..lives[cause].n_states()).map(|state| state.to_string());
                    let id = builder.variable(format!("cause {cause}"), states)?;
                    builder.table(id, &[], lives[cause].chances.clone())?;
                    variables[cause] = Some(id);
                }
            }
        }
        let mut building = Building { builder, lives, variables: &variables, said: Vec::new() };
        for (place, finding) in situation.findings.iter().enumerate() {
            building.finding(place, finding)?;
        }
        let (network, said) = (building.builder.build()?, building.said);
        let mut evidence = Evidence::new();
        let mut sources = Vec::new();
        for one in said {
            evidence.likely(&network, one.variable, &one.likelihood)?;
            sources.push(one.source);
        }
        Ok(Self { network, evidence, sources, variables })
    }
}

struct Building<'a> {
    builder: NetworkBuilder,
    lives: &'a [Life],
    variables: &'a [Option<VariableId>],
    said: Vec<Said>,
}

impl Building<'_> {
    fn finding(&mut self, place: usize, finding: &Finding) -> Result<(), NetworkError> {
        let source = finding.source;
        if finding.yes {
            self.each_alone(finding, &finding.downs);
            let fired = self.any(&format!("up {place}"), finding.base, finding, &finding.ups)?;
            self.said.push(Said { variable: fired, likelihood: vec![0.0, 1.0], source });
        } else if finding.downs.is_empty() && finding.base < 1.0 {
            self.each_alone(finding, &finding.ups);
        } else {
            let fired = self.any(&format!("up {place}"), finding.base, finding, &finding.ups)?;
            let kept = self.any(&format!("down {place}"), 0.0, finding, &finding.downs)?;
            let yes = self.builder.variable(format!("yes {place}"), ["no", "yes"])?;
            let table = vec![1.0, 0.0, 1.0, 0.0, 0.0, 1.0, 1.0, 0.0];
            self.builder.table(yes, &[fired, kept], table)?;
            self.said.push(Said { variable: yes, likelihood: vec![1.0, 0.0], source });
        }
        Ok(())
    }

    /// None of these causes did it: what that says of each.
    fn each_alone(&mut self, finding: &Finding, causes: &[(usize, f64)]) {
        for &(cause, strength) in causes {
            let life = &self.lives[cause];
            let quiet = |state| if life.there(state, finding.time) { 1.0 - strength } else { 1.0 };
            self.said.push(Said {
                variable: self.variables[cause].expect("every cause of a finding has a variable"),
                likelihood: (0..life.n_states()).map(quiet).collect(),
                source: finding.source,
            });
        }
    }

    /// At least one of these causes did it, or it came by itself.
    fn any(
        &mut self,
        name: &str,
        base: f64,
        finding: &Finding,
        causes: &[(usize, f64)],
    ) -> Result<VariableId, NetworkError> {
        let mut causes = causes.to_vec();
        causes.sort_unstable_by_key(|(cause, _)| *cause);
        let causes: Vec<Cause> = causes
            .iter()
            .map(|&(cause, strength)| {
                let life = &self.lives[cause];
                let of = |state| if life.there(state, finding.time) { strength } else { 0.0 };
                Cause {
                    variable: self.variables[cause].expect("every cause of a finding has a variable"),
                    strengths: (0..life.n_states()).map(of).collect(),
                }
            })
            .collect();
        noisy_or(&mut self.builder, name, base, &causes)
    }
}
