//! The minutes before a showing, which checks and deeds share.

use crate::{
    kit::Log,
    outlook::{KIND, ask, library, one_machine, stock},
};

/// The checks and the deeds are done in the same minutes.
#[test]
fn the_checks_before_a_showing_are_said_with_what_to_do() {
    let mut log = one_machine();
    stock(&mut log, "lamps", "lamp", 1);
    let said = |log: &Log, minutes: f64| {
        let booth = log.fold();
        let outlook = ask(&booth, "2026-03-23 18:00", minutes);
        let to_do =
            outlook.said.iter().find(|line| line.starts_with("You have")).expect("a lamp is old").clone();
        (outlook.checks_minutes.ceil(), outlook.chosen_minutes.ceil(), to_do)
    };
    let (checks, take, enough) = said(&log, 200.0);
    assert!(checks > 0.0 && take > 0.0);
    let both = format!("You have 200 minutes; the checks before it take {checks:.0}, use {take:.0} more: ");
    assert!(enough.starts_with(&both), "{enough}");
    let (checks, take, short) = said(&log, take + checks - 1.0);
    let both = format!("too few for the checks before it ({checks:.0}) and all of this ({take:.0}): ");
    assert!(short.contains(&both), "{short}");
    // What is done for this evening's showing is not to do again.
    let library = library().get(KIND).unwrap();
    let before = library.care.iter().filter(|task| task.answers(machine::Trigger::BeforeShowing));
    let tasks: Vec<String> = before.map(|task| task.id.to_string()).collect();
    for task in tasks {
        log.did("2026-03-23 17:30", "heron", &task);
    }
    let (left, take, done) = said(&log, 200.0);
    assert!(
        left < checks
            && (left > 0.0 || done.starts_with(&format!("You have 200 minutes; use {take:.0} of them: "))),
        "{left} {done}"
    );
}
