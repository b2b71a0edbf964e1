//! A whole model as a plain network, every symptom and check with its own variable: for other programs to check.

use super::TroubleModel;
use crate::{
    case::split,
    network::{Cause, Network, NetworkBuilder, NetworkError, VariableId, noisy_or},
};

impl TroubleModel {
    /// Returns the model as a plain network: `cause:…`, `symptom:…`, `check:…`, all with the states `no` and `yes`.
    ///
    /// What brings a check's yes about and what keeps it away stand in `up:…` and `down:…`; variables whose names end
    /// in `~` and a number build up a noisy-OR. Remedies and slips of the tongue are no part of it.
    pub fn to_network(&self) -> Result<Network, NetworkError> {
        let mut network = NetworkBuilder::new();
        let mut causes = Vec::new();
        for cause in self.causes() {
            let id = network.variable(format!("cause:{}", cause.id), ["no", "yes"])?;
            network.table(id, &[], vec![cause.prior.complement().value(), cause.prior.value()])?;
            causes.push(id);
        }
        for symptom in self.symptoms() {
            let links = symptom.links.iter();
            let links: Vec<_> = links.map(|link| (self.known(&link.cause), link.strength.value())).collect();
            any(&mut network, &format!("symptom:{}", symptom.id), symptom.leak.value(), &causes, &links)?;
        }
        for check in self.checks() {
            let answers = check.answers.iter().map(|one| (self.known(&one.cause), one.yes.value()));
            let base = check.otherwise.value();
            let (ups, downs) = split(answers, base);
            let fired = any(&mut network, &format!("up:{}", check.id), base, &causes, &ups)?;
            let kept = any(&mut network, &format!("down:{}", check.id), 0.0, &causes, &downs)?;
            let yes = network.variable(format!("check:{}", check.id), ["no", "yes"])?;
            network.table(yes, &[fired, kept], vec![1.0, 0.0, 1.0, 0.0, 0.0, 1.0, 1.0, 0.0])?;
        }
        network.build()
    }
}

fn any(
    network: &mut NetworkBuilder,
    name: &str,
    leak: f64,
    causes: &[VariableId],
    links: &[(usize, f64)],
) -> Result<VariableId, NetworkError> {
    let causes: Vec<Cause> = links
        .iter()
        .map(|&(cause, strength)| Cause { variable: causes[cause], strengths: vec![0.0, strength] })
        .collect();
    noisy_or(network, name, leak, &causes)
}
