//! Turn rates against the arithmetic of film standards.
//!
//! Pitch: SMPTE standard for 35 mm stock perforated 16 mm (0.3000 in, 7.620 mm); SMPTE 149-2004 (Super 8, 4.234 mm);
//! SMPTE 139 from memory (35 mm, 4.750 mm). Speeds: 16 mm at 24 fps is 7.2 in/s (SMPTE 41, clause 3).
#![allow(clippy::unwrap_used)]

use machine::{MachineType, Mains, Rate, Running, shipped};
use units::{FramesPerSecond, Metres};

/// Acetate as the tables of the trade take it.
const FILM_MM: f64 = 0.15;

fn portable() -> MachineType {
    shipped().get("portable-16mm-halogen").unwrap().clone()
}

fn at(speed: f64) -> Running {
    Running {
        speed: FramesPerSecond::new(speed),
        film_thickness: Metres::from_millimetres(FILM_MM),
        mains: Mains::Fifty,
    }
}

fn steady(kind: &MachineType, id: &str, running: Running) -> f64 {
    match kind.rotating_part(id).unwrap().turn_rate(kind, running) {
        Some(Rate::Steady(rate)) => rate.hertz(),
        other => panic!("{id}: {other:?}"),
    }
}

/// A type with one roller of this diameter and one sprocket, on this gauge.
fn roller_type(gauge: &str, diameter_mm: f64, teeth: u32) -> MachineType {
    let text = include_str!("valid/smallest.toml")
        .replace("gauge = \"16mm\"", &format!("gauge = \"{gauge}\""))
        .replace("diameter_mm = 10", &format!("diameter_mm = {diameter_mm}"))
        .replace("motor = { hz_on_50 = 24 }", &format!("sprocket = {{ teeth = {teeth} }}"));
    machine::read("smallest.toml", &text).unwrap()
}

// SMPTE 41, clause 3: 36 ft/min and 7.2 in/s at 24 fps.
#[test]
fn film_speed_agrees_with_smpte_41() {
    let speed = portable().film_speed(FramesPerSecond::new(24.0));
    assert!((speed.as_inches_per_second() - 7.2).abs() < 1e-9);
    assert!((speed.as_feet_per_minute() - 36.0).abs() < 1e-9);
}

// Once-around rates, common practice's tables recomputed: f = v / (pi (d + t)), printed to four figures.
#[test]
fn rollers_turn_as_pitch_and_diameter_say() {
    let table = [
        (8.0, 7.143, 17.81),
        (10.0, 5.735, 14.30),
        (12.0, 4.791, 11.95),
        (14.0, 4.114, 10.26),
        (15.0, 3.842, 9.581),
        (16.0, 3.604, 8.988),
        (18.0, 3.207, 7.997),
        (20.0, 2.889, 7.203),
        (22.0, 2.628, 6.553),
        (25.0, 2.315, 5.771),
        (28.0, 2.068, 5.156),
        (30.0, 1.931, 4.814),
        (32.0, 1.811, 4.515),
        (35.0, 1.656, 4.129),
        (38.0, 1.526, 3.805),
        (40.0, 1.450, 3.615),
        (50.0, 1.161, 2.894),
    ];
    for (diameter, on_16, on_35) in table {
        for (gauge, pitch_mm, printed) in [("16mm", 7.620, on_16), ("35mm", 4.0 * 4.750, on_35)] {
            let kind = roller_type(gauge, diameter, 16);
            let rate = steady(&kind, "roller", at(24.0));
            let computed = 24.0 * pitch_mm / (std::f64::consts::PI * (diameter + FILM_MM));
            // 0.1870 in is 4.7498 mm: the standard's own rounding to 4.750 mm is 4 parts in 100 000.
            assert!((rate / computed - 1.0).abs() < 5e-5, "{gauge} {diameter} mm: {rate} against {computed}");
            // Four printed figures.
            assert!((rate / printed - 1.0).abs() < 6e-4, "{gauge} {diameter} mm: {rate} against {printed}");
        }
    }
}

// One perforation a frame on 16 mm, four on 35 mm: the sprocket of 16 teeth turns 1.5 and 6 times a second at 24 fps.
#[test]
fn sprockets_turn_as_their_teeth_say() {
    for (teeth, on_16, on_35) in [
        (8, 3.0, 12.0),
        (10, 2.4, 9.6),
        (12, 2.0, 8.0),
        (14, 1.714, 6.857),
        (16, 1.5, 6.0),
        (18, 1.333, 5.333),
        (20, 1.2, 4.8),
        (24, 1.0, 4.0),
        (28, 0.857, 3.429),
        (32, 0.75, 3.0),
    ] {
        for (gauge, printed) in [("16mm", on_16), ("35mm", on_35)] {
            let rate = steady(&roller_type(gauge, 10.0, teeth), "motor", at(24.0));
            // Printed to three decimals.
            assert!((rate - printed).abs() < 6e-4, "{gauge} {teeth} teeth: {rate}");
        }
    }
}

