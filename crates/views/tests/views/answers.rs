//! The invented booth's answers as sheets and JSON.

use booth::KeptBeliefs;
use jiff::{ZonedDateTime, civil::date, tz::TimeZone};
use logbook::Booth;
use machine::Library;
use serde_json::Value;
use std::sync::LazyLock;
use views::text;

static BOOTH: LazyLock<Booth> =
    LazyLock::new(|| logbook::fold(demo::booth(date(2026, 11, 25), 16).entries).booth);
static KEPT: LazyLock<KeptBeliefs> = LazyLock::new(KeptBeliefs::default);
static LIBRARY: LazyLock<Library> = LazyLock::new(machine::shipped);

fn now() -> ZonedDateTime {
    date(2026, 11, 25).at(12, 0, 0, 0).to_zoned_datetime(TimeZone::get(demo::ZONE).unwrap()).unwrap()
}

#[test]
fn due_as_json_has_the_keys_that_scripts_rely_on() {
    let answer = booth::due(&BOOTH, &LIBRARY, &now());
    let json = views::json::due(&answer);
    let lines = json.as_array().unwrap();
    assert!(lines.len() > 100);
    for line in lines {
        for key in [
            "machine",
            "task",
            "part",
            "last_done",
            "remaining_hours",
            "remaining_days",
            "forecast_date",
            "forecast_showing",
            "state",
            "because",
            "caveats",
        ] {
            assert!(line.get(key).is_some(), "{key} is missing in {line}");
        }
        assert!(line["because"].as_array().is_some_and(|because| !because.is_empty()), "{line}");
        if let Some(day) = line["forecast_date"].as_str() {
            assert!(day.parse::<jiff::civil::Date>().is_ok(), "{day}");
        }
    }
}

#[test]
fn every_answer_as_json_has_its_reasons_and_caveats() {
    let (booth, library, now) = (&*BOOTH, &*LIBRARY, now());
    let all = [
        views::json::tonight(
            &booth::tonight(booth, library, &now),
            &booth::outlooks_tonight(booth, library, &now, &KEPT, None),
            booth,
        ),
        views::json::machines(&booth::machines(booth, library, &now)),
        views::json::machine(&booth::machine_sheet(booth, library, "dunlin", &now).unwrap()),
        views::json::film_path(&booth::film_path(booth, library, "dunlin", &now).unwrap()),
        views::json::walk(&booth::walk(booth, library, "dunlin", booth::WalkKind::All, &now).unwrap()),
        views::json::diary(&booth::diary(booth, library, date(2026, 11, 20), date(2026, 12, 20), &now)),
        views::json::hours_by_week(&booth::hours_by_week(booth, "dunlin", 8, &now).unwrap()),
        views::json::history(&booth::history(booth, "dunlin", None).unwrap()),
    ];
    for value in all {
        assert!(value["because"].is_array() && value["caveats"].is_array(), "{value}");
        assert_no_bare_number_without_unit(&value, "");
    }
}

/// Keys of numbers end in a unit, or are counts, places and figures that have none.
fn assert_no_bare_number_without_unit(value: &Value, key: &str) {
    const UNITS: [&str; 7] = ["_hours", "_days", "_minutes", "_seconds", "_m", "hours_run", "hours_lit"];
    const BARE: [&str; 32] = [
        "reel",
        // Chances and shares have no unit, counts neither.
        "chance",
        "clean_chance_without",
        "share_from_data",
        "saved_dark_seconds_per_minute",
        "spares",
        "failures_seen",
        "lives_seen",
        "minutes",
        "minutes_of_care",
        "minutes_left",
        "minutes_till_start",
        "minutes_till_doors",
        "strikes",
        "value",
        "uncertainty",
        "number",
        "done",
        "overdue",
        "due",
        "open_faults",
        "before_left",
        "listed_earlier",
        "no_record",
        "made_year",
        "remaining_strikes",
        "days",
        "due_in_days",
        "running_hours",
        "low",
        "high",
        "takes",
    ];
    match value {
        Value::Number(_) => assert!(
            UNITS.iter().any(|unit| key.ends_with(unit)) || BARE.contains(&key),
            "the number under {key} names no unit"
        ),
        Value::Array(list) => list.iter().for_each(|one| assert_no_bare_number_without_unit(one, key)),
        Value::Object(map) => map.iter().for_each(|(key, one)| assert_no_bare_number_without_unit(one, key)),
        _ => {}
    }
}

