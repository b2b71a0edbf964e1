//! The gate: what it refuses, and what it says would be right.

use crate::kit::*;
use logbook::{
    Booth, Draft, Fact, Refusal, When, accept,
    fact::{
        BoothNamed, CareDone, Corrects, Ending, Fitness, MachineAdded, MeterChange, Noted, Outcome,
        PartFitted, PreferredUnits, Ran, Role, RunKind, ShowingPlanned,
    },
    ids::LONGEST_ID,
    must_be_known,
};

/// A thousand hours after the first day.
const NOW: f64 = 1000.0;

fn write_by(who: &str, booth: &Booth, hours: f64, fact: impl Into<Fact>) -> Result<(), Refusal> {
    let draft = Draft {
        id: id(77),
        device: logbook::DeviceId(uuid::Uuid::from_u128(7)),
        happened: after(hours),
        by: who.into(),
        fact: fact.into(),
    };
    accept(draft, booth, after(NOW)).map(drop)
}

fn write(booth: &Booth, hours: f64, fact: impl Into<Fact>) -> Result<(), Refusal> {
    write_by("ada", booth, hours, fact)
}

/// Checks that a fact is refused for one field, and returns both sentences.
#[track_caller]
fn refused(booth: &Booth, hours: f64, fact: impl Into<Fact>, field: &str) -> String {
    let refusal = write(booth, hours, fact).unwrap_err();
    assert_eq!(refusal.field, field, "{refusal}");
    assert!(!refusal.would_be_right.is_empty());
    refusal.to_string()
}

#[test]
fn what_is_in_order_is_accepted_as_it_is() {
    let booth = with_turnstone().booth();
    write(&booth, 24.0, showed(2.0)).unwrap();
    write(&booth, 24.0, cared("gate-brush", Outcome::Done)).unwrap();
    write(&booth, 24.0, fitted("lamp-1", "lamp")).unwrap();
    write(&booth, 24.0, showing("club-night", "2027-03-06T19:30[Europe/Lisbon]", 90.0)).unwrap();
}

#[test]
fn nothing_has_happened_in_the_future_but_a_clock_may_be_five_minutes_ahead() {
    let booth = with_turnstone().booth();
    write(&booth, NOW + 4.0 / 60.0, showed(2.0)).unwrap();
    let words = refused(&booth, NOW + 24.0, showed(2.0), "happened");
    assert!(words.contains("lies in the future"), "{words}");
}

#[test]
fn a_run_takes_from_nothing_to_a_day() {
    let booth = with_turnstone().booth();
    write(&booth, 1.0, showed(0.0)).unwrap();
    write(&booth, 1.0, showed(24.0)).unwrap();
    for hours in [-0.5, 24.5, f64::NAN, f64::INFINITY] {
        refused(&booth, 1.0, showed(hours), "hours");
        refused(&booth, 1.0, Ran { lit_hours: Some(h(hours)), ..showed(1.0) }, "lit_hours");
    }
}

#[test]
fn names_are_short_and_clean() {
    let booth = Booth::default();
    let longest = "x".repeat(LONGEST_ID);
    write(&booth, 1.0, machine(&longest)).unwrap();
    for name in ["", " turnstone", "turn\nstone", &"x".repeat(LONGEST_ID + 1)] {
        refused(&booth, 1.0, machine(name), "machine");
    }
    assert_eq!(write_by("", &booth, 1.0, machine("turnstone")).unwrap_err().field, "by");
}

/// Two machines whose names look alike are one too many on the evening of a show.
#[test]
fn a_new_name_holds_no_character_that_nobody_sees() {
    let booth = with_turnstone().booth();
    for (letter, which) in [
        ('\u{202e}', "U+202E (right-to-left override)"),
        ('\u{200b}', "U+200B (zero width space)"),
        ('\u{ad}', "U+00AD (soft hyphen)"),
        ('\u{2066}', "U+2066"),
        ('\u{200d}', "U+200D (zero width joiner)"),
        ('\u{feff}', "U+FEFF (byte order mark)"),
        ('\u{2028}', "U+2028 (line separator)"),
    ] {
        let name = format!("turn{letter}stone");
        let words = refused(&booth, 1.0, machine(&name), "machine");
        assert!(words.contains(which) && words.contains("without it, typed anew: “turnstone”"), "{words}");
        assert!(!words.contains(letter), "it is not passed on: {words:?}");
        refused(&booth, 1.0, fitted(&name, "lamp"), "part");
        refused(&booth, 1.0, cared(&name, Outcome::Done), "task");
        refused(&booth, 1.0, showing(&name, "2027-03-06T19:30[Europe/Lisbon]", 90.0), "showing");
        let by = write_by(&name, &booth, 1.0, showed(1.0)).unwrap_err();
        assert_eq!(by.field, "by");
        let corrects = Corrects {
            entry: id(1),
            with: Box::new(machine(&name).into()),
            why: String::new(),
            happened: None,
        };
        refused(&booth, 1.0, Fact::Corrects(corrects), "machine");
    }
    let alone = refused(&booth, 1.0, machine("\u{200b}"), "machine");
    assert!(alone.contains("a name that can be read"), "{alone}");
    let title = MachineAdded { name: "Turn\u{200b}stone".into(), ..machine("heron") };
    write(&booth, 1.0, title).expect("what people call it is shown as they write it");
}

