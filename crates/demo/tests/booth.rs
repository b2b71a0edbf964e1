//! The invented booth holds together, tells its stories, and its numbers can be found again in its logbook.
#![allow(clippy::unwrap_used)]

use demo::{DemoLog, booth};
use jiff::civil::{Date, date};
use logbook::fact::{Ending, Fitness, RunKind};
use logbook::{Booth, Entry, Fact, Folded, fold};
use std::collections::HashSet;

const TODAY: Date = date(2026, 11, 25);

/// Days all round the year, so that no story hangs on a season; clock changes and a leap day lie in between.
const DAYS: [Date; 8] = [
    TODAY,
    date(2027, 1, 1),
    date(2027, 3, 28),
    date(2027, 5, 20),
    date(2027, 7, 7),
    date(2028, 2, 29),
    date(2027, 9, 15),
    date(2027, 10, 31),
];

fn folded(log: &DemoLog) -> Booth {
    let Folded { booth, .. } = fold(log.entries.clone());
    booth
}

#[test]
fn dump() {
    for day in DAYS {
        let log = booth(day, 1);
        let b = folded(&log);
        println!(
            "{day}: {} entries, {} held, {:.1} h, {} faults, {} stoppages",
            log.entries.len(),
            log.truth.showings_held,
            log.truth.running_hours.hours(),
            b.faults.len(),
            b.stoppages.len()
        );
        for (id, m) in &b.machines {
            let lamp = &b.parts[&m.fitted["lamp"]];
            let stint = lamp.stints.last().unwrap();
            println!(
                "  {id}: {:.1} run {:.1} lit; lamp {:.2}",
                m.clocks.hours_run().hours(),
                m.clocks.lit.hours(),
                lamp.age_hours.unwrap().hours() + m.clocks.lit.hours() - stint.clocks_at_fitting.lit.hours()
            );
        }
        for q in &b.queries {
            println!("  Q {} {} {}", q.at.date(), q.entry, q.what);
        }
        let f: Vec<_> = b
            .faults
            .iter()
            .filter(|(_, f)| f.closed.is_none())
            .map(|(id, f)| format!("{id} {} {}", f.machine, f.words))
            .collect();
        println!("  open {f:?}");
        for l in &log.truth.lamps {
            println!("   {} life {:.1} {:?} {}", l.part, l.hidden_life.hours(), l.ended, l.on_screen);
        }
    }
}
