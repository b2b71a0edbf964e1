//! Sheets as people keep them (all invented), each with its mapping and the dry run that it must give.
//!
//! `BLESS=1 cargo test -p exchange` writes the expected texts anew.

#![allow(clippy::unwrap_used)]

use exchange::sheet::{DryRun, Ground, Mapping, Table, dry_run_as_json, dry_run_as_text, guess, read_sheet};
use jiff::civil::date;
use logbook::{
    Booth, DeviceId, Entry, EntryId, Fact, MachineId, PersonId, PlaceId, Precision, When,
    fact::{BoothNamed, MachineAdded, PersonAdded, PlaceAdded, PreferredUnits, Role},
    fold,
};
use std::{collections::BTreeSet, path::PathBuf};
use units::Hours;
use uuid::Uuid;

/// The device of all entries here.
const DEVICE: DeviceId = DeviceId(Uuid::from_u128(0xd1));

fn at(year: i16, month: i8, day: i8) -> When {
    let noon = date(year, month, day).at(12, 0, 0, 0).in_tz("Europe/London").unwrap();
    When::from_zoned(&noon).known_to(Precision::Minute)
}

fn now() -> When {
    at(2025, 11, 25)
}

fn machine(id: &str, name: &str, hours: f64) -> Fact {
    MachineAdded {
        machine: MachineId::new(id),
        name: name.to_owned(),
        machine_type: "portable-16mm-halogen".into(),
        serial: String::new(),
        place: None,
        meter_hours: Some(Hours::new(hours)),
        hours_before: Some(Hours::new(hours)),
        hours_estimated: false,
        made_year: None,
        settings: [].into(),
    }
    .into()
}

/// The booth of an invented touring cinema, as it stood before any sheet came in.
fn booth_entries() -> Vec<Entry> {
    let named = BoothNamed {
        name: "Haldoray Islands touring cinema".to_owned(),
        zone: "Europe/London".to_owned(),
        night_ends: jiff::civil::time(5, 0, 0, 0),
        units: PreferredUnits::Metric,
        invented: true,
    };
    let person =
        PersonAdded { person: PersonId::new("keeper"), name: "The keeper".to_owned(), role: Role::Keeper };
    let place = PlaceAdded {
        place: PlaceId::new("nessary"),
        name: "Nessary Institute".to_owned(),
        notes: String::new(),
    };
    let facts: Vec<Fact> = vec![
        named.into(),
        person.into(),
        place.into(),
        machine("turnstone", "Turnstone", 3120.0),
        machine("dunlin", "Dunlin", 1890.0),
        machine("phalarope", "Phalarope", 5210.0),
        machine("whimbrel", "Whimbrel", 9990.0),
    ];
    let entry = |(number, fact)| Entry {
        id: EntryId(Uuid::from_u128(number)),
        device: DEVICE,
        happened: at(2025, 1, 2),
        recorded: at(2025, 1, 2),
        by: PersonId::new("keeper"),
        fact,
    };
    (1..).zip(facts).map(entry).collect()
}

fn samples() -> PathBuf {
    [env!("CARGO_MANIFEST_DIR"), "tests", "samples"].iter().collect()
}

/// Reads a sample with its mapping.
fn table_and_mapping(name: &str) -> (Table, Mapping) {
    let table = Table::read(&std::fs::read(samples().join(format!("{name}.csv"))).unwrap()).unwrap();
    let text = std::fs::read_to_string(samples().join(format!("{name}.toml"))).unwrap();
    (table, Mapping::read(&text).unwrap())
}

fn dry_run(table: &Table, mapping: &Mapping, entries: &[Entry], leave_out: &[usize]) -> DryRun {
    dry_run_at(now(), table, mapping, entries, leave_out)
}

fn dry_run_at(now: When, table: &Table, mapping: &Mapping, entries: &[Entry], leave_out: &[usize]) -> DryRun {
    let booth: Booth = fold(entries.to_vec()).booth;
    let ground = Ground {
        booth: &booth,
        entries,
        now,
        device: DEVICE,
        by: PersonId::new("keeper"),
        leave_out: leave_out.iter().copied().collect(),
    };
    read_sheet(table, mapping, &ground)
}

fn sample(name: &str) -> DryRun {
    let (table, mapping) = table_and_mapping(name);
    dry_run(&table, &mapping, &booth_entries(), &[])
}

