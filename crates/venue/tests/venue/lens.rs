//! Throw, lens, picture, keystone, focus.

use crate::{assert_near, setting};
use film::Gauge;
use units::{Degrees, Metres, Percent, Times};
use venue::{
    Estimate, Format, Judgement, SolvedFor, focus_depth, formats, keystone, keystone_limit_angle, throw_for,
};

/// A plate that is none of the standard ones, for printed examples of other apparatus.
fn plate(width: Metres) -> Format {
    Format { plate_width: width, ..formats(Gauge::Mm16)[0] }
}

fn focal_mm(pairs: &[(&str, &str)]) -> f64 {
    setting(pairs).lens().unwrap().focal_mm().likely().times()
}

#[test]
fn two_inch_lens_agrees_with_hill() {
    // Hill, Ciné-Film Projection (1952): a 2 in lens fills 8 ft 6 in at about 45 ft on 16 mm. "About" is to the foot.
    let throw =
        throw_for(&formats(Gauge::Mm16)[0], Metres::from_inches(2.0).into(), Metres::from_feet(8.5).into());
    assert_near(throw.likely().as_feet(), 45.0, 0.5);
    // The same book: a screen of 9 ft 6 in at about 75 ft took a lens of 3 in.
    let focal = focal_mm(&[("throw", "75 ft"), ("screen-width", "9 ft 6 in")]);
    assert_near(focal / 25.4, 3.0, 0.05);
}

#[test]
fn plans_for_small_theatres_agree_with_the_theatre_catalog() {
    // Theatre Catalog 1947, p. 589 (figures partly inferred from a bad print): 5.7 ft at 30 ft and 11.3 ft at 60 ft,
    // both with the usual 2 in lens.
    for (throw, width) in [("30 ft", "5.7 ft"), ("60 ft", "11.3 ft")] {
        assert_near(focal_mm(&[("throw", throw), ("screen-width", width)]) / 25.4, 2.0, 0.03);
    }
}

#[test]
fn lens_for_a_picture_agrees_with_richardson() {
    // Richardson, Motion Picture Handbook (1910), p. 68: 60 ft, 15/16 in, 15 ft: 56 1/4 / 15 = 3 3/4 in. The rule leaves
    // out the lens's own focal length, 0.6 % of the way here.
    let format = plate(Metres::from_inches(15.0 / 16.0));
    let throw = throw_for(&format, Metres::from_inches(3.75).into(), Metres::from_feet(15.0).into());
    assert_near(throw.likely().as_feet(), 60.0, 0.4);
}

#[test]
fn picture_agrees_with_clerc() {
    // Clerc, Photography: Theory and Practice: 33 1/3 ft, 5 in lens: 80 - 1 = 79 times 23/25 by 17/25 in, 73 x 54 in.
    let format = plate(Metres::from_inches(23.0 / 25.0));
    let throw =
        throw_for(&format, Metres::from_inches(5.0).into(), Metres::from_inches(79.0 * 23.0 / 25.0).into());
    assert_near(throw.likely().as_inches(), 400.0, 0.001);
    assert_near(79.0 * 23.0 / 25.0, 73.0, 0.5);
}

#[test]
fn slide_example_agrees() {
    // Worked example of slide projection: 28 mm on 66 in with a 4 in lens is about 60 times, at 244 in.
    let throw = throw_for(
        &plate(Metres::from_millimetres(28.0)),
        Metres::from_inches(4.0).into(),
        Metres::from_inches(66.0).into(),
    );
    assert_near(throw.likely().as_inches(), 243.75, 0.5);
}

/// Wright, Optical Projection, part 1, p. 43: a slide of 3 in; throw in feet for discs in feet, by focal length in inches.
/// The table leaves out the lens's own focal length, so that its rule is `disc x f / 3`.
const LANTERN_FOCI: [f64; 7] = [4.5, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0];
const LANTERN: [(f64, [f64; 7]); 7] = [
    (9.0, [13.5, 18.0, 24.0, 30.0, 36.0, 45.0, 54.0]),
    (12.0, [18.0, 24.0, 32.0, 40.0, 48.0, 60.0, 72.0]),
    (15.0, [22.5, 30.0, 40.0, 50.0, 60.0, 75.0, 90.0]),
    (18.0, [27.0, 36.0, 48.0, 60.0, 72.0, 90.0, 108.0]),
    (20.0, [30.0, 40.0, 53.333, 66.667, 80.0, 100.0, 120.0]),
    (25.0, [37.5, 50.0, 66.667, 83.333, 100.0, 125.0, 150.0]),
    (30.0, [45.0, 60.0, 80.0, 100.0, 120.0, 150.0, 180.0]),
];

