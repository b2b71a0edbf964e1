//! Who may release a machine from danger, and who may give roles: at the gate, and for what comes from elsewhere.

use crate::kit::{
    Log, after, corrects, counted, fit, machine, person, ran, showing, with_turnstone, withdraws,
};
use logbook::{
    Booth, Draft, Fact, When, accept,
    fact::{Assigned, Corrects, Fitness, MachineAdded, Role, RunKind, ShowingPlanned},
    ids::{DeviceId, EntryId},
    must_keep_its_machine,
};

/// Ada keeps the booth, Ben operates, Tove is the technician; Ben found the machine dangerous.
fn in_danger() -> (Log, EntryId) {
    let mut log = with_turnstone();
    log.at(0.0, person("ada", Role::Keeper));
    log.at(0.0, person("ben", Role::Operator));
    log.at(0.0, person("tove", Role::Technician));
    let danger = log.by("ben", 24.0, fit(Fitness::Danger));
    (log, danger)
}

fn write(booth: &Booth, by: &str, fact: impl Into<Fact>) -> Result<(), String> {
    let draft = Draft {
        id: EntryId(uuid::Uuid::from_u128(900)),
        device: DeviceId(uuid::Uuid::from_u128(7)),
        happened: after(48.0),
        by: by.into(),
        fact: fact.into(),
    };
    accept(draft, booth, after(50_000.0)).map(|_| ()).map_err(|refusal| refusal.to_string())
}

fn moved(entry: EntryId, with: impl Into<Fact>, to: When) -> Fact {
    Fact::Corrects(Corrects {
        entry,
        with: Box::new(with.into()),
        happened: Some(to),
        why: "another day".to_owned(),
    })
}

fn ways_out(danger: EntryId) -> [Fact; 4] {
    [
        corrects(danger, fit(Fitness::Fit)),
        moved(danger, fit(Fitness::Danger), after(30_000.0)),
        corrects(danger, counted("swabs", 3)),
        withdraws(danger).into(),
    ]
}

#[test]
fn only_a_technician_settles_an_entry_that_says_danger() {
    let (log, danger) = in_danger();
    let booth = log.booth();
    for way in ways_out(danger) {
        for by in ["ada", "ben", "nobody"] {
            let words = write(&booth, by, way.clone()).unwrap_err();
            assert!(words.contains("qualified technician"), "{words}");
        }
        write(&booth, "tove", way).unwrap();
    }
}

#[test]
fn a_danger_taken_back_elsewhere_by_another_stays() {
    for by in ["ada", "ben", "tove"] {
        for way in 0..4 {
            let (mut log, danger) = in_danger();
            log.by(by, 48.0, ways_out(danger)[way].clone());
            let stays = log.turnstone().fitness.fitness == Fitness::Danger
                && log.turnstone().fitness.since == Some((after(24.0), danger));
            assert_eq!(stays, by != "tove", "{by}, {way}");
            assert_eq!(log.asked().iter().any(|what| what.contains("no technician")), by != "tove");
        }
    }
}

#[test]
fn a_danger_that_a_correction_made_is_not_taken_back_with_it() {
    let (mut log, _) = in_danger();
    let noted = log.by("ben", 30.0, fit(Fitness::Unfit));
    let made = log.by("ben", 40.0, corrects(noted, fit(Fitness::Danger)));
    let taken_back = log.by("ben", 41.0, withdraws(made));
    assert_eq!(log.turnstone().fitness.fitness, Fitness::Danger);
    assert!(write(&log.booth(), "ben", withdraws(made)).is_err());
    // Withdrawing the withdrawal that never counted is a technician's as well, and changes nothing.
    log.by("tove", 42.0, withdraws(taken_back));
    assert_eq!(log.turnstone().fitness.fitness, Fitness::Danger);
}

fn is_in_danger(log: &Log) -> bool {
    log.turnstone().fitness.fitness == Fitness::Danger
}

#[test]
fn an_entry_that_was_corrected_into_danger_is_settled_by_a_technician_only() {
    let ways: [fn(EntryId) -> Fact; 3] = [
        |noted| withdraws(noted).into(),
        |noted| corrects(noted, fit(Fitness::Fit)),
        |noted| corrects(noted, counted("swabs", 3)),
    ];
    for way in ways {
        for by in ["ben", "ada", "tove"] {
            let (mut log, danger) = in_danger();
            log.by("tove", 25.0, withdraws(danger));
            let noted = log.by("ben", 30.0, fit(Fitness::Fit));
            log.by("ben", 31.0, corrects(noted, fit(Fitness::Danger)));
            assert!(is_in_danger(&log), "anybody says danger, in a correction too");
            assert_eq!(write(&log.booth(), by, way(noted)).is_ok(), by == "tove");
            log.by(by, 32.0, way(noted));
            assert_eq!(is_in_danger(&log), by != "tove", "{by}");
        }
    }
}

