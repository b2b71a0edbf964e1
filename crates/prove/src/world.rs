//! The booth as it is: hidden lives, luck, and what comes of it. Policies see the log alone.

mod evening;
mod truth;

pub(crate) use truth::Truth;

use crate::{
    dice::{Dice, Draw},
    log::{DAYS, Done, Fitted, Log, Machine, Reading, Tonight, place},
    policy::Policy,
    scenario::{Kind, Mode, Scenario},
    tally::Tally,
};

/// What is hidden of one machine.
struct Hidden {
    /// Hazard that each mode can still gather before it fails, part by part.
    left: Vec<Vec<f64>>,
    /// How many parts have stood in each slot.
    fitted: Vec<u64>,
    /// How often each care was done.
    cared: Vec<u64>,
    /// How often the machine was worked on.
    worked: u64,
    /// The last work left something loose.
    loose: bool,
    /// Readings taken.
    read: u64,
}

/// A booth being played.
pub(crate) struct World<'s, P> {
    scenario: &'s Scenario,
    kind: &'s Kind,
    truth: &'s Truth,
    dice: Dice,
    log: Log,
    hidden: Vec<Hidden>,
    /// Spares on order: the day they come, and the part.
    orders: Vec<(f64, usize)>,
    policy: P,
    tally: Tally,
    /// Room for what a part's modes gather.
    room: Vec<f64>,
}

/// Plays one booth for some years and returns what was counted.
pub(crate) fn play<P: Policy>(
    scenario: &Scenario,
    kind: &Kind,
    truth: &Truth,
    dice: Dice,
    years: f64,
    policy: P,
) -> Tally {
    let mut world = World::new(scenario, kind, truth, dice, policy);
    let mut showing = 0;
    loop {
        world.log.day += truth.gap * dice.exponential(Draw::Gap, [0, 0, showing]);
        if world.log.day >= years * DAYS {
            return world.tally;
        }
        world.evening(showing);
        showing += 1;
    }
}

impl<'s, P: Policy> World<'s, P> {
    fn new(scenario: &'s Scenario, kind: &'s Kind, truth: &'s Truth, dice: Dice, policy: P) -> Self {
        let n = truth.machines.len();
        let made: Vec<(Machine, Hidden)> = (0..n).map(|at| begun(kind, truth, dice, at)).collect();
        let (machines, hidden) = made.into_iter().unzip();
        let log = Log {
            day: 0.0,
            machines,
            stock: kind.parts.iter().map(|part| part.carried).collect(),
            tonight: Tonight::default(),
        };
        Self {
            scenario,
            kind,
            truth,
            dice,
            log,
            hidden,
            orders: Vec::new(),
            policy,
            tally: Tally::default(),
            room: Vec::new(),
        }
    }

    /// The hazard that a mode gathers in a showing, were its care not overdue.
    fn gathers(&self, machine: usize, part: usize, mode: usize, hours: f64) -> f64 {
        let spec = &self.kind.parts[part].modes[mode];
        let (age, span) = self.log.machines[machine].span(part, spec.clock, self.log.day, hours);
        let scale = self.truth.machines[machine].scales[part][mode];
        gathered(spec, scale, age + span) - gathered(spec, scale, age)
    }

    /// Fits a new part; the clocks stand at the end of whatever ran.
    fn fit(&mut self, machine: usize, part: usize, planned: bool) {
        let spec = &self.kind.parts[part];
        self.hidden[machine].fitted[part] += 1;
        let generation = self.hidden[machine].fitted[part];
        for mode in 0..spec.modes.len() {
            self.hidden[machine].left[part][mode] = strength(self.dice, machine, part, mode, generation);
        }
        let own = &mut self.log.machines[machine];
        own.fitted[part] =
            Fitted { hours: own.hours, showings: own.showings, day: self.log.day, entered: [0.0; 3] };
        self.tally.parts += 1.0;
        self.tally.planned += f64::from(u8::from(planned));
        self.tally.cost += spec.credits;
        self.worked_on(machine);
    }

