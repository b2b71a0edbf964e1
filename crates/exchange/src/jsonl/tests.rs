#![allow(clippy::unwrap_used)]

use super::*;
use logbook::{
    DeviceId, EntryId, Precision, When,
    wire::{Record, canonical_bytes, precision_of},
};
use proptest::prelude::*;
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use uuid::Uuid;

fn record() -> Record<'static> {
    let at = |ms| When { unix_ms: ms, offset_s: 3600, precision: Precision::Minute };
    Record {
        id: EntryId(Uuid::from_u128(0x0193_a5c2_1d6f_7c3e_9b1a_5d0c_6f3e_2a11)),
        device: DeviceId(Uuid::from_u128(5)),
        happened: at(1_795_199_400_000),
        recorded: When { precision: Precision::Second, ..at(1_795_199_455_123) },
        by: Cow::Borrowed("jo"),
        kind: Cow::Borrowed("meter-read"),
        version: 1,
        body: Cow::Borrowed(r#"{ "machine" : "dunlin","reading_hours":1890.50 }"#),
    }
}

#[test]
fn a_line_reads_as_documented() {
    assert_eq!(
        write_line(&record(), 12, &[0xab; 32]),
        format!(
            concat!(
                r#"{{"id":"0193a5c2-1d6f-7c3e-9b1a-5d0c6f3e2a11","device":"00000000-0000-0000-0000-000000000005","#,
                r#""number":12,"happened":"2026-11-20T19:30:00+01:00","happened_precision":"minute","#,
                r#""recorded":"2026-11-20T19:30:55.123+01:00","by":"jo","kind":"meter-read","version":1,"#,
                r#""body":{{ "machine" : "dunlin","reading_hours":1890.50 }},"hash":"{}"}}"#
            ),
            "ab".repeat(32)
        )
    );
}

/// RFC 3339 section 5.8: the same examples, read to the instants that they name.
#[test]
fn moments_agree_with_the_examples_of_rfc_3339() {
    let line = |moment: &str| write_line(&record(), 1, &[0; 32]).replace("2026-11-20T19:30:00+01:00", moment);
    for (text, unix_ms, offset_s) in [
        ("1985-04-12T23:20:50.52Z", 482_196_050_520, 0),
        ("1996-12-19T16:39:57-08:00", 851_042_397_000, -28_800),
    ] {
        let read = read(line(text).as_bytes()).unwrap();
        let happened = read[0].chained.record.happened;
        assert_eq!((happened.unix_ms, happened.offset_s), (unix_ms, offset_s), "{text}");
    }
}

#[test]
fn marks_carriage_returns_and_empty_lines_pass() {
    let line = write_line(&record(), 1, &[1; 32]);
    let file = format!("\u{feff}\r\n{line}\r\n\r\n");
    let lines = read(file.as_bytes()).unwrap();
    assert_eq!((lines.len(), lines[0].line), (1, 2));
    assert_eq!(lines[0].chained.record, record());
}

#[test]
fn all_errors_of_all_lines_come_at_once() {
    let good = write_line(&record(), 1, &[1; 32]);
    let bad_fields = good
        .replace("2026-11-20T19:30:00+01:00", "2026-11-31T19:30:00+01:00")
        .replace("\"number\":1,", "\"number\":-1,")
        .replace(&"01".repeat(32), "0x")
        .replace("\"by\":\"jo\",", "");
    let file =
        format!("{bad_fields}\n{good}\n{{\"id\":\n{good}\nnull\n{}\n", good.replace("\"by\"", "\"buy\""));
    let errors = read(file.as_bytes()).unwrap_err();
    let told: Vec<String> = errors.iter().map(ToString::to_string).collect();
    let places: Vec<(usize, bool)> = errors.iter().map(|e| (e.line, e.column.is_some())).collect();
    assert_eq!(
        places,
        [(1, true), (1, true), (1, false), (1, true), (3, true), (4, false), (5, true), (6, true)],
        "{told:#?}"
    );
    assert!(told[0].contains("“number” cannot be -1; a whole number from 1"), "{}", told[0]);
    assert!(
        told[1].contains("column 117: “happened”: “2026-11-31T19:30:00+01:00” is no moment"),
        "{}",
        told[1]
    );
    assert!(told[5].contains("stands in line 2 already"), "{}", told[5]);
    assert!(told[7].contains("unknown field `buy`"), "{}", told[7]);
}

#[test]
fn files_that_are_no_text_are_refused_in_one_sentence() {
    let png = [b"\x89PNG\r\n\x1a\n".as_slice(), &[0; 100]].concat();
    for (bytes, what) in [
        (png.as_slice(), "zero byte at byte 9"),
        (b"\xff\xfe{\0}\0", "UTF-16"),
        (b"{\"id\": \"\xe9\"}", "no UTF-8"),
    ] {
        let errors = read(bytes).unwrap_err();
        assert_eq!(errors.len(), 1);
        assert!(errors[0].what.contains(what), "{}", errors[0]);
    }
}

