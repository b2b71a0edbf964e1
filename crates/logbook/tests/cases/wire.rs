//! The written form, frozen: what was ever written stays readable, and its hash stays the same.

use logbook::{
    Entry, Fact, Precision, When,
    fact::KINDS,
    wire::{self, Record},
};
use serde_json::value::RawValue;
use sha2::{Digest, Sha256};
use std::{fmt::Write as _, path::PathBuf};

fn sample(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/wire/v1").join(format!("{name}.json"));
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").unwrap();
        text
    })
}

#[test]
fn every_kind_of_version_1_reads_and_writes_byte_for_byte() {
    for kind in KINDS.iter().chain(&["corrects"]) {
        let text = sample(kind);
        let bodies: Vec<&RawValue> = serde_json::from_str(&text).unwrap();
        assert!(bodies.len() >= 2, "{kind}: one body with every field, one with the necessary ones only");
        for body in bodies {
            let fact = wire::decode_fact(kind, 1, body.get());
            assert!(!matches!(fact, Fact::Unknown(_)), "{kind}: {fact:?}");
            assert_eq!(wire::encode_fact(&fact), ((*kind).to_owned(), 1, body.get().to_owned()));
        }
    }
}

#[test]
fn no_sample_is_left_without_its_kind() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/wire/v1");
    for file in std::fs::read_dir(folder).unwrap() {
        let name = file.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned();
        assert!(KINDS.contains(&name.as_str()) || ["corrects", "chain"].contains(&name.as_str()), "{name}");
    }
}

#[test]
fn every_kind_and_field_stands_in_the_written_reference() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/logbook-format.md");
    let reference = std::fs::read_to_string(path).unwrap();
    for kind in KINDS {
        let (_, section) =
            reference.split_once(&format!("### `{kind}`\n")).unwrap_or_else(|| panic!("{kind}"));
        let section = section.split("\n#").next().unwrap();
        let bodies: Vec<serde_json::Map<String, serde_json::Value>> =
            serde_json::from_str(&sample(kind)).unwrap();
        for field in bodies.iter().flat_map(serde_json::Map::keys) {
            let row = section.lines().find(|line| line.starts_with(&format!("| `{field}` |")));
            let row = row.unwrap_or_else(|| panic!("{kind}: {field}"));
            let always = bodies.iter().all(|body| body.contains_key(field));
            assert!(always || row.contains("may be absent"), "{kind}: {field}");
        }
    }
}

#[test]
fn what_the_fields_mean_is_frozen_too() {
    let Fact::Ran(ran) =
        wire::decode_fact("ran", 1, r#"{"machine":"turnstone","run":"rewind","hours":0.25}"#)
    else {
        panic!("it is a run");
    };
    assert_eq!((ran.run, ran.hours.hours(), ran.estimated), (logbook::fact::RunKind::Rewind, 0.25, false));
    let body = r#"{"entry":"00000000-0000-0000-0000-000000000005","kind":"ran","version":1,"with":{"machine":"turnstone","run":"test","hours":1.0},"happened":{"unix_ms":1767268800000,"offset_s":3600,"precision":"day"}}"#;
    let Fact::Corrects(corrects) = wire::decode_fact("corrects", 1, body) else {
        panic!("it is a correction")
    };
    assert_eq!(
        corrects.happened.unwrap(),
        When { unix_ms: 1_767_268_800_000, offset_s: 3600, precision: Precision::Day }
    );
    assert_eq!(corrects.why, "");
}

#[test]
fn unknown_kinds_and_versions_and_broken_bodies_survive() {
    for (kind, version, body) in [
        ("gate-photographed", 1, r#"{"machine": "turnstone",  "lux": 3}"#),
        ("ran", 2, r#"{"machine":"turnstone","hours":"two"}"#),
        ("ran", 1, r#"{"machine":"turnstone"}"#),
        ("corrects", 1, "not even JSON"),
    ] {
        let fact = wire::decode_fact(kind, version, body);
        assert!(
            matches!(&fact, Fact::Unknown(unknown) if unknown.trouble.is_some() == (version == 1 && kind != "gate-photographed"))
        );
        assert_eq!(wire::encode_fact(&fact), (kind.to_owned(), version, body.to_owned()));
    }
}

#[test]
fn corrections_nested_ten_thousand_deep_are_read_one_level_deep() {
    let open = r#"{"entry":"00000000-0000-0000-0000-000000000005","kind":"corrects","version":1,"with":"#;
    let body = format!("{}{{}}{}", open.repeat(10_000), "}".repeat(10_000));
    let Fact::Corrects(corrects) = wire::decode_fact("corrects", 1, &body) else {
        panic!("it is a correction")
    };
    let Fact::Unknown(inner) = *corrects.with.clone() else { panic!("the inner one is read no further") };
    assert!(inner.trouble.is_some());
    assert_eq!(wire::encode_fact(&Fact::Corrects(corrects)).2, body);
}

/// SHA-256 as used for the chain, checked against the example of the standard itself.
#[test]
fn the_hash_agrees_with_fips_180_4() {
    // NIST, "Examples with Intermediate Values", SHA-256 of the one-block message "abc" (FIPS 180-4).
    assert_eq!(
        hex(&Sha256::digest(b"abc")),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
}

#[derive(serde::Deserialize)]
struct Link {
    id: String,
    device: String,
    number: u64,
    happened: (i64, i32, u8),
    recorded: (i64, i32, u8),
    by: String,
    kind: String,
    version: u16,
    body: String,
    canonical: String,
    hash: String,
}

fn when((unix_ms, offset_s, precision): (i64, i32, u8)) -> When {
    When { unix_ms, offset_s, precision: wire::precision_of(precision) }
}

/// The bytes and hashes in the file were made by another program in another language from the documented layout.
#[test]
fn canonical_bytes_and_chain_are_frozen() {
    let links: Vec<Link> = serde_json::from_str(&sample("chain")).unwrap();
    assert!(links.len() >= 3);
    let (mut before, mut bytes) = ([0_u8; 32], Vec::new());
    for link in links {
        let record = Record {
            id: link.id.parse().unwrap(),
            happened: when(link.happened),
            recorded: when(link.recorded),
            by: link.by.into(),
            kind: link.kind.into(),
            version: link.version,
            body: link.body.into(),
            device: link.device.parse().unwrap(),
        };
        wire::canonical_bytes(&record, link.number, &mut bytes);
        assert_eq!(hex(&bytes), link.canonical);
        before = Sha256::new().chain_update(before).chain_update(&bytes).finalize().into();
        assert_eq!(hex(&before), link.hash);
        let entry: Entry = wire::decode(&record);
        assert_eq!(wire::encode(&entry), record);
    }
}
