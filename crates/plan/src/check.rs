//! Whether a model can be planned at all: names that are known, numbers that can be.

use crate::model::{Cost, Model, Work};
use serde::Serialize;
use std::collections::HashMap;
use std::fmt;
use units::Hours;

/// Something that is wrong with a model.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// Where: the list and the id in it.
    pub at: String,
    /// What is wrong, and what would be right.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.at, self.what)
    }
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ModelError {
    /// The model itself cannot be.
    #[error("the model is not in order: {}", told(.0))]
    Faulty(Vec<Fault>),
    /// What people fixed cannot all hold.
    #[error("these pins cannot hold: {}", told(.0))]
    Pins(Vec<Fault>),
    /// A choice that was to be counted breaks a rule of the model.
    #[error("these choices cannot be: {}", told(.0))]
    Choices(Vec<Fault>),
}

fn told(faults: &[Fault]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

/// Largest span or moment that is taken: about a thousand years of minutes, far from where sums could overflow.
const MOST_MINUTES: i64 = 1 << 29;
/// Most machines that one showing may ask for; a seat takes room of its own.
const MOST_SEATS: usize = 1000;
/// Most seats of all showings together.
const MOST_SEATS_IN_ALL: usize = 100_000;
/// Longest time at the bench: a month. The table of a session has a place for each of its minutes.
const MOST_SLOT_MINUTES: i64 = 31 * 24 * 60;
/// Largest cost that is taken, so that sums keep nine figures.
const MOST_COST: f64 = 1e12;

/// Where each id stands in its list.
pub(crate) struct Ids<'a> {
    pub places: HashMap<&'a str, usize>,
    pub machines: HashMap<&'a str, usize>,
    pub showings: HashMap<&'a str, usize>,
    pub slots: HashMap<&'a str, usize>,
    pub preparations: HashMap<&'a str, usize>,
    pub work: HashMap<&'a str, usize>,
}

/// Finds all faults of a model at once; returns where each id stands if there are none.
pub(crate) fn check(model: &Model) -> Result<Ids<'_>, ModelError> {
    let mut faults = Faults::default();
    let ids = Ids {
        places: faults.index("places", model.places.iter().map(|place| place.id.as_str())),
        machines: faults.index("machines", model.machines.iter().map(|machine| machine.id.as_str())),
        showings: faults.index("showings", model.showings.iter().map(|showing| showing.id.as_str())),
        slots: faults.index("slots", model.slots.iter().map(|slot| slot.id.as_str())),
        preparations: faults.index("preparations", model.preparations.iter().map(|it| it.id.as_str())),
        work: faults.index("work", model.work.iter().map(|work| work.id.as_str())),
    };
    journeys(&mut faults, model, &ids);
    machines_and_showings(&mut faults, model, &ids);
    benches(&mut faults, model, &ids);
    for work in &model.work {
        work_item(&mut faults, work, &ids);
    }
    for cost in [model.overdue_cost, model.unstaffed_cost].into_iter().flatten() {
        faults.cost("the model", "overdue_cost or unstaffed_cost", cost);
    }
    if faults.0.is_empty() { Ok(ids) } else { Err(ModelError::Faulty(faults.0)) }
}

fn journeys(faults: &mut Faults, model: &Model, ids: &Ids<'_>) {
    for journey in &model.journeys {
        let at = format!("journeys `{}`–`{}`", journey.from, journey.to);
        faults.known(&at, "place", &journey.from, &ids.places);
        faults.known(&at, "place", &journey.to, &ids.places);
        faults.span(&at, "minutes", journey.minutes.0);
        faults.cost(&at, "cost", journey.cost);
    }
}

fn machines_and_showings(faults: &mut Faults, model: &Model, ids: &Ids<'_>) {
    for machine in &model.machines {
        let at = format!("machines `{}`", machine.id);
        faults.known(&at, "place", &machine.home, &ids.places);
        faults.rate(&at, machine.stoppages_per_hour);
    }
    let seats = model.showings.iter().map(|showing| showing.machines).fold(0, usize::saturating_add);
    if seats > MOST_SEATS_IN_ALL {
        let what =
            format!("they ask for {seats} machines in all; one plan may have {MOST_SEATS_IN_ALL} at most");
        faults.add("showings", what);
    }
    for showing in &model.showings {
        let at = format!("showings `{}`", showing.id);
        faults.known(&at, "place", &showing.place, &ids.places);
        faults.moment(&at, "starts", showing.starts.0);
        faults.moment(&at, "ends", showing.ends.0);
        if showing.ends <= showing.starts {
            faults.add(&at, "it ends before it has begun; `ends` must be later than `starts`");
        }
        faults.hours(&at, "running_hours", showing.running_hours);
        if showing.machines == 0 {
            faults.add(&at, "`machines` is 0; a showing needs at least one");
        } else if showing.machines > MOST_SEATS {
            let asked = showing.machines;
            faults.add(&at, format!("`machines` is {asked}; a showing may ask for {MOST_SEATS} at most"));
        }
        faults.cost(&at, "stoppage_cost", showing.stoppage_cost);
    }
}