#[test]
fn the_portable_s_train_agrees_with_its_own_figures() {
    let kind = portable();
    for (id, hertz) in [
        ("upper-sprocket", 1.5),
        ("sound-sprocket", 2.0),
        ("drum", 1.931),
        ("pressure-roller", 3.604),
        ("damping-roller", 4.791),
        ("guide-roller-upper", 5.735),
        ("main-belt", 3.164),
        ("motor", 24.17),
        ("claw-shaft", 24.0),
        ("worm-wheel", 2.0),
        ("take-up-shaft", 4.0),
        ("take-up-belt", 0.539),
        ("fan", 24.17),
    ] {
        let rate = steady(&kind, id, at(24.0));
        // Figures are given to three or four places.
        assert!((rate - hertz).abs() < 0.005 * hertz.max(0.2), "{id}: {rate} against {hertz}");
    }
}

// A ball bearing of 8 balls and ratio 0.25: cage 0.375, outer ring 3, inner ring 5 for each turn (no contact angle).
#[test]
fn a_bearing_s_lines_follow_its_geometry() {
    let kind = portable();
    let drum = kind.rotating_part("drum").unwrap();
    let bearing = drum.bearing.unwrap();
    assert!((bearing.cage_per_turn() - 0.375).abs() < 1e-12);
    assert!((bearing.outer_per_turn() - 3.0).abs() < 1e-12);
    assert!((bearing.inner_per_turn() - 5.0).abs() < 1e-12);
    let turn = steady(&kind, "drum", at(24.0));
    assert!((turn * bearing.outer_per_turn() - 5.79).abs() < 0.01);
    assert!((turn * bearing.inner_per_turn() - 9.66).abs() < 0.01);
}

#[test]
fn film_driven_parts_scale_with_speed_and_the_motor_does_not() {
    let kind = portable();
    for part in &kind.rotating {
        let slow = part.turn_rate(&kind, at(18.0)).unwrap().middle().hertz();
        let fast = part.turn_rate(&kind, at(24.0)).unwrap().middle().hertz();
        let scale = if part.follows_film(&kind) { 24.0 / 18.0 } else { 1.0 };
        assert!((fast / slow - scale).abs() < 1e-9, "{}", part.id);
    }
    assert!(!kind.rotating_part("main-belt").unwrap().follows_film(&kind));
    assert!(kind.rotating_part("take-up-belt").unwrap().follows_film(&kind));
}

#[test]
fn mains_of_another_frequency_move_the_motor() {
    let kind = portable();
    let sixty = Running { mains: Mains::Sixty, ..at(24.0) };
    assert!((steady(&kind, "motor", sixty) - 28.75).abs() < 1e-9);
    let fifty_only = machine::read("smallest.toml", include_str!("valid/smallest.toml")).unwrap();
    for id in ["motor", "belt"] {
        let part = fifty_only.rotating_part(id).unwrap();
        assert_eq!(part.turn_rate(&fifty_only, sixty), None, "{id}");
        assert!(part.turn_rate(&fifty_only, at(24.0)).is_some(), "{id}");
    }
}

// 16 mm at 24 fps: a spool of 350 mm turns 0.17 times a second, one of 120 mm 0.49 times.
#[test]
fn spools_drift_the_way_they_must() {
    let kind = portable();
    let Some(Rate::Drifting { from, to }) =
        kind.rotating_part("supply-spool").unwrap().turn_rate(&kind, at(24.0))
    else {
        panic!("a spool drifts")
    };
    assert!((from.hertz() - 0.166).abs() < 0.001 && (to.hertz() - 0.485).abs() < 0.001);
    let Some(Rate::Drifting { from, to }) =
        kind.rotating_part("take-up-spool").unwrap().turn_rate(&kind, at(24.0))
    else {
        panic!("a spool drifts")
    };
    assert!(from > to);
}

// Super 8 at 24 fps runs 24 times 4.234 mm: 101.6 mm/s (SMPTE 149-2004, table 1).
#[test]
fn super_8_speed_agrees_with_smpte_149() {
    let kind = shipped().get("super8-sound").unwrap().clone();
    let speed = kind.film_speed(FramesPerSecond::new(24.0)).as_millimetres_per_second();
    assert!((speed - 24.0 * 4.234).abs() < 0.01);
}
