//! What holds for any hall.

use crate::texts;
use film::Gauge;
use proptest::prelude::*;
use std::collections::BTreeMap;
use units::Metres;
use venue::{FIELDS, Setting, formats, throw_for};

fn cable(length: f64, volts: f64, load: f64) -> venue::PowerAnswer {
    let given = texts(&[
        ("mains-volts", &format!("{volts:.3} V")),
        ("socket-volts", &format!("{volts:.3} V")),
        ("load", &format!("{load:.3} W")),
        ("cable-length", &format!("{length:.6} m")),
        ("cable-size", "1.5mm2"),
    ]);
    Setting::read(&given).0.power().unwrap()
}

proptest! {
    #[test]
    fn lens_throw_and_width_agree_in_every_direction(
        gauge in prop::sample::select(Gauge::ALL.to_vec()),
        which in 0_usize..8,
        throw in 2.0_f64..80.0,
        focal in 0.012_f64..0.15,
    ) {
        let all = formats(gauge);
        let format = all[which % all.len()];
        let keys = |more: &[(&str, String)]| {
            let mut given = texts(&[("gauge", gauge.id()), ("format", format.format)]);
            given.extend(more.iter().map(|(key, text)| ((*key).to_owned(), text.clone())));
            Setting::read(&given).0.lens().unwrap()
        };
        let picture = keys(&[("throw", format!("{throw} m")), ("lens", format!("{focal} m"))]);
        let width = picture.width.likely();
        let back = throw_for(&format, Metres::new(focal).into(), width.into());
        prop_assert!((back.likely().metres() - throw).abs() < 1e-9 * throw);
        if width < Metres::new(100.0) {
            let lens = keys(&[("throw", format!("{throw} m")), ("screen-width", format!("{} m", width.metres()))]);
            prop_assert!((lens.focal.likely().metres() - focal).abs() < 1e-9);
        }
    }

    #[test]
    fn more_cable_never_raises_the_voltage(
        length in 0.0_f64..200.0,
        more in 0.0_f64..200.0,
        volts in 100.0_f64..250.0,
        load in 50.0_f64..2000.0,
    ) {
        let (short, long) = (cable(length, volts, load), cable(length + more, volts, load));
        prop_assert!(long.at_machine.likely() <= short.at_machine.likely());
        prop_assert!(long.at_machine.low() <= short.at_machine.low());
        prop_assert!(long.drop.likely() >= short.drop.likely());
    }

    #[test]
    fn a_range_holds_what_every_value_in_it_gives(
        low in 5.0_f64..15.0,
        wide in 0.0_f64..5.0,
        at in 0.0_f64..1.0,
        lumens in 100.0_f64..1000.0,
    ) {
        let answer = |throw: String| {
            let given = texts(&[("throw", &throw), ("lens", "50 mm"), ("machine-light", &format!("{lumens} lm")), ("screen", "sheet")]);
            let setting = Setting::read(&given).0;
            setting.light(&setting.lens().unwrap()).unwrap()
        };
        let range = answer(format!("{low} to {} m", low + wide));
        let inside = answer(format!("{} m", low + wide * at));
        prop_assert!(range.luminance.low().candelas_per_square_metre() <= inside.luminance.low().candelas_per_square_metre() * (1.0 + 1e-9));
        prop_assert!(range.luminance.high().candelas_per_square_metre() >= inside.luminance.high().candelas_per_square_metre() * (1.0 - 1e-9));
    }

    #[test]
    fn any_text_in_any_field_is_read_or_refused_and_nothing_panics(
        texts in prop::collection::vec(("[-0-9.,'\" a-zµ°²±~–]{0,12}", 0_usize..FIELDS.len()), 0..12),
    ) {
        let given: BTreeMap<String, String> =
            texts.into_iter().map(|(text, at)| (FIELDS[at].key.to_owned(), text)).collect();
        let (setting, errors) = Setting::read(&given);
        for error in &errors {
            prop_assert!(!error.to_string().is_empty());
        }
        if let Ok(lens) = setting.lens() {
            let sight = setting.sight(&lens).ok();
            let _ = setting.light(&lens);
            let _ = setting.sound(sight.as_ref());
        }
        let _ = setting.power();
    }

    #[test]
    fn more_light_is_never_darker_and_a_larger_picture_never_brighter(
        lumens in 50.0_f64..2000.0,
        more in 0.0_f64..1000.0,
        width in 1.0_f64..5.0,
        wider in 0.0_f64..3.0,
    ) {
        let likely = |lumens: f64, width: f64| {
            let given = texts(&[("throw", "15 m"), ("screen-width", &format!("{width} m")), ("machine-light", &format!("{lumens} lm")), ("gain", "1")]);
            let setting = Setting::read(&given).0;
            setting.light(&setting.lens().unwrap()).unwrap().luminance.likely()
        };
        prop_assert!(likely(lumens + more, width) >= likely(lumens, width));
        prop_assert!(likely(lumens, width + wider) <= likely(lumens, width));
    }
}
