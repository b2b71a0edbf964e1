//! Wound rolls against worked examples, and spools against their sizes.

use film::calc::{WoundOn, calibrated_thickness, reel_contents, reel_diameter};
use film::winding::{Roll, wound_thickness};
use film::{Base, FilmError, Gauge, SAFE_FILL};
use units::{FramesPerSecond, Metres};

use crate::assert_near;

const FPS_24: FramesPerSecond = FramesPerSecond::new(24.0);

fn inches(value: f64) -> Metres {
    Metres::from_inches(value)
}

#[test]
fn three_reel_capacities_agree_with_the_handbook() {
    // A film-handling community handbook, page on reels: worked capacities of polyester film.
    for (flange, hub, feet) in [(15.0, 5.0, 2470.0), (15.0, 2.0, 2729.0), (14.0, 4.0, 2223.0)] {
        let thickness = Base::Polyester.wound_thickness().thickness;
        let roll = Roll::new(inches(flange), inches(hub), thickness).unwrap();
        assert_near(roll.length().as_feet(), feet, 0.5);
        // The same example solved for the thickness: 0.00530 in.
        let thickness = wound_thickness(inches(flange), inches(hub), Metres::from_feet(feet)).unwrap();
        assert_near(thickness.as_inches(), 0.005_30, 0.000_005);
    }
}

#[test]
fn a_wound_roll_agrees_with_a_worked_example() {
    // A worked example of the length of a wound roll: 5 in on 2 in at 0.011 in holds 1499.39 in, the further decimals
    // cut off and not rounded.
    let roll = Roll::new(inches(5.0), inches(2.0), inches(0.011)).unwrap();
    assert_near(roll.length().as_inches(), 1499.395, 0.005);
    assert_near(roll.turns(), 136.36, 0.005);
}

#[test]
fn the_ring_agrees_with_summing_the_turns_one_by_one() {
    // Each turn is a circle through the middle of its own layer: an independent sum of the same roll.
    let roll = Roll::new(inches(5.0), inches(2.0), inches(0.011)).unwrap();
    let turns = roll.turns().round() as u32;
    let summed: f64 =
        (0..turns).map(|turn| std::f64::consts::PI * (2.0 + 0.011 * (2.0 * f64::from(turn) + 1.0))).sum();
    // The last, broken turn is left out of the sum.
    assert_near(roll.length().as_inches(), summed, std::f64::consts::PI * 5.0);
}

#[test]
fn time_left_agrees_with_a_hand_worked_roll() {
    // pi (300^2 - 120^2) / (4 x 0.155) mm = 383 m, at 182.88 mm/s 34.9 min; 17 s to the millimetre at the outside,
    // 10 s at 180 mm.
    let contents = |outer_mm: f64| {
        let (outer, hub) = (Metres::from_millimetres(outer_mm), Metres::from_millimetres(120.0));
        reel_contents(Gauge::Mm16, outer, hub, WoundOn::Base(Base::Acetate), FPS_24).unwrap()
    };
    assert_near(contents(300.0).length.metres(), 383.0, 0.5);
    assert_near(contents(300.0).seconds.seconds() / 60.0, 34.9, 0.05);
    assert_near(contents(300.0).per_millimetre.seconds(), 17.0, 0.5);
    assert_near(contents(180.0).per_millimetre.seconds(), 10.0, 0.5);
}

#[test]
fn the_seconds_per_millimetre_are_those_of_measuring_again() {
    let at = |outer_mm: f64| {
        let roll = Roll::new(Metres::from_millimetres(outer_mm), inches(4.0), inches(0.006)).unwrap();
        (roll.time_left(Gauge::Mm16, FPS_24).unwrap(), roll.time_per_millimetre(Gauge::Mm16, FPS_24).unwrap())
    };
    let measured_again = at(250.5).0 - at(249.5).0;
    assert_near(at(250.0).1.seconds(), measured_again.seconds(), 1e-6);
}

