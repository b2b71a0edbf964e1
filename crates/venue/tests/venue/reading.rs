//! What people type, understood or refused beside its field.

use crate::{assert_near, texts};
use units::{Metres, Times};
use venue::{Estimate, FIELDS, Field, Setting, fields::Kind, read};

fn metres(text: &str) -> Estimate<Metres> {
    read::estimate(text, None).unwrap_or_else(|refusal| panic!("{refusal}"))
}

#[test]
fn mixed_units_are_one_length() {
    for (text, wanted) in [
        ("12ft 6in", 3.81),
        ("12'6\"", 3.81),
        ("12'-6\"", 3.81),
        ("12 ft 6 in", 3.81),
        ("3,8 m", 3.8),
        ("380 cm", 3.8),
        ("3.8m", 3.8),
    ] {
        let read = metres(text);
        assert!(read.is_exact(), "{text}");
        assert_near(read.likely().metres(), wanted, 1e-9);
    }
}

#[test]
fn ranges_are_read_as_people_write_them() {
    for (text, low, likely, high) in [
        ("8 to 10 m", 8.0, 9.0, 10.0),
        ("8-10 m", 8.0, 9.0, 10.0),
        ("8 m - 10 m", 8.0, 9.0, 10.0),
        ("8–10 m", 8.0, 9.0, 10.0),
        ("10..8 m", 8.0, 9.0, 10.0),
        ("9 m ± 0.5 m", 8.5, 9.0, 9.5),
        ("9 ± 0.5 m", 8.5, 9.0, 9.5),
        ("9 m +- 10 %", 8.1, 9.0, 9.9),
        ("about 9 m", 8.55, 9.0, 9.45),
        ("~ 9 m", 8.55, 9.0, 9.45),
        ("10' to 12'6\"", 3.048, 3.429, 3.81),
        ("10'-12'", 3.048, 3.3528, 3.6576),
    ] {
        let read = metres(text);
        assert_near(read.low().metres(), low, 1e-9);
        assert_near(read.likely().metres(), likely, 1e-9);
        assert_near(read.high().metres(), high, 1e-9);
    }
}

#[test]
fn what_goes_without_saying_may_be_left_out_and_nothing_else() {
    let lens: Estimate<Metres> = read::estimate("50", Some("mm")).unwrap();
    assert_near(lens.likely().as_millimetres(), 50.0, 1e-9);
    let lens: Estimate<Metres> = read::estimate("50-65", Some("mm")).unwrap();
    assert_near(lens.high().as_millimetres(), 65.0, 1e-9);
    assert!(read::estimate::<Metres>("12", None).unwrap_err().to_string().contains("no unit"));
    assert_near(read::estimate::<Times>("1,5", None).unwrap().likely().times(), 1.5, 1e-9);
}

/// What is wrong beside one field.
fn refused(key: &str, text: &str) -> String {
    let (_, errors) = Setting::read(&texts(&[(key, text)]));
    assert_eq!(errors.len(), 1, "{key} {text:?}: {errors:?}");
    assert_eq!(errors[0].field, key);
    errors[0].to_string()
}

#[test]
fn nonsense_is_refused_beside_its_field_with_what_would_be_right() {
    for (key, text, wanted) in [
        ("throw", "0 m", "for example 12 m"),
        ("throw", "-3 m", "for example 12 m"),
        ("throw", "12", "the number has no unit"),
        ("throw", "1O m", "\"O\" is not a unit"),
        ("throw", "abc", "a number should stand"),
        ("mains-volts", "0 V", "for example 230 V"),
        ("mains-volts", "2e0 V", "column"),
        ("load", "0", "for example 450 W"),
        ("rows", "nine", "a whole number from 1 to 100"),
        ("gauge", "9.5mm", "16mm, 35mm"),
        ("format", "1.85", "16 mm has no format"),
        ("screen", "shiny", "matt, perforated"),
        ("cable-size", "3mm2", "1.5mm2"),
        ("screen-lux", "0 lx", "more than 0"),
        ("stray-lux", "-1 lx", "0 to 100000 lx"),
    ] {
        let said = refused(key, text);
        assert!(said.contains(wanted), "{key} {text:?}: {said}");
    }
}

#[test]
fn a_screen_wider_than_the_hall_is_refused() {
    let (_, errors) = Setting::read(&texts(&[("screen-width", "8 m"), ("hall-width", "7 m")]));
    assert_eq!(errors.len(), 1);
    assert_eq!(errors[0].field, "screen-width");
    assert!(
        errors[0].to_string().contains("8.00 m wide is more than the hall's width, 7.00 m"),
        "{}",
        errors[0]
    );
}

#[test]
fn all_errors_come_at_once_and_the_rest_is_read() {
    let given = texts(&[("throw", "0 m"), ("lens", "x"), ("screen-width", "2.4 m"), ("load", "450 W")]);
    let (setting, errors) = Setting::read(&given);
    assert_eq!(errors.iter().map(|error| error.field).collect::<Vec<_>>(), ["throw", "lens"]);
    assert!(setting.picture.screen_width.is_some() && setting.power.load.is_some());
}

/// What stands in the hint of a field reads without error.
fn example(field: &Field) -> &'static str {
    field.hint.split(", ").next().unwrap_or_default().split(" (").next().unwrap_or_default()
}

#[test]
fn every_hint_reads_and_every_field_is_read() {
    for field in FIELDS {
        let (_, errors) = Setting::read(&texts(&[(field.key, example(field))]));
        let gauge_wants_it = field.kind == Kind::Format;
        assert!(errors.is_empty() || gauge_wants_it, "{}: {errors:?}", field.key);
        let (_, errors) = Setting::read(&texts(&[(field.key, "§")]));
        assert_eq!(errors.len(), 1, "{} is not read", field.key);
    }
    let mut keys: Vec<&str> = FIELDS.iter().map(|field| field.key).collect();
    keys.sort_unstable();
    keys.dedup();
    assert_eq!(keys.len(), FIELDS.len());
}