#[test]
fn forty_nine_throws_agree_with_wrights_lantern_table() {
    let format = plate(Metres::from_inches(3.0));
    for (disc, throws) in LANTERN {
        for (focal, printed) in LANTERN_FOCI.into_iter().zip(throws) {
            let focal = Metres::from_inches(focal);
            let throw = throw_for(&format, focal.into(), Metres::from_feet(disc).into()).likely();
            assert_near((throw - focal).as_feet(), printed, 0.001);
        }
    }
}

/// Widths in metres of 16 mm pictures by throw in metres and focal length in millimetres, by `9.652 x (throw / focal - 1)`:
/// worked out by hand from the thin-lens formula, since no printed table of eight rows was found.
const THIN_LENS: [(f64, [f64; 4]); 8] = [
    (4.0, [1.534_67, 0.762_51, 0.505_11, 0.376_43]),
    (6.0, [2.306_83, 1.148_59, 0.762_51, 0.569_47]),
    (8.0, [3.078_99, 1.534_67, 1.019_89, 0.762_51]),
    (10.0, [3.851_15, 1.920_75, 1.277_28, 0.955_55]),
    (12.0, [4.623_31, 2.306_83, 1.534_67, 1.148_59]),
    (15.0, [5.781_55, 2.885_95, 1.920_75, 1.438_15]),
    (20.0, [7.711_95, 3.851_15, 2.564_21, 1.920_75]),
    (25.0, [9.642_35, 4.816_35, 3.207_68, 2.403_35]),
];

#[test]
fn eight_rows_for_four_lenses_follow_the_thin_lens_formula() {
    for (throw, widths) in THIN_LENS {
        for (focal, printed) in [25.0, 50.0, 75.0, 100.0].into_iter().zip(widths) {
            let lens = setting(&[("throw", &format!("{throw} m")), ("lens", &format!("{focal} mm"))])
                .lens()
                .unwrap();
            assert_near(lens.width.likely().metres(), printed, 0.000_1);
        }
    }
}

#[test]
fn anamorphic_prints_are_twice_as_wide_and_as_high() {
    let given = |format| {
        setting(&[("gauge", "35mm"), ("format", format), ("throw", "20 m"), ("lens", "90 mm")])
            .lens()
            .unwrap()
    };
    let (flat, wide) = (given("1.85"), given("anamorphic"));
    // 0.825 x 0.446 and 2 x 0.825 x 0.690 in: encyclopaedia article on 35 mm film, technical specifications.
    assert_near(flat.width.likely() / flat.height.likely(), 0.825 / 0.446, 1e-9);
    assert_near(wide.width.likely() / flat.width.likely(), 2.0, 1e-9);
    assert_near(wide.height.likely() / flat.height.likely(), 0.690 / 0.446, 1e-9);
}

#[test]
fn every_format_of_every_gauge_has_a_plate_and_a_source() {
    for gauge in Gauge::ALL {
        for format in formats(gauge) {
            assert!(format.plate_width > Metres::ZERO && format.plate_height > Metres::ZERO, "{format:?}");
            assert!((1.0..3.0).contains(&format.screen_ratio()), "{format:?}");
            assert!(!format.source.is_empty());
        }
    }
}

#[test]
fn keystone_agrees_with_a_lens_makers_note() {
    // A lens maker's note on keystone: throw 100 ft, tilt 15 degrees, lens 30 mm, frame 0.446 in: half angle 10.69
    // degrees, picture 40 ft 7 in instead of 39 ft 1 in, stretched by 3.8 %.
    let half = (0.446_f64 * 25.4 / 2.0 / 30.0).atan().to_degrees();
    assert_near(half, 10.69, 0.005);
    let bent = keystone(Degrees::new(15.0).into(), Degrees::new(half).into());
    assert_near(bent.stretch.likely().percent(), 3.8, 0.05);
}