#[test]
fn tonight_as_text_names_the_showing_its_machines_and_the_open_fault() {
    let answer = booth::tonight(&BOOTH, &LIBRARY, &now());
    let shown = text::sheet(&views::tonight::sheet(&answer, &[], &BOOTH), 80);
    let first = &answer.value.this_evening[0];
    assert!(shown.contains(&first.showing.title), "{shown}");
    for machine in &first.machines {
        assert!(shown.contains(&machine.machine.name), "{shown}");
    }
    assert!(shown.contains("Open fault"), "{shown}");
}

#[test]
fn a_machine_that_may_not_be_used_is_said_to_be_so_and_never_called_up_to_date() {
    let mut entries = demo::booth(date(2026, 11, 25), 16).entries;
    let mut danger = entries.last().unwrap().clone();
    danger.id = logbook::EntryId(uuid::Uuid::from_u128(0x0190_0000_0000_7000_8000_0000_0000_00aa));
    danger.fact = logbook::fact::FitnessSet {
        machine: "turnstone".into(),
        fitness: logbook::fact::Fitness::Danger,
        why: "tingle at the case".to_owned(),
    }
    .into();
    entries.push(danger);
    let booth = logbook::fold(entries).booth;
    let answer = booth::tonight(&booth, &LIBRARY, &now());
    let sheet = views::tonight::sheet(&answer, &[], &booth);
    let shown = text::sheet(&sheet, 80);
    assert!(shown.contains("Turnstone  ⊘ not for use"), "{shown}");
    assert!(shown.contains("tingle at the case"), "{shown}");
}

#[test]
fn no_view_ever_calls_a_part_good() {
    let answer = booth::film_path(&BOOTH, &LIBRARY, "whimbrel", &now()).unwrap();
    let shown = text::sheet(&views::film_path::sheet(&answer, date(2026, 11, 25)), 100);
    for tick in ["✓", "✔", "good", "OK", "healthy"] {
        assert!(!shown.contains(tick), "{tick}");
    }
}

#[test]
fn every_entry_of_the_demo_can_be_said_in_words() {
    let names = views::entry::Names { booth: &BOOTH, library: &LIBRARY };
    for entry in demo::booth(date(2026, 11, 25), 16).entries {
        let words = views::entry::in_words(&entry.fact, names);
        assert!(words.len() > 2 && words != entry.fact.kind(), "{:?}", entry.fact);
        assert_ne!(views::entry::kind_name(entry.fact.kind()), entry.fact.kind());
    }
}

#[test]
fn a_booth_without_any_record_is_never_said_to_be_up_to_date() {
    let mut entries = demo::booth(date(2026, 11, 25), 16).entries;
    entries.retain(|entry| matches!(entry.fact, logbook::Fact::MachineAdded(_)));
    let just_begun = entries.iter().map(|entry| entry.happened).max().unwrap();
    let now = ZonedDateTime::new(just_begun.timestamp(), TimeZone::UTC);
    let booth = logbook::fold(entries).booth;
    let machines = booth::machines(&booth, &LIBRARY, &now);
    let due = booth::due(&booth, &LIBRARY, &now);
    for said in [
        text::sheet(&views::machines::sheet(&machines, &booth, now.date()), 400),
        text::sheet(&views::due::sheet(&due, &booth, now.date()), 400),
    ] {
        assert!(said.contains("no record yet: write down when they were last done"), "{said}");
        assert!(!said.contains("Nothing is due,") && !said.contains("up to date"), "{said}");
    }
}

#[test]
fn what_is_not_due_soon_is_folded_away_for_each_machine() {
    let answer = booth::due(&BOOTH, &LIBRARY, &now());
    let sheet = views::due::sheet(&answer, &BOOTH, date(2026, 11, 25));
    let rows_of = |block: &views::sheet::Block| match block {
        views::sheet::Block::Table(table) => table.rows.clone(),
        _ => Vec::new(),
    };
    let state = |row: &views::sheet::Row| row.data.iter().find(|(key, _)| *key == "state").unwrap().1.clone();
    let pressing = |state: &str| matches!(state, "overdue" | "due" | "soon");
    let mut folded = 0;
    for block in &sheet.blocks {
        assert!(rows_of(block).iter().all(|row| pressing(&state(row))), "open rows are due or soon will be");
        if let views::sheet::Block::Folded(summary, inner) = block {
            assert!(summary.contains(": ") && summary.contains("task"), "{summary}");
            assert!(rows_of(inner).iter().all(|row| !pressing(&state(row))));
            folded += rows_of(inner).len();
        }
    }
    let calm = answer.value.iter().filter(|item| item.state > booth::DueState::Soon).count();
    assert_eq!(folded, calm, "nothing is lost");
    let page = views::html::sheet(&sheet).into_string();
    assert!(page.contains("<details") && page.contains("<summary"), "it folds without a script");
}
