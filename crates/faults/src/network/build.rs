//! Making a network, with every check on the way.

use super::{Network, NetworkError, ROW_TOLERANCE, Variable, VariableId};
use std::collections::{HashMap, HashSet};

/// Collects variables and tables, in any order, and makes a network of them when all is sound.
#[derive(Debug, Clone, Default)]
pub struct NetworkBuilder {
    variables: Vec<Variable>,
    has_table: Vec<bool>,
    by_name: HashMap<String, VariableId>,
}

impl NetworkBuilder {
    /// Nothing yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a variable with the names of its states; fails where its name is taken or its states are not distinct.
    pub fn variable<S: Into<String>>(
        &mut self,
        name: impl Into<String>,
        states: impl IntoIterator<Item = S>,
    ) -> Result<VariableId, NetworkError> {
        let name = name.into();
        let states: Vec<String> = states.into_iter().map(Into::into).collect();
        if states.is_empty() || states.iter().collect::<HashSet<_>>().len() < states.len() {
            return Err(NetworkError::States { variable: name });
        }
        let id = VariableId(self.variables.len());
        if self.by_name.insert(name.clone(), id).is_some() {
            return Err(NetworkError::TwiceNamed { name });
        }
        self.variables.push(Variable { name, states, parents: Vec::new(), table: Vec::new() });
        self.has_table.push(false);
        Ok(id)
    }

    /// Gives a variable its parents and its table: a row of chances, one per state, for each joint state of the
    /// parents, the last parent changing fastest. A row within [`ROW_TOLERANCE`] of 1 is scaled to 1.
    pub fn table(
        &mut self,
        id: VariableId,
        parents: &[VariableId],
        mut table: Vec<f64>,
    ) -> Result<(), NetworkError> {
        let name = self.variables[id.0].name.clone();
        let distinct: HashSet<_> = parents.iter().chain([&id]).collect();
        if distinct.len() <= parents.len() {
            let parent = parents.last().map_or(String::new(), |parent| self.variables[parent.0].name.clone());
            return Err(NetworkError::Parent { variable: name, parent });
        }
        let states = self.variables[id.0].states.len();
        let needed =
            parents.iter().map(|parent| self.variables[parent.0].states.len()).product::<usize>() * states;
        if table.len() != needed {
            return Err(NetworkError::TableSize { variable: name, found: table.len(), needed });
        }
        for (row, chances) in table.chunks_mut(states).enumerate() {
            scale(&name, row + 1, chances)?;
        }
        let variable = &mut self.variables[id.0];
        variable.parents = parents.to_vec();
        variable.table = table;
        self.has_table[id.0] = true;
        Ok(())
    }

    /// A variable by its name, among those added so far.
    pub fn find(&self, name: &str) -> Option<VariableId> {
        self.by_name.get(name).copied()
    }

    /// One of the variables added so far.
    pub fn get(&self, id: VariableId) -> &Variable {
        &self.variables[id.0]
    }

    /// True once the variable has its table.
    pub fn has_table(&self, id: VariableId) -> bool {
        self.has_table[id.0]
    }

    /// Makes the network; fails where a table is missing or variables depend on themselves in a round.
    pub fn build(self) -> Result<Network, NetworkError> {
        if let Some(without) = self.has_table.iter().position(|has| !has) {
            return Err(NetworkError::NoTable { variable: self.variables[without].name.clone() });
        }
        if let Some(round) = find_round(&self.variables) {
            return Err(NetworkError::Cycle { round });
        }
        Ok(Network { variables: self.variables, by_name: self.by_name })
    }
}

/// Scales a row that is off by no more than printing's rounding.
fn scale(name: &str, row: usize, chances: &mut [f64]) -> Result<(), NetworkError> {
    let within = 0.0..=1.0 + ROW_TOLERANCE;
    if let Some(&value) = chances.iter().find(|value| !within.contains(value)) {
        return Err(NetworkError::NotAChance { variable: name.to_owned(), row, value });
    }
    let sum: f64 = chances.iter().sum();
    if (sum - 1.0).abs() > ROW_TOLERANCE {
        return Err(NetworkError::RowSum { variable: name.to_owned(), row, sum });
    }
    for chance in chances {
        *chance /= sum;
    }
    Ok(())
}

/// Returns a round of dependence, its names joined with arrows, if there is one.
fn find_round(variables: &[Variable]) -> Option<String> {
    let mut left: Vec<usize> = variables.iter().map(|variable| variable.parents.len()).collect();
    let mut children = vec![Vec::new(); variables.len()];
    for (child, variable) in variables.iter().enumerate() {
        for parent in &variable.parents {
            children[parent.0].push(child);
        }
    }
    let mut free: Vec<usize> = (0..variables.len()).filter(|&id| left[id] == 0).collect();
    while let Some(id) = free.pop() {
        for &child in &children[id] {
            left[child] -= 1;
            if left[child] == 0 {
                free.push(child);
            }
        }
    }
    let start = left.iter().position(|&n| n > 0)?;
    // Every variable that is left has a parent that is left: walking up must come back to one already met.
    let mut met = vec![start];
    loop {
        let at = *met.last().expect("the walk began with one");
        let up = variables[at].parents.iter().find(|parent| left[parent.0] > 0)?.0;
        if let Some(place) = met.iter().position(|&before| before == up) {
            let mut names: Vec<&str> = met[place..].iter().map(|&id| variables[id].name.as_str()).collect();
            names.push(&variables[up].name);
            return Some(names.join(" ← "));
        }
        met.push(up);
    }
}
