//! The trouble tables of the shipped types hold what they promise.
#![allow(clippy::unwrap_used)]

use machine::{
    CauseKind, Check, Danger, Hand, Library, MachineState, MachineType, Noticed, PrintSort, ReferTo,
    RemedyKind, RunOn, shipped,
};
use std::collections::{BTreeMap, HashSet};

fn kind<'l>(library: &'l Library, id: &str) -> &'l MachineType {
    library.get(id).unwrap_or_else(|| panic!("{id} is not shipped"))
}

#[test]
fn the_tables_are_as_full_as_the_trade_needs() {
    let library = shipped();
    for (id, symptoms) in [("portable-16mm-halogen", 75), ("booth-35mm-xenon", 55), ("super8-sound", 40)] {
        let trouble = &kind(&library, id).trouble;
        assert!(trouble.symptoms.len() >= symptoms, "{id} has {} symptoms", trouble.symptoms.len());
        assert!(
            trouble.causes.len() >= 100 && trouble.checks.len() >= 100 && trouble.remedies.len() >= 80,
            "{id}"
        );
        for noticed in Noticed::ALL {
            let count = trouble.symptoms_noticed(*noticed).count();
            assert!(count >= 4, "{id}: only {count} symptoms of {noticed}");
        }
        assert!(!trouble.stop_signs.is_empty() && trouble.drills.len() >= 8, "{id}");
    }
}

// The symptoms of a 16 mm portable, group by group: common practice, no source.
#[test]
fn the_portable_has_every_symptom_of_its_groups() {
    let library = shipped();
    let trouble = &kind(&library, "portable-16mm-halogen").trouble;
    let groups: [(Noticed, &[&str]); 7] = [
        (
            Noticed::Picture,
            &[
                "picture-jumps",
                "picture-floats",
                "picture-weaves",
                "frame-line-shows",
                "frame-line-creeps",
                "bright-streaks",
                "picture-soft",
                "picture-soft-corner",
                "focus-pops",
                "picture-breathes",
                "picture-flickers",
                "hair-in-gate",
                "dust-on-screen",
                "black-line",
                "coloured-line",
                "white-flash",
                "picture-wrong-way",
                "picture-cut-off",
                "double-image",
                "frame-burns",
            ],
        ),
        (
            Noticed::Light,
            &[
                "light-goes-out",
                "no-light-at-start",
                "picture-dim",
                "light-uneven",
                "lamps-die-young",
                "lamphouse-hot",
            ],
        ),
        (
            Noticed::Sound,
            &[
                "no-sound",
                "sound-weak",
                "sound-muffled",
                "sound-warbles",
                "sound-wows",
                "wrong-pitch",
                "wow-at-start",
                "hum-low",
                "hum-high",
                "edge-clatter",
                "picture-burr",
                "sound-crackles",
                "sound-distorted",
                "thump-at-splices",
                "lips-out",
                "sound-comes-and-goes",
                "howl",
            ],
        ),
        (
            Noticed::Transport,
            &[
                "film-breaks",
                "loop-lost-often",
                "loop-lost-same-place",
                "climbs-off-sprocket",
                "will-not-lace",
                "film-wraps",
                "motor-hums",
                "machine-dead",
                "fuse-blows",
                "tingle",
                "trips-breaker",
                "runs-slow-warm",
                "knock-per-turn",
                "speed-wanders",
                "sudden-stop",
            ],
        ),
        (
            Noticed::TakeUpAndRewind,
            &[
                "film-spills",
                "take-up-fierce",
                "wind-loose",
                "rewind-stops",
                "no-rewind",
                "rewind-chews",
                "wrong-end-out",
            ],
        ),
        (
            Noticed::FilmDamage,
            &[
                "new-scratch",
                "perfs-torn-in-run",
                "perfs-every-nth",
                "oil-on-film",
                "wax-in-gate",
                "film-curled",
            ],
        ),
        (
            Noticed::NoiseAndSmell,
            &[
                "squeal",
                "louder-than-before",
                "click-every-seconds",
                "dust-smell",
                "burning-smell",
                "vinegar-smell",
                "suspect-film",
                "rattle-after-travel",
            ],
        ),
    ];
    for (noticed, ids) in groups {
        for id in ids {
            let symptom = trouble.symptom(id).unwrap_or_else(|| panic!("{id} is missing"));
            assert_eq!(symptom.noticed, noticed, "{id}");
        }
    }
}

