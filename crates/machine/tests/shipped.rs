//! The shipped types are sound and hold what they promise.
#![allow(clippy::unwrap_used)]

use machine::{
    CareKind, Danger, Hand, Intermittent, Judgement, Library, MachineState, MachineType, PartGroup,
    SourceKind, Trigger, shipped,
};
use std::collections::HashSet;
use units::Hours;

fn kind<'l>(library: &'l Library, id: &str) -> &'l MachineType {
    library.get(id).unwrap_or_else(|| panic!("{id} is not shipped"))
}

#[test]
fn every_shipped_file_reads_without_a_fault() {
    for (file, text) in machine::SHIPPED {
        if let Err(report) = machine::read(file, text) {
            panic!("{report}");
        }
    }
}

#[test]
fn the_three_types_are_as_full_as_a_real_machine() {
    let library = shipped();
    for (id, parts, care) in
        [("portable-16mm-halogen", 47, 60), ("booth-35mm-xenon", 45, 45), ("super8-sound", 35, 35)]
    {
        let kind = kind(&library, id);
        assert!(kind.parts.len() >= parts, "{id} has {} parts", kind.parts.len());
        assert!(kind.care.len() >= care, "{id} has {} care tasks", kind.care.len());
        assert!(kind.film_path().count() >= 10, "{id} has a short film path");
        assert!(kind.limits.len() >= 15 && kind.rotating.len() >= 12 && kind.spares.len() >= 15, "{id}");
    }
    assert_eq!(library.len(), 3);
}

// Guide rollers every 100 h or 60 days, roller shafts every 250 h: common practice, no source.
#[test]
fn roller_intervals_agree_with_common_practice() {
    let library = shipped();
    let portable = kind(&library, "portable-16mm-halogen");
    let rollers = portable.task("guide-rollers").unwrap();
    let every = rollers.every.unwrap();
    assert_eq!((every.hours, every.days), (Some(Hours::new(100.0)), Some(60)));
    let shafts = portable.task("roller-shafts").unwrap();
    let every = shafts.every.unwrap();
    assert_eq!((every.hours, every.days), (Some(Hours::new(250.0)), None));
    for task in [rollers, shafts] {
        assert_eq!(portable.source(&task.source).unwrap().words, "common practice, no source");
    }
}

#[test]
fn care_follows_the_film_path() {
    for kind in shipped().iter() {
        let places: Vec<_> =
            kind.care.iter().map(|task| kind.part_position(task.stands_at().unwrap()).unwrap()).collect();
        assert!(places.is_sorted(), "{}", kind.id);
        let walk: Vec<_> = kind.walk_tasks(Trigger::BeforeShowing).map(|t| t.id.as_str()).collect();
        assert!(walk.len() >= 15, "{}: {walk:?}", kind.id);
        let groups: Vec<_> = kind.parts.iter().map(|part| part.group).collect();
        assert!(groups.is_sorted(), "{}", kind.id);
    }
}

#[test]
fn every_part_on_the_film_has_care() {
    for kind in shipped().iter() {
        for part in kind.film_path() {
            assert!(kind.care_for(&part.id).next().is_some(), "{}: nothing cares for {}", kind.id, part.id);
        }
    }
}

#[test]
fn every_event_is_answered_by_the_portable() {
    let library = shipped();
    let portable = kind(&library, "portable-16mm-halogen");
    for event in Trigger::PLAIN {
        assert!(portable.walk_tasks(*event).next().is_some(), "nothing answers {event}");
    }
    let idle = |days| -> HashSet<&str> {
        portable.walk_tasks(Trigger::IdleDays(days)).map(|task| task.id.as_str()).collect()
    };
    assert!(idle(20).is_empty());
    assert!(idle(30).contains("exercise") && !idle(30).contains("store-look"));
    assert!(idle(200).is_superset(&idle(90)) && idle(200).contains("store-look"));
}

#[test]
fn hands_meet_their_cautions() {
    for kind in shipped().iter() {
        for task in &kind.care {
            for slot in &task.parts {
                let part = kind.part(slot).unwrap();
                for danger in [Danger::Hot, Danger::Live, Danger::Moving, Danger::Pressure] {
                    let there = part.dangers.contains(&danger) && task.state.leaves(danger);
                    let shown = task.cautions.iter().any(|caution| caution.danger == danger);
                    assert!(
                        !there || shown || task.kind == CareKind::Record,
                        "{} {} {danger}",
                        kind.id,
                        task.id
                    );
                }
            }
        }
    }
}

#[test]
fn xenon_is_for_authorised_hands_in_protection() {
    let library = shipped();
    let booth = kind(&library, "booth-35mm-xenon");
    let lamp = booth.part("xenon-lamp").unwrap();
    assert!(lamp.who.look >= Hand::Authorised && lamp.who.replace >= Hand::Authorised);
    let hands_on = booth.care_for("xenon-lamp").filter(|task| task.state != MachineState::Running);
    for task in hands_on {
        assert!(task.who >= Hand::Authorised, "{}", task.id);
        let pressure = task.cautions.iter().find(|caution| caution.danger == Danger::Pressure).unwrap();
        assert!(pressure.words.contains("gauntlets"), "{}", task.id);
    }
    assert_eq!(booth.features.intermittent, Intermittent::Geneva);
    let first = booth.task("intermittent-first-oil").unwrap().once_after_fitting.as_ref().unwrap();
    assert_eq!((first.slot.as_str(), first.hours), ("intermittent", Hours::new(50.0)));
}

