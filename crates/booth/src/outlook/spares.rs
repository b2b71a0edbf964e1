//! Failures in one showing that want the same spare: the later one may find it gone.

use super::{cause::Cause, hazards::Hazards};
use logbook::ItemId;
use risk::found_gone;

/// Lets each failure that leans on a spare cost what it would without, as often as others have drawn the last one before
/// it in the same showing.
pub(super) fn share(hazards: &mut Hazards<'_>) {
    let wants: Vec<(usize, &ItemId)> =
        hazards.eased.iter().enumerate().filter_map(|(at, eased)| Some((at, eased.leans?.0))).collect();
    let chances: Vec<_> = hazards.list.iter().map(|hazard| hazard.chance.mean()).collect();
    for &(at, item) in &wants {
        let (Some((_, without)), Cause::Part { spares: Some(count), .. }) =
            (hazards.eased[at].leans, &hazards.causes[at])
        else {
            continue;
        };
        let others = wants.iter().filter(|&&(other, its)| other != at && its == item);
        let gone = found_gone(usize::try_from(*count).unwrap_or(0), others.map(|&(other, _)| chances[other]));
        let outcome = &mut hazards.list[at].outcome;
        *outcome = outcome.or(without, gone);
    }
}
