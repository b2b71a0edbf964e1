//! Counting one machine's care: what was last done, what is left, where it stands.

use super::{
    forecast::{Standing, forecast},
    item::{DueItem, DueState, NO_DAYS, NOT_INSIDE, Since},
    type_plan::{TaskPlan, TypePlan},
    usage::Usage,
};
use crate::{
    coming::Turn,
    day::{Now, days_between_ms, whole},
    join,
};
use logbook::{
    Booth, MachineId, PartId, When,
    booth::{CareRecord, Clocks, Deferral, Machine, PartLife, Stint},
    fact::{Ending, Outcome},
    ids::SlotId,
};
use machine::{CareKind, Clock, MachineState, Trigger};
use rustc_hash::FxHashMap;

/// Grace and warning: a tenth of the hours (common practice, no source).
const GRACE_SHARE: f64 = 0.1;
/// Grace and warning: a week (common practice, no source).
const GRACE_DAYS: i32 = 7;

/// One machine, ready to be counted.
pub(crate) struct Subject<'t, 'a> {
    pub id: &'a MachineId,
    pub machine: &'a Machine,
    pub booth: &'a Booth,
    pub plan: &'t TypePlan<'a>,
    pub turns: &'t [Turn<'a>],
    /// When a projection lamp of this machine last died early.
    pub early_death: Option<When>,
    pub now: &'t Now,
}

/// What is kept from one machine to the next, so that nothing is allocated for each.
#[derive(Default)]
pub(crate) struct Scratch<'a> {
    done: Vec<Option<&'a CareRecord>>,
    done_at_slots: Vec<(usize, &'a SlotId, &'a CareRecord)>,
    deferred: Vec<Option<&'a Deferral>>,
}

/// True for a look or deed that counts as done.
pub(crate) const fn counts(outcome: Outcome) -> bool {
    matches!(outcome, Outcome::Fine | Outcome::Done | Outcome::Attention)
}

/// What was last done and what is put off, by the place of each task in the type's list.
impl<'a> Scratch<'a> {
    pub fn gather(&mut self, plan: &TypePlan<'a>, machine: &'a Machine) {
        self.clear(plan.tasks.len());
        for (point, record) in machine.care.iter().filter(|(_, record)| counts(record.outcome)) {
            let Some(at) = plan.kind.task_position(point.task.as_str()) else { continue };
            match &point.slot {
                None => self.done[at] = Some(record),
                Some(slot) => self.done_at_slots.push((at, slot, record)),
            }
        }
        self.settle_slots(plan);
        for (point, deferral) in &machine.deferred {
            if let Some(at) = plan.kind.task_position(point.task.as_str()) {
                self.deferred[at] = Some(deferral);
            }
        }
    }

    fn clear(&mut self, n_tasks: usize) {
        self.done.clear();
        self.done.resize(n_tasks, None);
        self.deferred.clear();
        self.deferred.resize(n_tasks, None);
        self.done_at_slots.clear();
    }

    /// A task that was done slot by slot counts from the slot that was done longest ago, once all of them were.
    fn settle_slots(&mut self, plan: &TypePlan<'a>) {
        self.done_at_slots.sort_unstable_by_key(|(at, ..)| *at);
        for same in self.done_at_slots.chunk_by(|(a, ..), (b, ..)| a == b) {
            let at = same[0].0;
            let at_slot = |slot: &machine::SlotId| {
                same.iter().find(|(_, own, _)| own.as_str() == slot.as_str()).map(|(.., record)| *record)
            };
            let each: Option<Vec<&CareRecord>> = plan.tasks[at].task.parts.iter().map(at_slot).collect();
            let oldest = each.and_then(|each| each.into_iter().min_by_key(|record| record.at));
            self.done[at] = later(self.done[at], oldest);
        }
    }

    pub fn done(&self, task: usize) -> Option<&'a CareRecord> {
        self.done.get(task).copied().flatten()
    }
}

fn later<'a>(a: Option<&'a CareRecord>, b: Option<&'a CareRecord>) -> Option<&'a CareRecord> {
    a.into_iter().chain(b).max_by_key(|record| record.at)
}

