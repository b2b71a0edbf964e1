//! Discrete Bayesian networks: variables with any number of states, and the table of each given its parents.

mod build;
mod evidence;
mod noisy;

pub use build::NetworkBuilder;
pub use evidence::{Evidence, Piece};
pub use noisy::{Cause, noisy_or};

use std::collections::HashMap;

/// How far the chances of one row may add up away from 1: published tables are printed to a few decimals.
/// A row within it is scaled to 1; one outside is refused.
pub const ROW_TOLERANCE: f64 = 1e-3;

/// A variable of one network, by its place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VariableId(pub(crate) usize);

impl VariableId {
    /// The place in the order in which the variables were added, from 0.
    pub const fn index(self) -> usize {
        self.0
    }
}

/// One variable: its name, its states, its parents and its table.
#[derive(Debug, Clone, PartialEq)]
pub struct Variable {
    pub(crate) name: String,
    pub(crate) states: Vec<String>,
    pub(crate) parents: Vec<VariableId>,
    /// One row for each joint state of the parents (the last parent changes fastest), each row one chance per state.
    pub(crate) table: Vec<f64>,
}

impl Variable {
    /// The name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The names of the states.
    pub fn states(&self) -> &[String] {
        &self.states
    }

    /// The parents, in the order of the table.
    pub fn parents(&self) -> &[VariableId] {
        &self.parents
    }

    /// The table: a row of chances, one per state, for each joint state of the parents; the last parent changes
    /// fastest.
    pub fn table(&self) -> &[f64] {
        &self.table
    }

    /// The place of a state by its name.
    pub fn state(&self, name: &str) -> Option<usize> {
        self.states.iter().position(|state| state == name)
    }
}

/// A discrete Bayesian network; every one that exists is sound: no cycle, every table proper.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    pub(crate) variables: Vec<Variable>,
    pub(crate) by_name: HashMap<String, VariableId>,
}

impl Network {
    /// The variables, in the order in which they were added.
    pub fn variables(&self) -> &[Variable] {
        &self.variables
    }

    /// The ids of the variables.
    pub fn ids(&self) -> impl Iterator<Item = VariableId> + use<> {
        (0..self.variables.len()).map(VariableId)
    }

    /// One variable.
    pub fn variable(&self, id: VariableId) -> &Variable {
        &self.variables[id.0]
    }

    /// A variable by its name.
    pub fn find(&self, name: &str) -> Option<VariableId> {
        self.by_name.get(name).copied()
    }

    /// A variable by its name, or the error that says so.
    pub fn expect(&self, name: &str) -> Result<VariableId, NetworkError> {
        self.find(name).ok_or_else(|| NetworkError::NoSuchVariable { name: name.to_owned() })
    }

    pub(crate) fn n_states(&self, id: VariableId) -> usize {
        self.variables[id.0].states.len()
    }

    /// The part of the network that bears on these variables: they, the observed ones, and all their ancestors.
    ///
    /// What is left out is barren: neither asked about nor observed, and with no such descendant, so that its table
    /// sums to 1 and changes nothing. The second value says where each kept variable stood before.
    pub fn without_barren(&self, kept: impl IntoIterator<Item = VariableId>) -> (Self, Vec<VariableId>) {
        let mut needed = vec![false; self.variables.len()];
        let mut open: Vec<VariableId> = kept.into_iter().collect();
        while let Some(id) = open.pop() {
            if !std::mem::replace(&mut needed[id.0], true) {
                open.extend(&self.variables[id.0].parents);
            }
        }
        let before: Vec<VariableId> = self.ids().filter(|id| needed[id.0]).collect();
        let mut now = vec![VariableId(0); self.variables.len()];
        for (place, id) in before.iter().enumerate() {
            now[id.0] = VariableId(place);
        }
        let variables: Vec<Variable> = before
            .iter()
            .map(|id| {
                let mut variable = self.variables[id.0].clone();
                for parent in &mut variable.parents {
                    *parent = now[parent.0];
                }
                variable
            })
            .collect();
        let by_name = names(&variables);
        (Self { variables, by_name }, before)
    }
}

pub(crate) fn names(variables: &[Variable]) -> HashMap<String, VariableId> {
    variables.iter().enumerate().map(|(place, variable)| (variable.name.clone(), VariableId(place))).collect()
}

/// What can be wrong with a network or with what is said to have been observed in it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NetworkError {
    /// Two variables of one name.
    #[error("there are two variables named `{name}`; each name may stand once")]
    TwiceNamed {
        /// The name.
        name: String,
    },
    /// A name that no variable has.
    #[error("there is no variable named `{name}`")]
    NoSuchVariable {
        /// The name.
        name: String,
    },
    /// A variable without states, or with two of one name.
    #[error("`{variable}` needs at least one state, each with a name of its own")]
    States {
        /// The variable.
        variable: String,
    },
    /// A state that the variable does not have.
    #[error("`{variable}` has no state `{state}`; it has {has}")]
    NoSuchState {
        /// The variable.
        variable: String,
        /// What was asked for.
        state: String,
        /// The states that it has.
        has: String,
    },
    /// A variable without a table.
    #[error("`{variable}` has no table of chances")]
    NoTable {
        /// The variable.
        variable: String,
    },
    /// A variable that is its own parent, or has one parent twice.
    #[error("`{variable}` has `{parent}` as a parent twice, or is its own parent")]
    Parent {
        /// The variable.
        variable: String,
        /// The parent.
        parent: String,
    },
    /// A table with the wrong number of chances.
    #[error("the table of `{variable}` has {found} chances and needs {needed}: one per state in each row")]
    TableSize {
        /// The variable.
        variable: String,
        /// How many were given.
        found: usize,
        /// How many there should be.
        needed: usize,
    },
    /// A number that is no chance.
    #[error("the table of `{variable}`, row {row}, has {value}, which is not between 0 and 1")]
    NotAChance {
        /// The variable.
        variable: String,
        /// The row, from 1.
        row: usize,
        /// The number.
        value: f64,
    },
    /// A row that does not add up to 1.
    #[error("the table of `{variable}`, row {row}, adds up to {sum}, not to 1")]
    RowSum {
        /// The variable.
        variable: String,
        /// The row, from 1.
        row: usize,
        /// What it adds up to.
        sum: f64,
    },
    /// Variables that depend on themselves in a round.
    #[error("these depend on each other in a round: {round}")]
    Cycle {
        /// The names, joined with arrows.
        round: String,
    },
    /// A likelihood that is not one number, 0 or more, for each state.
    #[error(
        "what is said of `{variable}` must be one number, 0 or more, for each of its states, and not all 0"
    )]
    Likelihood {
        /// The variable.
        variable: String,
    },
    /// A network whose exact answer would need too much room.
    #[error(
        "the exact answer would need tables of {entries:.3e} numbers; at most {most:.0e} are worked with"
    )]
    TooLarge {
        /// How many.
        entries: f64,
        /// How many at most.
        most: f64,
    },
}
