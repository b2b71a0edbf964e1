//! The two passes: evidence in, messages up, messages down, posteriors out.

use super::{conflict, tree::JunctionTree};
use crate::network::{Evidence, Network, VariableId};

/// All posteriors of a network, and how likely the evidence was.
#[derive(Debug, Clone, PartialEq)]
pub struct Posteriors {
    chances: Vec<f64>,
    starts: Vec<usize>,
    log_evidence: f64,
}

impl Posteriors {
    /// The chance of each state of a variable.
    pub fn of(&self, variable: VariableId) -> &[f64] {
        &self.chances[self.starts[variable.index()]..self.starts[variable.index() + 1]]
    }

    /// The chance of the evidence; where it is too small for a number, see [`Self::log_evidence`].
    pub fn evidence(&self) -> f64 {
        self.log_evidence.exp()
    }

    /// The natural logarithm of the chance of the evidence.
    pub fn log_evidence(&self) -> f64 {
        self.log_evidence
    }
}

/// Evidence that cannot be: at least one piece contradicts the others or the network.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("this cannot all be so: {}", .said.join("; "))]
pub struct Impossible {
    /// Pieces of evidence, by their place, that already contradict each other; without any one of them the rest of
    /// these would be possible.
    pub pieces: Vec<usize>,
    /// The same in words: `variable = state`.
    pub said: Vec<String>,
}

impl JunctionTree {
    /// Returns all posteriors given the evidence; `network` is the one that was compiled. Fails where the evidence
    /// cannot be, naming the pieces that contradict each other.
    pub fn posteriors(&self, network: &Network, evidence: &Evidence) -> Result<Posteriors, Impossible> {
        self.pass(evidence).ok_or_else(|| conflict::name(self, network, evidence))
    }

    /// Whether the evidence can be at all: only the pass upward.
    pub(super) fn possible(&self, evidence: &Evidence) -> bool {
        let mut tables = self.tables.clone();
        let mut messages = vec![0.0; self.messages];
        self.enter(evidence, &mut tables);
        self.collect(&mut tables, &mut messages).is_some()
    }

    fn pass(&self, evidence: &Evidence) -> Option<Posteriors> {
        let mut tables = self.tables.clone();
        let mut messages = vec![0.0; self.messages];
        self.enter(evidence, &mut tables);
        let log_evidence = self.collect(&mut tables, &mut messages)?;
        self.distribute(&mut tables, &mut messages);
        Some(self.read_off(&tables, log_evidence))
    }

    fn enter(&self, evidence: &Evidence, tables: &mut [f64]) {
        for piece in evidence.pieces() {
            let home = self.home(piece.variable);
            let clique = &self.cliques[home.clique];
            let table = &mut tables[clique.start..clique.start + clique.size];
            for block in table.chunks_exact_mut(home.states * home.stride) {
                for (state, run) in block.chunks_exact_mut(home.stride).enumerate() {
                    let likelihood = piece.likelihood[state];
                    scale(run, likelihood);
                }
            }
        }
    }

    /// Sends the messages up, each scaled to a sum of 1; returns the logarithm of the chance of the evidence, or none
    /// where that is nothing.
    fn collect(&self, tables: &mut [f64], messages: &mut [f64]) -> Option<f64> {
        let mut log_evidence = 0.0;
        for clique in self.cliques.iter().rev() {
            let (before, own) = tables.split_at_mut(clique.start);
            let message = &mut messages[clique.message..clique.message + clique.shared];
            let block = clique.size / clique.shared;
            for (number, run) in message.iter_mut().zip(own[..clique.size].chunks_exact(block)) {
                *number = run.iter().sum();
            }
            let sum: f64 = message.iter().sum();
            if sum <= 0.0 {
                return None;
            }
            log_evidence += sum.ln();
            scale(message, 1.0 / sum);
            if let Some(above) = clique.above {
                let above = &self.cliques[above];
                let upper = &mut before[above.start..above.start + above.size];
                for (run, &at) in upper.chunks_exact_mut(clique.run).zip(&clique.map) {
                    let factor = message[at as usize];
                    scale(run, factor);
                }
            }
        }
        Some(log_evidence)
    }

    /// Sends the messages down: each clique takes what the one above has learnt since.
    fn distribute(&self, tables: &mut [f64], messages: &mut [f64]) {
        let longest = self.cliques.iter().map(|clique| clique.shared).max().unwrap_or(0);
        let mut sums = vec![0.0; longest];
        for clique in &self.cliques {
            let Some(above) = clique.above else { continue };
            let above = &self.cliques[above];
            let (before, own) = tables.split_at_mut(clique.start);
            let sums = &mut sums[..clique.shared];
            sums.fill(0.0);
            let upper = &before[above.start..above.start + above.size];
            for (run, &at) in upper.chunks_exact(clique.run).zip(&clique.map) {
                sums[at as usize] += run.iter().sum::<f64>();
            }
            let total: f64 = sums.iter().sum();
            let message = &messages[clique.message..clique.message + clique.shared];
            let block = clique.size / clique.shared;
            for ((run, &sum), &sent) in own[..clique.size].chunks_exact_mut(block).zip(&*sums).zip(message) {
                // Where nothing was sent up, nothing can come down: 0 over 0 is 0 here.
                let factor = if sent > 0.0 { sum / (sent * total) } else { 0.0 };
                scale(run, factor);
            }
        }
    }

    fn read_off(&self, tables: &[f64], log_evidence: f64) -> Posteriors {
        let mut starts = vec![0];
        let mut chances = Vec::with_capacity(self.homes.iter().map(|home| home.states).sum());
        for home in &self.homes {
            let start = chances.len();
            chances.resize(start + home.states, 0.0);
            let found = &mut chances[start..];
            let clique = &self.cliques[home.clique];
            let table = &tables[clique.start..clique.start + clique.size];
            for block in table.chunks_exact(home.states * home.stride) {
                for (number, run) in found.iter_mut().zip(block.chunks_exact(home.stride)) {
                    *number += run.iter().sum::<f64>();
                }
            }
            let sum: f64 = found.iter().sum();
            for number in found.iter_mut() {
                *number /= sum;
            }
            starts.push(chances.len());
        }
        Posteriors { chances, starts, log_evidence }
    }
}

fn scale(numbers: &mut [f64], factor: f64) {
    for number in numbers {
        *number *= factor;
    }
}
