//! What a pass through a machine may bring, by what was found on the reel.

use super::{Finding, Inspected, PerforationGrade, Puller, What};
use units::Probability;

/// A chance that one finding stops the show in one pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassHazard {
    /// The finding.
    pub finding: Finding,
    /// The chance in one pass.
    pub chance: Probability,
}

/// Chance that a splice that holds parts in a pass (common practice, no source).
pub const SOUND_SPLICE_PARTS: f64 = 1.0 / 5000.0;
/// Chance that a doubtful splice parts in a pass (common practice, no source).
pub const DOUBTFUL_SPLICE_PARTS: f64 = 1.0 / 60.0;
/// Chance that a one-tooth claw loses its loop at three torn perforations in a row (common practice, no source).
pub const LOST_LOOP_ONE_TOOTH: f64 = 1.0 / 8.0;
/// The same where several teeth pull (common practice, no source).
pub const LOST_LOOP_SEVERAL_TEETH: f64 = 1.0 / 60.0;
/// From this shrinkage on the chances grow (common practice, no source).
const SHRINKAGE_FROM_PERCENT: f64 = 0.5;
/// By e to this power for each percent more (common practice, no source).
const SHRINKAGE_GROWTH_PER_PERCENT: f64 = 4.0;

/// Returns what each finding may bring in one pass through a machine that pulls the film this way.
///
/// Only what can stop a show is listed: scratches and stains are seen, but the film runs.
pub fn pass_hazards(reel: &Inspected, puller: Puller) -> Vec<PassHazard> {
    let over =
        reel.shrinkage.map_or(0.0, |shrinkage| (shrinkage.percent() - SHRINKAGE_FROM_PERCENT).max(0.0));
    let growth = (SHRINKAGE_GROWTH_PER_PERCENT * over).exp();
    let hazard = |finding: &Finding| {
        let chance = Probability::clamped(bare_chance(finding.what, puller)? * growth);
        Some(PassHazard { finding: *finding, chance })
    };
    reel.findings.iter().filter_map(hazard).collect()
}

/// The chance that one or another of them stops the show in one pass, each by itself.
pub fn any_of(hazards: &[PassHazard]) -> Probability {
    let none: f64 = hazards.iter().map(|hazard| 1.0 - hazard.chance.value()).product();
    Probability::clamped(1.0 - none)
}

fn bare_chance(what: What, puller: Puller) -> Option<f64> {
    let at_a_gap = if puller.teeth() > 1 { LOST_LOOP_SEVERAL_TEETH } else { LOST_LOOP_ONE_TOOTH };
    match what {
        What::Splice { holds: true, .. } => Some(SOUND_SPLICE_PARTS),
        What::Splice { holds: false, .. } | What::Tear => Some(DOUBTFUL_SPLICE_PARTS),
        What::Perforations(PerforationGrade::TornInARow) => Some(at_a_gap),
        // Fewer than three in a row: a third of the chance for each, as the rule for three has it.
        What::Perforations(PerforationGrade::Torn) => Some(at_a_gap / 3.0),
        What::Perforations(_) | What::Scratch { .. } | What::Oil | What::Warp | What::Burn => None,
    }
}