/// Compares a text with the file that holds what it must be.
fn must_be(name: &str, text: &str) {
    let path = samples().join(format!("{name}.expected.txt"));
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(&path, text).unwrap();
    }
    let expected = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(text, expected, "{name} gives another dry run");
}

#[test]
fn an_english_club() {
    let run = sample("english_club");
    must_be("english_club", &dry_run_as_text(&run));
    assert_eq!(run.blocked(), None);
}

#[test]
fn a_german_archive() {
    let run = sample("german_archive");
    must_be("german_archive", &dry_run_as_text(&run));
    assert_eq!(run.blocked(), None);
}

#[test]
fn an_american_school() {
    let run = sample("american_school");
    must_be("american_school", &dry_run_as_text(&run));
    assert_eq!(run.blocked(), None);
}

#[test]
fn a_dirty_sheet() {
    let run = sample("dirty");
    must_be("dirty", &dry_run_as_text(&run));
    assert!(run.clone().into_entries().is_err());
    // All errors stand in rows, so leaving those out lets the rest in.
    let blocked = run.blocked().unwrap();
    let (table, mapping) = table_and_mapping("dirty");
    let rest = dry_run(&table, &mapping, &booth_entries(), &blocked.rows);
    assert_eq!(rest.blocked(), None, "{}", dry_run_as_text(&rest));
    assert!(!rest.into_entries().unwrap().is_empty());
}

#[test]
fn importing_twice_adds_nothing() {
    for name in ["english_club", "german_archive", "american_school"] {
        let (table, mapping) = table_and_mapping(name);
        let mut entries = booth_entries();
        let first = dry_run(&table, &mapping, &entries, &[]).into_entries().unwrap();
        let ids: BTreeSet<EntryId> = first.iter().map(|entry| entry.id).collect();
        assert_eq!(ids.len(), first.len(), "{name}: every entry has an id of its own");
        entries.extend(first);
        let second = dry_run(&table, &mapping, &entries, &[]);
        assert_eq!(second.drafts, [], "{name}: {}", dry_run_as_text(&second));
        assert_eq!(second.blocked(), None, "{name}: {}", dry_run_as_text(&second));
    }
}

#[test]
fn ids_do_not_depend_on_places_columns_marks_or_importers() {
    let rows = ["2025-01-10,Turnstone,19:30,90 min,A", "2025-01-17,Turnstone,19:30,1h45,B"];
    let ids = |text: &str| -> BTreeSet<EntryId> {
        let table = Table::read(text.as_bytes()).unwrap();
        let mapping = guess(&table).mapping;
        let run = dry_run(&table, &mapping, &booth_entries(), &[]);
        assert_eq!(run.blocked(), None, "{}", dry_run_as_text(&run));
        run.drafts.iter().map(|draft| draft.draft.id).collect()
    };
    let plain = ids(&format!("Date,Machine,Start,Length,Title\n{}\n{}\n", rows[0], rows[1]));
    assert_eq!(plain.len(), 6, "planned, held and run for each of two rows");
    assert_eq!(plain, ids(&format!("Date,Machine,Start,Length,Title\n\n{}\n{}\n", rows[1], rows[0])));
    let other = "Titel;Beginn;Dauer;Maschine;Datum;Kasse\nA;19.30 Uhr;1,5 h;TURNSTONE;10.1.2025;12\n\
                 B;19.30 Uhr;105;turnstone;17.1.2025;7\n";
    assert_eq!(plain, ids(other));
}

#[test]
fn rows_that_say_the_same_are_counted_not_merged() {
    let (table, mapping) = {
        let table =
            Table::read(b"Date,Machine,Hours\n2025-01-10,Turnstone,1.5\n2025-01-10,Turnstone,1.5\n").unwrap();
        let mapping = guess(&table).mapping;
        (table, mapping)
    };
    let run = dry_run(&table, &mapping, &booth_entries(), &[]);
    assert_eq!(run.drafts.len(), 2);
    assert_ne!(run.drafts[0].draft.id, run.drafts[1].draft.id);
    assert!(run.doubts.iter().any(|doubt| doubt.row == Some(3) && doubt.why == "the same as row 2"));
}

