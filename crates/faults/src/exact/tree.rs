//! A junction tree, made once for a network and then asked as often as one likes.
//!
//! # Layout
//! All cliques' tables lie in one vector, one behind the other. In each the variables that it shares with the clique
//! above come first (slowest), so that the message upward is a sum over adjacent numbers. For the other end of each
//! message one map says, for each run of adjacent numbers of the upper clique, to which number of the message it goes.

use super::{
    MOST_ENTRIES,
    graph::{Eliminated, Graph, RULES, eliminate},
};
use crate::network::{Network, NetworkError, VariableId};

/// One clique: its variables, and how it hangs on the one above.
#[derive(Debug, Clone)]
pub(super) struct Clique {
    /// The variables; those shared with the clique above come first.
    pub(super) variables: Vec<usize>,
    /// The clique above; always an earlier one. None: a root.
    pub(super) above: Option<usize>,
    /// Where its table starts, and how long it is.
    pub(super) start: usize,
    pub(super) size: usize,
    /// Where its message to the one above starts, and how long that is; the message of a root is one number.
    pub(super) message: usize,
    pub(super) shared: usize,
    /// The upper clique in runs of `run` numbers: to which number of the message each run goes.
    pub(super) run: usize,
    pub(super) map: Vec<u32>,
}

/// Where a variable is read off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Home {
    pub(super) clique: usize,
    /// States of the variable, and how far apart neighbouring ones lie in the clique's table.
    pub(super) states: usize,
    pub(super) stride: usize,
}

/// A compiled network: ask it for posteriors as often as you like.
#[derive(Debug, Clone)]
pub struct JunctionTree {
    pub(super) cliques: Vec<Clique>,
    pub(super) homes: Vec<Home>,
    /// The product of the tables of the network, by clique.
    pub(super) tables: Vec<f64>,
    pub(super) messages: usize,
}

impl JunctionTree {
    /// Compiles a network: tries several orders of elimination and keeps the one with the smallest tables. Fails
    /// where even they would hold more than [`MOST_ENTRIES`] numbers.
    pub fn new(network: &Network) -> Result<Self, NetworkError> {
        let cards: Vec<f64> = network.ids().map(|id| network.n_states(id) as f64).collect();
        let moral = Graph::moral(network);
        let (order, entries) = RULES
            .into_iter()
            .map(|rule| eliminate(moral.clone(), &cards, rule))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .expect("there is at least one rule");
        if entries > MOST_ENTRIES {
            return Err(NetworkError::TooLarge { entries, most: MOST_ENTRIES });
        }
        let sizes: Vec<usize> = network.ids().map(|id| network.n_states(id)).collect();
        let mut cliques = hang(&order, sizes.len());
        let (entries, messages) = lay_out(&mut cliques, &sizes);
        let homes = homes(&cliques, &sizes);
        let mut tree = Self { cliques, homes, tables: vec![1.0; entries], messages };
        tree.fill(network, &sizes);
        Ok(tree)
    }

    /// How many numbers the tables of all cliques hold.
    pub fn entries(&self) -> usize {
        self.tables.len()
    }

    /// How many cliques there are.
    pub fn n_cliques(&self) -> usize {
        self.cliques.len()
    }

    /// Multiplies each variable's table into the smallest clique that holds its family.
    fn fill(&mut self, network: &Network, sizes: &[usize]) {
        let holding = by_variable(&self.cliques, sizes.len());
        for id in network.ids() {
            let variable = network.variable(id);
            let family: Vec<usize> =
                variable.parents().iter().map(|parent| parent.index()).chain([id.index()]).collect();
            let home = *holding[id.index()]
                .iter()
                .filter(|&&clique| family.iter().all(|of| self.cliques[clique].variables.contains(of)))
                .min_by_key(|&&clique| self.cliques[clique].size)
                .expect("a triangulated moral graph has a clique for each family");
            let clique = &self.cliques[home];
            let into = &mut self.tables[clique.start..clique.start + clique.size];
            let map = places(&clique.variables, &family, sizes);
            for (number, place) in into.iter_mut().zip(map) {
                *number *= variable.table()[place];
            }
        }
    }
}

