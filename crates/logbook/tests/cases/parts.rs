//! Parts: where each one lives, how old it is, and how its life in a slot ends.

use crate::kit::*;
use logbook::fact::{Ending, MachineAdded, PartFitted, PartRemoved, Replaced};

#[test]
fn a_lamp_that_fails_gives_way_to_the_next() {
    let mut log = with_turnstone();
    log.at(1.0, fitted("lamp-1", "lamp"));
    log.at(24.0, showed(2.0));
    log.at(48.0, replacing("lamp-2", "lamp", Ending::Failed));
    log.at(72.0, showed(1.5));
    let booth = log.booth();
    let (first, second) = (&booth.parts["lamp-1"], &booth.parts["lamp-2"]);
    assert_eq!(first.stints[0].ended.as_ref().unwrap().why, Ending::Failed);
    is(first.age(&booth).lit, 2.0);
    assert_eq!(first.age(&booth).strikes, 1);
    is(second.age(&booth).lit, 1.5);
    assert!(second.age(&booth).known);
    assert_eq!(booth.machines["turnstone"].fitted["lamp"].as_str(), "lamp-2");
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn a_part_put_into_a_full_slot_without_a_word_is_asked_about() {
    let mut log = with_turnstone();
    log.at(1.0, fitted("lamp-1", "lamp"));
    log.at(48.0, fitted("lamp-2", "lamp"));
    assert_eq!(log.part("lamp-1").stints[0].ended.as_ref().unwrap().why, Ending::Unknown);
    assert_eq!(
        log.asked(),
        ["“lamp-1” was in lamp and nobody wrote why it came out; the reason is taken as unknown"]
    );
}

#[test]
fn a_part_keeps_its_age_when_it_moves() {
    let mut log = with_turnstone();
    log.at(0.0, machine("dunlin"));
    log.at(1.0, PartFitted { age_hours: Some(h(10.0)), ..fitted("roller-a", "guide-roller") });
    log.at(24.0, showed(2.0));
    log.at(48.0, moved("roller-a", "dunlin", "guide-roller"));
    log.at(72.0, ran("dunlin", logbook::fact::RunKind::Showing, 3.0));
    log.at(96.0, showed(5.0));
    let booth = log.booth();
    let roller = &booth.parts["roller-a"];
    is(roller.age(&booth).running, 15.0);
    assert_eq!(roller.stints.len(), 2);
    assert_eq!(roller.stints[0].ended.as_ref().unwrap().why, Ending::Borrowed);
    assert!(booth.machines["turnstone"].fitted.is_empty());
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn a_part_cannot_be_in_two_machines() {
    let mut log = with_turnstone();
    log.at(0.0, machine("dunlin"));
    log.at(1.0, fitted("lamp-1", "lamp"));
    log.at(48.0, PartFitted { machine: "dunlin".into(), ..fitted("lamp-1", "lamp") });
    let lamp = log.part("lamp-1");
    assert_eq!(lamp.stints[0].ended.as_ref().unwrap().why, Ending::Borrowed);
    assert_eq!(lamp.open_stint().unwrap().machine.as_str(), "dunlin");
    assert_eq!(
        log.asked(),
        ["part “lamp-1” was still fitted in turnstone (lamp); it is taken as borrowed from there"]
    );
}

#[test]
fn what_came_with_the_machine_is_at_least_as_old_as_its_time_here() {
    let mut log = Log::default();
    log.at(0.0, MachineAdded { hours_before: Some(h(100.0)), ..machine("turnstone") });
    log.at(24.0, showed(2.0));
    let old = Some(Replaced { part: Some("first-lamp".into()), why: Ending::Failed });
    log.at(48.0, PartFitted { replaces: old, ..fitted("lamp-1", "lamp") });
    let booth = log.booth();
    let age = booth.parts["first-lamp"].age(&booth);
    assert!(!age.known);
    is(age.lit, 2.0);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn a_part_that_nobody_wrote_down_moves_with_an_unknown_age() {
    let mut log = with_turnstone();
    log.at(24.0, moved("roller-a", "turnstone", "guide-roller"));
    let booth = log.booth();
    assert!(!booth.parts["roller-a"].age(&booth).known);
    assert_eq!(booth.machines["turnstone"].fitted["guide-roller"].as_str(), "roller-a");
    assert_eq!(log.asked().len(), 1);
}

#[test]
fn a_part_that_is_nowhere_cannot_come_out() {
    let mut log = with_turnstone();
    log.at(24.0, PartRemoved { part: "lamp-1".into(), why: Ending::Worn, note: String::new() });
    assert_eq!(log.asked(), ["part “lamp-1” is not fitted anywhere; nothing came out"]);
}

#[test]
fn a_spare_leaves_the_shelf_when_it_is_fitted() {
    let mut log = with_turnstone();
    log.at(0.0, counted("halogen-lamp", 3));
    log.at(1.0, PartFitted { item: Some("halogen-lamp".into()), ..fitted("lamp-1", "lamp") });
    assert_eq!(log.booth().stock["halogen-lamp"].count, 2);
}

#[test]
fn a_spare_that_nobody_counted_is_asked_about() {
    let mut log = with_turnstone();
    log.at(1.0, PartFitted { item: Some("halogen-lamp".into()), ..fitted("lamp-1", "lamp") });
    assert_eq!(log.booth().stock["halogen-lamp"].count, -1);
    assert_eq!(log.asked(), ["“halogen-lamp” was used, but nobody ever counted how many there were"]);
}

#[test]
fn a_slot_remembers_when_it_was_last_disturbed() {
    let mut log = with_turnstone();
    log.at(1.0, fitted("belt-1", "take-up-belt"));
    let out = log.at(48.0, PartRemoved { part: "belt-1".into(), why: Ending::Worn, note: String::new() });
    assert_eq!(log.turnstone().disturbed["take-up-belt"], (after(48.0), out));
}

#[test]
fn an_age_that_cannot_be_is_asked_about_and_taken_as_unknown() {
    let cannot_be = [1e15, 1e308, f64::MAX, f64::INFINITY, -1e308, -5e-324, f64::NAN, 1_000_001.0];
    for hours in cannot_be {
        let bands = [(hours, 10.0), (0.0, hours)];
        let aged = PartFitted { age_hours: Some(h(hours)), ..fitted("lamp-1", "lamp") };
        let banded = bands.map(|(low, high)| PartFitted {
            age_hours: None,
            age_band_hours: Some((h(low), h(high))),
            ..fitted("lamp-1", "lamp")
        });
        for fact in [aged].into_iter().chain(banded) {
            let mut log = with_turnstone();
            log.at(1.0, fact);
            let part = log.part("lamp-1");
            assert_eq!((part.age_hours, part.age_band_hours), (None, None), "{hours}");
            assert_eq!(
                log.asked(),
                ["the age of part “lamp-1” cannot be; it is taken as unknown"],
                "{hours}"
            );
        }
    }
    let mut log = with_turnstone();
    log.at(1.0, PartFitted { age_band_hours: Some((h(9.0), h(8.0))), ..fitted("lamp-1", "lamp") });
    assert_eq!(log.asked(), ["the age of part “lamp-1” cannot be; it is taken as unknown"]);
    // The greatest and the least that can be are taken as they are.
    for hours in [0.0, 5e-324, 1_000_000.0] {
        let mut log = with_turnstone();
        log.at(1.0, PartFitted { age_hours: Some(h(hours)), ..fitted("lamp-1", "lamp") });
        assert_eq!(log.part("lamp-1").age_hours, Some(h(hours)));
        assert_eq!(log.asked(), NOTHING);
    }
}
