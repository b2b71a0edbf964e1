//! Figures for pictures: hours by week, due dates along a time line.

use crate::{
    answer::{Answer, Caveat, CaveatKind, Ground},
    day::{Day, Now},
    due::{DueItem, due},
    known::{NotKnown, find_machine},
};
use jiff::{ZonedDateTime, civil};
use logbook::{Booth, fact::RunKind};
use machine::Library;
use serde::Serialize;
use units::Hours;

/// What a machine ran in one week.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct WeekHours {
    /// The Monday with which the week begins (ISO 8601).
    pub week_begins: civil::Date,
    /// Hours in showings.
    #[serde(rename = "showing_hours")]
    pub showing: Hours,
    /// Hours in rehearsals and tests.
    #[serde(rename = "testing_hours")]
    pub testing: Hours,
    /// Hours of rewinding.
    #[serde(rename = "rewinding_hours")]
    pub rewinding: Hours,
}

/// Returns what a machine ran in each of the last weeks, this one last; a week without a run is there with nothing.
pub fn hours_by_week(
    booth: &Booth,
    machine: &str,
    weeks: u16,
    now: &ZonedDateTime,
) -> Result<Answer<Vec<WeekHours>>, NotKnown> {
    let (_, id, machine) = find_machine(booth, machine)?;
    let now = Now::new(now, &booth.settings);
    let this_week = monday(now.day);
    let first = this_week.plus(-7 * (i32::from(weeks) - 1));
    let mut value: Vec<WeekHours> =
        (0..i32::from(weeks)).map(|week| WeekHours::of(first.plus(7 * week))).collect();
    for run in &machine.runs {
        let week = now.day_of(run.at).since(first).div_euclid(7);
        if let Some(week) = usize::try_from(week).ok().and_then(|week| value.get_mut(week)) {
            week.count(run.run, run.hours);
        }
    }
    let caveats = estimated(booth.machine_name(id), machine.clocks.estimated);
    let because = machine.meter.as_ref().map(|meter| Ground::Entry {
        entry: meter.entry,
        words: format!("hour meter last read on {}", meter.at.date()).into(),
    });
    Ok(Answer { value, because: because.into_iter().collect(), caveats: caveats.into_iter().collect() })
}

fn estimated(name: &str, hours: Hours) -> Option<Caveat> {
    let words = format!("{hours:.0} of the hours run of {name} are estimates, not read from a meter.");
    (hours.hours() > 0.0).then(|| Caveat::new(CaveatKind::EstimatedHours, words))
}

/// The Monday of a day's week.
fn monday(day: Day) -> Day {
    day.plus(-i32::from(day.date().weekday().to_monday_zero_offset()))
}

impl WeekHours {
    fn of(monday: Day) -> Self {
        Self {
            week_begins: monday.date(),
            showing: Hours::ZERO,
            testing: Hours::ZERO,
            rewinding: Hours::ZERO,
        }
    }

    fn count(&mut self, run: RunKind, hours: Hours) {
        match run {
            RunKind::Showing => self.showing += hours,
            RunKind::Rehearsal | RunKind::Test => self.testing += hours,
            RunKind::Rewind => self.rewinding += hours,
        }
    }
}

/// A due date on a time line.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct DueMark<'a> {
    /// The day on which it falls due; today if it is due already.
    pub date: civil::Date,
    /// The care.
    pub item: DueItem<'a>,
}

/// Returns what falls due within so many days, in order of time; one machine's, or every machine's that may be used.
pub fn due_timeline<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: Option<&str>,
    days: u16,
    now: &ZonedDateTime,
) -> Result<Answer<Vec<DueMark<'a>>>, NotKnown> {
    let answer = match machine {
        Some(machine) => crate::due::due_for(booth, library, machine, now)?,
        None => due(booth, library, now),
    };
    let near = |item: &DueItem<'_>| item.forecast_in_days().is_some_and(|in_days| in_days <= i32::from(days));
    Ok(answer.map(|items| {
        let mut marks: Vec<DueMark<'a>> = items
            .into_iter()
            .filter(near)
            .filter_map(|item| Some(DueMark { date: item.forecast_date()?, item }))
            .collect();
        marks.sort_by_key(|mark| (mark.date, mark.item.state));
        marks
    }))
}