#[test]
fn a_file_of_nothing_but_errors_is_cut_off() {
    let errors = read("x\n".repeat(5 * MOST_ERRORS).as_bytes()).unwrap_err();
    assert_eq!(errors.len(), MOST_ERRORS + 1);
    assert!(errors[MOST_ERRORS].what.contains("the rest of the file was not read"));
}

#[test]
fn a_line_longer_than_the_limit_is_refused_not_read() {
    let mut file = vec![b'['; LONGEST_LINE + 1];
    file.extend_from_slice(format!("\n{}", write_line(&record(), 1, &[1; 32])).as_bytes());
    let errors = read(&file).unwrap_err();
    assert_eq!((errors.len(), errors[0].line), (1, 1));
    assert!(errors[0].what.contains("bytes long"));
}

/// Puts records of one device into a chain as the wire's documentation says.
fn chained(records: &[Record<'static>]) -> Vec<Line> {
    let mut previous = [0; 32];
    let mut bytes = Vec::new();
    records
        .iter()
        .zip(1..)
        .map(|(record, number)| {
            canonical_bytes(record, number, &mut bytes);
            previous = Sha256::new().chain_update(previous).chain_update(&bytes).finalize().into();
            Line {
                chained: ChainedRecord { record: record.clone(), number, hash: previous },
                line: number as usize,
            }
        })
        .collect()
}

#[test]
fn a_chain_names_what_was_altered_or_is_missing() {
    let records: Vec<_> = (0..5).map(|n| Record { id: EntryId(Uuid::from_u128(n)), ..record() }).collect();
    let good = chained(&records);
    let mut shuffled = good.clone();
    shuffled.reverse();
    assert_eq!(check_chains(&shuffled), []);

    let mut altered = good.clone();
    altered[2].chained.record.body = Cow::Borrowed("{}");
    assert!(matches!(check_chains(&altered)[..], [BrokenChain::Altered { number: 3, line: 3, .. }]));

    let mut missing = good.clone();
    missing.drain(1..3);
    assert!(matches!(check_chains(&missing)[..], [BrokenChain::Missing { from: 2, to: 3, .. }]));

    let mut swapped = good;
    swapped[3].chained.number = 5;
    swapped[4].chained.number = 4;
    assert_eq!(check_chains(&swapped).len(), 2);
}

fn any_when() -> impl Strategy<Value = When> {
    let sane = (-62_000_000_000_000_i64..200_000_000_000_000, -1439..1440_i32)
        .prop_map(|(ms, minutes)| (ms, minutes * 60));
    let moment = prop_oneof![4 => sane, 1 => any::<(i64, i32)>()];
    (moment, 0..4_u8).prop_map(|((unix_ms, offset_s), code)| When {
        unix_ms,
        offset_s,
        precision: precision_of(code),
    })
}

fn any_body() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<f64>().prop_filter("finite", |x| x.is_finite()).prop_map(|x| format!("{{\"hours\": {x:e} }}")),
        any::<String>().prop_map(|text| serde_json::json!({ "words": text }).to_string()),
        any::<String>(),
        Just("{\"a\":1,\n \"a\":2}".to_owned()),
        Just(" {}".to_owned()),
        Just(format!("{}{}", "[".repeat(300), "]".repeat(300))),
    ]
}

prop_compose! {
    fn any_record()(
        id in any::<u128>(), device in 0..3_u128, happened in any_when(), recorded in any_when(),
        by in any::<String>(), kind in any::<String>(), version in any::<u16>(), body in any_body(),
    ) -> Record<'static> {
        Record {
            id: EntryId(Uuid::from_u128(id)),
            device: DeviceId(Uuid::from_u128(device)),
            happened,
            recorded,
            by: by.into(),
            kind: kind.into(),
            version,
            body: body.into(),
        }
    }
}

proptest! {
    #[test]
    fn what_is_written_reads_back_the_same(records in prop::collection::vec(any_record(), 0..20)) {
        let lines = chained(&records);
        let file: String =
            lines.iter().map(|l| write_chained(&l.chained) + "\n").collect();
        // Ids of ten random records differ; devices are shared, numbers are not.
        let read = read(file.as_bytes()).unwrap();
        prop_assert_eq!(&read, &lines);
        let again: String = read.iter().map(|l| write_chained(&l.chained) + "\n").collect();
        prop_assert_eq!(again, file);
    }

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes);
    }

    #[test]
    fn no_damage_to_a_good_line_makes_the_reader_panic(
        record in any_record(), at in any::<prop::sample::Index>(), byte in any::<u8>(),
    ) {
        let mut line = write_line(&record, 1, &[7; 32]).into_bytes();
        let at = at.index(line.len());
        line[at] = byte;
        let _ = read(&line);
    }
}
