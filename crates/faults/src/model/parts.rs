//! What a trouble model is made of.

use super::ids::{AccessId, CauseId, CheckId, RemedyId, SymptomId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use units::{Probability, Seconds};

/// Who may do something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// Anyone who runs shows.
    Operator,
    /// A qualified technician only.
    Technician,
}

/// Where a cause lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CauseKind {
    /// In the machine.
    Machine,
    /// In the print.
    Print,
    /// In the room: supply, loudspeaker line, air.
    Room,
    /// In what somebody did.
    People,
}

/// How a cause, or work on it, can hurt somebody or something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hazard {
    /// Live parts.
    Electrical,
    /// Hot parts.
    Hot,
    /// A xenon lamp: pressure, light, ozone.
    Xenon,
    /// Nitrate film: fire.
    Nitrate,
    /// Parts that move.
    Moving,
    /// The film itself is in danger.
    Film,
}

impl Hazard {
    /// True for what an operator leaves alone altogether.
    pub const fn stops_an_operator(self) -> bool {
        matches!(self, Self::Electrical | Self::Xenon | Self::Nitrate)
    }
}

/// Something that can be wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cause {
    /// Its name.
    pub id: CauseId,
    /// How likely it has come up since the machine last ran well, before anything is known.
    pub prior: Probability,
    /// Who may put it right.
    pub level: Level,
    /// Where it lies.
    pub kind: CauseKind,
    /// How it can hurt.
    #[serde(default)]
    pub hazards: BTreeSet<Hazard>,
}

/// How surely a cause brings a symptom about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Link {
    /// The cause.
    pub cause: CauseId,
    /// The chance that it shows this symptom when it is there.
    pub strength: Probability,
}

/// Something that is noticed: a noisy-OR of its causes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Symptom {
    /// Its name.
    pub id: SymptomId,
    /// The chance that it comes up for no listed cause.
    pub leak: Probability,
    /// Its causes, in the order in which they are printed.
    pub links: Vec<Link>,
    /// How it can hurt, before any cause is known; it calls for stopping first.
    #[serde(default)]
    pub stop_now: BTreeSet<Hazard>,
}

/// How far the machine must be brought down for some work; each but [`Self::Running`] serves the ones before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MachineState {
    /// Running, or ready to run.
    Running,
    /// Stopped.
    Stopped,
    /// Stopped and unplugged.
    Unplugged,
    /// Unplugged and cooled.
    Cooled,
}

/// What a check or remedy asks of hands and machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Work {
    /// How long it takes once all is prepared.
    pub time: Seconds,
    /// How far the machine must be brought down.
    pub state: MachineState,
    /// What must be open.
    #[serde(default)]
    pub access: Option<AccessId>,
    /// Who may do it.
    pub level: Level,
    /// Whether it may be done while an audience waits.
    #[serde(default)]
    pub during_show: bool,
    /// Cautions that belong to it: keys of texts that the faces know.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// How the work itself can hurt.
    #[serde(default)]
    pub hazards: BTreeSet<Hazard>,
}

/// What kind of check it is; the first are trusted least where answers contradict each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CheckKind {
    /// A question about what was noticed: only while running, only at the start, worse when warm, only this print.
    Question,
    /// The same with another print, lamp, cable or spool.
    Swap,
    /// A look, a touch or a sound.
    Look,
    /// A reading of an instrument or gauge.
    Measure,
}

/// How a check answers when one cause, and no other, is there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Answers {
    /// The cause.
    pub cause: CauseId,
    /// The chance of a yes.
    pub yes: Probability,
}

/// A question or check with a yes or a no.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Its name.
    pub id: CheckId,
    /// What kind of check.
    pub kind: CheckKind,
    /// The causes that it tells about: a yes is likelier with one than without (a sensitivity), or less likely.
    pub answers: Vec<Answers>,
    /// The chance of a yes when none of these causes is there (the false alarms).
    pub otherwise: Probability,
    /// What it takes.
    pub work: Work,
    /// The symptoms with which it makes sense; none named: with all.
    #[serde(default)]
    pub about: Vec<SymptomId>,
}

/// How surely a remedy cures one cause.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cure {
    /// The cause.
    pub cause: CauseId,
    /// The chance that it is gone afterwards.
    pub success: Probability,
}

/// Something that may cure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Remedy {
    /// Its name.
    pub id: RemedyId,
    /// What it cures.
    pub cures: Vec<Cure>,
    /// What it takes.
    pub work: Work,
    /// The spare that it uses: a key that the stock knows.
    #[serde(default)]
    pub spare: Option<String>,
}

/// A place that is opened once for several checks and remedies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Access {
    /// Its name.
    pub id: AccessId,
    /// How long opening takes.
    pub open: Seconds,
    /// How long closing takes; the machine runs only closed.
    pub close: Seconds,
}

/// How long it takes to bring the machine down and up again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Preparation {
    /// From running to stopped.
    pub stop: Seconds,
    /// From stopped to unplugged.
    pub unplug: Seconds,
    /// From unplugged to cool.
    pub cool: Seconds,
    /// From unplugged to stopped.
    pub plug_in: Seconds,
    /// From stopped to running, with film in: what a test takes, too.
    pub start: Seconds,
    /// The places that are opened.
    pub access: Vec<Access>,
}

impl Default for Preparation {
    /// Stop and start in seconds, cool in ten minutes (common practice, no source).
    fn default() -> Self {
        Self {
            stop: Seconds::new(10.0),
            unplug: Seconds::new(20.0),
            cool: Seconds::from_minutes(10.0),
            plug_in: Seconds::new(20.0),
            start: Seconds::new(30.0),
            access: Vec::new(),
        }
    }
}

/// All parts of a model, not yet checked.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModelParts {
    /// What can be wrong.
    pub causes: Vec<Cause>,
    /// What is noticed.
    pub symptoms: Vec<Symptom>,
    /// What can be asked and looked at.
    pub checks: Vec<Check>,
    /// What may cure.
    pub remedies: Vec<Remedy>,
    /// Bringing the machine down and up.
    #[serde(default)]
    pub preparation: Preparation,
}
