//! Noisy-OR: an effect that each of its causes brings about on its own, with a chance of its own.

use super::{NetworkBuilder, NetworkError, VariableId};

/// One cause of an effect.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// A variable of the network.
    pub variable: VariableId,
    /// For each state of it: the chance that it brings the effect about, when no other cause does.
    pub strengths: Vec<f64>,
}

/// Adds an effect with the states `no` and `yes` that is there when at least one cause brings it about, or with
/// chance `leak` for no listed reason.
///
/// # Method
/// The plain table of n causes has 2ⁿ rows. As the causes act each on its own, the effect is built up cause by cause
/// instead (the temporal form of causal independence): `name~1` is the effect of the first causes, `name~2` adds the
/// next, and so on; each has only two parents. The last carries the effect's name.
///
/// # Reference
/// Pearl, *Probabilistic Reasoning in Intelligent Systems*, 1988 (noisy-OR); Heckerman and Breese, "Causal
/// independence for probability assessment and inference using Bayesian networks", 1996 (temporal form): both from
/// memory.
pub fn noisy_or(
    network: &mut NetworkBuilder,
    name: &str,
    leak: f64,
    causes: &[Cause],
) -> Result<VariableId, NetworkError> {
    let mut so_far: Option<VariableId> = None;
    for (place, cause) in causes.iter().enumerate() {
        let last = place + 1 == causes.len();
        let step = if last { name.to_owned() } else { format!("{name}~{}", place + 1) };
        let id = network.variable(step, ["no", "yes"])?;
        let mut parents = Vec::new();
        let mut table = Vec::new();
        let before = if so_far.is_some() { 2 } else { 1 };
        for already in 0..before {
            for fires in &cause.strengths {
                let not_yet = if already == 1 { 0.0 } else { 1.0 };
                let quiet = not_yet * (1.0 - fires) * if place == 0 { 1.0 - leak } else { 1.0 };
                table.extend([quiet, 1.0 - quiet]);
            }
        }
        parents.extend(so_far);
        parents.push(cause.variable);
        network.table(id, &parents, table)?;
        so_far = Some(id);
    }
    if let Some(id) = so_far {
        return Ok(id);
    }
    let id = network.variable(name, ["no", "yes"])?;
    network.table(id, &[], vec![1.0 - leak, leak])?;
    Ok(id)
}