// Earth bond at most 0.1 ohm, from memory: common limit of portable appliance testing.
#[test]
fn operators_never_open_amplifiers_or_test_earths() {
    for kind in shipped().iter() {
        for task in &kind.care {
            let electrical =
                matches!(task.reading.as_deref(), Some("earth-continuity" | "insulation" | "lamp-volts"));
            assert!(!electrical || task.who == Hand::Technician, "{} {}", kind.id, task.id);
            assert!(!electrical || task.safety || task.reading.as_deref() == Some("lamp-volts"));
        }
        let live =
            kind.parts.iter().filter(|part| part.id.contains("amplifier") || part.id.contains("igniter"));
        for part in live {
            assert!(
                part.dangers.contains(&Danger::Live) && part.needs_technician(),
                "{} {}",
                kind.id,
                part.id
            );
        }
    }
}

// PH22.91, clause 11: take-up 3 to 10 oz, supply brake at most 3 oz; 1 oz-force is 0.278 N.
#[test]
fn tension_limits_agree_with_ph22_91() {
    const OUNCE: f64 = 0.028_349_523 * 9.806_65;
    let library = shipped();
    let portable = kind(&library, "portable-16mm-halogen");
    let act = portable.limit("take-up-tension-empty").unwrap().act.unwrap();
    // The file rounds to hundredths of a newton.
    assert!((act.low.unwrap() - 3.0 * OUNCE).abs() < 0.005);
    assert!((act.high.unwrap() - 10.0 * OUNCE).abs() < 0.005);
    let drag = portable.limit("supply-drag").unwrap().act.unwrap();
    assert!((drag.high.unwrap() - 3.0 * OUNCE).abs() < 0.005);
    let source = portable.source(&portable.limit("supply-drag").unwrap().source).unwrap();
    assert_eq!(source.kind, SourceKind::Standard);
    assert!(source.words.contains("PH22.91"));
}

// Transactions SMPE 29 (1927), p. 526: 16 oz for both springs of a 35 mm gate.
#[test]
fn gate_pull_agrees_with_the_smpe_transactions() {
    let library = shipped();
    let pull = kind(&library, "booth-35mm-xenon").limit("gate-pull").unwrap();
    assert!((pull.good.high.unwrap() - 16.0 * 0.028_349_523 * 9.806_65).abs() < 0.005);
}

// SMPTE EG 3-1994: 55 cd/m2 plus or minus 7; ANSI/SMPTE 196M: theatres 12 to 22 fL (41 to 75 cd/m2).
#[test]
fn screen_light_agrees_with_smpte() {
    let library = shipped();
    let light = kind(&library, "booth-35mm-xenon").limit("screen-luminance").unwrap();
    assert_eq!((light.good.low, light.good.high), (Some(55.0 - 7.0), Some(55.0 + 7.0)));
    let foot_lamberts = |fl| units::Luminance::from_foot_lamberts(fl).candelas_per_square_metre();
    let act = light.act.unwrap();
    assert!((act.low.unwrap() - foot_lamberts(12.0)).abs() < 0.5);
    assert!((act.high.unwrap() - foot_lamberts(22.0)).abs() < 0.5);
}

#[test]
fn readings_are_judged() {
    let library = shipped();
    let portable = kind(&library, "portable-16mm-halogen");
    let flutter = portable.limit("flutter-weighted").unwrap();
    let judge = |value| flutter.judge(value, None).unwrap();
    assert_eq!(
        [0.25, 0.3, 0.41, 0.61].map(judge),
        [Judgement::Good, Judgement::Watch, Judgement::Act, Judgement::Stop]
    );
    let spin = portable.limit("drum-spin-down").unwrap();
    assert_eq!(spin.judge(33.0, None), None);
    assert_eq!(spin.judge(33.0, Some(33.0)), Some(Judgement::Good));
    assert_eq!(spin.judge(24.0, Some(33.0)), Some(Judgement::Act));
    assert_eq!(spin.judge(16.0, Some(33.0)), Some(Judgement::Stop));
    assert_eq!(spin.judge(f64::NAN, Some(33.0)), None);
    assert_eq!(spin.judge(20.0, Some(0.0)), None);
    let level = portable.limit("sound-level").unwrap();
    assert_eq!(level.judge(-9.0, Some(-5.0)), Some(Judgement::Act));
}

#[test]
fn no_file_names_a_source_that_it_should_not() {
    for (file, text) in machine::SHIPPED {
        for word in ["TODO", "FIXME", "lorem"] {
            assert!(!text.contains(word), "{file} says {word}");
        }
    }
}

#[test]
fn the_names_that_a_demonstration_needs_are_there() {
    let library = shipped();
    let portable = kind(&library, "portable-16mm-halogen");
    for slot in [
        "exciter-lamp",
        "lamp",
        "lamp-holder",
        "sound-drum",
        "claw",
        "gear-train",
        "take-up-belt",
        "amplifier",
    ] {
        let part = portable.part(slot).unwrap();
        assert!(
            portable.lives_of(slot).next().is_some() && portable.spares_for(slot).next().is_some(),
            "{}",
            part.id
        );
    }
    assert!(portable.part("nothing").is_none() && portable.task("nothing").is_none());
    assert_eq!(portable.part("lamp").unwrap().group, PartGroup::Light);
}

#[test]
fn every_task_is_reached_through_its_parts() {
    for kind in shipped().iter() {
        let reached: HashSet<&str> =
            kind.parts.iter().flat_map(|part| kind.care_for(&part.id)).map(|task| task.id.as_str()).collect();
        assert_eq!(reached.len(), kind.care.len(), "{}", kind.id);
    }
}
