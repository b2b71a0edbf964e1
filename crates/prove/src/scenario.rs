//! What a booth is made of and how it is used: everything that the simulator must be told.

use serde::{Deserialize, Serialize};
use units::{Hours, Seconds};

/// Booths to prove advice on.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Scenario {
    /// Kinds of machines; each booth has machines of one kind, the kinds taking turns.
    pub kinds: Vec<Kind>,
    /// How booths are run.
    pub customs: Customs,
    /// What things cost.
    pub money: Money,
    /// How the hidden truth strays from what is thought.
    pub nature: Nature,
}

/// A kind of machine.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Kind {
    /// Its name.
    pub name: String,
    /// Machines work as a pair, reel by reel, so that a second one always stands ready.
    pub pair: bool,
    /// Parts whose end stops a showing.
    pub parts: Vec<Part>,
    /// Care that makes parts last.
    pub cares: Vec<Care>,
}

/// A part that wears out.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Part {
    /// Its name.
    pub name: String,
    /// The ways in which it comes to its end, each along a clock of its own; whichever comes first.
    pub modes: Vec<Mode>,
    /// How long the screen is dark while an operator mends it in a showing; none: not within a showing.
    pub mend: Option<Seconds>,
    /// Mending takes a spare.
    pub takes_spare: bool,
    /// Share of its failures that come at the strike.
    pub at_strike: f64,
    /// Minutes to change it beforehand; none: a technician's work.
    pub bench_minutes: Option<f64>,
    /// What it costs, in credits.
    pub credits: f64,
    /// Days until an ordered one comes.
    pub lead_days: f64,
    /// How many lie ready.
    pub carried: u32,
    /// When the handbook has it changed; none: never.
    pub interval: Option<Interval>,
    /// Care that bears on it, by place in the kind's list.
    pub cares: Vec<usize>,
}

/// A Weibull law along a clock, as it is thought to be before anything is known.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Mode {
    /// The clock.
    pub clock: Clock,
    /// Shape.
    pub shape: f64,
    /// Scale, on the clock.
    pub scale: f64,
}

/// What a part ages by.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Clock {
    /// Hours of running.
    Hours,
    /// Showings, each with one strike.
    Showings,
    /// Years.
    Years,
}

/// When the handbook has a part changed: by hours or years, whichever comes first.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Interval {
    /// After so many hours of running.
    pub hours: Option<f64>,
    /// After so many years.
    pub years: Option<f64>,
}

/// Care by hours or days, whichever comes first.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Care {
    /// Its name.
    pub name: String,
    /// Every so many hours of running.
    pub hours: Option<f64>,
    /// Every so many days.
    pub days: Option<f64>,
    /// How long it takes.
    pub minutes: f64,
}

/// How booths are run. All figures are our choice, no source.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Customs {
    /// Least and most machines of a booth.
    pub machines: (usize, usize),
    /// Least and most showings a week; booths lie between, evenly by ratio.
    pub showings_a_week: (f64, f64),
    /// Shortest and longest showing.
    pub length: (Hours, Hours),
    /// Least and most minutes that there are for work before the doors.
    pub minutes: (f64, f64),
    /// Where machines are not pairs: the share of showings with a second one threaded.
    pub threaded: f64,
    /// The share of care that is forgotten when it is due, and done somewhen before it is due again.
    pub forgotten: f64,
    /// Days until a technician comes.
    pub technician_days: f64,
    /// Minutes that a technician needs for a part.
    pub technician_minutes: f64,
    /// Hours of running after which a machine's readings are taken.
    pub reading_hours: f64,
}

impl Default for Customs {
    fn default() -> Self {
        Self {
            machines: (2, 6),
            showings_a_week: (0.5, 7.0),
            length: (Hours::new(1.2), Hours::new(2.6)),
            minutes: (10.0, 60.0),
            threaded: 0.25,
            forgotten: 0.1,
            technician_days: 5.0,
            technician_minutes: 60.0,
            reading_hours: 50.0,
        }
    }
}

/// What things cost, in the credits of the machine types. All figures are our choice, no source.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Money {
    /// A showing that is lost.
    pub lost: f64,
    /// A stoppage, however short.
    pub stoppage: f64,
    /// A minute of dark screen.
    pub dark_minute: f64,
    /// An operator's hour.
    pub operator_hour: f64,
    /// A technician's hour.
    pub technician_hour: f64,
    /// To have a technician come out of turn.
    pub call: f64,
}

impl Default for Money {
    fn default() -> Self {
        Self {
            lost: 400.0,
            stoppage: 20.0,
            dark_minute: 10.0,
            operator_hour: 15.0,
            technician_hour: 50.0,
            call: 60.0,
        }
    }
}

