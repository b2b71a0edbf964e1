//! What hostile bytes are fed to: one function for each door through which files come in.
//!
//! The fuzz targets call these with whatever the fuzzer thinks of; a plain test calls them with every file in
//! `fuzz/seeds/`. Each checks more than that nothing panics: what came in must go out the same.

mod recordings;

pub use recordings::{recording, tone};

use exchange::{
    jsonl,
    sheet::{Ground, Mapping, Table, dry_run_as_json, dry_run_as_text, guess, questions, read_sheet},
};
use logbook::{Booth, DeviceId, Draft, Entry, EntryId, PersonId, Precision, When, accept, fold, wire};
use std::collections::BTreeSet;
use uuid::Uuid;

/// A machine type file: read, or refused with at least one finding at a place.
pub fn type_file(bytes: &[u8]) {
    if let Err(report) = machine::read_bytes("fuzzed.toml", bytes) {
        assert!(!report.findings.is_empty(), "a refusal says why");
        assert!(!report.to_string().is_empty());
    }
}

/// A logbook as JSON Lines: what is read writes and reads again the same.
pub fn json_lines(bytes: &[u8]) {
    let lines = match jsonl::read(bytes) {
        Ok(lines) => lines,
        Err(errors) => return assert!(!errors.is_empty(), "a refusal says why"),
    };
    let _ = jsonl::check_chains(&lines);
    let written: String = lines.iter().map(|line| jsonl::write_chained(&line.chained) + "\n").collect();
    let again = jsonl::read(written.as_bytes()).expect("what was written can be read");
    let chained = |lines: &[jsonl::Line]| lines.iter().map(|line| line.chained.clone()).collect::<Vec<_>>();
    assert_eq!(chained(&again), chained(&lines));
}

/// A fact: its kind on the first line, its body after that. It must survive writing, the gate and the fold.
pub fn wire_fact(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let (kind, body) = text.split_once('\n').unwrap_or((&text, ""));
    let fact = wire::decode_fact(kind, wire::VERSION, body);
    let (kind_again, version, body_again) = wire::encode_fact(&fact);
    assert_eq!(kind_again, kind);
    let again = wire::decode_fact(&kind_again, version, &body_again);
    assert_eq!(wire::encode_fact(&again), (kind_again, version, body_again));
    let draft = Draft { id: id(1), device: DEVICE, happened: now(), by: PersonId::new("jo"), fact };
    let entry = |draft: Draft| Entry {
        id: draft.id,
        device: draft.device,
        happened: draft.happened,
        recorded: now(),
        by: draft.by,
        fact: draft.fact,
    };
    let _ = accept(draft.clone(), &Booth::default(), now());
    // What the gate refuses may still come in from another booth: the fold takes anything.
    let twice = Draft { id: id(2), ..draft.clone() };
    let booth = fold(vec![entry(draft.clone()), entry(twice)]).booth;
    let _ = accept(Draft { id: id(3), ..draft }, &booth, now());
}

/// A spreadsheet, perhaps with a mapping before a line of `===`: what goes in once does not go in twice.
pub fn sheet(bytes: &[u8]) {
    const PART: &[u8] = b"\n===\n";
    let part = bytes.windows(PART.len()).position(|window| window == PART);
    let (mapping, cells) = match part.and_then(|at| Some((bytes.get(..at)?, bytes.get(at + PART.len()..)?))) {
        Some((mapping, cells)) => (String::from_utf8_lossy(mapping).into_owned(), cells),
        None => (PLAIN_MAPPING.to_owned(), bytes),
    };
    let Ok(table) = Table::read(cells) else { return };
    let _ = guess(&table);
    let Ok(mapping) = Mapping::read(&mapping) else { return };
    let booth = Booth::default();
    let _ = questions(&table, &mapping, &booth, now().date());
    let run = read_sheet(&table, &mapping, &ground(&booth, &[]));
    let _ = (dry_run_as_text(&run), dry_run_as_json(&run));
    let Ok(entries) = run.into_entries() else { return };
    let booth = fold(entries.clone()).booth;
    let again = read_sheet(&table, &mapping, &ground(&booth, &entries));
    assert_eq!(again.drafts, [], "imported twice");
}

const DEVICE: DeviceId = DeviceId(Uuid::from_u128(0xd1));

/// A mapping that lets as much in as there can be.
const PLAIN_MAPPING: &str = "machine = \"P\"\nadd_people = true\nadd_places = true\nplan_future = true\n\
    repeat_date = true\ndate_order = \"day-month-year\"\ndecimal = \".\"\n\
    [add_machines]\nP = { type = \"portable-16mm-halogen\" }\n";

fn id(number: u128) -> EntryId {
    EntryId(Uuid::from_u128(number))
}

/// A fixed now, so that a finding can be found again: 2025-11-25T12:00:00Z.
fn now() -> When {
    When { unix_ms: 1_764_072_000_000, offset_s: 0, precision: Precision::Second }
}

fn ground<'a>(booth: &'a Booth, entries: &'a [Entry]) -> Ground<'a> {
    Ground { booth, entries, now: now(), device: DEVICE, by: PersonId::new("jo"), leave_out: BTreeSet::new() }
}