// The usual causes of the seven troubles that every projectionist meets: common practice, no source.
#[test]
fn the_usual_causes_of_the_common_faults_are_there() {
    let library = shipped();
    let trouble = &kind(&library, "portable-16mm-halogen").trouble;
    let usual: [(&str, &[&str]); 7] = [
        ("no-light-at-start", &["lamp-dead", "lamp-switch-off", "lamp-contacts-bad", "lamp-fuse"]),
        ("picture-soft", &["focus-off", "lens-dirty", "emulsion-changed"]),
        (
            "no-sound",
            &["speaker-lead", "exciter-dead", "volume-or-selector", "film-off-drum", "amplifier-fuse"],
        ),
        ("sound-weak", &["exciter-ageing", "sound-lens-dirty", "film-slack-on-drum", "track-faint"]),
        ("film-spills", &["take-up-belt-off", "spool-key-out", "clutch-weak"]),
        ("no-rewind", &["rewind-belt-bad", "rewind-not-engaged", "take-up-not-released"]),
        ("machine-dead", &["socket-dead", "fuse-blown", "lead-faulty", "switch-faulty"]),
    ];
    for (id, causes) in usual {
        let symptom = trouble.symptom(id).unwrap();
        for cause in causes {
            assert!(symptom.odds_of(cause).value() >= 0.03, "{id} does not think of {cause}");
            let reached = trouble.checks_of(cause).count() + trouble.remedies_of(cause).count();
            assert!(reached > 0, "nothing tells or cures {cause}");
        }
    }
}

// Nearly every cause can be found by a check that is right four times out of five.
#[test]
fn causes_can_be_told() {
    for kind in shipped().iter() {
        let trouble = &kind.trouble;
        let told = |cause: &machine::Cause| {
            trouble.checks_of(&cause.id).any(|check| check.finds(&cause.id).value() >= 0.8)
        };
        let found = trouble.causes.iter().filter(|cause| told(cause)).count();
        assert!(found * 100 >= trouble.causes.len() * 95, "{}: {found} of {}", kind.id, trouble.causes.len());
        for cause in &trouble.causes {
            assert!(trouble.checks_of(&cause.id).next().is_some(), "{}: nothing tells {}", kind.id, cause.id);
        }
    }
}

#[test]
fn every_cause_is_cured_or_passed_on() {
    for kind in shipped().iter() {
        for cause in &kind.trouble.causes {
            let mut remedies =
                kind.trouble.remedies_of(&cause.id).filter(|remedy| remedy.who < Hand::Technician);
            let cured = remedies.any(|remedy| remedy.cures(&cause.id).value() >= 0.5);
            assert!(cured || cause.refer.is_some(), "{}: {}", kind.id, cause.id);
            assert!(cause.who < Hand::Technician || cause.refer.is_some(), "{}: {}", kind.id, cause.id);
        }
    }
}

#[test]
fn hands_meet_their_cautions_in_trouble_too() {
    for kind in shipped().iter() {
        let checks = kind.trouble.checks.iter().map(|c| (&c.id[..], c.state, &c.touches, &c.cautions));
        let remedies = kind.trouble.remedies.iter().map(|r| (&r.id[..], r.state, &r.parts, &r.cautions));
        for (id, state, parts, cautions) in checks.chain(remedies) {
            for danger in parts.iter().flat_map(|slot| &kind.part(slot).unwrap().dangers) {
                let shown = cautions.iter().any(|caution| caution.danger == *danger);
                assert!(shown || !state.leaves(*danger), "{} {id} {danger}", kind.id);
            }
        }
    }
}

#[test]
fn while_an_audience_waits_nobody_opens_a_cover_with_a_tool() {
    for kind in shipped().iter() {
        for remedy in kind.trouble.remedies.iter().filter(|remedy| remedy.during_show) {
            let tool =
                remedy.access.as_deref().and_then(|id| kind.trouble.access(id)).is_some_and(|a| a.needs_tool);
            assert!(!tool && remedy.who < Hand::Technician, "{} {}", kind.id, remedy.id);
            assert!(
                remedy.state < MachineState::Cooled && remedy.minutes() <= 10.0,
                "{} {}",
                kind.id,
                remedy.id
            );
        }
    }
}

