//! A network as BIF text, with every digit that a number needs to be read back the same.

use crate::network::{Network, Variable};

/// Writes a network as BIF; reading it again gives the same network.
pub fn write(network: &Network, name: &str) -> String {
    let mut text = format!("network {} {{\n}}\n", quoted(name));
    for variable in network.variables() {
        let states: Vec<String> = variable.states().iter().map(|state| quoted(state)).collect();
        text.push_str(&format!(
            "variable {} {{\n  type discrete [ {} ] {{ {} }};\n}}\n",
            quoted(variable.name()),
            states.len(),
            states.join(", ")
        ));
    }
    for variable in network.variables() {
        text.push_str(&chances(network, variable));
    }
    text
}

fn chances(network: &Network, variable: &Variable) -> String {
    let child = quoted(variable.name());
    if variable.parents().is_empty() {
        return format!("probability ( {child} ) {{\n  table {};\n}}\n", numbers(variable.table()));
    }
    let parents: Vec<&Variable> = variable.parents().iter().map(|&id| network.variable(id)).collect();
    let names: Vec<String> = parents.iter().map(|parent| quoted(parent.name())).collect();
    let mut text = format!("probability ( {child} | {} ) {{\n", names.join(", "));
    for (at, row) in variable.table().chunks(variable.states().len()).enumerate() {
        text.push_str(&format!("  ({}) {};\n", joint_state(&parents, at), numbers(row)));
    }
    text.push_str("}\n");
    text
}

/// The names of the parents' states in one row.
fn joint_state(parents: &[&Variable], mut at: usize) -> String {
    let mut names = Vec::new();
    for parent in parents.iter().rev() {
        names.push(quoted(&parent.states()[at % parent.states().len()]));
        at /= parent.states().len();
    }
    names.reverse();
    names.join(", ")
}

fn numbers(row: &[f64]) -> String {
    row.iter().map(|number| format!("{number:?}")).collect::<Vec<_>>().join(", ")
}

/// Quotes a name that could be taken for something else.
fn quoted(name: &str) -> String {
    let plain = |letter: char| letter.is_alphanumeric() || "_-.+<>=".contains(letter);
    if !name.is_empty() && name.chars().all(plain) { name.to_owned() } else { format!("\"{name}\"") }
}