fn benches(faults: &mut Faults, model: &Model, ids: &Ids<'_>) {
    for slot in &model.slots {
        let at = format!("slots `{}`", slot.id);
        faults.known(&at, "place", &slot.place, &ids.places);
        if let Some(from) = &slot.comes_from {
            faults.known(&at, "place", from, &ids.places);
        }
        faults.moment(&at, "starts", slot.starts.0);
        faults.span(&at, "minutes", slot.minutes.0);
        if (MOST_SLOT_MINUTES + 1..=MOST_MINUTES).contains(&slot.minutes.0) {
            let asked = slot.minutes.0;
            let what = format!("`minutes` is {asked}; a slot may have {MOST_SLOT_MINUTES} at most, a month");
            faults.add(&at, what);
        }
        faults.cost(&at, "cost", slot.cost);
        faults.cost(&at, "cost_per_minute", slot.cost_per_minute);
    }
    for preparation in &model.preparations {
        let at = format!("preparations `{}`", preparation.id);
        faults.span(&at, "minutes", preparation.minutes.0);
        faults.cost(&at, "cost", preparation.cost);
    }
}

fn work_item(faults: &mut Faults, work: &Work, ids: &Ids<'_>) {
    let at = format!("work `{}`", work.id);
    faults.known(&at, "machine", &work.machine, &ids.machines);
    if let Some(preparation) = &work.preparation {
        faults.known(&at, "preparation", preparation, &ids.preparations);
    }
    faults.span(&at, "minutes", work.minutes.0);
    faults.cost(&at, "cost", work.cost);
    faults.cost(&at, "cost_per_hour_left", work.cost_per_hour_left);
    faults.hours(&at, "hours_since", work.hours_since);
    if let Some(limit) = work.limit_hours {
        faults.hours(&at, "limit_hours", limit);
    }
    if let Some(due) = work.due_by {
        faults.moment(&at, "due_by", due.0);
    }
    if let Some(limit) = work.limit_minutes {
        faults.span(&at, "limit_minutes", limit.0);
    }
    if let Some(life) = work.life {
        faults.hours(&at, "life.hours", life.hours);
        faults.cost(&at, "life.cost", life.cost);
        if life.hours.hours() <= 0.0 {
            faults.add(&at, "`life.hours` is 0; a part that has a life has some hours of it");
        }
    }
    for point in &work.risk {
        faults.hours(&at, "risk.hours", point.hours);
        faults.rate(&at, point.stoppages_per_hour);
    }
    let falls = |pair: &[crate::model::RiskPoint]| {
        pair[1].hours <= pair[0].hours || pair[1].stoppages_per_hour < pair[0].stoppages_per_hour
    };
    if work.risk.windows(2).any(falls) {
        faults.add(&at, "the points of `risk` must go on in hours, and the risk must not fall");
    }
}

/// What was found so far.
#[derive(Default)]
struct Faults(Vec<Fault>);

impl Faults {
    fn add(&mut self, at: &str, what: impl Into<String>) {
        self.0.push(Fault { at: at.to_owned(), what: what.into() });
    }

    fn index<'a>(&mut self, list: &str, ids: impl Iterator<Item = &'a str>) -> HashMap<&'a str, usize> {
        let mut index = HashMap::new();
        for (place, id) in ids.enumerate() {
            if index.insert(id, place).is_some() {
                self.add(&format!("{list} `{id}`"), "two have this id; each needs one of its own");
            }
        }
        index
    }

    fn known(&mut self, at: &str, kind: &str, id: &str, index: &HashMap<&str, usize>) {
        if !index.contains_key(id) {
            self.add(at, format!("there is no {kind} `{id}`"));
        }
    }

    fn span(&mut self, at: &str, field: &str, minutes: i64) {
        if !(0..=MOST_MINUTES).contains(&minutes) {
            self.add(at, format!("`{field}` is {minutes}; it must lie between 0 and {MOST_MINUTES} minutes"));
        }
    }

    fn moment(&mut self, at: &str, field: &str, minute: i64) {
        if !(-MOST_MINUTES..=MOST_MINUTES).contains(&minute) {
            self.add(at, format!("`{field}` is {minute}; it must lie within {MOST_MINUTES} minutes of zero"));
        }
    }

    fn hours(&mut self, at: &str, field: &str, hours: Hours) {
        if !(0.0..=MOST_MINUTES as f64 / 60.0).contains(&hours.hours()) {
            self.add(at, format!("`{field}` is {}; it must not be less than nothing", hours.hours()));
        }
    }

    fn cost(&mut self, at: &str, field: &str, cost: Cost) {
        if !(0.0..=MOST_COST).contains(&cost.0) {
            self.add(at, format!("`{field}` is {}; it must lie between 0 and {MOST_COST:e}", cost.0));
        }
    }

    fn rate(&mut self, at: &str, per_hour: f64) {
        if !(0.0..=60.0).contains(&per_hour) {
            let what = format!("stoppages per hour are {per_hour}; they must lie between 0 and 60");
            self.add(at, what);
        }
    }
}
