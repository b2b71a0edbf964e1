//! Reading quantities as people write them, and refusing what cannot be read.

use std::fmt::Debug;
use std::str::FromStr;

use units::read::{Problem, ReadError};
use units::{
    Amperes, Celsius, Decibels, Degrees, Frames, FramesPerSecond, Grams, Hertz, Hours, Kilograms, Lumens,
    Luminance, Lux, Metres, MetresPerSecond, Newtons, Ohms, Percent, Seconds, SquareMetres, Times, Volts,
    Watts,
};

fn read<T: FromStr<Err = ReadError>>(text: &str) -> T {
    text.parse().unwrap_or_else(|refusal| panic!("{refusal}"))
}

fn refused<T: FromStr<Err = ReadError> + Debug>(text: &str) -> ReadError {
    match text.parse::<T>() {
        Err(refusal) => refusal,
        Ok(value) => panic!("{text:?} was read as {value:?}"),
    }
}

fn assert_near(text: &str, got: f64, wanted: f64) {
    assert!(
        (got - wanted).abs() <= 1e-9 * wanted.abs().max(1.0),
        "{text:?} was read as {got} and not {wanted}"
    );
}

#[test]
fn lengths_in_both_systems() {
    for (text, metres) in [
        ("3.8 m", 3.8),
        ("3,8 m", 3.8),
        ("3.8m", 3.8),
        (" 380 cm ", 3.8),
        ("7.62 mm", 0.007_62),
        ("0,125 in", 0.003_175),
        ("400 ft", 121.92),
        ("400ft", 121.92),
        ("400'", 121.92),
        ("12ft 6in", 3.81),
        ("12 ft 6 in", 3.81),
        ("12ft6in", 3.81),
        ("12' 6\"", 3.81),
        ("12′6″", 3.81),
        ("12' 6''", 3.81),
        ("8 feet 6 inches", 2.5908),
        ("6\"", 0.1524),
        ("3 3/4 in", 0.095_25),
        ("15/16 in", 0.023_812_5),
        ("12' 6 1/2\"", 3.8227),
        ("1,234.5 ft", 376.2756),
        ("1.234,5 m", 1234.5),
        ("1,234,567 mm", 1234.567),
        (".5 m", 0.5),
        ("-2 m", -2.0),
        ("\u{2212}2 m", -2.0),
        ("+2 m", 2.0),
        ("1000 ft", 304.8),
        ("1 m 20 cm", 1.2),
    ] {
        assert_near(text, read::<Metres>(text).metres(), metres);
    }
}

#[test]
fn times_with_colons_and_with_units() {
    for (text, seconds) in [
        ("11:06.7", 666.7),
        ("11:06,7", 666.7),
        ("1:02:03", 3723.0),
        ("133:20", 8000.0),
        ("0:05", 5.0),
        ("-0:05", -5.0),
        ("1h 30m", 5400.0),
        ("1h30m", 5400.0),
        ("1h30", 5400.0),
        ("1 h 30", 5400.0),
        ("2m15", 135.0),
        ("1h2m3", 3723.0),
        ("1 h 30 min", 5400.0),
        ("90 min", 5400.0),
        ("90min 10s", 5410.0),
        ("2,5 h", 9000.0),
        ("45 s", 45.0),
        ("41.7 ms", 0.0417),
    ] {
        assert_near(text, read::<Seconds>(text).seconds(), seconds);
    }
}

#[test]
fn hours_as_a_counter_shows_them() {
    for (text, hours) in [
        ("412.5", 412.5),
        ("412,5 h", 412.5),
        ("412 h", 412.0),
        ("90 min", 1.5),
        ("1 h 30 min", 1.5),
        ("1h30", 1.5),
        ("1h30m", 1.5),
        ("1 h 30", 1.5),
        ("1:30", 1.5),
    ] {
        assert_near(text, read::<Hours>(text).hours(), hours);
    }
}