/// A logbook from before this rule: its machine is read, and works on under its name.
#[test]
fn an_old_name_with_such_a_character_stays_usable() {
    let old = "turn\u{200b}stone";
    let mut log = with_turnstone();
    log.at(0.0, machine(old));
    log.at(1.0, showing(old, "2027-03-06T19:30[Europe/Lisbon]", 90.0));
    let booth = log.booth();
    assert!(booth.machines.contains_key(old) && booth.showings.contains_key(old));
    write(&booth, 2.0, Ran { machine: old.into(), ..showed(1.0) }).unwrap();
    write(&booth, 2.0, showing(old, "2027-03-07T19:30[Europe/Lisbon]", 90.0)).unwrap();
    refused(&booth, 2.0, machine("turn\u{200c}stone"), "machine");
}

#[test]
fn a_machine_must_be_there_and_only_once() {
    let booth = with_turnstone().booth();
    let words = refused(&booth, 1.0, ran("dunlin", RunKind::Showing, 1.0), "machine");
    assert!(words.contains("one of: turnstone"), "{words}");
    refused(&booth, 1.0, machine("turnstone"), "machine");
}

#[test]
fn a_meter_does_not_run_backwards() {
    let mut log = with_turnstone();
    log.at(24.0, meter(100.0));
    log.at(240.0, meter(110.0));
    let booth = log.booth();
    let words = refused(&booth, 300.0, meter(105.0), "reading_hours");
    assert!(words.contains("less than the 110 h read before"), "{words}");
    assert!(words.contains("replaced, set back, or did it roll over"), "{words}");
    // Written late, it must fit between its neighbours.
    write(&booth, 120.0, meter(105.0)).unwrap();
    refused(&booth, 120.0, meter(111.0), "reading_hours");
    refused(&booth, 120.0, meter(99.0), "reading_hours");
    write(&booth, 300.0, meter_jump(MeterChange::Replaced, Some(112.0), 0.0)).unwrap();
    refused(&booth, 300.0, meter_jump(MeterChange::Replaced, Some(109.0), 0.0), "old_reading_hours");
}

#[test]
fn a_meter_cannot_gain_more_hours_than_have_passed() {
    let mut log = with_turnstone();
    log.at(24.0, meter(100.0));
    let words = refused(&log.booth(), 48.0, meter(1001.0), "reading_hours");
    assert!(words.contains("more hours than have passed"), "{words}");
}

#[test]
fn a_part_needs_a_free_slot_or_a_word_on_what_came_out() {
    let mut log = with_turnstone();
    log.at(24.0, fitted("lamp-1", "lamp"));
    let booth = log.booth();
    let words = refused(&booth, 48.0, fitted("lamp-2", "lamp"), "replaces");
    assert!(words.contains("“lamp-1” is in lamp"), "{words}");
    write(&booth, 48.0, replacing("lamp-2", "lamp", Ending::Failed)).unwrap();
    refused(&booth, 48.0, fitted("lamp-1", "spare-socket"), "part");
    write(&booth, 48.0, moved("lamp-1", "turnstone", "spare-socket")).unwrap();
    refused(&booth, 48.0, moved("lamp-9", "turnstone", "spare-socket"), "part");
    refused(&booth, 12.0, replacing("lamp-2", "lamp", Ending::Failed), "happened");
    refused(&booth, 48.0, PartFitted { item: Some("lamps".into()), ..fitted("lamp-3", "b-lamp") }, "item");
}

#[test]
fn only_a_technician_may_write_the_release_from_danger() {
    let mut log = with_turnstone();
    log.at(0.0, person("ada", Role::Keeper));
    log.at(0.0, person("tove", Role::Technician));
    log.at(24.0, fit(Fitness::Danger));
    let booth = log.booth();
    let words = refused(&booth, 48.0, fit(Fitness::Limited), "fitness");
    assert!(words.contains("a qualified technician looks at the machine"), "{words}");
    write(&booth, 48.0, fit(Fitness::Danger)).unwrap();
    write_by("tove", &booth, 48.0, fit(Fitness::Fit)).unwrap();
}

#[test]
fn a_showing_has_a_length_a_zone_and_its_machines_to_itself() {
    let mut log = with_turnstone();
    log.at(1.0, showing("matinee", "2026-03-06T15:00[Europe/Lisbon]", 90.0));
    let booth = log.booth();
    let evening = || showing("club-night", "2026-03-06T16:30[Europe/Lisbon]", 90.0);
    write(&booth, 1.0, evening()).unwrap();
    for minutes in [0.0, -90.0, 1441.0, f64::NAN] {
        refused(&booth, 1.0, ShowingPlanned { length_minutes: minutes, ..evening() }, "length_minutes");
    }
    refused(&booth, 1.0, showing("club-night", "2026-03-06T16:00[Europe/Lisbon]", 90.0), "machines");
    refused(&booth, 1.0, showing("club-night", "2026-03-06T16:30+01:00[+01:00]", 90.0), "starts");
    // A change of plan may overlap what it changes.
    write(&booth, 1.0, showing("matinee", "2026-03-06T15:30[Europe/Lisbon]", 90.0)).unwrap();
}