#[test]
fn a_release_that_was_taken_back_is_brought_back_by_a_technician_only() {
    for by in ["ben", "ada", "tove"] {
        let (mut log, _) = in_danger();
        let release = log.by("tove", 30.0, fit(Fitness::Fit));
        assert!(!is_in_danger(&log));
        let taken_back = log.by("tove", 31.0, withdraws(release));
        assert!(is_in_danger(&log));
        assert_eq!(write(&log.booth(), by, withdraws(taken_back)).is_ok(), by == "tove");
        log.by(by, 32.0, withdraws(taken_back));
        assert_eq!(is_in_danger(&log), by != "tove", "{by}");
    }
}

#[test]
fn anybody_takes_back_a_release_and_rewords_a_danger() {
    let (mut log, danger) = in_danger();
    let release = log.by("tove", 30.0, fit(Fitness::Fit));
    log.by("ben", 31.0, withdraws(release));
    assert!(is_in_danger(&log));
    let words = logbook::fact::FitnessSet { why: "smoke at the motor".to_owned(), ..fit(Fitness::Danger) };
    log.by("ben", 32.0, corrects(danger, words));
    assert_eq!(log.turnstone().fitness.why, "smoke at the motor");
    assert_eq!(log.asked(), crate::kit::NOTHING);
}

#[test]
fn who_was_made_a_technician_by_mistake_does_not_bring_the_mistake_back() {
    let (mut log, danger) = in_danger();
    let mistake = log.at(30.0, person("ben", Role::Technician));
    let taken_back = log.at(31.0, withdraws(mistake));
    log.by("ben", 32.0, withdraws(taken_back));
    log.by("ben", 33.0, withdraws(danger));
    assert_eq!(log.booth().people["ben"].role, Role::Operator);
    assert!(is_in_danger(&log));
    assert_eq!(log.asked().len(), 2, "{:?}", log.asked());
}

#[test]
fn a_role_that_is_refused_or_only_renamed_changes_no_day_of_the_past() {
    let (mut log, _) = in_danger();
    log.by("ben", 40.0, fit(Fitness::Fit));
    // From here on Ben is a technician; what was written before stays what it was.
    log.by("ada", 50_000.0, person("ben", Role::Technician));
    for (by, role) in [("ben", Role::Technician), ("nobody", Role::Operator)] {
        log.by(by, 1.0, person("ben", role));
        assert!(is_in_danger(&log), "{by}");
        assert_eq!(log.booth().people["ben"].role, Role::Technician);
    }
}

#[test]
fn a_person_is_made_of_nothing_else_and_nothing_else_of_a_person() {
    let (mut log, _) = in_danger();
    let count = log.at(40.0, counted("swabs", 2));
    let ben = log.at(41.0, person("ben", Role::Operator));
    let gone = log.at(42.0, withdraws(ben));
    let ways = [
        corrects(count, person("ben", Role::Technician)),
        corrects(ben, counted("swabs", 9)),
        corrects(gone, person("ben", Role::Technician)),
        corrects(gone, counted("swabs", 9)),
    ];
    for way in ways {
        assert!(write(&log.booth(), "ada", way.clone()).unwrap_err().contains("about a person"));
        let mut from_elsewhere = log.clone();
        from_elsewhere.at(43.0, way);
        assert_eq!(from_elsewhere.asked().len(), 1);
        assert_eq!(from_elsewhere.booth().people, log.booth().people);
        assert_eq!(from_elsewhere.booth().stock, log.booth().stock);
    }
}

#[test]
fn thousands_of_settlements_of_one_danger_hold_nothing_up_and_lift_nothing() {
    let (mut log, danger) = in_danger();
    let mut last = danger;
    for step in 0..3_000 {
        let fitness = if step % 2 == 0 { Fitness::Fit } else { Fitness::Danger };
        last = log.by("ben", 48.0, corrects(last, fit(fitness)));
    }
    let began = std::time::Instant::now();
    assert!(is_in_danger(&log));
    assert!(began.elapsed().as_secs() < 20, "{:?}", began.elapsed());
}

