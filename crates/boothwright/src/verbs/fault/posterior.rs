//! `fault posterior`: all posteriors of a network in the open interchange format.

use crate::{
    desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use faults::{
    bif,
    exact::{JunctionTree, Posteriors},
    network::{Evidence, Network, NetworkError},
};
use serde::Serialize;
use std::path::PathBuf;

/// Exact chances in any discrete Bayesian network, given what was observed
#[derive(Debug, Args)]
pub struct Posterior {
    /// The network, a BIF file
    #[arg(long, value_name = "FILE.bif")]
    network: PathBuf,
    /// What was observed: `A=yes,B=no`; a likelihood for each state, in their order: `A=0.9:0.2`
    #[arg(long, value_name = "NAME=STATE,…", value_delimiter = ',')]
    evidence: Vec<String>,
    /// Only these variables (left out: all)
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    only: Vec<String>,
}

/// The answer.
#[derive(Serialize)]
struct Answer {
    posteriors: serde_json::Map<String, serde_json::Value>,
    /// The chance of what was observed.
    evidence_probability: f64,
    /// Its natural logarithm, for a chance too small for a number.
    evidence_log_probability: f64,
    /// How many numbers the tables of the reckoning held.
    table_entries: usize,
}

impl Posterior {
    /// Reads, reckons, prints.
    pub fn run(&self, as_json: bool) -> Outcome {
        let network = self.read()?;
        let evidence = self.evidence(&network)?;
        for name in &self.only {
            network.expect(name).map_err(usage)?;
        }
        let tree = JunctionTree::new(&network).map_err(|error| Failure::new(Kind::Refused, error))?;
        let found = tree.posteriors(&network, &evidence).map_err(|impossible| {
            Failure::new(Kind::Found, impossible).hinted("take one of these back, and ask again")
        })?;
        let answer = self.answer(&network, &tree, &found);
        print::either(as_json, &answer, |_| self.words(&network, &found))
    }

    fn read(&self) -> Result<Network, Failure> {
        let shown = self.network.display();
        let text = desk::as_text(&self.network, desk::read_whole(&self.network)?)?;
        bif::read(&text).map_err(|error| Failure::new(Kind::Refused, format!("{shown}: {error}")))
    }

    fn evidence(&self, network: &Network) -> Result<Evidence, Failure> {
        let mut evidence = Evidence::new();
        for piece in self.evidence.iter().filter(|piece| !piece.is_empty()) {
            let Some((name, said)) = piece.split_once('=') else {
                return Err(Failure::new(Kind::Usage, format!("--evidence `{piece}`: write NAME=STATE")));
            };
            let (name, said) = (name.trim(), said.trim());
            // A state may have any name, also one with a colon: only what is no state is read as a likelihood.
            match evidence.seen(network, name, said) {
                Err(NetworkError::NoSuchState { .. }) if said.contains(':') => {
                    let likelihood = likelihood(piece, said)?;
                    evidence.likely(network, network.expect(name).map_err(usage)?, &likelihood)
                }
                seen => seen,
            }
            .map_err(usage)?;
        }
        Ok(evidence)
    }

    fn asked<'a>(&'a self, network: &'a Network) -> impl Iterator<Item = faults::network::VariableId> + 'a {
        let asked = |name: &str| self.only.is_empty() || self.only.iter().any(|only| only == name);
        network.ids().filter(move |&id| asked(network.variable(id).name()))
    }

    fn answer(&self, network: &Network, tree: &JunctionTree, found: &Posteriors) -> Answer {
        let of = |id| {
            let variable = network.variable(id);
            let chances = variable.states().iter().cloned().zip(found.of(id).iter().map(|&p| p.into()));
            (variable.name().to_owned(), serde_json::Value::Object(chances.collect()))
        };
        Answer {
            posteriors: self.asked(network).map(of).collect(),
            evidence_probability: found.evidence(),
            evidence_log_probability: found.log_evidence(),
            table_entries: tree.entries(),
        }
    }

    fn words(&self, network: &Network, found: &Posteriors) -> String {
        let mut text = String::new();
        for id in self.asked(network) {
            let variable = network.variable(id);
            let chances: Vec<String> = variable
                .states()
                .iter()
                .zip(found.of(id))
                .map(|(state, chance)| format!("{state} {chance:.4}"))
                .collect();
            text.push_str(&format!("{}: {}\n", variable.name(), chances.join(", ")));
        }
        text
    }
}

fn usage(error: NetworkError) -> Failure {
    Failure::new(Kind::Usage, error)
}

fn likelihood(piece: &str, said: &str) -> Result<Vec<f64>, Failure> {
    said.split(':')
        .map(|number| {
            number.trim().parse().map_err(|_| {
                Failure::new(Kind::Usage, format!("--evidence `{piece}`: `{number}` is not a number"))
            })
        })
        .collect()
}