#[test]
fn an_operator_never_opens_a_live_cover_or_the_xenon_house() {
    for kind in shipped().iter() {
        let trouble = &kind.trouble;
        for check in trouble.checks.iter().filter(|check| check.access.as_deref() == Some("back-cover")) {
            assert_eq!(check.who, Hand::Technician, "{} {}", kind.id, check.id);
        }
        for remedy in trouble.remedies.iter().filter(|remedy| remedy.access.as_deref() == Some("back-cover"))
        {
            assert_eq!(remedy.who, Hand::Technician, "{} {}", kind.id, remedy.id);
        }
    }
    let library = shipped();
    let booth = kind(&library, "booth-35mm-xenon");
    let house = booth.trouble.access("lamphouse").unwrap();
    assert!(house.who >= Hand::Authorised && house.state == MachineState::Cooled);
    assert!(house.cautions.iter().any(|caution| caution.danger == Danger::Pressure));
    let handled =
        booth.trouble.remedies.iter().filter(|r| r.parts.iter().any(|slot| slot == &"xenon-lamp".into()));
    for remedy in handled {
        assert!(remedy.who >= Hand::Authorised && remedy.state == MachineState::Cooled, "{}", remedy.id);
        let pressure = remedy.cautions.iter().find(|caution| caution.danger == Danger::Pressure).unwrap();
        assert!(pressure.words.contains("gauntlets"), "{}", remedy.id);
    }
    for id in
        ["xenon-no-strike", "xenon-flickers", "xenon-goes-out", "picture-jumps-evenly", "sound-stays-behind"]
    {
        assert!(booth.trouble.symptom(id).is_some(), "{id}");
    }
}

#[test]
fn film_that_may_be_nitrate_is_stopped_and_passed_on() {
    for kind in shipped().iter() {
        let trouble = &kind.trouble;
        let suspect = trouble.symptom("suspect-film").unwrap();
        assert!(suspect.stop_now.is_some() && suspect.drill.as_deref() == Some("nitrate"), "{}", kind.id);
        let nitrate = trouble.cause("nitrate-possible").unwrap();
        assert_eq!(nitrate.refer.as_ref().unwrap().to, ReferTo::Archive);
        assert_eq!(nitrate.kind, CauseKind::Print);
        assert!(nitrate.cautions.iter().any(|caution| caution.danger == Danger::Fire));
        assert!(
            trouble.remedies_of("nitrate-possible").next().is_none(),
            "{}: nobody cures nitrate",
            kind.id
        );
        assert!(trouble.stop_signs.iter().any(|sign| sign.drill.as_str() == "nitrate"));
    }
}

#[test]
fn what_endangers_a_person_stops_at_once() {
    for kind in shipped().iter() {
        let trouble = &kind.trouble;
        for id in ["tingle", "burning-smell", "frame-burns", "suspect-film"] {
            let symptom = trouble.symptom(id).unwrap_or_else(|| panic!("{}: {id}", kind.id));
            assert!(symptom.stop_now.is_some() && symptom.drill.is_some(), "{}: {id}", kind.id);
            assert_eq!(symptom.for_print.of(PrintSort::Disposable), RunOn::Stop, "{}: {id}", kind.id);
        }
        let drills: HashSet<&str> = trouble.stop_signs.iter().map(|sign| sign.drill.as_str()).collect();
        for drill in ["stop", "fire", "electric-shock", "burning-frame", "leave-the-room", "take-up-fails"] {
            assert!(drills.contains(drill), "{}: nothing calls for {drill}", kind.id);
        }
    }
}

#[test]
fn a_scratch_stops_every_print_but_a_disposable_one() {
    for kind in shipped().iter() {
        let scratch = kind.trouble.symptom("new-scratch").unwrap().for_print;
        assert_eq!(scratch.of(PrintSort::Disposable), RunOn::ReelEnd, "{}", kind.id);
        assert_eq!((scratch.of(PrintSort::Lent), scratch.of(PrintSort::Only)), (RunOn::Stop, RunOn::Stop));
    }
}

#[test]
fn odds_of_every_symptom_make_one_whole() {
    for kind in shipped().iter() {
        for symptom in &kind.trouble.symptoms {
            let named: f64 = symptom.causes.iter().map(|entry| entry.chance.value()).sum();
            assert!((named + symptom.unexplained.value() - 1.0).abs() < 1e-9, "{} {}", kind.id, symptom.id);
            for entry in &symptom.causes {
                let strength = kind.trouble.strength(&symptom.id, &entry.cause).value();
                assert!(strength > 0.0 && strength <= 1.0, "{} {} {}", kind.id, symptom.id, entry.cause);
            }
        }
    }
}

// The best single question of the trade, at half a minute: the same on another print? Common practice, no source.
#[test]
fn another_print_tells_the_print_from_the_machine() {
    for kind in shipped().iter() {
        let check = kind.trouble.check("another-print").unwrap();
        for tell in &check.tells {
            let cause = kind.trouble.cause(&tell.cause).unwrap();
            assert!(cause.kind != CauseKind::Machine, "{} {}", kind.id, cause.id);
        }
        assert!(check.tells.len() >= 15 && check.minutes() <= 2.0);
    }
}

