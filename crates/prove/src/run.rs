//! Many booths, each played by every policy with the same luck.

use crate::{
    dice::Dice,
    policy::{Advice, Grid, Handbook, Ladder, PolicyKind, ToFailure},
    report::{Report, reported},
    scenario::{Scenario, ScenarioError},
    tally::Tally,
    world::{Truth, play},
};
use std::thread;

/// How much is played.
#[derive(Clone, PartialEq, Debug)]
pub struct Setting {
    /// Booths.
    pub booths: usize,
    /// Years that each is run.
    pub years: f64,
    /// What the luck is drawn from: the same seed, the same report.
    pub seed: u64,
    /// Who runs them.
    pub policies: Vec<PolicyKind>,
    /// For the careful: a stoppage counts for so many times its price.
    pub dread: f64,
    /// Threads; they change how long it takes, not what comes out.
    pub threads: usize,
}

impl Default for Setting {
    fn default() -> Self {
        let policies =
            vec![PolicyKind::Handbook, PolicyKind::ToFailure, PolicyKind::Advice, PolicyKind::Careful];
        Self { booths: 200, years: 10.0, seed: 1, policies, dread: 40.0, threads: 1 }
    }
}

/// A proving that cannot be run.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum SettingError {
    /// The scenario cannot be played.
    #[error(transparent)]
    Scenario(#[from] ScenarioError),
    /// Intervals over booths need at least two.
    #[error("{0} booths are too few: intervals need at least 2")]
    Booths(usize),
    /// Years must be a positive number.
    #[error("a booth cannot be run for {0} years")]
    Years(f64),
    /// Nobody runs them.
    #[error("no policy was named")]
    NoPolicy,
}

/// Plays the booths and reports.
pub fn prove(scenario: &Scenario, setting: &Setting) -> Result<Report, SettingError> {
    scenario.check()?;
    if setting.booths < 2 {
        return Err(SettingError::Booths(setting.booths));
    }
    if !(setting.years > 0.0 && setting.years.is_finite()) {
        return Err(SettingError::Years(setting.years));
    }
    if setting.policies.is_empty() {
        return Err(SettingError::NoPolicy);
    }
    let (ladder, grids) = (Ladder::new(), grids_of(scenario));
    let threads = setting.threads.clamp(1, setting.booths);
    let share = setting.booths.div_ceil(threads);
    let booths: Vec<Vec<Tally>> = thread::scope(|scope| {
        let part = |first: usize| {
            let (tools, last) = ((&ladder, grids.as_slice()), (first + share).min(setting.booths));
            scope.spawn(move || {
                (first..last).map(|booth| one(scenario, setting, tools, booth)).collect::<Vec<_>>()
            })
        };
        let handles: Vec<_> = (0..setting.booths).step_by(share).map(part).collect();
        handles
            .into_iter()
            .flat_map(|handle| handle.join().expect("a booth is played without panicking"))
            .collect()
    });
    Ok(reported(setting, &booths))
}

/// Grids by kind, part and mode.
fn grids_of(scenario: &Scenario) -> Vec<Vec<Vec<Grid>>> {
    let of_part = |part: &crate::scenario::Part| part.modes.iter().map(|mode| Grid::new(*mode)).collect();
    scenario.kinds.iter().map(|kind| kind.parts.iter().map(of_part).collect()).collect()
}

/// Plays one booth by every policy.
fn one(
    scenario: &Scenario,
    setting: &Setting,
    (ladder, grids): (&Ladder, &[Vec<Vec<Grid>>]),
    booth: usize,
) -> Vec<Tally> {
    let at = booth % scenario.kinds.len();
    let (kind, grids) = (&scenario.kinds[at], &grids[at]);
    let dice = Dice::of_booth(setting.seed, booth as u64);
    let truth = Truth::draw(scenario, kind, dice);
    let years = setting.years;
    let by = |policy: &PolicyKind| match policy {
        PolicyKind::Handbook => play(scenario, kind, &truth, dice, years, Handbook { kind }),
        PolicyKind::ToFailure => play(scenario, kind, &truth, dice, years, ToFailure),
        PolicyKind::Advice | PolicyKind::Careful => {
            let dread = if *policy == PolicyKind::Careful { setting.dread } else { 1.0 };
            let advice = Advice::learning(scenario, kind, (ladder, grids), truth.machines.len(), dread);
            play(scenario, kind, &truth, dice, years, advice)
        }
        PolicyKind::Told => {
            play(scenario, kind, &truth, dice, years, Advice::told(scenario, kind, ladder, &truth))
        }
    };
    setting.policies.iter().map(by).collect()
}
