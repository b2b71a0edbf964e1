//! What the plan is made from. The file form is the same, field by field; docs/plan.md describes it.

use serde::{Deserialize, Serialize};
use units::Hours;

/// A moment: whole minutes since the plan's zero, which is whenever the asker says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Moment(pub i64);

/// A span of whole minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Minutes(pub i64);

/// A cost, in whatever one unit the asker counts in (money, or minutes of a dark screen).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Cost(pub f64);

impl std::ops::Add for Cost {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl std::ops::AddAssign for Cost {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

/// A diary to plan over.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// Where machines live, where they show, where benches stand.
    pub places: Vec<Place>,
    /// The ways between places; a way that is not named cannot be gone.
    #[serde(default)]
    pub journeys: Vec<Journey>,
    /// The machines.
    pub machines: Vec<Machine>,
    /// The showings.
    #[serde(default)]
    pub showings: Vec<Showing>,
    /// When people have time at a bench.
    #[serde(default)]
    pub slots: Vec<Slot>,
    /// What opens a machine for several pieces of work at once.
    #[serde(default)]
    pub preparations: Vec<Preparation>,
    /// Care and planned replacements.
    #[serde(default)]
    pub work: Vec<Work>,
    /// What a person has fixed.
    #[serde(default)]
    pub pins: Vec<Pin>,
    /// What one showing on a machine with one piece of work past its limit counts; left out: as much as
    /// ten sure stoppages and more, so that it happens only where it cannot be helped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overdue_cost: Option<Cost>,
    /// What one machine too few at a showing counts; left out: a hundred overdue runs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unstaffed_cost: Option<Cost>,
}

/// A place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Its id.
    pub id: String,
}

/// A way from one place to another, the same in both directions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Journey {
    /// One end.
    pub from: String,
    /// The other end.
    pub to: String,
    /// How long one way takes.
    pub minutes: Minutes,
    /// What one way costs.
    pub cost: Cost,
}

/// A machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Machine {
    /// Its id.
    pub id: String,
    /// The place where it lives and is worked on.
    pub home: String,
    /// Whether it may run at all.
    #[serde(default = "yes")]
    pub fit: bool,
    /// What it can do: gauges and whatever else a showing may need.
    #[serde(default)]
    pub can: Vec<String>,
    /// Stoppages per running hour that no planned work changes.
    #[serde(default)]
    pub stoppages_per_hour: f64,
}

/// A showing; what one machine plays on one journey (a matinée and an evening) is one showing with the hours of both.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Showing {
    /// Its id.
    pub id: String,
    /// Where.
    pub place: String,
    /// From when the machine is needed there.
    pub starts: Moment,
    /// Until when.
    pub ends: Moment,
    /// How long each of its machines runs; counted in whole minutes.
    pub running_hours: Hours,
    /// What its machines must be able to do.
    #[serde(default)]
    pub needs: Vec<String>,
    /// How many machines it needs (two for changeovers).
    #[serde(default = "one")]
    pub machines: usize,
    /// What a stoppage costs.
    pub stoppage_cost: Cost,
}

/// A time at which somebody can work at a bench, on machines that live there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slot {
    /// Its id.
    pub id: String,
    /// Where the bench is.
    pub place: String,
    /// From when.
    pub starts: Moment,
    /// How long the person has, with the way there and back where `comes_from` is given.
    pub minutes: Minutes,
    /// Who works.
    #[serde(default)]
    pub who: String,
    /// What they may do: work of this level and below.
    #[serde(default)]
    pub level: u32,
    /// From where they come, if they are not there anyway.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub comes_from: Option<String>,
    /// What the session costs if there is one, besides the journey.
    #[serde(default)]
    pub cost: Cost,
    /// What a minute of work costs.
    #[serde(default)]
    pub cost_per_minute: Cost,
}

/// What must be done once in a session before any work of its group (take the machine down, open it, warm it up).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Preparation {
    /// Its id.
    pub id: String,
    /// How long it takes.
    pub minutes: Minutes,
    /// What it costs besides the minutes.
    #[serde(default)]
    pub cost: Cost,
}

/// A piece of care or a planned replacement, which may be done several times.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Work {
    /// Its id.
    pub id: String,
    /// On which machine.
    pub machine: String,
    /// How long it takes, without the preparation.
    pub minutes: Minutes,
    /// What level it asks of the person.
    #[serde(default)]
    pub level: u32,
    /// Its preparation, shared in a session with the machine's other work of the same preparation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub preparation: Option<String>,
    /// What doing it costs in parts and stuff, besides the minutes.
    #[serde(default)]
    pub cost: Cost,
    /// Running hours since it was last done, at the plan's zero; counted in whole minutes.
    #[serde(default)]
    pub hours_since: Hours,
    /// The machine must not run past so many hours since it was last done.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_hours: Option<Hours>,
    /// The machine must not run after this moment unless the work was done in the plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_by: Option<Moment>,
    /// Once done, it holds for so long.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_minutes: Option<Minutes>,
    /// What is thrown away when it is done early.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub life: Option<Life>,
    /// Stoppages per running hour by hours since it was last done: straight lines between the points, level before
    /// the first and after the last; never falling.
    #[serde(default)]
    pub risk: Vec<RiskPoint>,
    /// What each hour since it was last done counts at the end of the plan, so that work is not put off past the end.
    #[serde(default)]
    pub cost_per_hour_left: Cost,
}

impl Work {
    /// Returns whether anything about it depends on how many hours the machine has run since it was done.
    pub fn minds_hours(&self) -> bool {
        let grows = self.risk.windows(2).any(|pair| pair[1].stoppages_per_hour > pair[0].stoppages_per_hour);
        grows || self.limit_hours.is_some() || self.life.is_some() || self.cost_per_hour_left.0 > 0.0
    }
}

/// The life that a part has, and what the part cost: done after `h` hours, `cost × (1 − h / hours)` is thrown away.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Life {
    /// How long it would have lasted.
    pub hours: Hours,
    /// What the whole life is worth.
    pub cost: Cost,
}

/// A point of the curve of risk.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RiskPoint {
    /// Hours since the work was last done.
    pub hours: Hours,
    /// Stoppages per running hour.
    pub stoppages_per_hour: f64,
}

/// A choice that a person has fixed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Pin {
    /// This machine runs at this showing.
    Runs {
        /// The showing.
        showing: String,
        /// The machine.
        machine: String,
    },
    /// This machine does not run at this showing.
    StaysOut {
        /// The showing.
        showing: String,
        /// The machine.
        machine: String,
    },
    /// This work is done in this slot.
    DoneIn {
        /// The work.
        work: String,
        /// The slot.
        slot: String,
    },
    /// This work is not done in this slot.
    NotIn {
        /// The work.
        work: String,
        /// The slot.
        slot: String,
    },
    /// This work is done in no slot but those that `done_in` names for it.
    NowhereElse {
        /// The work.
        work: String,
    },
}

fn yes() -> bool {
    true
}

fn one() -> usize {
    1
}
