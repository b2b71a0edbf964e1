//! An invented service of many depots, of any size, the same for the same seed.

use plan::{
    Cost, Journey, Life, Machine, Minutes, Model, Moment, Place, Preparation, RiskPoint, Showing, Slot, Work,
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use units::Hours;

/// How large a service is.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    /// Depots, each with a bench, a hall and three villages around it.
    pub depots: usize,
    /// Machines, shared out evenly.
    pub machines: usize,
    /// Showings.
    pub showings: usize,
    /// Weeks; each depot has two bench slots in each.
    pub weeks: i64,
}

/// What is asked for: 200 machines and 5,000 showings; half a year of them.
pub const SERVICE: Size = Size { depots: 8, machines: 200, showings: 5_000, weeks: 26 };

const DAY: i64 = 1440;
const VILLAGES: usize = 3;

/// Makes the service: rates grow with hours, parts have lives, care has limits.
pub fn service(seed: u64, size: Size) -> Model {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut model = frame(&mut rng, size);
    for machine in 0..size.machines {
        model.work.extend(full_work(&mut rng, machine));
    }
    model
}

/// Makes the plain version of a service, which a general solver can take whole: the same diary and benches; two pieces
/// of work with a day for each machine; nothing grows with hours.
pub fn plain(seed: u64, size: Size) -> Model {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut model = frame(&mut rng, size);
    for machine in 0..size.machines {
        for (n, minutes) in [30, 45].into_iter().enumerate() {
            let mut work = bare(machine, n, minutes);
            work.preparation = Some("open".to_owned());
            work.cost = Cost(to_cents(rng.random_range(2.0..8.0)));
            work.due_by = Some(Moment(DAY * rng.random_range(14..size.weeks * 7)));
            model.work.push(work);
        }
    }
    model
}

/// Everything but the work.
fn frame(rng: &mut ChaCha8Rng, size: Size) -> Model {
    let mut model = Model::default();
    for depot in 0..size.depots {
        model.places.push(Place { id: hall(depot) });
        model.places.extend((0..VILLAGES).map(|village| Place { id: a_village(depot, village) }));
    }
    for depot in 0..size.depots {
        for village in 0..VILLAGES {
            let near = rng.random_range(15..50);
            model.journeys.push(way(hall(depot), a_village(depot, village), near));
            // The next depot can help out.
            let far = near + rng.random_range(40..80);
            model.journeys.push(way(hall((depot + 1) % size.depots), a_village(depot, village), far));
        }
    }
    for n in 0..size.machines {
        let can: &[&str] = match rng.random_range(0..20) {
            0..8 => &["16mm", "35mm"],
            8..15 => &["16mm"],
            _ => &["35mm"],
        };
        model.machines.push(Machine {
            id: format!("machine-{n}"),
            home: hall(n % size.depots),
            fit: true,
            can: can.iter().map(|&it| it.to_owned()).collect(),
            stoppages_per_hour: rng.random_range(0.0005..0.003),
        });
    }
    for n in 0..size.showings {
        model.showings.push(showing(rng, n, size));
    }
    for week in 0..size.weeks {
        for depot in 0..size.depots {
            for (weekday, hour) in [(1, 9), (4, 13)] {
                model.slots.push(Slot {
                    id: format!("bench-{depot}-{week}-{weekday}"),
                    place: hall(depot),
                    starts: Moment((week * 7 + weekday) * DAY + hour * 60),
                    minutes: Minutes(30 * rng.random_range(4..7)),
                    who: format!("bench hand {depot}"),
                    level: 1,
                    comes_from: None,
                    cost: Cost(15.0),
                    cost_per_minute: Cost(0.3),
                });
            }
        }
    }
    model.preparations = vec![Preparation { id: "open".to_owned(), minutes: Minutes(15), cost: Cost(2.0) }];
    model
}

fn hall(depot: usize) -> String {
    format!("hall-{depot}")
}

fn a_village(depot: usize, village: usize) -> String {
    format!("village-{depot}-{village}")
}

/// A way costs a third of a unit for each minute.
fn way(from: String, to: String, minutes: i64) -> Journey {
    Journey { from, to, minutes: Minutes(minutes), cost: Cost(to_cents(minutes as f64 / 3.0)) }
}