#[test]
fn the_other_quantities() {
    assert_near("fps", read::<FramesPerSecond>("24").fps(), 24.0);
    assert_near("fps", read::<FramesPerSecond>("23.976 fps").fps(), 23.976);
    assert_near("film", read::<MetresPerSecond>("7.2 in/s").as_millimetres_per_second(), 182.88);
    assert_near("film", read::<MetresPerSecond>("36 ft/min").as_millimetres_per_second(), 182.88);
    assert_near("shaft", read::<Hertz>("1440 rpm").hertz(), 24.0);
    assert_near("tone", read::<Hertz>("3.15 kHz").hertz(), 3150.0);
    assert_near("level", read::<Decibels>("-3 dB").decibels(), -3.0);
    assert_near("mains", read::<Volts>("230 V").volts(), 230.0);
    assert_near("exciter", read::<Volts>("5 mV").volts(), 0.005);
    assert_near("shrinkage", read::<Percent>("0,8 %").percent(), 0.8);
    assert_near("count", read::<Frames>("16000 frames").count() as f64, 16000.0);
    assert_near("count", read::<Frames>("26").count() as f64, 26.0);
    assert_near("weight", read::<Kilograms>("1.2 kg").kilograms(), 1.2);
    assert_near("meter", read::<Lux>("120 lx").lux(), 120.0);
    assert_near("screen", read::<Luminance>("55 cd/m2").candelas_per_square_metre(), 55.0);
    assert_near("screen", read::<Luminance>("55 cd/m²").candelas_per_square_metre(), 55.0);
    assert_near("screen", read::<Luminance>("16 fL").as_foot_lamberts(), 16.0);
    // Water freezes at 32 °F and boils at 212 °F.
    assert_near("room", read::<Celsius>("32 °F").celsius(), 0.0);
    assert_near("room", read::<Celsius>("212F").celsius(), 100.0);
    assert_near("room", read::<Celsius>("20 °C").celsius(), 20.0);
    assert_near("cold", read::<Celsius>("-5 C").celsius(), -5.0);
}

#[test]
fn the_quantities_of_a_room() {
    assert_near("fuse", read::<Amperes>("16 A").amperes(), 16.0);
    assert_near("exciter", read::<Amperes>("750 mA").amperes(), 0.75);
    assert_near("urn", read::<Watts>("3 kW").watts(), 3000.0);
    assert_near("machine", read::<Watts>("450VA").watts(), 450.0);
    assert_near("cable", read::<Ohms>("0,4 Ω").ohms(), 0.4);
    assert_near("lamp", read::<Lumens>("400 lm").lumens(), 400.0);
    assert_near("tilt", read::<Degrees>("9°").degrees(), 9.0);
    assert_near("tilt", read::<Degrees>("-4.5 deg").degrees(), -4.5);
    assert_near("hall", read::<SquareMetres>("100 sqft").square_metres(), 9.290_304);
    assert_near("gain", read::<Times>("1,5").times(), 1.5);
}

#[test]
fn quantities_multiply_into_the_quantity_that_they_make() {
    // Ohm's law; 2.525 ohm per 1000 ft of 14 AWG at 10 A loses 25.25 V in one conductor.
    assert_eq!(Amperes::new(10.0) * Ohms::new(2.525), Volts::new(25.25));
    assert_eq!(Watts::new(460.0) / Volts::new(230.0), Amperes::new(2.0));
    assert_eq!(Metres::new(3.0) * Metres::new(2.0), SquareMetres::new(6.0));
    assert_near("half a turn", Degrees::from_radians(std::f64::consts::PI).degrees(), 180.0);
    assert_near("half a turn", Degrees::new(180.0).as_radians(), std::f64::consts::PI);
}

#[test]
fn ounces_and_pounds_are_avoirdupois() {
    // International yard and pound agreement, 1959: one pound is exactly 0.45359237 kg.
    assert_near("1 lb", read::<Grams>("1 lb").grams(), 453.592_37);
    assert_near("2 lb 3 oz", read::<Grams>("2 lb 3 oz").grams(), 35.0 / 16.0 * 453.592_37);
    // One pound of force is 4.448 221 615 260 5 N (standard gravity 9.80665 m/s2).
    assert_near("16 oz", read::<Newtons>("16 oz").newtons(), 4.448_221_615_260_5);
    assert_near("1000 g", read::<Newtons>("1000 g").newtons(), 9.806_65);
}