/// The part in a slot with the time it has been there, if the part has an identity.
pub(crate) fn fitted<'a>(
    booth: &'a Booth,
    machine: &'a Machine,
    slot: &str,
) -> Option<(&'a PartId, &'a PartLife, &'a Stint)> {
    let id = machine.fitted.get(slot)?;
    let (id, life) = booth.parts.get_key_value(id)?;
    Some((id, life, life.stints.last().filter(|stint| stint.ended.is_none())?))
}

/// For each machine whose projection lamp died early: when it last did.
pub(crate) fn early_deaths(
    booth: &Booth,
    lamps_of: impl Fn(&MachineId, &SlotId) -> Option<f64>,
) -> FxHashMap<&MachineId, When> {
    let mut deaths: FxHashMap<&MachineId, When> = FxHashMap::default();
    for life in booth.parts.values() {
        let Some(mut age) = life.age_hours.map(units::Hours::hours) else { continue };
        for stint in &life.stints {
            let Some(end) = &stint.ended else { break };
            age += (end.clocks.lit - stint.clocks_at_fitting.lit).hours();
            let early = end.why == Ending::Failed
                && lamps_of(&stint.machine, &stint.slot).is_some_and(|half_life| age < half_life);
            if early {
                let last = deaths.entry(&stint.machine).or_insert(end.at);
                *last = (*last).max(end.at);
            }
        }
    }
    deaths
}

/// From where a task is counted, and how much of its interval was used before.
#[derive(Clone, Copy)]
struct Start<'a> {
    since: Since<'a>,
    at: When,
    clocks: Clocks,
    /// Age that a part brought with it: on the task's clock, and in days.
    used_before: f64,
    days_before: i32,
    inside: u16,
    age_unknown: bool,
}

impl<'a> Start<'a> {
    fn done(record: &'a CareRecord, inside: u16) -> Self {
        let (since, clocks) = (Since::Done(record), record.clocks);
        Self { since, at: record.at, clocks, used_before: 0.0, days_before: 0, inside, age_unknown: false }
    }

    fn fitted(life: &PartLife, stint: &'a Stint, clock: Clock) -> Self {
        let earlier = life.stints.iter().filter_map(|stint| Some((stint, stint.ended.as_ref()?)));
        let ran: f64 = earlier
            .map(|(stint, end)| {
                join::read_clock(&end.clocks, clock) - join::read_clock(&stint.clocks_at_fitting, clock)
            })
            .sum();
        let brought = match clock {
            Clock::Strikes => life.strikes.map(f64::from),
            _ => life.age_hours.map(units::Hours::hours),
        };
        let first = life.stints.first().map_or(stint.fitted, |first| first.fitted);
        let days_in_use = whole(days_between_ms(first.unix_ms, stint.fitted.unix_ms));
        Self {
            since: Since::Fitted(stint),
            at: stint.fitted,
            clocks: stint.clocks_at_fitting,
            used_before: ran + brought.unwrap_or(0.0),
            days_before: life.age_days.unwrap_or(0).cast_signed().saturating_add(days_in_use),
            inside: NOT_INSIDE,
            age_unknown: brought.is_none(),
        }
    }

    fn entered(machine: &'a Machine, usage: &Usage) -> Self {
        Self {
            since: Since::Entered(&machine.added),
            at: machine.added.0,
            clocks: usage.at_entry,
            used_before: 0.0,
            days_before: 0,
            inside: NOT_INSIDE,
            age_unknown: false,
        }
    }
}

/// What is left of an interval.
#[derive(Clone, Copy, Default)]
struct Left {
    amount: Option<f64>,
    days: Option<i32>,
    clock: Option<Clock>,
    /// The whole interval, for the grace.
    of_amount: f64,
}

/// Counts every listed task of a machine.
pub(crate) fn count<'a>(subject: &Subject<'_, 'a>, scratch: &mut Scratch<'a>, out: &mut Vec<DueItem<'a>>) {
    scratch.gather(subject.plan, subject.machine);
    let usage = Usage::of(subject.machine, subject.plan, subject.now);
    for (at, task) in subject.plan.tasks.iter().enumerate().filter(|(_, task)| task.listed) {
        if let Some(item) = subject.item(at, task, scratch, &usage) {
            out.push(item);
        }
    }
}

