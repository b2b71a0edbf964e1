#![allow(clippy::unwrap_used)]

use super::*;
use proptest::prelude::*;

const FULL: &str = r#"
what = "showing"
date_order = "day-month-year"
decimal = ","
length_unit = "minutes"
zone = "Europe/Lisbon"
machine = "turnstone"
usual_start = "19:30:00"
repeat_date = true
plan_future = true
add_people = true
add_places = true

[columns]
date = "Datum"
hours = "Std."

[machines]
"Proj 1" = "turnstone"

[people]
"J." = "jo"

[places]
Saal = "hall"

[sorts]
"Vorführung" = "showing"

[tasks]
"gate cleaned" = "gate-brush"
"rollers oiled" = { task = "roller-oil", slot = "upper-roller" }

[parts]
Lamp = "projection-lamp"

[readings]
"Light cd/m2" = { quantity = "screen-luminance", unit = "cd/m2", plausible = [10.0, 120.0] }

[add_machines]
"Proj 2" = { type = "portable-16mm-halogen", serial = "HI-16-02", hours_before = 1890.5 }

[meter_changes]
"turnstone 2026-03-04" = "rolled-over"
"#;

#[test]
fn every_key_is_read_and_written_back() {
    let mapping = Mapping::read(FULL).unwrap();
    assert_eq!(mapping.columns[&Field::Hours], "Std.");
    assert_eq!(mapping.tasks["rollers oiled"].slot.as_ref().unwrap().as_str(), "upper-roller");
    let new = &mapping.add_machines["Proj 2"];
    assert_eq!((new.id.as_str(), new.name.as_str()), ("proj-2", "Proj 2"), "made of the sheet's name");
    let written = mapping_as_toml(&mapping);
    assert_eq!(Mapping::read(&written).unwrap(), mapping, "{written}");
    for key in TOP {
        assert!(written.contains(key), "{key} is not written");
    }
    assert_eq!(Mapping::read("").unwrap(), Mapping::default());
}

#[test]
fn all_errors_come_with_line_and_column() {
    let text = r#"what = "shwoing"
date_ordr = "day-month-year"
decimal = 5
add_people = "yes"
zone = "Europe/Atlantis"
usual_start = "half eight"

[columns]
dat = "Datum"
hours = ""

[tasks]
"gate" = { tsk = "gate-brush" }

[readings]
"Light" = { quantity = "q", unit = "lx", plausible = [5, 1] }

[add_machines]
"Proj 2" = { name = "x" }

[meter_changes]
"turnstone" = "swapped"
"#;
    let errors = Mapping::read(text).unwrap_err();
    let told: Vec<String> = errors.iter().map(ToString::to_string).collect();
    let lines: Vec<usize> = errors.iter().filter_map(|error| error.line).collect();
    assert_eq!(lines, [1, 2, 3, 4, 5, 6, 9, 10, 13, 16, 19, 22, 22], "{told:#?}");
    assert!(told[0].starts_with("line 1, column 8: “shwoing” is not one of the words"), "{}", told[0]);
    assert!(told[1].ends_with("a mapping has no “date_ordr”; did you mean “date_order”?"), "{}", told[1]);
    assert!(told[6].ends_with("did you mean “date”?"), "{}", told[6]);
    assert!(told[8].contains("unknown field `tsk`"), "{}", told[8]);
    assert!(told[10].contains("missing field `type`"), "{}", told[10]);
}

#[test]
fn broken_toml_is_told_with_its_place() {
    let errors = Mapping::read("what = \"showing\"\n[columns\ndate = 1\n").unwrap_err();
    assert_eq!(errors[0].line, Some(2), "{errors:?}");
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,200}") {
        let _ = Mapping::read(&text);
    }

    #[test]
    fn no_damage_to_a_good_file_makes_the_reader_panic(at in any::<prop::sample::Index>(), put in "\\PC{0,3}") {
        let places: Vec<usize> = FULL.char_indices().map(|(at, _)| at).collect();
        let at = places[at.index(places.len())];
        let (before, after) = FULL.split_at(at);
        let _ = Mapping::read(&format!("{before}{put}{}", after.get(put.len()..).unwrap_or_default()));
    }
}
