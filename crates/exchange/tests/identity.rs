//! Whatever a logbook can say goes out as JSON Lines and comes back the same.

#![allow(clippy::unwrap_used)]

use exchange::jsonl::{Line, check_chains, read, write_chained};
use jiff::{Timestamp, tz::TimeZone};
use logbook::{
    DeviceId, Entry, EntryId, Fact, PersonId, Precision, When,
    fact::{
        About, Assigned, CareDone, Corrects, Ending, MeterRead, Noted, Outcome, PartFitted, Ran, Reading,
        Replaced, RunKind, ShowingPlanned, Unknown, Withdraws,
    },
    wire::{self, ChainedRecord, canonical_bytes},
};
use proptest::prelude::*;
use sha2::{Digest, Sha256};
use units::Hours;
use uuid::Uuid;

fn hours() -> impl Strategy<Value = Hours> {
    any::<f64>().prop_filter("JSON has no infinities", |x| x.is_finite()).prop_map(Hours::new)
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof!["[a-z]{0,8}", any::<String>(), Just("“quoted” \\ \u{0} \n\r\u{2028} \u{1f39e}".to_owned())]
}

fn ran() -> impl Strategy<Value = Fact> {
    (words(), hours(), prop::option::of(hours()), any::<Option<u32>>(), any::<bool>()).prop_map(
        |(machine, hours, lit_hours, strikes, estimated)| {
            Ran {
                machine: machine.as_str().into(),
                run: RunKind::Rehearsal,
                hours,
                lit_hours,
                strikes,
                showing: None,
                print: Some("print".into()),
                passes: strikes,
                estimated,
            }
            .into()
        },
    )
}

fn showing() -> impl Strategy<Value = Fact> {
    let zones = prop::sample::select(vec!["Europe/London", "America/Halifax", "Pacific/Chatham", "UTC"]);
    (words(), 0..4_000_000_000_i64, zones, 0.0..2000.0, hours()).prop_map(
        |(title, second, zone, minutes, share)| {
            ShowingPlanned {
                showing: "fri-1".into(),
                title,
                starts: Timestamp::from_second(second)
                    .unwrap()
                    .to_zoned_datetime(TimeZone::get(zone).unwrap()),
                length_minutes: minutes,
                place: None,
                machines: vec![Assigned { machine: "dunlin".into(), running_hours: Some(share) }],
                prints: vec!["harbour-lights".into()],
                note: String::new(),
            }
            .into()
        },
    )
}

fn plain_fact() -> impl Strategy<Value = Fact> {
    let part = (words(), prop::option::of((hours(), hours()))).prop_map(|(lot, band)| {
        PartFitted {
            part: "lamp-7".into(),
            slot: "projection-lamp".into(),
            machine: "dunlin".into(),
            age_hours: None,
            age_band_hours: band,
            age_days: Some(3),
            strikes: None,
            lot,
            replaces: Some(Replaced { part: None, why: Ending::Failed }),
            item: None,
            note: String::new(),
        }
        .into()
    });
    let care = (words(), any::<Option<f64>>().prop_map(|x| x.filter(|x| x.is_finite()))).prop_map(
        |(note, minutes)| {
            CareDone {
                machine: "dunlin".into(),
                task: "gate-brush".into(),
                slot: None,
                outcome: Outcome::Attention,
                note,
                minutes,
                includes: vec!["aperture-brush".into()],
                used: vec![],
                photos: vec![],
                walk: String::new(),
            }
            .into()
        },
    );
    let reading = (hours(), words()).prop_map(|(value, unit)| {
        Reading {
            machine: "dunlin".into(),
            quantity: "screen-luminance".into(),
            value: value.hours(),
            unit,
            uncertainty: None,
            slot: None,
            method: String::new(),
            conditions: [("lens".to_owned(), "50 mm".to_owned())].into(),
            recording: None,
            baseline: true,
        }
        .into()
    });
    let meter =
        hours().prop_map(|reading_hours| MeterRead { machine: "dunlin".into(), reading_hours }.into());
    let noted = words().prop_map(|words| {
        Noted { about: Some(About::Print("harbour-lights".into())), words, photos: vec![] }.into()
    });
    prop_oneof![ran(), showing(), part, care, reading, meter, noted]
}

fn fact() -> impl Strategy<Value = Fact> {
    let when = (any::<i64>(), -86_399..86_400_i32).prop_map(|(unix_ms, offset_s)| When {
        unix_ms,
        offset_s,
        precision: Precision::Month,
    });
    let corrects = (plain_fact(), prop::option::of(when), words()).prop_map(|(with, happened, why)| {
        Fact::Corrects(Corrects { entry: EntryId(Uuid::from_u128(1)), with: Box::new(with), happened, why })
    });
    let withdraws = words().prop_map(|why| Withdraws { entry: EntryId(Uuid::from_u128(2)), why }.into());
    // A kind of some later program, whose body this one keeps as it is.
    let unknown = words().prop_map(|word| {
        let body = serde_json::json!({ "later": word }).to_string().into();
        Fact::Unknown(Box::new(Unknown { kind: "spliced".to_owned(), version: 3, body, trouble: None }))
    });
    prop_oneof![4 => plain_fact(), 1 => corrects, 1 => withdraws, 1 => unknown]
}

/// Writes entries down as one device's chain.
fn chained(entries: &[Entry]) -> Vec<ChainedRecord<'static>> {
    let mut hash = [0; 32];
    let mut bytes = Vec::new();
    let mut chain = Vec::new();
    for (number, entry) in (1..).zip(entries) {
        let record = wire::encode(entry);
        canonical_bytes(&record, number, &mut bytes);
        hash = Sha256::new().chain_update(hash).chain_update(&bytes).finalize().into();
        chain.push(ChainedRecord { record, number, hash });
    }
    chain
}

proptest! {
    #[test]
    fn export_then_import_is_the_identity(facts in prop::collection::vec((fact(), words(), any::<i64>()), 0..12)) {
        let entries: Vec<Entry> = (1..).zip(facts).map(|(number, (fact, by, unix_ms))| Entry {
            id: EntryId(Uuid::from_u128(number)),
            device: DeviceId(Uuid::from_u128(9)),
            happened: When { unix_ms, offset_s: -12_600, precision: Precision::Day },
            recorded: When { unix_ms: unix_ms.saturating_add(1), offset_s: 0, precision: Precision::Second },
            by: PersonId::new(by),
            fact,
        }).collect();
        let chain = chained(&entries);
        let file: String = chain.iter().map(|link| write_chained(link) + "\n").collect();
        let lines = read(file.as_bytes()).unwrap();
        prop_assert_eq!(check_chains(&lines), []);
        let back: Vec<ChainedRecord<'static>> = lines.iter().map(|Line { chained, .. }| chained.clone()).collect();
        prop_assert_eq!(&back, &chain);
        let decoded: Vec<Entry> = back.iter().map(|link| wire::decode(&link.record)).collect();
        prop_assert_eq!(decoded, entries);
        let again: String = back.iter().map(|link| write_chained(link) + "\n").collect();
        prop_assert_eq!(again, file);
    }
}
