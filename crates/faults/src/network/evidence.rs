//! What has been observed: a state for certain, or how likely the observation is under each state.

use super::{Network, NetworkError, VariableId};

/// One piece of evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// About which variable.
    pub variable: VariableId,
    /// How likely what was observed is under each state; for a state seen for certain, 1 there and 0 elsewhere.
    pub likelihood: Vec<f64>,
}

/// All that has been observed; several pieces may speak of one variable.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evidence {
    pieces: Vec<Piece>,
}

impl Evidence {
    /// Nothing observed.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The pieces, in the order in which they came.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// A variable was seen in this state.
    pub fn seen(&mut self, network: &Network, variable: &str, state: &str) -> Result<(), NetworkError> {
        let id = network.expect(variable)?;
        let has = network.variable(id);
        let place = has.state(state).ok_or_else(|| NetworkError::NoSuchState {
            variable: variable.to_owned(),
            state: state.to_owned(),
            has: has.states().join(", "),
        })?;
        self.seen_at(network, id, place);
        Ok(())
    }

    /// A variable was seen in the state at this place.
    pub(crate) fn seen_at(&mut self, network: &Network, variable: VariableId, place: usize) {
        let likelihood = (0..network.n_states(variable)).map(|state| f64::from(u8::from(state == place)));
        self.pieces.push(Piece { variable, likelihood: likelihood.collect() });
    }

    /// Something was observed that is as likely as this under each state of the variable (soft evidence); only the
    /// ratios matter.
    pub fn likely(
        &mut self,
        network: &Network,
        variable: VariableId,
        likelihood: &[f64],
    ) -> Result<(), NetworkError> {
        let proper = likelihood.len() == network.n_states(variable)
            && likelihood.iter().all(|value| value.is_finite() && *value >= 0.0)
            && likelihood.iter().any(|value| *value > 0.0);
        if !proper {
            return Err(NetworkError::Likelihood { variable: network.variable(variable).name().to_owned() });
        }
        self.pieces.push(Piece { variable, likelihood: likelihood.to_vec() });
        Ok(())
    }

    /// The same without the pieces for which this says no; the function is given each piece's place.
    #[must_use]
    pub fn keep(&self, keep: impl Fn(usize) -> bool) -> Self {
        let pieces = self.pieces.iter().enumerate().filter(|(place, _)| keep(*place));
        Self { pieces: pieces.map(|(_, piece)| piece.clone()).collect() }
    }
}