#[test]
fn nobody_makes_themselves_a_technician() {
    let (mut log, danger) = in_danger();
    let booth = log.booth();
    for by in ["ada", "ben"] {
        let words = write(&booth, by, person(by, Role::Technician)).unwrap_err();
        assert!(words.contains("the keeper writes who has which role"), "{words}");
    }
    assert!(write(&booth, "ben", person("carl", Role::Technician)).is_err());
    assert!(write(&booth, "ben", person("carl", Role::Keeper)).is_err());
    write(&booth, "ben", person("carl", Role::Operator)).unwrap();
    write(&booth, "ada", person("carl", Role::Technician)).unwrap();
    write(&booth, "ada", person("ben", Role::Technician)).unwrap();

    // The same from another logbook, in every disguise.
    let ben = log.at(44.0, person("ben", Role::Operator));
    log.by("ben", 45.0, person("ben", Role::Technician));
    log.by("ben", -1e4, person("ben", Role::Technician));
    log.by("ben", 46.0, corrects(ben, person("ben", Role::Technician)));
    let count = log.by("ben", 46.0, counted("swabs", 2));
    log.by("ben", 46.0, corrects(count, person("ben", Role::Technician)));
    log.by("ben", 47.0, fit(Fitness::Fit));
    log.by("ben", 48.0, withdraws(danger));
    let booth = log.booth();
    assert_eq!(booth.people["ben"].role, Role::Operator);
    assert_eq!(booth.machines["turnstone"].fitness.fitness, Fitness::Danger);
    assert_eq!(log.asked().len(), 6, "{:?}", log.asked());
}

#[test]
fn the_keeper_gives_and_takes_roles_and_corrects_them() {
    let (mut log, danger) = in_danger();
    let ben = log.at(30.0, person("ben", Role::Technician));
    assert_eq!(log.booth().people["ben"].role, Role::Technician);
    log.at(31.0, corrects(ben, person("ben", Role::Operator)));
    log.by("ben", 32.0, withdraws(danger));
    assert_eq!(log.booth().people["ben"].role, Role::Operator);
    assert!(!log.turnstone().is_available());
    log.by("tove", 33.0, withdraws(danger));
    assert!(log.turnstone().is_available());
}

#[test]
fn the_first_to_write_begins_the_booth() {
    let mut log = Log::default();
    let booth = log.booth();
    write(&booth, "tove", person("tove", Role::Technician)).unwrap();
    log.by("tove", 0.0, person("tove", Role::Technician));
    log.by("tove", 1.0, person("ada", Role::Keeper));
    log.by("tove", 1.0, machine("turnstone"));
    assert_eq!(log.booth().people["ada"].role, Role::Keeper);
    assert_eq!(log.asked(), crate::kit::NOTHING);
}

#[test]
fn a_machine_in_danger_neither_shows_nor_is_planned() {
    let (mut log, _) = in_danger();
    let booth = log.booth();
    for kind in [RunKind::Showing, RunKind::Rehearsal, RunKind::Test, RunKind::Rewind] {
        let run = || ran("turnstone", kind, 0.5);
        assert!(write(&booth, "ada", run()).unwrap_err().contains("quarantined as dangerous"));
        assert_eq!(write(&booth, "tove", run()).is_ok(), kind == RunKind::Test);
    }
    let plan = || ShowingPlanned {
        machines: vec![Assigned { machine: "turnstone".into(), running_hours: None }],
        ..showing("matinee", "2026-03-06T15:00[Europe/Lisbon]", 90.0)
    };
    assert!(write(&booth, "ada", plan()).unwrap_err().contains("another machine"));
    log.by("tove", 40.0, fit(Fitness::Fit));
    write(&log.booth(), "ada", plan()).unwrap();
    write(&log.booth(), "ada", ran("turnstone", RunKind::Showing, 0.5)).unwrap();
}

#[test]
fn what_is_asked_names_people_and_machines_as_they_are_called() {
    let (mut log, _) = in_danger();
    let called = |person: &str, name: &str| logbook::fact::PersonAdded {
        name: name.to_owned(),
        ..crate::kit::person(person, Role::Operator)
    };
    log.at(26.0, called("ben", "Ben Weir"));
    let small = logbook::fact::MachineAdded { name: "The small one".to_owned(), ..machine("dunlin") };
    log.at(1.0, small);
    log.by("ben", 30.0, fit(Fitness::Fit));
    log.at(31.0, crate::kit::moved("lamp-1", "dunlin", "lamp"));
    log.at(32.0, crate::kit::fitted("lamp-1", "lamp"));
    let asked = log.asked();
    assert!(asked.iter().any(|what| what.starts_with("“Ben Weir” is no technician")), "{asked:?}");
    assert!(asked.iter().any(|what| what.contains("still fitted in The small one (lamp)")), "{asked:?}");
}

