//! How many of an item will be wanted before an order could bring more.

use super::{served::Place, used::Used};
use crate::{
    due::{Desk, DueItem},
    lived::{Belief, Beliefs, Entered, age_on},
    outlook::Rests,
};
use ::lives::{
    bayes::Posterior,
    spares::{Demand, Shelf, Spot},
};
use logbook::MachineId;
use machine::{CareKind, Clock, LifeClock, Trigger};
use std::sync::Arc;

/// So many places are weighed one by one; a depot with more goes by its own record of use.
pub const MOST_PLACES: usize = 64;
const DAYS_PER_YEAR: f64 = 365.25;

/// What a demand rests on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum NeedRests {
    /// The lives of the parts that are fitted.
    Lives(Rests),
    /// What was used, by the record: so many.
    Record(u64),
    /// Only what is planned.
    Plan,
}

/// What is wanted of an item over a time.
#[derive(Clone, Debug)]
pub(super) struct Wanted {
    pub demand: Demand,
    /// Planned changes in that time.
    pub planned: usize,
    pub rests: NeedRests,
}

/// Everything that demands are reckoned from.
pub(super) struct Reckoner<'d, 'a> {
    pub desk: &'d Desk<'a>,
    pub beliefs: &'d Beliefs<'a>,
    pub due: &'d [DueItem<'a>],
}