/// Hangs the cliques of an elimination on each other, keeping only those that lie in no other.
fn hang(order: &[Eliminated], n: usize) -> Vec<Clique> {
    let mut out_at = vec![0; n];
    for (at, eliminated) in order.iter().enumerate() {
        out_at[eliminated.node] = at;
    }
    let mut clique_of = vec![0; n];
    let mut cliques: Vec<Clique> = Vec::new();
    for eliminated in order.iter().rev() {
        let above = eliminated.rest.iter().min_by_key(|&&b| out_at[b]).map(|&next| clique_of[next]);
        // The clique above lies within this one when they share all of its variables: then it grows by one.
        let grows = above.filter(|&above| cliques[above].variables.len() == eliminated.rest.len());
        clique_of[eliminated.node] = grows.unwrap_or(cliques.len());
        if let Some(above) = grows {
            cliques[above].variables.push(eliminated.node);
            continue;
        }
        let variables = eliminated.rest.iter().copied().chain([eliminated.node]).collect();
        cliques.push(Clique {
            variables,
            above,
            start: 0,
            size: 0,
            message: 0,
            shared: eliminated.rest.len(),
            run: 0,
            map: Vec::new(),
        });
    }
    cliques
}

/// Gives each clique and each message its place; returns how long both vectors are.
fn lay_out(cliques: &mut [Clique], sizes: &[usize]) -> (usize, usize) {
    let (mut start, mut message) = (0, 0);
    for place in 0..cliques.len() {
        let shared_variables = cliques[place].variables[..cliques[place].shared].to_vec();
        let above = cliques[place].above.map(|above| cliques[above].variables.clone());
        let clique = &mut cliques[place];
        clique.size = clique.variables.iter().map(|&of| sizes[of]).product();
        clique.shared = shared_variables.iter().map(|&of| sizes[of]).product();
        (clique.start, clique.message) = (start, message);
        start += clique.size;
        message += clique.shared;
        if let Some(above) = above {
            let inner = above.iter().rev().take_while(|of| !shared_variables.contains(of));
            clique.run = inner.map(|&of| sizes[of]).product();
            let every = places(&above, &shared_variables, sizes);
            clique.map = every.into_iter().step_by(clique.run).map(|at| at as u32).collect();
        }
    }
    (start, message)
}

/// For each joint state of `over` (the last changes fastest): the place of it in a table of `of`, which lie in `over`.
fn places(over: &[usize], of: &[usize], sizes: &[usize]) -> Vec<usize> {
    let stride_in = |variable: usize| -> usize {
        of.iter()
            .position(|&one| one == variable)
            .map_or(0, |at| of[at + 1..].iter().map(|&after| sizes[after]).product())
    };
    let mut found = vec![0];
    for &variable in over {
        let stride = stride_in(variable);
        found = found
            .into_iter()
            .flat_map(|place| (0..sizes[variable]).map(move |state| place + state * stride))
            .collect();
    }
    found
}

fn by_variable(cliques: &[Clique], n: usize) -> Vec<Vec<usize>> {
    let mut holding = vec![Vec::new(); n];
    for (place, clique) in cliques.iter().enumerate() {
        for &variable in &clique.variables {
            holding[variable].push(place);
        }
    }
    holding
}

/// Reads each variable off the smallest clique that holds it.
fn homes(cliques: &[Clique], sizes: &[usize]) -> Vec<Home> {
    let holding = by_variable(cliques, sizes.len());
    let home = |variable: usize| {
        let clique = *holding[variable]
            .iter()
            .min_by_key(|&&clique| cliques[clique].size)
            .expect("every variable lies in a clique");
        let variables = &cliques[clique].variables;
        let at = variables.iter().position(|&of| of == variable).expect("the clique holds it");
        let stride = variables[at + 1..].iter().map(|&after| sizes[after]).product();
        Home { clique, states: sizes[variable], stride }
    };
    (0..sizes.len()).map(home).collect()
}

impl JunctionTree {
    pub(super) fn home(&self, variable: VariableId) -> Home {
        self.homes[variable.index()]
    }
}