/// How the hidden truth strays from what is thought beforehand. All figures are our choice, no source.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Nature {
    /// Scales are up to so many times as long or as short as thought, all ratios between alike.
    pub astray: f64,
    /// Standard deviation of ln of a machine's own factor; with it a scale still is not further astray.
    pub machine_log_sd: f64,
    /// Overdue care multiplies the hazard by something between these; a booth has one factor.
    pub neglect: (f64, f64),
    /// Stoppages that no part explains, for each showing; a booth's own lie up to `astray` times off.
    pub unexplained: f64,
    /// How long such a stoppage lasts.
    pub unexplained_pause: Seconds,
    /// The chance that work leaves something loose, which stops the next showing.
    pub slip: f64,
    /// How long that stoppage lasts.
    pub slip_pause: Seconds,
    /// Hours in which a machine's adjustment drifts to its limit, as a rule; machines have their own.
    pub drift_hours: f64,
    /// Standard deviation of ln of a machine's drift.
    pub drift_log_sd: f64,
    /// Standard deviation of a reading, as a share of the limit.
    pub reading_sd: f64,
    /// The chance of a stoppage in a showing of a machine past its limit.
    pub past_limit: f64,
    /// How long that stoppage lasts, and the adjusting.
    pub adjusting: Seconds,
}

impl Default for Nature {
    fn default() -> Self {
        Self {
            astray: 2.0,
            machine_log_sd: 0.2,
            neglect: (1.5, 3.0),
            unexplained: 0.01,
            unexplained_pause: Seconds::new(120.0),
            slip: 0.01,
            slip_pause: Seconds::new(180.0),
            drift_hours: 400.0,
            drift_log_sd: 0.5,
            reading_sd: 0.05,
            past_limit: 0.05,
            adjusting: Seconds::new(600.0),
        }
    }
}

/// A scenario that cannot be played.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum ScenarioError {
    /// There is nothing to play with.
    #[error("a scenario needs at least one kind of machine, and each kind at least one part")]
    Empty,
    /// A number that must be positive is not.
    #[error("{what} of {part} must be a positive number, not {value}")]
    NotPositive {
        /// Which number.
        what: &'static str,
        /// Whose.
        part: String,
        /// What it was.
        value: f64,
    },
    /// A part names care that is not there.
    #[error("{part} names care {care}, and its kind has {n} kinds of care, counted from 0")]
    NoSuchCare {
        /// The part.
        part: String,
        /// The care.
        care: usize,
        /// How many there are.
        n: usize,
    },
    /// Two bounds stand the wrong way round, or are no bounds.
    #[error(
        "{what} must lie between a lower and a higher number, both at least nought, not {low} and {high}"
    )]
    Bounds {
        /// Which bounds.
        what: &'static str,
        /// The lower.
        low: f64,
        /// The higher.
        high: f64,
    },
}

impl Scenario {
    /// Booths of these kinds, run by the usual customs, with the usual money and nature.
    pub fn usual(kinds: Vec<Kind>) -> Self {
        Self { kinds, customs: Customs::default(), money: Money::default(), nature: Nature::default() }
    }

    /// Says what cannot be played.
    pub fn check(&self) -> Result<(), ScenarioError> {
        if self.kinds.is_empty() || self.kinds.iter().any(|kind| kind.parts.is_empty()) {
            return Err(ScenarioError::Empty);
        }
        for kind in &self.kinds {
            for part in &kind.parts {
                part.check(kind.cares.len())?;
            }
        }
        let (customs, nature) = (&self.customs, &self.nature);
        let (shortest, longest) = customs.length;
        let (fewest, most) = customs.machines;
        for (what, low, high) in [
            ("machines of a booth", fewest as f64, most as f64),
            ("showings a week", customs.showings_a_week.0, customs.showings_a_week.1),
            ("length of a showing", shortest.hours(), longest.hours()),
            ("minutes before the doors", customs.minutes.0, customs.minutes.1),
            ("the factor of neglect", nature.neglect.0, nature.neglect.1),
        ] {
            if !(low >= 0.0 && high >= low && high.is_finite()) {
                return Err(ScenarioError::Bounds { what, low, high });
            }
        }
        let positive = [
            ("least machines", fewest as f64),
            ("least showings a week", customs.showings_a_week.0),
            ("shortest showing", shortest.hours()),
            ("hours between readings", customs.reading_hours),
            ("factor of straying", nature.astray),
            ("hours of drift", nature.drift_hours),
        ];
        positive.into_iter().try_for_each(|(what, value)| positive_number(what, "the scenario", value))
    }
}

impl Part {
    fn check(&self, n_cares: usize) -> Result<(), ScenarioError> {
        if let Some(&care) = self.cares.iter().find(|care| **care >= n_cares) {
            return Err(ScenarioError::NoSuchCare { part: self.name.clone(), care, n: n_cares });
        }
        if self.modes.is_empty() {
            return Err(ScenarioError::Empty);
        }
        for mode in &self.modes {
            positive_number("shape", &self.name, mode.shape)?;
            positive_number("scale", &self.name, mode.scale)?;
        }
        for (what, value) in [
            ("the interval in hours", self.interval.and_then(|interval| interval.hours)),
            ("the interval in years", self.interval.and_then(|interval| interval.years)),
        ] {
            value.map_or(Ok(()), |value| positive_number(what, &self.name, value))?;
        }
        Ok(())
    }
}

fn positive_number(what: &'static str, part: &str, value: f64) -> Result<(), ScenarioError> {
    if value.is_finite() && value > 0.0 {
        return Ok(());
    }
    Err(ScenarioError::NotPositive { what, part: part.to_owned(), value })
}
