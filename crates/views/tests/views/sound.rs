//! What a recording says: the sheet, the plots with the parts' names, the JSON.

use booth::sound::{Bench, Measured, Noted, RecordedAt, characteristic, facts, weighed};
use film::Gauge;
use logbook::ids::MachineId;
use machine::{MachineType, RoomCurve};
use sound::make::{Made, MadeLine};
use sound::{FlutterReport, ResponseReport, ResponseTone};
use std::io::Cursor;
use std::sync::OnceLock;
use units::{Decibels, Hertz, Percent, Seconds};
use views::sound::Known;

fn kind() -> &'static MachineType {
    static TYPES: OnceLock<machine::Library> = OnceLock::new();
    TYPES.get_or_init(machine::shipped).get("portable-16mm-halogen").unwrap()
}

/// Forty seconds with a line at the rate of the drum and one of nobody.
fn report() -> FlutterReport {
    let line =
        |hz: f64, depth: f64| MadeLine { rate: Hertz::new(hz), depth: Percent::new(depth), phase: 0.0 };
    let made = Made {
        rate: 16_000,
        length: Seconds::new(40.0),
        lines: vec![line(1.92, 0.2), line(2.28, 0.1)],
        noise: Some(Decibels::new(45.0)),
        ..Made::default()
    };
    Bench::new(Some(kind())).flutter(&mut Cursor::new(made.wav().unwrap())).unwrap()
}

#[test]
fn a_line_is_named_after_its_part_and_leads_to_its_care() {
    let (report, machine) = (report(), MachineId::new("turnstone"));
    let weighed = weighed(Measured::of_flutter(&report), kind(), None);
    let known = Known { machine: Some(&machine), kind: Some(kind()), weighed: &weighed, due: &[] };
    let sheet = views::sound::flutter(&report, &known);
    let page = views::html::sheet(&sheet).into_string();
    assert!(page.contains("/machines/turnstone/path/sound-drum"), "no way to the drum");
    assert!(page.contains("/log/care-done?machine=turnstone"), "no way to its care");
    assert!(page.contains("No part of this type turns at this rate."), "the other line has no name");
    let text = views::text::sheet(&sheet, 100);
    assert!(text.contains("Sound drum and flywheel") && text.contains("Flutter and wow, weighted"), "{text}");
    let json = views::sound::json::flutter(&report, &known);
    assert_eq!(json["lines"][0]["parts"][0]["slot"], "sound-drum");
    assert_eq!(json["readings"][0]["quantity"], "flutter-weighted");
    assert!(json["readings"][0]["verdict"].is_string());
}

#[test]
fn the_spectrum_carries_the_names_and_nothing_that_is_no_number() {
    let report = report();
    let drawn = views::plot::standalone(&views::plot::spectrum::flutter_spectrum(&report));
    assert!(drawn.contains(">1.92 Sound drum and") && drawn.contains(">2.28 no known part<"), "{drawn}");
    let speed = views::plot::standalone(&views::plot::speed::speed_against_time(&report));
    for svg in [&drawn, &speed] {
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        assert!(svg.len() < 60_000, "a plot of {} bytes", svg.len());
        assert!(svg.contains("data-x=") && svg.contains("data-y="), "a script cannot read points off it");
    }
}

#[test]
fn readings_keep_their_lines_and_quantities_that_the_type_lacks_are_named() {
    let measured = Measured::of_flutter(&report());
    let noted = Noted {
        machine: MachineId::new("turnstone"),
        recording: Some("ab".repeat(32)),
        baseline: true,
        conditions: [("lower loop".to_owned(), "at the mark".to_owned())].into(),
    };
    let (written, left_out) = facts(&measured, kind(), &noted);
    assert!(left_out.is_empty() && written.len() == 3, "{left_out:?}");
    let logbook::Fact::Reading(flutter) = &written[0] else { panic!("{:?}", written[0]) };
    assert_eq!((flutter.unit.as_str(), flutter.baseline), ("%", true));
    assert!(flutter.conditions["line 1"].contains("Sound drum"), "{:?}", flutter.conditions);
    assert_eq!(flutter.conditions["lower loop"], "at the mark");
    let super8 = machine::shipped();
    let super8 = super8.get("super8-sound").unwrap();
    let focus = Measured { quantity: "azimuth-loss", ..measured[0].clone() };
    assert_eq!(facts(&[focus], super8, &noted).1, ["azimuth-loss"]);
}

fn tone(hz: f64, level: f64) -> ResponseTone {
    ResponseTone {
        hz: Hertz::new(hz),
        level_db: Decibels::new(level),
        wander_db: Decibels::ZERO,
        above_the_rest_db: Decibels::new(40.0),
        from_seconds: Seconds::ZERO,
        seconds: Seconds::new(10.0),
    }
}

/// ISO 2969 / SMPTE ST 202 (from memory): 3 dB down at 4 kHz, 7 dB at 10 kHz; before the room, flat.
#[test]
fn a_response_is_held_against_the_characteristic_of_its_place() {
    let report = ResponseReport {
        reference_hz: Hertz::new(1000.0),
        reference_dbfs: Decibels::new(-12.0),
        tones: vec![tone(20.0, -9.0), tone(1000.0, 0.0), tone(4000.0, -3.0), tone(10_000.0, -7.0)],
        caveats: Vec::new(),
    };
    let of = |wanted| -> Vec<Option<bool>> {
        booth::sound::tones_weighed(&report, wanted).iter().map(|one| one.holds).collect()
    };
    let room = characteristic(Gauge::Mm35, RecordedAt::Room, Some(RoomCurve::X));
    assert_eq!(of(room), [None, Some(true), Some(true), Some(true)]);
    assert_eq!(
        of(characteristic(Gauge::Mm35, RecordedAt::Line, None)),
        [None, Some(true), Some(true), Some(false)]
    );
    assert_eq!(of(characteristic(Gauge::Super8, RecordedAt::Line, None)), [None; 4]);
    let off = booth::sound::tones_weighed(&report, room)[3].off.unwrap();
    assert!(off.abs().decibels() < 1e-9, "{off}");
    let sheet = views::sound::response(
        &report,
        characteristic(Gauge::Mm35, RecordedAt::Line, None),
        &Known::default(),
    );
    assert!(views::text::sheet(&sheet, 100).contains("10000 Hz"));
}