    /// Whoever works on a machine may leave something loose.
    fn worked_on(&mut self, machine: usize) {
        self.log.machines[machine].worked += 1;
        let hidden = &mut self.hidden[machine];
        hidden.worked += 1;
        hidden.loose |=
            self.dice.happens(Draw::Slip, [machine as u64, 0, hidden.worked], self.scenario.nature.slip);
    }

    /// Takes a spare and orders another.
    fn take_spare(&mut self, part: usize) {
        self.log.stock[part] -= 1;
        self.orders.push((self.log.day + self.kind.parts[part].lead_days, part));
    }

    fn receive_spares(&mut self) {
        let (day, stock) = (self.log.day, &mut self.log.stock);
        self.orders.retain(|&(comes, part)| {
            if comes <= day {
                stock[part] += 1;
            }
            comes > day
        });
    }

    fn operator_works(&mut self, minutes: f64) {
        self.tally.bench_hours += minutes / 60.0;
        self.tally.cost += minutes / 60.0 * self.scenario.money.operator_hour;
    }

    fn technician_works(&mut self) {
        let hours = self.scenario.customs.technician_minutes / 60.0;
        self.tally.technician_hours += hours;
        self.tally.cost += hours * self.scenario.money.technician_hour;
    }
}

/// Hazard gathered by an age.
fn gathered(mode: &Mode, scale: f64, age: f64) -> f64 {
    if age <= 0.0 {
        return 0.0;
    }
    (age / scale).powf(mode.shape)
}

/// Hazard that the so-manieth part of a slot can gather.
fn strength(dice: Dice, machine: usize, part: usize, mode: usize, generation: u64) -> f64 {
    dice.exponential(Draw::Strength, [machine as u64 * 8 + mode as u64, part as u64, generation])
}

/// A machine on the day the log begins: its parts are of a known age, up to half of what such a part is thought to
/// last, or to its handbook interval if that is less.
fn begun(kind: &Kind, truth: &Truth, dice: Dice, machine: usize) -> (Machine, Hidden) {
    let at = machine as u64;
    let mut fitted = Vec::with_capacity(kind.parts.len());
    let mut left = Vec::with_capacity(kind.parts.len());
    for (part, spec) in kind.parts.iter().enumerate() {
        let share = dice.even(Draw::AgeAtStart, [at, part as u64, 0]);
        let mut entered = [0.0; 3];
        for mode in &spec.modes {
            let interval = spec.interval.and_then(|interval| match mode.clock {
                crate::scenario::Clock::Hours => interval.hours,
                crate::scenario::Clock::Years => interval.years,
                crate::scenario::Clock::Showings => None,
            });
            entered[place(mode.clock)] = share * (0.5 * mode.scale).min(interval.unwrap_or(f64::INFINITY));
        }
        fitted.push(Fitted { hours: -entered[0], showings: -entered[1], day: -entered[2] * DAYS, entered });
        left.push((0..spec.modes.len()).map(|mode| strength(dice, machine, part, mode, 0)).collect());
    }
    let cares: Vec<Done> = kind
        .cares
        .iter()
        .enumerate()
        .map(|(care, every)| {
            let share = dice.even(Draw::CareAtStart, [at, care as u64, 0]);
            Done { hours: -share * every.hours.unwrap_or(0.0), day: -share * every.days.unwrap_or(0.0) }
        })
        .collect();
    let hidden = Hidden {
        left,
        fitted: vec![0; kind.parts.len()],
        cared: vec![0; cares.len()],
        worked: 0,
        loose: false,
        read: 0,
    };
    debug_assert_eq!(truth.machines[machine].scales.len(), kind.parts.len());
    let own = Machine {
        hours: 0.0,
        showings: 0.0,
        last_run: 0.0,
        out_until: 0.0,
        fitted,
        cares,
        reading: Reading::default(),
        worked: 0,
    };
    (own, hidden)
}

#[cfg(test)]
mod tests;
