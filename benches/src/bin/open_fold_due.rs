//! The measured process: opens the logbook, folds it, works out every due date, and says what it found.

use booth::{DueItem, Since};
use machine::{CareKind, CareTask, Clock};
use serde_json::json;
use std::{fs, time::Instant};
use store::{EntryStore, SqliteStore};

fn main() {
    let begun = Instant::now();
    let store = SqliteStore::open_existing(benches::folder()).expect("the benchmark made the logbook");
    if asked("--cold") {
        store.forget_snapshot();
    }
    let booth = store.folded().expect("the logbook can be read").booth;
    let folded = begun.elapsed();
    let library = machine::shipped();
    let answer = booth::due(&booth, &library, &benches::now());
    let due = begun.elapsed();
    let found = if asked("--compare") { compared(&answer.value) } else { json!({}) };
    let said = json!({
        "open_and_fold_s": folded.as_secs_f64(),
        "due_s": due.saturating_sub(folded).as_secs_f64(),
        "items": answer.value.len(),
        "peak_mb": peak_mb(),
        "found": found,
    });
    println!("{said}");
    // What was measured is over; giving a million entries back piece by piece is no part of it.
    std::process::exit(0);
}

fn asked(option: &str) -> bool {
    std::env::args().any(|arg| arg == option)
}

/// Sums over the tasks whose rule the peers know: by hours or days, not renewed by a fitted part.
fn compared(items: &[DueItem<'_>]) -> serde_json::Value {
    let known: Vec<_> = items.iter().filter(|item| is_compared(item.task)).collect();
    let sum = |value: &dyn Fn(&DueItem<'_>) -> f64| known.iter().map(|item| value(item)).sum::<f64>();
    json!({
        "tasks": known.len(),
        "recorded": known.iter().filter(|item| matches!(item.since, Since::Done(_))).count(),
        "hours": sum(&|item| item.remaining_hours().map_or(0.0, units::Hours::hours)),
        "days": sum(&|item| item.remaining_days().map_or(0.0, f64::from)),
        "forecast_days": sum(&|item| item.forecast_in_days().map_or(0.0, f64::from)),
    })
}

fn is_compared(task: &CareTask) -> bool {
    task.every.is_some_and(|every| every.clock != Clock::Strikes)
        && task.kind != CareKind::Replace
        && task.once_after_fitting.is_none()
        && task.triggers.is_empty()
}

/// Returns the most memory that this process ever held, where the system tells.
fn peak_mb() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().trim_end_matches("kB").trim().parse::<u64>().ok().map(|kb| kb / 1024)
}