#[test]
fn calibrating_from_one_known_roll_gives_its_time_back() {
    let known = Gauge::Mm16.frames_in(Metres::from_feet(1600.0)).unwrap();
    let (outer, hub) = (Metres::from_millimetres(330.0), Metres::from_millimetres(124.0));
    let thickness = calibrated_thickness(Gauge::Mm16, outer, hub, known).unwrap();
    let again = reel_contents(Gauge::Mm16, outer, hub, WoundOn::Thickness(thickness), FPS_24).unwrap();
    assert_eq!(again.frames, known);
    assert!(again.caveats.is_empty(), "a calibrated roll needs no warning: {:?}", again.caveats);
}

#[test]
fn every_spool_holds_what_it_is_sold_for() {
    // Sizes of PH22.11 / SMPTE 235 from memory: the least that they must do is hold their nominal length at the
    // thickness of an acetate print.
    for spool in Gauge::Mm16.spools() {
        let brim = spool.brim_capacity(Base::Acetate.thickness().thickness).unwrap().unwrap();
        assert!(brim >= spool.nominal, "{} holds {:.0} ft", spool.name, brim.as_feet());
        let safe = spool.safe_capacity(Base::Acetate.thickness().thickness).unwrap().unwrap();
        assert_near(safe / brim, SAFE_FILL, 1e-12);
    }
    // Brim capacities at 0.0055 in, worked by hand: 1029, 1503, 1967, 2423 ft.
    for (spool, feet) in Gauge::Mm16.spools().iter().skip(1).zip([1029.0, 1503.0, 1967.0, 2423.0]) {
        assert_near(spool.brim_capacity(inches(0.0055)).unwrap().unwrap().as_feet(), feet, 0.6);
    }
}

#[test]
fn spools_stand_in_rising_order_and_the_smallest_that_fits_is_named() {
    for gauge in Gauge::ALL {
        assert!(gauge.spools().is_sorted_by(|a, b| a.nominal <= b.nominal), "{gauge}");
    }
    let spool = |feet: f64| Gauge::Mm16.smallest_spool_for(Metres::from_feet(feet)).map(|spool| spool.name);
    assert_eq!(spool(400.0), Some("400 ft"));
    assert_eq!(spool(401.0), Some("800 ft"));
    assert_eq!(spool(2001.0), None);
    assert!(Gauge::Super8.spools().iter().all(|spool| spool.brim_capacity(inches(0.006)) == Ok(None)));
}

#[test]
fn a_length_winds_to_the_diameter_that_holds_it() {
    let wound = WoundOn::Base(Base::Polyester);
    let roll = reel_diameter(Gauge::Mm35, Metres::from_feet(2470.0), inches(5.0), wound, FPS_24).unwrap();
    assert_near(roll.outer.as_inches(), 15.0, 0.005);
}

#[test]
fn impossible_rolls_are_refused_in_words() {
    let mm = Metres::from_millimetres;
    let refusal = Roll::new(mm(100.0), mm(120.0), mm(0.15)).unwrap_err();
    assert_eq!(
        refusal.to_string(),
        "the roll measures 100.0 mm across and its hub 120.0 mm; measure the outside of the film and the hub it is wound on, both as diameters, and give the larger as the roll"
    );
    let refusal = Roll::new(mm(300.0), mm(120.0), mm(5.3)).unwrap_err();
    assert_eq!(refusal.to_string(), "film cannot be 5.3 mm thick; wound film is usually 0.11 to 0.17 mm");
    assert!(matches!(Roll::new(mm(300.0), mm(-1.0), mm(0.15)), Err(FilmError::HubNegative { .. })));
    assert!(matches!(Roll::new(mm(f64::NAN), mm(1.0), mm(0.15)), Err(FilmError::RollInsideHub { .. })));
    assert!(wound_thickness(mm(300.0), mm(120.0), Metres::ZERO).is_err());
    assert!(wound_thickness(mm(120.0), mm(120.0), Metres::new(1.0)).is_err());
}
