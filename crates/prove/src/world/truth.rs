//! The hidden truth of a booth: how long its parts last, how it is used, what neglect does.

use crate::{
    dice::{Dice, Draw},
    scenario::{Kind, Scenario},
};

/// What nobody in the booth knows.
pub(crate) struct Truth {
    /// Mean days between showings.
    pub gap: f64,
    /// By how much overdue care multiplies hazards.
    pub neglect: f64,
    /// Chance of a stoppage that no part explains.
    pub unexplained: f64,
    pub machines: Vec<TrueMachine>,
}

/// What nobody knows of a machine.
pub(crate) struct TrueMachine {
    /// Scales of its parts' modes.
    pub scales: Vec<Vec<f64>>,
    /// Hours in which its adjustment drifts to the limit.
    pub drift_hours: f64,
}

impl Truth {
    /// Draws a booth.
    pub fn draw(scenario: &Scenario, kind: &Kind, dice: Dice) -> Self {
        let (customs, nature) = (&scenario.customs, &scenario.nature);
        let astray = (nature.astray.recip().min(nature.astray), nature.astray.max(nature.astray.recip()));
        let a_week = dice.ratio(Draw::Rate, [0; 3], customs.showings_a_week);
        let (fewest, most) = customs.machines;
        let n = fewest + (dice.even(Draw::Machines, [0; 3]) * (most - fewest + 1) as f64) as usize;
        let machine = |machine: usize| {
            let scale = |part: usize, mode: usize| {
                let name = [mode as u64, part as u64, 0];
                let common = dice.ratio(Draw::Factor, name, astray).ln();
                let own = dice.normal(Draw::MachineFactor, [mode as u64, part as u64, machine as u64]);
                let ln = common + nature.machine_log_sd * own;
                kind.parts[part].modes[mode].scale * ln.clamp(astray.0.ln(), astray.1.ln()).exp()
            };
            let part =
                |part: usize| (0..kind.parts[part].modes.len()).map(|mode| scale(part, mode)).collect();
            let drift = nature.drift_log_sd * dice.normal(Draw::Drift, [machine as u64, 0, 0]);
            TrueMachine {
                scales: (0..kind.parts.len()).map(part).collect(),
                drift_hours: nature.drift_hours * drift.exp(),
            }
        };
        Self {
            gap: 7.0 / a_week,
            neglect: dice.ratio(Draw::Neglect, [0; 3], nature.neglect),
            unexplained: nature.unexplained * dice.ratio(Draw::UnexplainedRate, [0; 3], astray),
            machines: (0..n.min(most)).map(machine).collect(),
        }
    }
}