impl<'a> Reckoner<'_, 'a> {
    /// What parts that end their lives, and planned changes, want over so many days.
    pub fn of_spare(&self, places: &[&Place<'a>], used: &Used, days: f64) -> Option<Wanted> {
        let changed = |place: &Place<'_>| self.change_is_due(place.machine, place.life.slot.as_str(), days);
        let mut planned: Vec<(&MachineId, &str)> = places
            .iter()
            .filter(|place| changed(place))
            .map(|place| (place.machine, place.life.slot.as_str()))
            .collect();
        planned.sort_unstable();
        planned.dedup();
        let failing: Vec<&Place<'a>> = places.iter().filter(|place| !changed(place)).copied().collect();
        if failing.len() > MOST_PLACES {
            return Self::of_record(used, days);
        }
        let shelves: Vec<(Arc<Belief>, Spot)> =
            failing.iter().filter_map(|place| self.shelf(place, days)).collect();
        if shelves.is_empty() && planned.is_empty() {
            return Self::of_record(used, days);
        }
        let shared: Vec<Shelf<'_>> =
            shelves.iter().map(|(belief, spot)| Shelf { belief, spots: vec![*spot] }).collect();
        let demand = Demand::of_shelves(&shared).and(&Demand::certain(planned.len()));
        let rests = rests(shelves.iter().map(|(belief, _)| -> &Posterior { belief }));
        Some(Wanted {
            demand,
            planned: planned.len(),
            rests: rests.map_or(NeedRests::Plan, NeedRests::Lives),
        })
    }

    /// What goes by its record of use alone.
    pub fn of_record(used: &Used, days: f64) -> Option<Wanted> {
        (used.in_all > 0).then(|| Wanted {
            demand: Demand::as_recorded(used.in_all as f64, used.watched_days.max(1.0), days),
            planned: 0,
            rests: NeedRests::Record(used.in_all),
        })
    }

    /// What care uses up over so many days: as much a deed as it was by the record.
    pub fn of_consumable(&self, id: &str, used: &Used, days: f64) -> Option<Wanted> {
        let (done, to_come) = (self.deeds_done(id), self.deeds_to_come(id, days));
        if used.in_all == 0 || done == 0.0 {
            return Self::of_record(used, days);
        }
        Some(Wanted {
            demand: Demand::as_recorded(used.in_all as f64, done, to_come),
            planned: 0,
            rests: NeedRests::Record(used.in_all),
        })
    }

    /// How many deeds of care that use a consumable fall into so many days.
    pub fn deeds_to_come(&self, id: &str, days: f64) -> f64 {
        let uses = |item: &&DueItem<'_>| item.task.uses.iter().any(|own| own.as_str() == id);
        let by_clock: f64 = self
            .due
            .iter()
            .filter(uses)
            .filter_map(|item| {
                let first = f64::from(item.forecast_in_days()?.max(0));
                if first > days {
                    return None;
                }
                let again = self.days_between(item).map_or(0.0, |between| ((days - first) / between).floor());
                Some(1.0 + again)
            })
            .sum();
        by_clock + self.deeds_at_showings(id, days)
    }

    /// Days from one deed of a task to the next.
    fn days_between(&self, item: &DueItem<'_>) -> Option<f64> {
        let every = item.task.every?;
        let by_days = every.days.map(f64::from);
        let at = self.desk.booth.machines.get_index_of(item.machine)?;
        let amount = every.hours.map(units::Hours::hours).or(every.strikes.map(f64::from));
        let by_clock = amount.map(|amount| amount / self.desk.per_day(at, every.clock));
        by_days.into_iter().chain(by_clock).filter(|days| *days > 0.0).min_by(f64::total_cmp)
    }

    fn deeds_at_showings(&self, id: &str, days: f64) -> f64 {
        let at_showings = [Trigger::BeforeShowing, Trigger::AfterShowing, Trigger::EveryReel];
        let machines = self.desk.booth.machines.iter().enumerate();
        machines
            .filter(|(_, (_, machine))| machine.retired.is_none())
            .filter_map(|(at, (_, machine))| {
                let tasks = self.desk.kind_of(machine)?.care.iter().filter(|task| {
                    task.uses.iter().any(|own| own.as_str() == id)
                        && at_showings.iter().any(|trigger| task.answers(*trigger))
                });
                Some(tasks.count() as f64 * self.span(at, LifeClock::Showings, days))
            })
            .sum()
    }

    /// How many deeds of care that use a consumable the logbook knows.
    fn deeds_done(&self, id: &str) -> f64 {
        let machines = self
            .desk
            .booth
            .machines
            .values()
            .filter_map(|machine| Some((machine, self.desk.kind_of(machine)?)));
        let done = machines.flat_map(|(machine, kind)| {
            machine.care.iter().filter(move |(point, _)| {
                kind.task(point.task.as_str())
                    .is_some_and(|task| task.uses.iter().any(|own| own.as_str() == id))
            })
        });
        done.map(|(_, record)| f64::from(record.times)).sum()
    }

    fn shelf(&self, place: &Place<'a>, days: f64) -> Option<(Arc<Belief>, Spot)> {
        let span = self.span(place.at, place.life.clock, days);
        if place.life.clock == LifeClock::Operations {
            return None;
        }
        let booth = self.desk.booth;
        let fitted =
            place.about.fitted.get(place.life.slot.as_str()).and_then(|id| booth.parts.get_key_value(id));
        let age = fitted.and_then(|(id, part)| age_on(booth, id, part, place.life, &self.desk.now));
        let age = match age.unwrap_or(Entered::Within(0.0, place.life.scale)) {
            Entered::At(age) => (age, age),
            Entered::Within(low, high) => (low, high),
        };
        Some((self.beliefs.of(place.kind, place.life, place.machine), Spot { age, span }))
    }

    /// How far a clock of a machine goes in so many days: as the diary has it, and past its end as it went of late.
    fn span(&self, at: usize, clock: LifeClock, days: f64) -> f64 {
        if clock == LifeClock::Years {
            return days / DAYS_PER_YEAR;
        }
        let today = self.desk.now.day;
        let turns = self.desk.turns().of(at);
        let inside = turns.iter().take_while(|turn| f64::from(turn.day.since(today)) <= days);
        let (count, hours) = inside.fold((0.0, 0.0), |(count, _), turn| (count + 1.0, turn.hours_by_end));
        let diary_days = turns.last().map_or(0.0, |last| f64::from(last.day.since(today).max(0)));
        let beyond = (days - diary_days).max(0.0);
        let per_day = |clock| self.desk.per_day(at, clock);
        match clock {
            LifeClock::Hours => hours + beyond * per_day(Clock::Running),
            LifeClock::LampHours => hours + beyond * per_day(Clock::Lamp),
            LifeClock::Strikes | LifeClock::Showings => count + beyond * per_day(Clock::Strikes),
            LifeClock::Years | LifeClock::Operations => 0.0,
        }
    }

    fn change_is_due(&self, machine: &MachineId, slot: &str, days: f64) -> bool {
        self.due.iter().any(|item| {
            item.task.kind == CareKind::Replace
                && item.machine == machine
                && item.slot().is_some_and(|own| own.as_str() == slot)
                && item.forecast_in_days().is_some_and(|due| f64::from(due) <= days)
        })
    }
}

/// What several beliefs rest on together.
fn rests<'b>(beliefs: impl Iterator<Item = &'b Posterior>) -> Option<Rests> {
    let mut all: Option<Rests> = None;
    for belief in beliefs {
        let own =
            Rests { failures: belief.failures(), lives: belief.n(), from_data: belief.share_from_data() };
        all = Some(all.map_or(own, |all| Rests {
            failures: all.failures.max(own.failures),
            lives: all.lives.max(own.lives),
            from_data: all.from_data.min(own.from_data),
        }));
    }
    all
}
