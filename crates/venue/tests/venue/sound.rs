//! The loudspeaker in the room.

use crate::{assert_near, setting};
use std::f64::consts::PI;
use units::{CubicMetres, Decibels, Metres, Seconds, SquareMetres, Times, Watts};
use venue::{critical_distance, level_at, room_constant};

/// A sound power level of 0 dB as a sensitivity: `Lp(1 m) = Lw + 10 log (Q / 4 pi)`.
fn level_of_power(directivity: f64, distance: f64, constant: f64) -> f64 {
    let at_one_metre = Decibels::new(10.0 * (directivity / (4.0 * PI)).log10());
    level_at(
        Metres::new(distance),
        at_one_metre,
        Watts::new(1.0),
        Times::new(directivity),
        SquareMetres::new(constant),
    )
    .decibels()
}

#[test]
fn levels_agree_with_the_room_formula() {
    // Lp - Lw = 10 log (Q / (4 pi r²) + 4 / R): three cases worked out by hand.
    for (directivity, distance, constant, printed, critical) in
        [(1.0, 10.0, 50.0, -10.93, 0.997), (2.0, 5.0, 100.0, -13.34, 1.995), (5.0, 10.0, 200.0, -16.20, 4.46)]
    {
        assert_near(level_of_power(directivity, distance, constant), printed, 0.005);
        let at = critical_distance(Times::new(directivity), SquareMetres::new(constant));
        assert_near(at.metres(), critical, 0.005);
    }
}

#[test]
fn far_from_walls_sound_falls_by_the_square() {
    // 90 dB, 20 W, 15 m in the open: 79.5 dB, worked out by hand.
    let open = SquareMetres::new(1.0e12);
    let level = level_at(Metres::new(15.0), Decibels::new(90.0), Watts::new(20.0), Times::new(2.0), open);
    assert_near(level.decibels(), 79.5, 0.05);
}

#[test]
fn sabines_room_agrees_with_a_worked_example() {
    // 10 x 8 x 4 m with 1.2 s: A = 0.161 x 320 / 1.2 = 42.93 m², S = 304 m², R = 42.93 / (1 - 0.1412) = 49.99 m²; Sabine
    // from memory, worked out by hand.
    let constant = room_constant(CubicMetres::new(320.0), SquareMetres::new(304.0), Seconds::new(1.2));
    assert_near(constant.square_metres(), 49.99, 0.01);
}

#[test]
fn power_needed_gives_the_wanted_level_back() {
    let given = setting(&[
        ("hall-length", "12 m"),
        ("hall-width", "7 m"),
        ("hall-height", "4 m"),
        ("throw", "12 m"),
        ("screen-width", "2.4 m"),
        ("amplifier", "15 W"),
        ("sensitivity", "92 dB"),
        ("directivity", "5"),
        ("reverberation", "1.2 s"),
        ("temperature", "20 °C"),
    ]);
    let answer = given.sound(None).unwrap();
    let gained = 10.0 * (15.0 / answer.power_needed.likely().watts()).log10();
    assert_near(answer.headroom.likely().decibels(), gained, 1e-9);
    // 343.2 m/s at 20 °C, from memory: 12 m take 35 ms, 0.84 of a frame.
    let last = answer.rows.last().unwrap();
    assert_near(last.delay.likely().as_milliseconds(), 34.97, 0.01);
    assert_near(last.delay_frames.likely().times(), 0.839, 0.001);
}

#[test]
fn an_unmeasured_room_gives_a_range_with_its_reasons() {
    let answer = setting(&[("hall-length", "12 m"), ("amplifier", "15 W")]).sound(None).unwrap();
    assert!(!answer.headroom.is_exact());
    assert!(answer.caveats.iter().any(|caveat| caveat.contains("reverberation")));
}
