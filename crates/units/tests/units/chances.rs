//! Chances and the words for them.

use units::Probability;

fn words(value: f64) -> String {
    Probability::new(value).unwrap().in_words()
}

#[test]
fn chances_are_said_in_easy_fractions() {
    for (value, said) in [
        (0.0, "very unlikely"),
        (0.0009, "very unlikely"),
        (0.005, "about 1 in 200"),
        (0.083, "about 1 in 12"),
        (0.1, "about 1 in 10"),
        (0.26, "about 1 in 4"),
        (0.39, "about 2 in 5"),
        (0.5, "about 1 in 2"),
        (0.66, "about 2 in 3"),
        (0.91, "about 11 in 12"),
        (0.981, "about 49 in 50"),
        (0.995, "almost certain"),
        (1.0, "almost certain"),
    ] {
        assert_eq!(words(value), said, "for {value}");
    }
}

/// The chance that the words name, for comparing words with each other.
fn named(words: &str) -> f64 {
    match words {
        "very unlikely" => 0.0,
        "almost certain" => 1.0,
        fraction => fraction.strip_prefix("about ").unwrap().parse::<Probability>().unwrap().value(),
    }
}

#[test]
fn a_greater_chance_never_reads_as_a_smaller_one_nor_strays_far() {
    let mut last = 0.0;
    for step in 0..=10_000 {
        let value = f64::from(step) / 10_000.0;
        let now = named(&words(value));
        assert!(now >= last, "{value} reads as {now} after {last}");
        let strays = (now - value).abs();
        assert!(strays <= 0.06, "{value} reads as {now}");
        last = now;
    }
}

#[test]
fn words_never_carry_decimals() {
    for step in 0..=1000 {
        assert!(!words(f64::from(step) / 1000.0).contains('.'));
    }
}

#[test]
fn what_cannot_be_a_chance_is_refused() {
    for value in [-0.001, 1.001, f64::NAN, f64::INFINITY] {
        let refusal = Probability::new(value).unwrap_err();
        assert!(refusal.to_string().starts_with("a chance lies between 0 and 1"), "{refusal}");
    }
    assert_eq!(Probability::clamped(1.0 + 1e-12), Probability::ALWAYS);
    assert_eq!(Probability::clamped(f64::NAN), Probability::NEVER);
}

#[test]
fn independent_chances_combine() {
    // A die: the chance of a six in either of two throws is 11/36.
    let six = Probability::new(1.0 / 6.0).unwrap();
    assert!((six.or(six).value() - 11.0 / 36.0).abs() < 1e-12);
    assert!((six.and(six).value() - 1.0 / 36.0).abs() < 1e-12);
    assert!((six.complement().value() - 5.0 / 6.0).abs() < 1e-12);
}

#[test]
fn chances_are_read_in_three_ways() {
    let read = |text: &str| text.parse::<Probability>().unwrap().value();
    assert!((read("1 in 12") - 1.0 / 12.0).abs() < 1e-12);
    assert!((read("8 %") - 0.08).abs() < 1e-12);
    assert_eq!(read("0,25"), 0.25);
    let refusal = "1 in x".parse::<Probability>().unwrap_err();
    assert_eq!((refusal.given.as_str(), refusal.column), ("1 in x", 6));
    for wrong in ["1 in 0", "2 in 1", "120 %", "-0.1", ""] {
        assert!(wrong.parse::<Probability>().is_err(), "{wrong}");
    }
}