#[test]
fn a_machine_in_danger_keeps_the_entry_that_brought_it_in() {
    let (log, _) = in_danger();
    let booth = log.booth();
    let brought = booth.machines["turnstone"].added.1;
    let renamed = corrects(brought, MachineAdded { name: "The old one".to_owned(), ..machine("turnstone") });
    let ways = [renamed.clone(), withdraws(brought).into()];
    for by in ["ada", "ben"] {
        for way in ways.clone() {
            let words = write(&booth, by, way).unwrap_err();
            assert!(words.contains("qualified technician"), "{words}");
        }
    }
    for way in ways {
        write(&booth, "tove", way).unwrap();
    }
    // Not even a technician makes another machine of it: that is another entry.
    for by in ["ben", "tove"] {
        write(&booth, by, corrects(brought, machine("dunlin"))).unwrap_err();
    }
    let safe = with_turnstone().booth();
    write(&safe, "ben", renamed).unwrap();
    let words = write(&safe, "ben", corrects(brought, machine("dunlin"))).unwrap_err();
    assert!(words.contains("cannot bring in anything else"), "{words}");
    // By way of a correction in between it is the same.
    let in_between = corrects(EntryId(uuid::Uuid::from_u128(77)), machine("dunlin"));
    for (booth, by) in [(&booth, "ben"), (&safe, "ben"), (&safe, "ada")] {
        must_keep_its_machine(&by.into(), &in_between, brought, booth).unwrap_err();
    }
}

#[test]
fn what_a_machine_in_danger_may_not_do_does_not_come_in_as_a_correction() {
    let mut log = with_turnstone();
    log.at(0.0, person("ben", Role::Operator));
    let run = log.at(2.0, ran("turnstone", RunKind::Showing, 2.0));
    let count = log.at(3.0, counted("swabs", 3));
    log.at(24.0, fit(Fitness::Danger));
    let booth = log.booth();
    let planned = ShowingPlanned {
        machines: vec![Assigned { machine: "turnstone".into(), running_hours: None }],
        ..showing("late", "2026-03-20T19:30[UTC]", 90.0)
    };
    for with in [Fact::from(ran("turnstone", RunKind::Showing, 3.0)), planned.into()] {
        let words = write(&booth, "ben", corrects(count, with)).unwrap_err();
        assert!(words.contains("quarantined"), "{words}");
    }
    // What it did before may be put right.
    write(&booth, "ben", corrects(run, ran("turnstone", RunKind::Showing, 1.5))).unwrap();
}

/// The entry that brought Turnstone in.
fn arrival(log: &Log) -> EntryId {
    log.entries.iter().find(|entry| matches!(entry.fact, Fact::MachineAdded(_))).unwrap().id
}

#[test]
fn the_entry_that_brought_a_machine_in_danger_in_stays_whoever_takes_it_back_elsewhere() {
    for by in ["ada", "ben", "tove"] {
        let gone = |ways: &[fn(EntryId) -> Fact]| {
            let (mut log, _) = in_danger();
            let mut last = arrival(&log);
            for (n, way) in ways.iter().enumerate() {
                last = log.by(by, 48.0 + n as f64, way(last));
            }
            let asked = log.asked().iter().any(|what| what.contains("no technician"));
            assert_eq!(asked, by != "tove", "{by}");
            !log.fold().booth.machines.contains_key("turnstone")
        };
        let taken_back: fn(EntryId) -> Fact = |entry| withdraws(entry).into();
        let another: fn(EntryId) -> Fact = |entry| corrects(entry, machine("heron"));
        assert_eq!(gone(&[taken_back]), by == "tove", "{by}");
        assert_eq!(gone(&[another]), by == "tove", "{by}");
    }
}

#[test]
fn a_machine_that_is_out_of_danger_or_was_not_in_it_yet_may_be_taken_back_and_a_name_put_right() {
    // Written before anybody said danger.
    let mut log = with_turnstone();
    log.at(0.0, person("ada", Role::Keeper));
    log.at(0.0, person("ben", Role::Operator));
    let first = arrival(&log);
    log.by("ben", 20.0, withdraws(first));
    log.by("ben", 24.0, fit(Fitness::Danger));
    assert!(!log.fold().booth.machines.contains_key("turnstone"));
    // After the technician's release.
    let (mut log, _) = in_danger();
    log.by("tove", 30.0, fit(Fitness::Fit));
    let first = arrival(&log);
    log.by("ben", 48.0, withdraws(first));
    assert!(!log.fold().booth.machines.contains_key("turnstone"));
    // A name, while it is in danger: the machine stays the same.
    let (mut log, _) = in_danger();
    let first = arrival(&log);
    let renamed = MachineAdded { name: "Turnstone the second".to_owned(), ..machine("turnstone") };
    log.by("ben", 48.0, corrects(first, renamed));
    assert_eq!(log.turnstone().name, "Turnstone the second");
    assert_eq!(log.turnstone().fitness.fitness, Fitness::Danger);
}
