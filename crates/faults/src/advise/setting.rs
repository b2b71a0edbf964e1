//! Who stands at the machine, which clock runs, what a minute costs, and where an operator stops.

use crate::model::{Level, MachineState};
use serde::{Deserialize, Serialize};
use units::Probability;

/// Which clock runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Clock {
    /// An audience waits: only what may be done during a show, and a dark screen is dear.
    ShowRunning,
    /// The house is empty: the full diagnosis.
    AfterShow,
}

/// What things cost, in minutes of an operator's time after the show.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Costs {
    /// A minute of work while the machine runs.
    pub running_per_minute: f64,
    /// A minute of work while it stands.
    pub halted_per_minute: f64,
    /// Giving up: calling for service or, during a show, living with the symptom until its end.
    pub give_up: f64,
}

/// Where an operator stops.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// As soon as it is this likely to be an electrical, xenon or nitrate matter beyond the operator, nothing is
    /// advised any more that goes near that; with a symptom that endangers people, nothing at all.
    pub danger: Probability,
    /// Of all cases like this one, no more than this share is passed on though it is all the operator's own to mend and
    /// not everything was tried.
    pub needless: Probability,
}

/// Everything that advice depends on beside the model and the case.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// Who stands at the machine.
    pub who: Level,
    /// Which clock runs.
    pub clock: Clock,
    /// How the machine stood when the case began.
    pub start: MachineState,
    /// What things cost.
    pub costs: Costs,
    /// Where an operator stops.
    pub limits: Limits,
    /// The chance that a person answers a question wrongly, whatever the check is worth.
    pub slip: Probability,
    /// How much is reckoned ahead, in millions of steps; 6 take some hundredths of a second at most.
    pub look_ahead: f64,
}

/// A call for service, in minutes of an operator's time (common practice, no source).
const SERVICE_CALL: f64 = 240.0;
/// A minute of dark screen with an audience, in minutes of an operator's time after the show (common practice, no
/// source).
const DARK_MINUTE: f64 = 10.0;
/// Living with the symptom until the end of the show, in the same minutes (common practice, no source).
const LIVE_WITH_IT: f64 = 60.0;

impl Setting {
    /// After the show: an operator, the machine stopped, a minute is a minute.
    pub fn after_show() -> Self {
        Self {
            who: Level::Operator,
            clock: Clock::AfterShow,
            start: MachineState::Stopped,
            costs: Costs { running_per_minute: 1.0, halted_per_minute: 1.0, give_up: SERVICE_CALL },
            limits: Limits { danger: Probability::clamped(0.5), needless: Probability::clamped(0.015) },
            slip: Probability::clamped(0.01),
            look_ahead: 6.0,
        }
    }

    /// In the middle of a show: an operator, the machine running, a dark screen ten times as dear.
    pub fn show_running() -> Self {
        Self {
            clock: Clock::ShowRunning,
            start: MachineState::Running,
            costs: Costs { running_per_minute: 1.0, halted_per_minute: DARK_MINUTE, give_up: LIVE_WITH_IT },
            ..Self::after_show()
        }
    }
}
