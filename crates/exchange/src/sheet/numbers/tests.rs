#![allow(clippy::unwrap_used)]

use super::*;

fn value(cell: &str, decimal: Decimal) -> f64 {
    read_figure(cell, decimal).unwrap_or_else(|no| panic!("{cell}: {no:?}")).value
}

#[test]
fn figures_in_both_customs() {
    use Decimal::{Comma, Point};
    for (cell, decimal, expected) in [
        ("3120", Point, 3120.0),
        ("3120.5", Point, 3120.5),
        ("3120,5", Comma, 3120.5),
        ("3120,5", Point, 3120.5),
        ("3120.5", Comma, 3120.5),
        ("3,120.5", Comma, 3120.5),
        ("3.120,5", Point, 3120.5),
        ("3,120", Point, 3120.0),
        ("3.120", Comma, 3120.0),
        ("3.120", Point, 3.12),
        ("3,120", Comma, 3.12),
        ("0.125", Comma, 0.125),
        ("1 234 567,8", Comma, 1_234_567.8),
        ("1'234.5", Point, 1234.5),
        ("1\u{202f}234,5 h", Comma, 1234.5),
        ("-2,5", Comma, -2.5),
        ("−2.5", Point, -2.5),
        ("+7", Point, 7.0),
        ("54 cd/m2", Point, 54.0),
        (".5", Point, 0.5),
        ("3120 h", Point, 3120.0),
    ] {
        assert_eq!(value(cell, decimal), expected, "{cell} {decimal:?}");
    }
    assert_eq!(read_figure("54 cd/m2", Point).unwrap().unit, "cd/m2");
}

#[test]
fn letters_for_digits_are_told_from_units() {
    for (cell, meant) in
        [("12o3", "1203"), ("31l0", "3110"), ("l7", "17"), ("3I2O,5", "3120,5"), ("4S", "45")]
    {
        let no = read_figure(cell, Decimal::Point).unwrap_err();
        assert_eq!(no.meant.as_deref(), Some(meant), "{cell}");
    }
    for cell in ["", "about ten", "x", "-", ",", "1.2.3,4,5", "12,34,5"] {
        assert!(read_figure(cell, Decimal::Point).is_err(), "{cell}");
    }
    assert!(read_figure(&"9".repeat(400), Decimal::Point).is_err(), "infinite");
}

#[test]
fn marks_tell_what_they_can() {
    for (cell, told) in [
        ("1.5", MarkEvidence::Is(Decimal::Point)),
        ("1,25", MarkEvidence::Is(Decimal::Comma)),
        ("1.234,5", MarkEvidence::Is(Decimal::Comma)),
        ("1.234.567", MarkEvidence::Is(Decimal::Comma)),
        ("0.125", MarkEvidence::Is(Decimal::Point)),
        ("1.234", MarkEvidence::Unclear),
        ("1234", MarkEvidence::Nothing),
        ("note", MarkEvidence::Nothing),
    ] {
        assert_eq!(mark_evidence(cell), told, "{cell}");
    }
}
