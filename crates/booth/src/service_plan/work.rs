//! Care that falls due, as work of the model.

use super::model::{Clock, PlannedTime};
use crate::due::{DueItem, DueState};
use machine::{Clock as Counter, PartGroup};
use plan::{Cost, Life, Minutes, Moment, Work};
use units::Hours;

const DAY_MINUTES: i64 = 1440;

/// The key of the state in which care wants the machine: work with the same key shares the preparation.
pub(super) fn preparation(item: &DueItem<'_>) -> String {
    let group: Option<PartGroup> = item.part().map(|part| part.group);
    let open = group.map(|group| format!(", {group}")).unwrap_or_default();
    format!("{}{open}", item.task.state)
}

/// Whether care falls due within the plan, by what its machine will run and by the calendar.
pub(super) fn falls_due(item: &DueItem<'_>, time: &PlannedTime) -> bool {
    let pressing = matches!(item.state, DueState::Overdue | DueState::Due | DueState::Soon);
    let by_day = item.remaining_days().is_some_and(|days| days < time.days);
    pressing
        || item.called_by.is_some()
        || by_day
        || hours_left(item, time).is_some_and(|left| left <= time.hours)
}

/// Hours of running that are left, whatever counter they are told by.
fn hours_left(item: &DueItem<'_>, time: &PlannedTime) -> Option<f64> {
    match item.clock {
        Counter::Strikes => item.remaining_strikes().map(|left| left as f64 * time.hours_a_showing),
        _ => item.remaining_hours().map(Hours::hours),
    }
}

/// The whole interval in hours of running.
fn interval(item: &DueItem<'_>, time: &PlannedTime) -> Option<f64> {
    let every = item.task.every.as_ref()?;
    let strikes = every.strikes.map(|strikes| f64::from(strikes) * time.hours_a_showing);
    every.hours.map(Hours::hours).or(strikes)
}

/// The piece of work that care makes: its limits by hours and by days, and what doing it early throws away.
pub(super) fn work(id: &str, item: &DueItem<'_>, time: &PlannedTime, clock: &Clock) -> Work {
    let left = hours_left(item, time);
    let limit = left.map(|left| interval(item, time).unwrap_or(left).max(left).max(1.0));
    let since = limit.zip(left).map_or(0.0, |(limit, left)| limit - left);
    let minutes = item.task.minutes();
    let due = item.remaining_days().map(|days| clock.end_of(clock.today.plus(days)));
    let again = item.task.every.as_ref().and_then(|every| every.days).map(i64::from);
    Work {
        id: id.to_owned(),
        machine: item.machine.to_string(),
        minutes: Minutes(whole_minutes(minutes)),
        level: 0,
        preparation: Some(preparation(item)),
        cost: Cost(0.0),
        hours_since: Hours::new(since.max(0.0)),
        limit_hours: limit.map(Hours::new),
        due_by: if item.called_by.is_some() { Some(Moment(0)) } else { due.map(Moment) },
        // Care that comes back only after the plan's end is done once in it.
        limit_minutes: again
            .filter(|days| *days < i64::from(time.days))
            .map(|days| Minutes(days * DAY_MINUTES)),
        life: limit.map(|limit| Life { hours: Hours::new(limit), cost: Cost(minutes) }),
        risk: Vec::new(),
        cost_per_hour_left: Cost(limit.map_or(0.0, |limit| minutes / limit)),
    }
}

/// Minutes are whole in the plan; none takes no time at all.
pub(super) fn whole_minutes(minutes: f64) -> i64 {
    (minutes.ceil() as i64).max(1)
}