fn to_cents(cost: f64) -> f64 {
    (cost * 100.0).round() / 100.0
}

fn showing(rng: &mut ChaCha8Rng, n: usize, size: Size) -> Showing {
    let depot = rng.random_range(0..size.depots);
    let place = match rng.random_range(0..=VILLAGES) {
        0 => hall(depot),
        village => a_village(depot, village - 1),
    };
    let starts =
        rng.random_range(0..size.weeks * 7) * DAY + [14 * 60, 17 * 60, 20 * 60][rng.random_range(0..3)];
    let run = 15 * rng.random_range(5..12);
    let wide = rng.random_range(0..5) < 2;
    Showing {
        id: format!("showing-{n}"),
        place,
        starts: Moment(starts - 45),
        ends: Moment(starts + run + 30),
        running_hours: Hours::from_minutes(run as f64),
        needs: vec![if wide { "35mm" } else { "16mm" }.to_owned()],
        machines: if wide && rng.random_range(0..3) == 0 { 2 } else { 1 },
        stoppage_cost: Cost(rng.random_range(100..400).into()),
    }
}

fn bare(machine: usize, n: usize, minutes: i64) -> Work {
    Work {
        id: format!("work-{machine}-{n}"),
        machine: format!("machine-{machine}"),
        minutes: Minutes(minutes),
        level: 1,
        preparation: None,
        cost: Cost(0.0),
        hours_since: Hours::new(0.0),
        limit_hours: None,
        due_by: None,
        limit_minutes: None,
        life: None,
        risk: Vec::new(),
        cost_per_hour_left: Cost(0.0),
    }
}

/// Cleaning, oil, a lamp and a belt.
fn full_work(rng: &mut ChaCha8Rng, machine: usize) -> [Work; 4] {
    let mut all = [(0, 30), (1, 15), (2, 15), (3, 45)].map(|(n, minutes)| bare(machine, n, minutes));
    let curve = |points: [(f64, f64); 4]| {
        points.map(|(hours, rate)| RiskPoint { hours: Hours::new(hours), stoppages_per_hour: rate }).to_vec()
    };
    let quarters = |hours: f64| Hours::new((hours * 4.0).round() / 4.0);
    let [clean, oil, lamp, belt] = &mut all;
    let grows = rng.random_range(0.8..1.3);
    clean.hours_since = quarters(rng.random_range(0.0..25.0));
    clean.limit_hours = Some(Hours::new(40.0));
    clean.cost = Cost(1.0);
    clean.cost_per_hour_left = Cost(0.2);
    clean.risk = curve([(0.0, 0.0002), (10.0, 0.0008), (25.0, 0.004 * grows), (40.0, 0.010 * grows)]);
    let grows = rng.random_range(0.8..1.3);
    oil.preparation = Some("open".to_owned());
    oil.hours_since = quarters(rng.random_range(0.0..40.0));
    oil.limit_hours = Some(Hours::new(60.0));
    oil.limit_minutes = Some(Minutes(180 * DAY));
    oil.cost = Cost(1.5);
    oil.cost_per_hour_left = Cost(0.15);
    oil.risk = curve([(0.0, 0.0001), (20.0, 0.0006), (40.0, 0.0025 * grows), (60.0, 0.007 * grows)]);
    let grows = rng.random_range(0.8..1.3);
    lamp.hours_since = quarters(rng.random_range(0.0..50.0));
    lamp.cost = Cost(2.0);
    lamp.life = Some(Life { hours: Hours::new(75.0), cost: Cost(45.0) });
    lamp.cost_per_hour_left = Cost(0.4);
    lamp.risk = curve([(0.0, 0.0003), (25.0, 0.0015), (50.0, 0.006 * grows), (80.0, 0.020 * grows)]);
    let grows = rng.random_range(0.8..1.3);
    belt.preparation = Some("open".to_owned());
    belt.hours_since = quarters(rng.random_range(0.0..200.0));
    belt.life = Some(Life { hours: Hours::new(300.0), cost: Cost(40.0) });
    belt.cost = Cost(4.0);
    belt.cost_per_hour_left = Cost(0.1);
    belt.risk = curve([(0.0, 0.0001), (120.0, 0.0008), (220.0, 0.004 * grows), (320.0, 0.012 * grows)]);
    all
}