impl<'a> Subject<'_, 'a> {
    fn item(
        &self,
        at: usize,
        task: &TaskPlan<'a>,
        scratch: &Scratch<'a>,
        usage: &Usage,
    ) -> Option<DueItem<'a>> {
        let start = self.start(at, task, scratch, usage);
        let called_by = self.called_by(task, start.at, usage);
        let natural = self.left(task, &start);
        if called_by.is_none() && natural.amount.is_none() && natural.days.is_none() {
            return None;
        }
        let deferral = scratch.deferred[at].filter(|deferral| deferral.at >= start.at);
        let natural_state = state(task, &start, &natural, called_by);
        let holds = deferral.filter(|deferral| !task.task.safety && self.holds(deferral));
        let (state, left) = match holds {
            Some(deferral) if natural_state.is_due() || natural_state == DueState::Soon => {
                (DueState::Deferred, self.left_of_deferral(deferral))
            }
            _ => (natural_state, natural),
        };
        let clock = left.clock.unwrap_or(task.clock);
        let called_now = called_by.filter(|_| state != DueState::Deferred);
        let standing = Standing {
            remaining: left.amount,
            remaining_days: if called_now.is_some() {
                Some(left.days.unwrap_or(0).min(0))
            } else {
                left.days
            },
            clock,
            turns: self.turns,
            per_day: usage.per_day.on(clock),
        };
        let forecast = forecast(&standing, self.now);
        Some(DueItem {
            machine: self.id,
            kind: self.plan.kind,
            task: task.task,
            since: start.since,
            deferral,
            forecast_showing: forecast.showing,
            called_by: called_now,
            state,
            clock,
            today: self.now.day,
            remaining: left.amount.unwrap_or(f64::NAN),
            remaining_days: left.days.unwrap_or(NO_DAYS),
            forecast_day: forecast.in_days.unwrap_or(NO_DAYS),
            inside: start.inside,
            age_unknown: start.age_unknown,
        })
    }

    /// The last time it was done, itself or inside a bigger task, or its part's fitting, or the machine's entry.
    fn start(&self, at: usize, task: &TaskPlan<'a>, scratch: &Scratch<'a>, usage: &Usage) -> Start<'a> {
        let mut last = scratch.done(at).map(|record| (record, NOT_INSIDE));
        for bigger in &task.bigger {
            if let Some(record) = scratch.done(usize::from(*bigger))
                && last.is_none_or(|(own, _)| record.at > own.at)
            {
                last = Some((record, *bigger));
            }
        }
        let renewed = task.renews.as_ref().and_then(|slot| fitted(self.booth, self.machine, slot.as_str()));
        // The change is often written twice, as care and as the part that went in: on the same day the part counts,
        // because it knows how old it was.
        let newer = |stint: &Stint| {
            last.is_none_or(|(record, _)| self.now.day_of(record.at) <= self.now.day_of(stint.fitted))
        };
        match (renewed, last) {
            (Some((_, life, stint)), _) if newer(stint) => Start::fitted(life, stint, task.clock),
            (_, Some((record, inside))) => Start::done(record, inside),
            _ => Start::entered(self.machine, usage),
        }
    }

    /// What is left by hours and by days, of the interval or of the once after fitting, whichever is less.
    fn left(&self, task: &TaskPlan<'a>, start: &Start<'a>) -> Left {
        let ran = |clock, from: &Clocks| {
            join::read_clock(&self.machine.clocks, clock) - join::read_clock(from, clock)
        };
        let amount =
            task.amount.map(|amount| settled(amount - start.used_before - ran(task.clock, &start.clocks)));
        let days = task.days.map(|days| {
            let gone = self.now.day.since(self.now.day_of(start.at)).saturating_add(start.days_before);
            days.saturating_sub(gone)
        });
        let left = Left { amount, days, clock: None, of_amount: task.amount.unwrap_or(0.0) };
        match self.left_once(task, start, ran) {
            Some(once)
                if left.amount.is_none_or(|amount| task.clock != Clock::Running || once.0 < amount) =>
            {
                Left { amount: Some(once.0), clock: Some(Clock::Running), of_amount: once.1, ..left }
            }
            _ => left,
        }
    }

    /// What is left until the one time after fitting; none if it was done since, or no part is known there.
    fn left_once(
        &self,
        task: &TaskPlan<'a>,
        start: &Start<'a>,
        ran: impl Fn(Clock, &Clocks) -> f64,
    ) -> Option<(f64, f64)> {
        let (slot, hours) = task.once.as_ref()?;
        let (_, _, stint) = fitted(self.booth, self.machine, slot.as_str())?;
        let done_since = matches!(start.since, Since::Done(record) if record.at >= stint.fitted);
        (!done_since).then(|| (settled(hours - ran(Clock::Running, &stint.clocks_at_fitting)), *hours))
    }

    /// A deferral holds until the first of its limits is reached.
    fn holds(&self, deferral: &Deferral) -> bool {
        let left = self.left_of_deferral(deferral);
        left.amount.is_none_or(|amount| amount > 0.0) && left.days.is_none_or(|days| days > 0)
    }

    fn left_of_deferral(&self, deferral: &Deferral) -> Left {
        let ran = self.machine.clocks.hours_run();
        Left {
            amount: deferral.until_hours_run.map(|until| settled((until - ran).hours())),
            days: deferral.until_date.map(|until| crate::day::Day::on(until).since(self.now.day)),
            clock: Some(Clock::Running),
            of_amount: 0.0,
        }
    }

    /// The first of the task's events, in the order of the type file, that happened after it was last done.
    fn called_by(&self, task: &TaskPlan<'a>, since: When, usage: &Usage) -> Option<Trigger> {
        task.events.iter().copied().find(|trigger| match trigger {
            Trigger::IdleDays(days) => self.idle_since(*days, (task, since), usage),
            Trigger::LampDiedEarly => self.early_death.is_some_and(|at| at > since),
            Trigger::LampChanged => self.lamp_changed().is_some_and(|at| at > since),
            event => self.machine.events.iter().rev().take_while(|seen| seen.at > since).any(|seen| {
                seen.at.unix_ms <= self.now.unix_ms && join::trigger_of_event(&seen.event) == Some(*event)
            }),
        })
    }

    /// True if the machine stood for so long, counted from its last run or from when this was last done. What is itself
    /// a run was done by any run that came after.
    fn idle_since(&self, days: u32, (task, since): (&TaskPlan<'a>, When), usage: &Usage) -> bool {
        let Some(at) = self.plan.idle_days.iter().position(|own| *own == days) else { return false };
        let is_a_run = task.task.kind == CareKind::Test && task.task.state == MachineState::Running;
        usage.idle[at]
            .filter(|gap| !(is_a_run && gap.ran_since))
            .is_some_and(|gap| days_between_ms(gap.from_ms.max(since.unix_ms), gap.to_ms) >= i64::from(days))
    }

    /// When the lamp that is in went in; the one that came with the machine was not changed.
    fn lamp_changed(&self) -> Option<When> {
        let entered = self.now.day_of(self.machine.added.0);
        let fitted_at = |slot: &SlotId| Some(fitted(self.booth, self.machine, slot.as_str())?.2.fitted);
        let lamps = self.plan.lamps.iter().filter_map(|(slot, _)| fitted_at(slot));
        lamps.filter(|at| self.now.day_of(*at) > entered).max()
    }
}

/// Takes the dust of adding many runs off a figure: no clock in a booth is read to a millionth of an hour.
fn settled(hours: f64) -> f64 {
    (hours * 1e6).round() / 1e6
}

/// Where a task stands by itself, whatever was put off.
fn state(task: &TaskPlan<'_>, start: &Start<'_>, left: &Left, called_by: Option<Trigger>) -> DueState {
    let safety = task.task.safety;
    let grace_amount = if safety { 0.0 } else { GRACE_SHARE * left.of_amount };
    let grace_days = if safety { 0 } else { GRACE_DAYS };
    let amount = left.amount.unwrap_or(f64::INFINITY);
    let days = left.days.unwrap_or(i32::MAX);
    if amount < -grace_amount || days < -grace_days {
        DueState::Overdue
    } else if amount <= 0.0 || days <= 0 || called_by.is_some() {
        DueState::Due
    } else if matches!(start.since, Since::Entered(_)) {
        DueState::NoRecord
    } else if amount <= GRACE_SHARE * left.of_amount || days <= GRACE_DAYS {
        DueState::Soon
    } else {
        DueState::Ok
    }
}