#[test]
fn a_row_that_changed_since_its_import_is_doubted() {
    let sheet = |hours: &str| {
        let text = format!("Date,Machine,Hours\n2025-01-10,Turnstone,{hours}\n2025-01-11,Turnstone,1\n");
        let table = Table::read(text.as_bytes()).unwrap();
        let mapping = guess(&table).mapping;
        (table, mapping)
    };
    let mut entries = booth_entries();
    let (table, mapping) = sheet("1.5");
    let first = dry_run(&table, &mapping, &entries, &[]).into_entries().unwrap();
    let old = first[0].id;
    entries.extend(first);

    let (table, mapping) = sheet("1.75");
    let changed = dry_run(&table, &mapping, &entries, &[]);
    let blocked = changed.blocked().unwrap();
    assert_eq!(blocked.rows, [2], "{}", dry_run_as_text(&changed));
    assert_eq!(changed.summary.already_there, 1);

    entries.push(Entry {
        id: EntryId(Uuid::from_u128(99)),
        fact: logbook::fact::Withdraws { entry: old, why: "mistyped".to_owned() }.into(),
        ..entries[0].clone()
    });
    let again = dry_run(&table, &mapping, &entries, &[]);
    assert_eq!(again.blocked(), None, "{}", dry_run_as_text(&again));
    assert_eq!(again.drafts.len(), 1);
}

#[test]
fn the_dry_run_as_json_holds_everything() {
    let run = sample("dirty");
    let json = dry_run_as_json(&run);
    assert_eq!(json["can_be_imported"], false);
    assert_eq!(json["doubts"].as_array().unwrap().len(), run.doubts.len());
    assert_eq!(json["drafts"].as_array().unwrap().len(), run.drafts.len());
    assert_eq!(json["summary"]["rows"], 28);
}

#[test]
fn a_meter_that_rolled_over_goes_in_once_the_mapping_says_so() {
    let text =
        "Date,Machine,Meter\n2025-04-18,Whimbrel,9998.2\n2025-04-25,Whimbrel,1.4\n2025-05-02,Whimbrel,2.2\n";
    let table = Table::read(text.as_bytes()).unwrap();
    let mut mapping = guess(&table).mapping;
    let doubted = dry_run(&table, &mapping, &booth_entries(), &[]);
    let error = doubted.doubts.iter().find(|doubt| doubt.row == Some(3)).unwrap();
    assert!(error.would_be_right.contains(r#""whimbrel 2025-04-25" = "rolled-over""#), "{error:?}");

    let told = Mapping::read("[meter_changes]\n\"whimbrel 2025-04-25\" = \"rolled-over\"\n").unwrap();
    mapping.meter_changes = told.meter_changes;
    let run = dry_run(&table, &mapping, &booth_entries(), &[]);
    assert_eq!(run.blocked(), None, "{}", dry_run_as_text(&run));
    let mut entries = booth_entries();
    entries.extend(run.into_entries().unwrap());
    let booth = fold(entries).booth;
    let clocks = booth.machines.get("whimbrel").unwrap().clocks;
    assert!((clocks.hours_run().hours() - (9990.0 + 12.2)).abs() < 1e-9, "{clocks:?}");
}

#[test]
fn a_mapping_that_points_at_nothing_is_doubted() {
    let (table, mut mapping) = table_and_mapping("english_club");
    mapping.machines.insert("Proj 1".to_owned(), MachineId::new("Turnstne"));
    mapping.places.insert("Hall".to_owned(), PlaceId::new("Brannick"));
    let text = dry_run_as_text(&dry_run(&table, &mapping, &booth_entries(), &[]));
    assert!(
        text.contains("[machines] says that “Proj 1” is “Turnstne”, which the booth does not have"),
        "{text}"
    );
    assert!(text.contains("[places] says that “Hall” is “Brannick”"), "{text}");
}

#[test]
fn a_showing_that_was_to_come_is_held_when_the_sheet_comes_again() {
    let (table, mapping) = table_and_mapping("american_school");
    let mut entries = booth_entries();
    entries.extend(dry_run(&table, &mapping, &entries, &[]).into_entries().unwrap());
    let later = dry_run_at(at(2025, 12, 20), &table, &mapping, &entries, &[]);
    let kinds: Vec<&str> = later.drafts.iter().map(|draft| draft.draft.fact.kind()).collect();
    assert_eq!(kinds, ["showing-held", "ran"], "{}", dry_run_as_text(&later));
    entries.extend(later.into_entries().unwrap());
    let booth = fold(entries.clone()).booth;
    assert_eq!(booth.showings.len(), 5);
    assert_eq!(dry_run_at(at(2025, 12, 21), &table, &mapping, &entries, &[]).drafts, []);
}
