//! Will a reel go on its spool, and how hard is it pulled, beside PH22.91 (JSMPTE 59 (1952) p. 158, clause 11).

use crate::assert_near;
use film::{
    Gauge,
    programme::{
        HOLD_BACK_MOST, TAKE_UP_LEAST, TAKE_UP_MOST, TakeUp, Tension, TensionVerdict, take_up, tension,
    },
    winding::Roll,
};
use proptest::prelude::*;
use units::{Metres, Newtons};

const WOUND: Metres = Metres::from_millimetres(0.155);

fn wound(feet: f64, flange_in: f64, hub_in: f64) -> TakeUp {
    let (flange, hub) = (Metres::from_inches(flange_in), Metres::from_inches(hub_in));
    take_up(Gauge::Mm16, Metres::from_feet(feet), flange, hub, WOUND).unwrap()
}

fn pulled(gauge: Gauge, outer_in: f64, hub_in: f64) -> Tension {
    let (outer, hub) = (Metres::from_inches(outer_in), Metres::from_inches(hub_in));
    tension(gauge, &Roll::new(outer, hub, WOUND).unwrap()).unwrap()
}

#[test]
fn a_reel_fits_its_own_spool_and_not_a_smaller_one() {
    // 1600 ft spool of PH22.11 / SMPTE 235 (from memory): flange 13.75 in, hub 4.875 in.
    let full = wound(1600.0, 13.75, 4.875);
    assert!(full.fits && full.fill < 1.0);
    assert_near(full.tension.ratio, full.outer.as_inches() / 4.875, 1e-12);
    let small = wound(1600.0, 10.5, 4.875);
    assert!(!small.fits && small.fill > 1.0);
}

#[test]
fn the_limits_are_those_of_the_standard_in_newtons() {
    // PH22.91, clauses 11.2 and 11.3, as printed: 3 to 10 oz (0.83 to 2.78 N), feed brake at most 3 oz (0.83 N).
    assert_near(TAKE_UP_LEAST.newtons(), 0.83, 0.005);
    assert_near(TAKE_UP_MOST.newtons(), 2.78, 0.005);
    assert_near(HOLD_BACK_MOST.newtons(), 0.83, 0.005);
}

#[test]
fn a_full_2000_ft_spool_just_holds_to_the_limits() {
    // Flange 15 in, hub 4.625 in (PH22.11 / SMPTE 235, from memory). Wound to the brim it is 3.24 times as wide as its
    // hub, and 10 oz / 3 oz = 3.33: a clutch set to 9.8 to 10 oz on the hub just holds to the limits.
    let full = pulled(Gauge::Mm16, 15.0, 4.625);
    let TensionVerdict::CanHold { at_hub_least, at_hub_most } = full.verdict else { panic!("{full:?}") };
    assert_near(at_hub_least.as_ounces(), 3.0 * 15.0 / 4.625, 1e-9);
    assert_eq!(at_hub_most, TAKE_UP_MOST);
    // The brake that keeps to 3 oz on the hub pulls less than an ounce with the spool full.
    assert_near(full.brake_outside_most.unwrap().as_ounces(), 3.0 * 4.625 / 15.0, 1e-9);

    // A house reel 16 in wide on a 4.625 in hub cannot be held: 10 oz on the hub leave 2.89 oz at the end.
    let TensionVerdict::TooUneven { at_end } = pulled(Gauge::Mm16, 16.0, 4.625).verdict else { panic!() };
    assert_near(at_end.as_ounces(), 10.0 * 4.625 / 16.0, 1e-9);
    assert!(at_end < TAKE_UP_LEAST);
}

#[test]
fn the_limits_leave_out_small_hubs_longer_reels_and_other_gauges() {
    // A 400 ft spool has a 2.5 in hub (PH22.11 / SMPTE 235, from memory); hubs under 4.5 in are excepted.
    assert_eq!(pulled(Gauge::Mm16, 7.0, 2.5).verdict, TensionVerdict::SmallHub);
    assert_eq!(pulled(Gauge::Mm16, 22.0, 5.0).verdict, TensionVerdict::LongerReel);
    assert_eq!(pulled(Gauge::Mm35, 15.0, 5.0).verdict, TensionVerdict::NoLimits);
    assert_eq!(pulled(Gauge::Mm35, 15.0, 5.0).brake_outside_most, None);
    let roll = Roll::new(Metres::from_inches(7.0), Metres::ZERO, WOUND).unwrap();
    assert!(tension(Gauge::Mm16, &roll).is_err(), "without a hub the pull has no bound");
}

proptest! {
    #[test]
    fn the_torque_is_the_same_on_the_hub_and_at_the_end(feet in 400.0..3600.0_f64, hub_in in 4.5..9.0_f64, pull in 0.5..4.0_f64) {
        let roll = Roll::of_length(Metres::from_feet(feet), Metres::from_inches(hub_in), WOUND).unwrap();
        let pulled = tension(Gauge::Mm16, &roll).unwrap();
        let at_end = pulled.at_end(Newtons::new(pull));
        prop_assert!((pull * roll.hub.metres() - at_end.newtons() * roll.outer.metres()).abs() < 1e-12);
    }

    #[test]
    fn a_clutch_set_within_its_window_holds_to_the_limits_all_through(feet in 400.0..3600.0_f64, hub_in in 4.5..9.0_f64, part in 0.0..1.0_f64) {
        let roll = Roll::of_length(Metres::from_feet(feet), Metres::from_inches(hub_in), WOUND).unwrap();
        let pulled = tension(Gauge::Mm16, &roll).unwrap();
        match pulled.verdict {
            TensionVerdict::CanHold { at_hub_least, at_hub_most } => {
                let set = at_hub_least + (at_hub_most - at_hub_least) * part;
                prop_assert!(set <= TAKE_UP_MOST);
                prop_assert!(pulled.at_end(set).newtons() >= TAKE_UP_LEAST.newtons() - 1e-12);
            }
            TensionVerdict::TooUneven { at_end } => prop_assert!(at_end < TAKE_UP_LEAST),
            other => prop_assert!(false, "{other:?}"),
        }
    }

    #[test]
    fn a_larger_hub_pulls_more_evenly(feet in 100.0..3600.0_f64, hub_in in 2.0..8.0_f64, more in 0.1..3.0_f64) {
        let on = |hub: f64| {
            let roll = Roll::of_length(Metres::from_feet(feet), Metres::from_inches(hub), WOUND).unwrap();
            tension(Gauge::Mm16, &roll).unwrap().ratio
        };
        prop_assert!(on(hub_in + more) < on(hub_in));
    }
}
