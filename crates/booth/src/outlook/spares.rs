//! Failures in one showing that want the same spare: the later one may find it gone.

use super::hazards::{Hazards, Leaning};
use risk::found_gone;

/// Lets each failure that leans on a spare cost what it would without, as often as others have drawn the last one before
/// it in the same showing.
pub(super) fn share(hazards: &mut Hazards<'_>) {
    let leaning: Vec<(usize, Leaning<'_>)> =
        hazards.eased.iter().enumerate().filter_map(|(at, eased)| Some((at, eased.leans?))).collect();
    for (at, lean) in &leaning {
        let others = leaning.iter().filter(|(other, its)| other != at && its.item == lean.item);
        let gone = found_gone(lean.pieces, others.map(|(other, _)| hazards.list[*other].chance.mean()));
        let outcome = &mut hazards.list[*at].outcome;
        *outcome = outcome.or(lean.without, gone);
    }
}
