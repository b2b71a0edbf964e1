//! The gate: what needs to know the machine.

use crate::kit::{Log, care, deferral, draft, fitting, reading, types, when};
use logbook::{
    Fact, Refusal,
    fact::{Corrects, FaultOpened, MachineChanged, MachineEvent, Outcome},
};

const NOW: &str = "2026-03-01 12:00";

fn accept(by: &str, fact: impl Into<Fact>) -> Result<Fact, Refusal> {
    let booth = Log::new().fold();
    booth::accept(draft(by, "2026-03-01 11:00", fact), &booth, types(), when(NOW)).map(|entry| entry.fact)
}

fn refused(by: &str, fact: impl Into<Fact>) -> Refusal {
    accept(by, fact).unwrap_err()
}

#[test]
fn ordinary_care_goes_in() {
    assert!(accept("reed", care("turnstone", "guide-rollers", None, Outcome::Done)).is_ok());
}

#[test]
fn a_task_that_the_type_does_not_know_is_refused_with_the_likely_ones() {
    let refusal = refused("wren", care("turnstone", "guide-rolers", None, Outcome::Done));
    assert_eq!((refusal.field, refusal.what.as_str()), ("task", "turnstone has no care task `guide-rolers`"));
    assert!(refusal.would_be_right.starts_with("there are guide-rollers"), "{}", refusal.would_be_right);
}

#[test]
fn a_task_is_done_at_its_own_slots() {
    assert!(
        accept("wren", care("turnstone", "guide-rollers", Some("guide-roller-lower"), Outcome::Done)).is_ok()
    );
    let refusal = refused("wren", care("turnstone", "guide-rollers", Some("lamp"), Outcome::Done));
    assert_eq!((refusal.field, refusal.what.as_str()), ("slot", "`guide-rollers` is not done at `lamp`"));
    let refusal = refused("wren", care("turnstone", "guide-rollers", Some("lampp"), Outcome::Done));
    assert_eq!(refusal.what, "turnstone has no slot `lampp`");
}

#[test]
fn a_technicians_work_counts_when_a_technician_writes_it() {
    for person in ["reed", "wren", "nobody"] {
        let refusal = refused(person, care("turnstone", "electrical-test", None, Outcome::Done));
        assert!(
            refusal.would_be_right.contains("write what you saw as a note"),
            "{}",
            refusal.would_be_right
        );
    }
    assert!(accept("tarn", care("turnstone", "electrical-test", None, Outcome::Done)).is_ok());
    assert!(
        accept("reed", care("turnstone", "electrical-test", None, Outcome::Skipped)).is_ok(),
        "left out is no deed"
    );
}

/// A safety task is put off by nobody, a quality task not by the relief operator: common practice, no source.
#[test]
fn who_may_put_off_what() {
    let until = Some("2026-04-01");
    for person in ["reed", "wren", "tarn"] {
        let refusal = refused(person, deferral("turnstone", "heat-filter-look", None, until));
        assert!(refusal.what.contains("safety hangs on"), "{}", refusal.what);
    }
    assert_eq!(refused("reed", deferral("turnstone", "guide-rollers", None, until)).field, "by");
    assert!(accept("wren", deferral("turnstone", "guide-rollers", None, until)).is_ok());
}

#[test]
fn what_a_bigger_task_contains_is_filled_in() {
    let Ok(Fact::CareDone(done)) = accept("tarn", care("turnstone", "service", None, Outcome::Done)) else {
        panic!("a technician may do the service");
    };
    let mut included: Vec<&str> = done.includes.iter().map(logbook::ids::TaskId::as_str).collect();
    included.sort_unstable();
    assert_eq!(included, ["guide-rollers", "motor-oil", "roller-shafts"]);
}

#[test]
fn nothing_is_filled_in_for_what_was_left_out() {
    let Ok(Fact::CareDone(left)) = accept("wren", care("turnstone", "roller-shafts", None, Outcome::Skipped))
    else {
        panic!("leaving out may be written");
    };
    assert!(left.includes.is_empty());
}

#[test]
fn a_reading_is_in_its_limits_unit() {
    assert!(accept("wren", reading("turnstone", "flutter", 0.2, "%", false)).is_ok());
    let refusal = refused("wren", reading("turnstone", "flutter", 0.2, "ftL", false));
    assert_eq!((refusal.field, refusal.would_be_right.as_str()), ("unit", "give the value in %"));
    assert_eq!(refused("wren", reading("turnstone", "fluter", 0.2, "%", false)).field, "quantity");
}

#[test]
fn an_event_is_one_that_care_answers_to() {
    let event =
        |event: &str| MachineEvent { machine: "turnstone".into(), event: event.into(), note: String::new() };
    for known in ["transport", "after-transport", "new-site", "repair", "wet-or-salt", "shock"] {
        assert!(accept("wren", event(known)).is_ok(), "{known}");
    }
    let refusal = refused("wren", event("earthquake"));
    assert_eq!(refusal.field, "event");
    assert!(refusal.would_be_right.contains("wet-or-salt"), "{}", refusal.would_be_right);
    assert_eq!(refused("wren", event("before-showing")).field, "event", "showings are written as showings");
}

#[test]
fn a_part_goes_into_a_slot_that_is_there() {
    assert!(accept("wren", fitting("turnstone", "lamp", "lamp-1", Some(0.0), None)).is_ok());
    assert_eq!(refused("wren", fitting("turnstone", "lammp", "lamp-1", Some(0.0), None)).field, "slot");
    let fault = FaultOpened {
        fault: "f1".into(),
        machine: "turnstone".into(),
        slot: Some("nowhere".into()),
        words: "ticks".into(),
        showing: None,
        symptoms: Vec::new(),
        print_sort: None,
        print: None,
        show_running: false,
    };
    assert_eq!(refused("wren", fault).field, "slot");
}

#[test]
fn a_machine_is_of_a_known_type() {
    let change = |kind: &str| MachineChanged {
        machine: "turnstone".into(),
        name: None,
        machine_type: Some(kind.into()),
        serial: None,
        place: None,
    };
    assert!(accept("wren", change("bench-16mm")).is_ok());
    let refusal = refused("wren", change("bench-17mm"));
    assert_eq!(refusal.field, "machine_type");
    assert!(refusal.would_be_right.contains("bench-16mm"));
}

#[test]
fn a_correction_is_judged_like_what_it_puts_in_place() {
    let mut log = Log::new();
    let entry = log.did("2026-02-01 18:00", "turnstone", "guide-rollers");
    let booth = log.fold();
    let correct = |task: &str| Corrects {
        entry,
        with: Box::new(care("turnstone", task, None, Outcome::Done).into()),
        happened: None,
        why: "wrong task".into(),
    };
    let say =
        |task| booth::accept(draft("wren", NOW, Fact::Corrects(correct(task))), &booth, types(), when(NOW));
    assert!(say("roller-shafts").is_ok());
    assert_eq!(say("roller-shaft").unwrap_err().field, "task");
}

#[test]
fn a_machine_whose_type_is_not_here_keeps_its_entries() {
    let mut log = Log::new();
    log.machine_of("2026-01-02 09:00", "dunlin", "from-elsewhere", None);
    let booth = log.fold();
    let fact = care("dunlin", "something-of-its-own", None, Outcome::Done);
    assert!(booth::accept(draft("wren", "2026-03-01 11:00", fact), &booth, types(), when(NOW)).is_ok());
}
