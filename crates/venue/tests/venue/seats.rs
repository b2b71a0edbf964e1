//! Seats and sight lines.

use crate::{assert_near, setting};
use units::Metres;
use venue::{SightAnswer, SightLine, sight_line_clearance};

fn sight(pairs: &[(&str, &str)]) -> SightAnswer {
    let setting = setting(pairs);
    setting.sight(&setting.lens().unwrap()).unwrap()
}

fn clearance_mm(distance: f64, height: f64, riser: f64, tread: f64) -> f64 {
    let metres = Metres::new;
    sight_line_clearance(metres(distance), metres(height), metres(riser), metres(tread)).as_millimetres()
}

#[test]
fn c_values_agree_with_worked_examples() {
    // C = D (N + R) / (D + T) - R, from memory; both examples worked out by hand.
    assert_near(clearance_mm(10.0, 1.2, 0.15, 1.0), 27.3, 0.05);
    assert_near(clearance_mm(8.0, 1.0, 0.20, 0.9), 78.7, 0.05);
}

#[test]
fn classes_of_sight_line_are_the_usual_ones() {
    // 150, 120, 90, 60 mm: from memory.
    for (mm, class) in [
        (150.0, SightLine::Ideal),
        (149.9, SightLine::Good),
        (90.0, SightLine::Acceptable),
        (60.0, SightLine::Least),
        (59.9, SightLine::Hidden),
    ] {
        assert_eq!(SightLine::of(Metres::from_millimetres(mm)), class);
    }
}

const FLAT: [(&str, &str); 12] = [
    ("throw", "12 m"),
    ("screen-width", "2 m"),
    ("hall-length", "14 m"),
    ("hall-width", "7 m"),
    ("first-row", "4 m"),
    ("rows", "9"),
    ("row-spacing", "0.9 m"),
    ("eye-height", "1.2 m"),
    ("screen-bottom", "2.4 m"),
    ("seats-across", "10"),
    ("screen", "matt"),
    ("aisles", "none"),
];

fn with(
    base: &[(&'static str, &'static str)],
    key: &str,
    text: &'static str,
) -> Vec<(&'static str, &'static str)> {
    base.iter().map(|&(name, value)| if name == key { (name, text) } else { (name, value) }).collect()
}

#[test]
fn a_flat_hall_with_a_high_screen_has_good_seats_in_front() {
    let answer = sight(&FLAT);
    assert_eq!(answer.seats, 90);
    // Worked out by hand: R = -1.2 m, so C = 1.2 x 0.9 / (D + 0.9): over 60 mm up to row 9 at 11.2 m.
    let last = answer.rows.last().unwrap();
    assert_near(last.clearance.unwrap().likely().as_millimetres(), 1080.0 / 11.2, 0.01);
    // From 4.2 m on (row 2 at 4.9 m) every seat within 35 degrees; row 1 turns up 33.8°, 10 seats reach 2.25 m of 2.8 m.
    assert_eq!(answer.good.likely, 90);
}

#[test]
fn a_low_screen_hides_behind_heads() {
    let answer = sight(&with(&FLAT, "screen-bottom", "1.2 m"));
    assert_eq!(answer.rows[1].sight_line, SightLine::Hidden);
    assert_eq!(answer.good.likely, 10, "only the first row sees over nobody");
    assert!(answer.caveats.iter().any(|caveat| caveat.contains("row 2")), "{:?}", answer.caveats);
}

#[test]
fn nearest_farthest_steepest_and_widest_are_where_they_should_be() {
    let answer = sight(&FLAT);
    assert_near(answer.nearest.likely().metres(), 4.0, 1e-9);
    assert_near(answer.farthest.likely().metres(), 11.2, 1e-9);
    let top = 2.4 + 2.0 / (0.380 / 0.284) - 1.2;
    assert_near(answer.steepest.likely().degrees(), (top / 4.0_f64).atan().to_degrees(), 1e-6);
    assert_near(answer.widest.likely().degrees(), (2.25 / 4.0_f64).atan().to_degrees(), 1e-6);
}

#[test]
fn a_narrow_screen_costs_side_seats() {
    let matt = sight(&FLAT);
    let beaded = sight(&with(&FLAT, "screen", "beaded"));
    assert!(beaded.good.likely < matt.good.likely);
}

#[test]
fn the_light_path_clears_heads_from_the_height_that_it_says() {
    let mut given = FLAT.to_vec();
    given.push(("lens-height", "1.2 m"));
    let low = sight(&given).light_path.unwrap();
    assert!(!low.clears_seated(), "{low:?}");
    let needed = format!("{:.4} m", low.lens_over_seated.likely().metres() + 0.0001);
    let mut raised = FLAT.to_vec();
    raised.push(("lens-height", &needed));
    let path = {
        let setting = setting(&raised);
        setting.sight(&setting.lens().unwrap()).unwrap().light_path.unwrap()
    };
    assert!(
        path.clears_seated() && path.tightest().unwrap().over_seated.likely().metres() < 0.01,
        "{path:?}"
    );
}

#[test]
fn an_unsure_eye_gives_a_band_of_good_seats() {
    let mut given = with(&FLAT, "screen-bottom", "1.8 m");
    given.retain(|(key, _)| *key != "eye-height");
    let answer = sight(&given);
    assert!(answer.good.low <= answer.good.likely && answer.good.likely <= answer.good.high);
    assert!(answer.caveats.iter().any(|caveat| caveat.contains("eyes")));
}