#[test]
fn spares_and_care_hang_together_with_remedies() {
    let library = shipped();
    let trouble = &kind(&library, "portable-16mm-halogen").trouble;
    for (remedy, spare, care) in [
        ("change-lamp", "lamp-24v-250w", "lamp-change"),
        ("change-exciter", "exciter-lamp", "exciter-change"),
        ("fit-main-belt", "main-belt", "main-belt-renew"),
    ] {
        let remedy = trouble.remedy(remedy).unwrap();
        assert_eq!((remedy.kind, remedy.spare.as_deref()), (RemedyKind::Fit, Some(spare)));
        assert!(remedy.care.iter().any(|task| task.as_str() == care), "{}", remedy.id);
    }
    assert!(trouble.cause("exciter-dead").unwrap().wears && trouble.cause("lamp-dead").unwrap().wears);
}

#[test]
fn a_heading_asks_what_its_buttons_answer() {
    let library = shipped();
    for kind in library.iter() {
        for check in &kind.trouble.checks {
            let (id, words) = (&check.id, check.words.to_lowercase());
            if check.name.ends_with('?') {
                // A heading that is a question is the very question that the answers belong to.
                let asked = check.name.to_lowercase();
                let asked = asked.rsplit(": ").next().unwrap();
                assert!(words.ends_with(asked), "{}, {id}: `{}` and `{}`", kind.id, check.name, check.words);
            }
            let answers = [check.answers.found.as_str(), check.answers.not_found.as_str()];
            let plain = answers == ["Yes", "No"];
            for answer in answers {
                let begins = |word: &str| answer == word || answer.starts_with(&format!("{word},"));
                assert!(plain || !(begins("Yes") || begins("No")), "{}, {id}: `{answer}`", kind.id);
            }
        }
    }
}

// Whether it takes longer than three seconds and whether it takes three at most is one question, asked twice.
#[test]
fn no_span_of_time_is_asked_for_twice() {
    let span = |check: &Check| {
        let words: Vec<&str> = check.words.split([' ', ',', '?', '.', ':']).collect();
        let is_unit = |word: &&str| ["seconds", "minutes"].contains(word);
        let at = words.iter().rposition(is_unit)?;
        Some([words[at.checked_sub(1)?].to_lowercase(), words[at].to_owned()])
    };
    for kind in shipped().iter() {
        let mut asked = BTreeMap::new();
        for check in &kind.trouble.checks {
            let Some(span) = span(check) else { continue };
            let again = asked.insert((span, &check.looks_at, &check.touches), &check.id);
            assert!(again.is_none(), "{}: {} and {}", kind.id, check.id, again.unwrap());
        }
        assert!(!asked.is_empty());
    }
}

#[test]
fn a_look_cautions_of_no_wrong_touch_and_still_of_what_is_hot_or_moves() {
    let library = shipped();
    let trouble = &kind(&library, "portable-16mm-halogen").trouble;
    let dangers = |id: &str| -> Vec<Danger> {
        trouble.check(id).unwrap().cautions.iter().map(|caution| caution.danger).collect()
    };
    assert!(!dangers("run-up-clock").contains(&Danger::Delicate), "the drum is only listened to");
    assert!(dangers("run-up-clock").contains(&Danger::Moving));
    assert!(dangers("gate-look").contains(&Danger::Hot), "the gate is hot after a run: the face is near it");
    assert!(dangers("lamp-look").contains(&Danger::Delicate), "a lamp that is taken out is held in a cloth");
}

// A request is written for whatever is likely, also where nobody looked: it asks, and tells of nothing done.
#[test]
fn what_is_asked_of_a_technician_holds_whatever_was_tried() {
    let claims = [
        "was", "were", "did", "already", "seems", "glows", "lives", "measured", "counted", "jumped",
        "wanders", "breaks", "arrived", "found", "been", "burned",
    ];
    for kind in shipped().iter() {
        for cause in &kind.trouble.causes {
            let words = cause.refer.as_ref().map_or("", |refer| refer.words.as_str());
            for word in words.split(|letter: char| !letter.is_alphabetic()) {
                let conditional = words.contains("if the arc wanders") || words.contains("burned insulation");
                assert!(conditional || !claims.contains(&word), "{} {}: {words}", kind.id, cause.id);
            }
        }
    }
}

#[test]
fn no_unit_is_written_as_a_computer_writes_it() {
    for (name, text) in machine::SHIPPED {
        for line in text.lines().filter(|line| !line.starts_with("unit = ")) {
            assert!(!line.contains("degC") && !line.contains("cd/m2"), "{name}: {line}");
        }
    }
}
