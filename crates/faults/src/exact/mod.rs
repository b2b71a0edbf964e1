//! Exact posteriors in any discrete network, by a junction tree: all of them, and the chance of the evidence, in one
//! pass up the tree and one down.
//!
//! # Reference
//! Lauritzen and Spiegelhalter, "Local computations with probabilities on graphical structures", JRSS B 50, 1988;
//! Jensen, Lauritzen and Olesen, "Bayesian updating in causal probabilistic networks by local computations", 1990
//! (the form with division that is used here); Kjærulff, "Triangulation of graphs", 1990 (the heuristics): all from
//! memory.

mod conflict;
mod graph;
mod pass;
mod tree;

pub use conflict::conflicting;
pub use pass::{Impossible, Posteriors};
pub use tree::JunctionTree;

use crate::network::{Evidence, Network, NetworkError, VariableId};

/// At most so many numbers are kept in the tables of one tree (some 500 MB).
pub const MOST_ENTRIES: f64 = 6.0e7;

/// Why there are no posteriors.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ExactError {
    /// The network is too entangled.
    #[error(transparent)]
    Network(#[from] NetworkError),
    /// The evidence cannot be.
    #[error(transparent)]
    Impossible(#[from] Impossible),
}

/// Returns the posterior of some variables: the network without what is barren, one tree, one pass.
///
/// For many questions to one network make a [`JunctionTree`] once and ask that.
pub fn posteriors_of(
    network: &Network,
    evidence: &Evidence,
    asked: &[VariableId],
) -> Result<Vec<Vec<f64>>, ExactError> {
    let observed = evidence.pieces().iter().map(|piece| piece.variable);
    let (small, before) = network.without_barren(observed.chain(asked.iter().copied()));
    let now = |id: VariableId| VariableId(before.binary_search(&id).expect("asked and observed are kept"));
    let mut small_evidence = Evidence::new();
    for piece in evidence.pieces() {
        small_evidence.likely(&small, now(piece.variable), &piece.likelihood)?;
    }
    let found = JunctionTree::new(&small)?.posteriors(&small, &small_evidence)?;
    Ok(asked.iter().map(|&id| found.of(now(id)).to_vec()).collect())
}
