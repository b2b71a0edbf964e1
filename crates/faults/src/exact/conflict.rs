//! Which pieces of evidence contradict each other.

use super::{pass::Impossible, tree::JunctionTree};
use crate::network::{Evidence, Network, NetworkError, Piece};

/// Returns the places of a smallest set of pieces that already contradict each other, or none where all is possible.
///
/// Smallest in the sense that without any one of them the others would be possible; there may be several such sets,
/// and the one with the earliest-trusted pieces left out is not sought.
pub fn conflicting(network: &Network, evidence: &Evidence) -> Result<Option<Vec<usize>>, NetworkError> {
    let tree = JunctionTree::new(network)?;
    Ok((!tree.possible(evidence)).then(|| smallest(&tree, evidence)))
}

pub(super) fn name(tree: &JunctionTree, network: &Network, evidence: &Evidence) -> Impossible {
    let pieces = smallest(tree, evidence);
    let said = pieces.iter().map(|&place| say(network, &evidence.pieces()[place])).collect();
    Impossible { pieces, said }
}

/// Leaves out one piece after the other, for good where the rest stays impossible.
fn smallest(tree: &JunctionTree, evidence: &Evidence) -> Vec<usize> {
    let mut kept = vec![true; evidence.pieces().len()];
    for place in 0..kept.len() {
        kept[place] = false;
        if tree.possible(&evidence.keep(|at| kept[at])) {
            kept[place] = true;
        }
    }
    (0..kept.len()).filter(|&place| kept[place]).collect()
}

fn say(network: &Network, piece: &Piece) -> String {
    let variable = network.variable(piece.variable);
    let possible: Vec<&str> = variable
        .states()
        .iter()
        .zip(&piece.likelihood)
        .filter(|(_, likelihood)| **likelihood > 0.0)
        .map(|(state, _)| state.as_str())
        .collect();
    format!("{} = {}", variable.name(), possible.join(" or "))
}