#[test]
fn ten_and_a_bit_lux_make_a_foot_candle() {
    // A foot-candle is one lumen per square foot; 10.764 lx from memory.
    let lux = read::<Lux>("1 fc").lux();
    assert!((lux - 10.764).abs() < 0.0005, "{lux}");
}

#[test]
fn refusals_say_what_where_and_what_would_be_right() {
    assert_eq!(
        refused::<Metres>("3,8 k").to_string(),
        "\"3,8 k\" is not a length: \"k\" is not a unit for it (column 5); write for example 3.8 m, 12 ft 6 in or 7.62 mm"
    );
    assert_eq!(
        refused::<Metres>("1,000 ft").to_string(),
        "\"1,000 ft\" is not a length: \"1,000\" may mean 1.000 or 1000, and it does not say which; leave the comma out (column 1); write for example 3.8 m, 12 ft 6 in or 7.62 mm"
    );
    assert_eq!(
        refused::<Seconds>("11:6.7").to_string(),
        "\"11:6.7\" is not a time: \"6.7\" should be two digits from 00 to 59 (column 4); write for example 11:06.7, 1:02:03, 1 h 30 min or 90 min"
    );
}

#[test]
fn each_problem_is_found_at_its_column() {
    let word = |text: &str| text.to_owned();
    for (text, column, problem) in [
        ("", 1, Problem::Empty),
        ("   ", 4, Problem::Empty),
        ("400", 4, Problem::UnitMissing),
        ("12 6 ft", 4, Problem::UnitMissing),
        ("ft", 1, Problem::NumberWanted { found: word("ft") }),
        ("12 ft in", 7, Problem::NumberWanted { found: word("in") }),
        ("6 in 12 ft", 6, Problem::PartMisplaced { found: word("12") }),
        ("2 m 3 m", 5, Problem::PartMisplaced { found: word("3") }),
        ("1.2.3 m", 1, Problem::NumberMalformed { found: word("1.2.3") }),
        ("1/0 in", 1, Problem::NumberMalformed { found: word("1/0") }),
        ("- 5 ells", 5, Problem::UnitUnknown { found: word("ells") }),
        ("12,345 mm", 1, Problem::CommaUnclear { found: word("12,345") }),
    ] {
        let refusal = refused::<Metres>(text);
        assert_eq!((refusal.column, refusal.problem), (column, problem), "for {text:?}");
        assert_eq!(refusal.given, text);
    }
}

#[test]
fn clock_readings_are_checked_part_by_part() {
    let part = |text: &str| Problem::ClockPart { found: text.to_owned() };
    for (text, column, problem) in [
        ("11:60", 4, part("60")),
        ("1:2:03", 3, part("2")),
        ("1:02.5:03", 3, part("02.5")),
        ("1:00:00:00", 1, Problem::ClockParts),
        (":30", 1, Problem::NumberMissing),
        ("a:30", 1, Problem::NumberWanted { found: "a".to_owned() }),
        ("11:", 4, part("")),
        ("99999999999:00", 1, Problem::TooLarge),
    ] {
        let refusal = refused::<Seconds>(text);
        assert_eq!((refusal.column, refusal.problem), (column, problem), "for {text:?}");
    }
    assert_eq!(refused::<Hours>("1:02.5").problem, part("02.5"));
}

#[test]
fn counts_are_whole_and_countable() {
    assert_eq!(refused::<Frames>("2.5 frames").problem, Problem::NotWhole);
    assert_eq!(refused::<Frames>("99999999999999999999").problem, Problem::TooLarge);
    assert_eq!(refused::<Metres>(&format!("{} m", "9".repeat(400))).problem, Problem::TooLarge);
}

#[test]
fn only_lengths_times_and_weights_are_added_up() {
    assert!(matches!(refused::<Luminance>("16 fL 3 cd/m2").problem, Problem::PartMisplaced { .. }));
    assert!(matches!(refused::<FramesPerSecond>("24 25").problem, Problem::UnitMissing));
}

#[test]
fn a_last_number_without_a_unit_counts_only_where_it_is_clear() {
    for text in ["1h90", "1h 60", "30s 5", "1h30 15", "30"] {
        refused::<Seconds>(text);
    }
    for text in ["1h90", "1 h 412.5"] {
        refused::<Hours>(text);
    }
    refused::<Metres>("12 ft 6");
}