#[test]
fn keystone_of_the_two_inch_lens_follows_the_cosines() {
    // cos(t - a) / cos(t + a) worked out by hand for 16 mm and 2 in (a = 4.06 degrees).
    for (angle, printed) in [(5.0, 1.25), (10.0, 2.54), (12.0, 3.06), (15.0, 3.88), (20.0, 5.31)] {
        let bent = keystone(Degrees::new(angle).into(), Degrees::new(4.06).into());
        assert_near(bent.keystone.likely().percent(), printed, 0.01);
    }
}

#[test]
fn the_limit_angle_gives_the_limit_back() {
    for limit in [3.0, 5.0] {
        for half in [2.0, 4.06, 10.69] {
            let angle = keystone_limit_angle(Percent::new(limit), Degrees::new(half));
            let bent = keystone(angle.into(), Degrees::new(half).into());
            assert_near(bent.keystone.likely().percent(), limit, 1e-9);
        }
    }
}

#[test]
fn a_balcony_is_told_how_far_to_tilt_the_screen() {
    let given = [("throw", "15 m"), ("lens", "50 mm"), ("lens-height", "6 m"), ("screen-bottom", "1 m")];
    let lens = setting(&given).lens().unwrap();
    let bent = lens.keystone_down.unwrap();
    let tilt = format!("{:.3}°", bent.screen_tilt.likely().degrees());
    let mut tilted = given.to_vec();
    tilted.push(("screen-tilt", &tilt));
    let after = setting(&tilted).lens().unwrap().keystone_down.unwrap();
    assert!(bent.keystone.likely().percent() > 3.0, "{bent:?}");
    assert_near(after.keystone.likely().percent(), 3.0, 0.001);
}

#[test]
fn depth_of_focus_follows_geometrical_optics() {
    // f/1.6 and 0.0125 mm at 311 times: 0.02 mm at the gate and 1.94 m at the screen, worked out by hand.
    let depth = focus_depth(
        Times::new(1.6).into(),
        Metres::from_millimetres(0.0125).into(),
        Times::new(311.0).into(),
    );
    assert_near(depth.at_gate.likely().as_millimetres(), 0.02, 1e-9);
    assert_near(depth.at_screen.likely().metres(), 1.940_64, 1e-5);
}

#[test]
fn what_is_not_given_is_a_range_or_missing_and_never_a_guess() {
    let throw_alone = setting(&[("throw", "12 m")]).lens().unwrap();
    assert_eq!(throw_alone.solved_for, SolvedFor::PictureWithAnyLens);
    assert!(!throw_alone.width.is_exact() && !throw_alone.caveats.is_empty());
    let needed = setting(&[("lens", "50 mm")]).lens().unwrap_err();
    assert_eq!(needed.fields, ["throw", "lens", "screen-width"]);
}

#[test]
fn a_picture_that_may_spill_over_is_told_so() {
    let fit = |throw| {
        let given = setting(&[("throw", throw), ("lens", "50 mm"), ("screen-width", "2.4 m")]);
        given.lens().unwrap().fit.unwrap().judgement
    };
    assert_eq!(fit("12 m"), Judgement::Within);
    assert_eq!(fit("14 m"), Judgement::Above);
    assert_eq!(fit("12 to 14 m"), Judgement::CannotTell);
}

#[test]
fn a_low_screen_takes_the_lens_for_its_height() {
    let by_width = focal_mm(&[("throw", "12 m"), ("screen-width", "2.4 m")]);
    let low = focal_mm(&[("throw", "12 m"), ("screen-width", "2.4 m"), ("screen-height", "1.2 m")]);
    assert!(low > by_width, "{low} {by_width}");
}

#[test]
fn estimates_are_in_order() {
    let band = Estimate::between(Metres::new(3.0), Metres::new(5.0), Metres::new(1.0));
    assert_eq!(
        (band.low(), band.likely(), band.high()),
        (Metres::new(1.0), Metres::new(5.0), Metres::new(5.0))
    );
}
