//! Invented models of any size, the same for the same seed.

use plan::{
    Cost, Journey, Life, Machine, Minutes, Model, Moment, Place, Preparation, RiskPoint, Showing, Slot, Work,
};
use units::Hours;

/// How large a model is.
pub struct Shape {
    pub machines: usize,
    pub showings: usize,
    pub slots: usize,
    pub work: usize,
    pub places: usize,
}

impl Default for Shape {
    fn default() -> Self {
        Self { machines: 3, showings: 8, slots: 4, work: 6, places: 1 }
    }
}

struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        // Knuth's constants for a linear congruential generator (The Art of Computer Programming, vol. 2).
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 33
    }

    fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next()).unwrap_or(0) % n
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() % 10_000) as f64 / 10_000.0
    }

    fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
}

const DAY: i64 = 1440;

/// Makes a model: evenings at each place, bench slots in the mornings between.
pub fn model(seed: u64, shape: &Shape) -> Model {
    let mut dice = Dice(seed.wrapping_mul(0x9e37_79b9).wrapping_add(17));
    for _ in 0..4 {
        dice.next();
    }
    let days = (shape.showings as i64 / 2).max(2);
    let place = |n: usize| format!("place-{n}");
    let showings = (0..shape.showings).map(|n| showing(&mut dice, n, shape, days)).collect();
    Model {
        places: (0..shape.places).map(|n| Place { id: place(n) }).collect(),
        journeys: (1..shape.places)
            .map(|n| Journey {
                from: place(0),
                to: place(n),
                minutes: Minutes(30),
                cost: Cost(dice.between(2.0, 9.0)),
            })
            .collect(),
        machines: (0..shape.machines)
            .map(|n| Machine {
                id: format!("machine-{n}"),
                home: place(dice.below(shape.places)),
                fit: true,
                can: if n == 0 || !dice.one_in(3) { vec!["16mm".to_owned()] } else { Vec::new() },
                stoppages_per_hour: dice.between(0.001, 0.01),
            })
            .collect(),
        showings,
        slots: (0..shape.slots)
            .map(|n| Slot {
                id: format!("slot-{n}"),
                place: place(dice.below(shape.places)),
                starts: Moment(days * DAY * n as i64 / shape.slots as i64 + 9 * 60),
                minutes: Minutes(60 + 30 * dice.below(4) as i64),
                who: "Wren".to_owned(),
                level: dice.below(3) as u32,
                comes_from: None,
                cost: Cost(dice.between(0.0, 6.0)),
                cost_per_minute: Cost(0.1),
            })
            .collect(),
        preparations: vec![Preparation { id: "open".to_owned(), minutes: Minutes(15), cost: Cost(1.5) }],
        work: (0..shape.work).map(|n| work(&mut dice, n, shape, days)).collect(),
        pins: Vec::new(),
        overdue_cost: None,
        unstaffed_cost: None,
    }
}

fn showing(dice: &mut Dice, n: usize, shape: &Shape, days: i64) -> Showing {
    let starts = days * DAY * n as i64 / shape.showings as i64 + 17 * 60 + 30 * dice.below(6) as i64;
    let run = 60 + 15 * dice.below(6) as i64;
    Showing {
        id: format!("showing-{n}"),
        place: format!("place-{}", dice.below(shape.places)),
        starts: Moment(starts),
        ends: Moment(starts + run + 15),
        running_hours: Hours::from_minutes(run as f64),
        needs: if dice.one_in(3) { vec!["16mm".to_owned()] } else { Vec::new() },
        machines: if dice.one_in(4) { 2 } else { 1 },
        stoppage_cost: Cost(dice.between(50.0, 400.0)),
    }
}

fn work(dice: &mut Dice, n: usize, shape: &Shape, days: i64) -> Work {
    let low = dice.between(0.0001, 0.003);
    let high = low + dice.between(0.0, 0.03);
    let later = high + dice.between(0.0, 0.08);
    let risk = |hours: f64, rate: f64| RiskPoint { hours: Hours::new(hours), stoppages_per_hour: rate };
    Work {
        id: format!("work-{n}"),
        machine: format!("machine-{}", dice.below(shape.machines)),
        minutes: Minutes(15 + 15 * dice.below(3) as i64),
        level: dice.below(2) as u32,
        preparation: (!dice.one_in(3)).then(|| "open".to_owned()),
        cost: Cost(dice.between(0.0, 4.0)),
        hours_since: Hours::from_minutes(15.0 * dice.below(100) as f64),
        limit_hours: dice.one_in(2).then(|| Hours::new(10.0 + dice.below(30) as f64)),
        due_by: dice.one_in(3).then(|| Moment(days * DAY * (1 + dice.below(4) as i64) / 4)),
        limit_minutes: dice.one_in(3).then(|| Minutes(DAY * (2 + dice.below(5) as i64))),
        life: dice.one_in(2).then(|| Life {
            hours: Hours::new(dice.between(10.0, 40.0)),
            cost: Cost(dice.between(1.0, 12.0)),
        }),
        risk: vec![risk(0.0, low), risk(8.0, high), risk(20.0, later)],
        cost_per_hour_left: Cost(if dice.one_in(2) { dice.between(0.0, 0.2) } else { 0.0 }),
    }
}