#[test]
fn a_time_zone_is_one_of_the_iana_list() {
    let named = |zone: &str| BoothNamed {
        name: "Pier Store".to_owned(),
        zone: zone.to_owned(),
        night_ends: jiff::civil::time(5, 0, 0, 0),
        units: PreferredUnits::Metric,
        invented: false,
    };
    write(&Booth::default(), 1.0, named("Europe/Lisbon")).unwrap();
    refused(&Booth::default(), 1.0, named("Lisbon time"), "zone");
}

#[test]
fn care_is_put_off_for_a_reason_and_up_to_a_limit() {
    let booth = with_turnstone().booth();
    write(&booth, 1.0, deferred("oil-rollers", Some(20.0), None)).unwrap();
    refused(&booth, 1.0, deferred("oil-rollers", None, None), "until_date");
    let without_reason =
        logbook::fact::CareDeferred { why: " ".to_owned(), ..deferred("oil-rollers", Some(20.0), None) };
    refused(&booth, 1.0, without_reason, "why");
    refused(&booth, 1.0, deferred("oil-rollers", None, Some(jiff::civil::date(2025, 12, 31))), "until_date");
}

#[test]
fn texts_end_somewhere() {
    let booth = with_turnstone().booth();
    let noted = |words: String| Noted { about: None, words, photos: vec![] };
    write(&booth, 1.0, noted("x".repeat(10_000))).unwrap();
    refused(&booth, 1.0, noted("x".repeat(10_001)), "words");
    refused(&booth, 1.0, noted("\u{7}".to_owned()), "words");
    refused(
        &booth,
        1.0,
        CareDone { photos: vec!["cat.jpg".to_owned()], ..cared("gate-brush", Outcome::Done) },
        "photos",
    );
}

#[test]
fn a_correction_holds_a_plain_fact() {
    let booth = with_turnstone().booth();
    write(&booth, 1.0, corrects(id(5), showed(2.0))).unwrap();
    refused(&booth, 1.0, corrects(id(5), showed(99.0)), "hours");
    refused(&booth, 1.0, corrects(id(5), corrects(id(6), showed(2.0))), "with");
    refused(&booth, 1.0, corrects(id(5), withdraws(id(6))), "with");
    refused(&booth, 1.0, corrects(id(77), showed(2.0)), "entry");
    refused(&booth, 1.0, withdraws(id(77)), "entry");
    let tomorrow = Corrects {
        entry: id(5),
        with: Box::new(showed(2.0).into()),
        happened: Some(after(NOW + 24.0)),
        why: String::new(),
    };
    refused(&booth, 1.0, Fact::Corrects(tomorrow), "happened");
}

#[test]
fn whoever_keeps_the_entries_checks_that_a_settled_one_is_there() {
    let known = |entry| entry == id(5);
    must_be_known(&corrects(id(5), showed(2.0)), &known).unwrap();
    must_be_known(&showed(2.0).into(), &known).unwrap();
    assert_eq!(must_be_known(&withdraws(id(6)).into(), &known).unwrap_err().field, "entry");
}

#[test]
fn the_same_run_is_not_written_twice() {
    let mut log = with_turnstone();
    log.at(24.0, showed(2.0));
    refused(&log.booth(), 24.0, showed(2.0), "happened");
    write(&log.booth(), 24.0, showed(1.0)).unwrap();
}

#[test]
fn a_machine_that_left_for_good_does_nothing_more_until_it_comes_back() {
    let mut log = with_turnstone();
    log.at(24.0, showed(2.0));
    let left = || logbook::fact::MachineRetired { machine: "turnstone".into(), why: "sold".to_owned() };
    refused(&log.booth(), 12.0, left(), "happened");
    log.at(48.0, left());
    refused(&log.booth(), 72.0, showed(1.0), "machine");
    write(&log.booth(), 36.0, showed(1.0)).unwrap();
    write(&log.booth(), 96.0, MachineAdded { meter_hours: Some(h(3.0)), ..machine("turnstone") }).unwrap();
}

#[test]
fn a_year_in_two_figures_is_noticed() {
    let booth = with_turnstone().booth();
    let draft = Draft {
        id: id(77),
        device: logbook::DeviceId(uuid::Uuid::from_u128(7)),
        happened: When::from_zoned(&"0026-03-06T19:30[UTC]".parse().unwrap()),
        by: "ada".into(),
        fact: showed(2.0).into(),
    };
    assert_eq!(accept(draft, &booth, after(NOW)).unwrap_err().field, "happened");
}
