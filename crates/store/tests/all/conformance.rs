//! What every store must do, asked of each of them.
use crate::common::{device, entry, id, note, reading};
use logbook::{Entry, Fact, MachineId, PersonId, When, fact::Corrects, wire::ChainedRecord};
use std::ops::ControlFlow;
use store::{EntryStore, Filter, Head, MemoryStore, SqliteStore, StoreError};

/// Asks one thing of every store.
macro_rules! of_every_store {
    ($($(#[$doc:meta])* fn $name:ident($new:ident) $body:block)*) => {
        mod in_memory {
            use super::*;
            $($(#[$doc])* #[test] fn $name() { super::$name(&|number| Kept::in_memory(number)); })*
        }
        mod in_sqlite {
            use super::*;
            $($(#[$doc])* #[test] fn $name() { super::$name(&|number| Kept::in_sqlite(number)); })*
        }
        $(fn $name($new: &dyn Fn(u8) -> Kept) $body)*
    };
}

/// A store and the folder it may need.
struct Kept {
    store: Box<dyn EntryStore>,
    _folder: Option<tempfile::TempDir>,
}

impl Kept {
    fn in_memory(own: u8) -> Self {
        Self { store: Box::new(MemoryStore::new(device(own))), _folder: None }
    }

    fn in_sqlite(own: u8) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = SqliteStore::open_as(folder.path(), device(own)).unwrap();
        Self { store: Box::new(store), _folder: Some(folder) }
    }
}

impl std::ops::Deref for Kept {
    type Target = dyn EntryStore;

    fn deref(&self) -> &Self::Target {
        &*self.store
    }
}

fn notes(numbers: std::ops::Range<u64>, own: u8) -> Vec<Entry> {
    numbers.map(|number| note(number, device(own))).collect()
}

fn records(store: &dyn EntryStore) -> Vec<ChainedRecord<'static>> {
    let mut records = Vec::new();
    store
        .each_record(&mut |chained| {
            let old = &chained.record;
            let record = logbook::wire::Record {
                by: old.by.clone().into_owned().into(),
                kind: old.kind.clone().into_owned().into(),
                body: old.body.clone().into_owned().into(),
                ..*old
            };
            records.push(ChainedRecord { record, number: chained.number, hash: chained.hash });
            ControlFlow::Continue(())
        })
        .unwrap();
    records
}

fn sorted(mut entries: Vec<Entry>) -> Vec<Entry> {
    entries.sort_by_key(|entry| entry.id);
    entries
}

of_every_store! {
    fn an_empty_store_is_sound(new) {
        let store = new(1);
        assert_eq!(store.device(), device(1));
        assert_eq!(store.head().unwrap(), Head::default());
        assert_eq!(store.entries().unwrap(), []);
        assert_eq!(store.append(&[]).unwrap(), []);
        let verification = store.verify().unwrap();
        assert!(verification.is_sound() && verification.heads.is_empty() && verification.entries == 0);
    }

    fn what_is_appended_comes_back_in_order(new) {
        let store = new(1);
        let entries = notes(0..5, 1);
        let receipts = store.append(&entries).unwrap();
        assert_eq!(store.entries().unwrap(), entries);
        assert_eq!(receipts.iter().map(|receipt| receipt.number).collect::<Vec<_>>(), [1, 2, 3, 4, 5]);
        assert!(receipts.iter().all(|receipt| !receipt.already_there && receipt.device == device(1)));
        assert!(receipts.windows(2).all(|pair| pair[0].seq < pair[1].seq));
        assert_eq!(store.head().unwrap(), Head { seq: receipts[4].seq, count: 5 });
        assert_eq!(store.entries_since(receipts[2].seq).unwrap(), entries[3..]);
        assert_eq!(store.entries_since(receipts[4].seq).unwrap(), []);
        assert_eq!(store.entries_since(u64::MAX).unwrap(), []);
        let stored = store.get(id(3)).unwrap().unwrap();
        assert_eq!((stored.seq, stored.chained.number, stored.chained.hash), (receipts[3].seq, 4, receipts[3].hash));
        assert_eq!(stored.chained.entry, entries[3]);
        assert_eq!(store.get(id(99)).unwrap(), None);
        let verification = store.verify().unwrap();
        assert!(verification.is_sound());
        assert_eq!((verification.heads[0].number, verification.heads[0].hash), (5, receipts[4].hash));
    }

    fn what_was_judged_of_an_older_logbook_is_not_written(new) {
        let store = new(1);
        let before = store.head().unwrap();
        let first = store.append_at(before, &notes(0..2, 1)).unwrap().unwrap();
        assert_eq!(first.len(), 2);
        assert_eq!(store.append_at(before, &notes(2..3, 1)).unwrap(), None);
        assert_eq!(store.entries().unwrap(), notes(0..2, 1));
        // What comes from another logbook counts, too.
        let after = store.head().unwrap();
        let other = new(2);
        other.append(&notes(7..8, 2)).unwrap();
        store.append_records(&records(&*other)).unwrap();
        assert_eq!(store.append_at(after, &notes(2..3, 1)).unwrap(), None);
        assert!(store.append_at(store.head().unwrap(), &notes(2..3, 1)).unwrap().is_some());
        assert!(store.verify().unwrap().is_sound());
    }

    fn of_those_who_judge_at_one_moment_each_knows_what_the_others_wrote(new) {
        const HANDS: u64 = 4;
        const EACH: u64 = 12;
        let kept = new(1);
        let store: &dyn EntryStore = &*kept;
        // Each writes one entry more than it sees: if any judged what was older, two would have the same number.
        let hand = || {
            for _ in 0..EACH {
                let stands = || Ok::<_, StoreError>((store.head()?, store.entries()?.len() as u64));
                let make = |n_there: &u64| Ok(notes(*n_there..*n_there + 1, 1));
                store::write_as_it_stands(store, stands, make).unwrap();
            }
        };
        std::thread::scope(|scope| {
            for _ in 0..HANDS {
                scope.spawn(hand);
            }
        });
        assert_eq!(store.entries().unwrap(), notes(0..HANDS * EACH, 1));
    }

    fn who_never_finds_the_logbook_still_is_told_so(new) {
        let store = new(1);
        let mut next = 0;
        let stands = || Ok((store.head()?, ()));
        let refused = store::write_as_it_stands(&*store, stands, |()| {
            next += 1;
            store.append(&notes(next..next + 1, 1))?;
            Ok(notes(1_000_000..1_000_001, 1))
        });
        assert!(matches!(refused, Err(StoreError::NeverStill { .. })), "{refused:?}");
        assert_eq!(store.get(id(1_000_000)).unwrap(), None);
    }

    fn the_same_entry_sent_again_is_acknowledged_with_the_place_it_has(new) {
        let store = new(1);
        let first = store.append(&notes(0..3, 1)).unwrap();
        // A phone that lost its connection sends the draft again; it is recorded later and by another device.
        let mut again = note(1, device(7));
        again.recorded = When { unix_ms: again.recorded.unix_ms + 60_000, ..again.recorded };
        let receipts = store.append(&[again, note(3, device(1))]).unwrap();
        assert!(receipts[0].already_there && !receipts[1].already_there);
        assert_eq!(store::Receipt { already_there: false, ..receipts[0] }, first[1]);
        assert_eq!(store.head().unwrap().count, 4);
        assert!(store.verify().unwrap().is_sound());
    }

    fn twice_in_one_batch_is_written_once(new) {
        let store = new(1);
        let receipts = store.append(&[note(1, device(1)), note(1, device(1))]).unwrap();
        assert_eq!((receipts[0].number, receipts[1].number), (1, 1));
        assert!(receipts[1].already_there);
        assert_eq!(store.head().unwrap().count, 1);
    }

    fn an_id_that_says_something_else_is_refused_and_nothing_is_written(new) {
        let store = new(1);
        store.append(&notes(0..2, 1)).unwrap();
        let mut other_fact = note(8, device(1));
        other_fact.id = id(1);
        let mut other_person = note(1, device(1));
        other_person.by = PersonId::new("tomas");
        let mut other_time = note(1, device(1));
        other_time.happened.unix_ms += 1;
        for other in [other_fact, other_person, other_time] {
            let refused = store.append(&[note(5, device(1)), other]).unwrap_err();
            assert!(matches!(refused, StoreError::SaysOtherwise { id: refused, number: 2, .. } if refused == id(1)));
            assert!(refused.to_string().contains(&id(1).to_string()), "{refused}");
            assert_eq!(store.head().unwrap().count, 2);
        }
        assert!(store.verify().unwrap().is_sound());
        assert_eq!(store.append(&[note(5, device(1))]).unwrap()[0].number, 3, "no number is lost");
    }

    fn every_device_has_a_chain_of_its_own(new) {
        let store = new(1);
        let entries = [note(0, device(1)), note(1, device(2)), note(2, device(1)), note(3, device(2))];
        let receipts = store.append(&entries).unwrap();
        assert_eq!(receipts.iter().map(|receipt| receipt.number).collect::<Vec<_>>(), [1, 1, 2, 2]);
        let verification = store.verify().unwrap();
        assert!(verification.is_sound());
        assert_eq!(verification.heads.len(), 2);
    }

    fn two_logbooks_become_one_whatever_the_order(new) {
        let (left, right) = (new(1), new(2));
        left.append(&notes(0..4, 1)).unwrap();
        right.append(&notes(10..13, 2)).unwrap();
        let (from_left, from_right) = (records(&*left), records(&*right));
        let merged = left.append_records(&from_right).unwrap();
        assert_eq!((merged.added, merged.already_there), (3, 0));
        let mut backwards = from_left;
        backwards.reverse();
        right.append_records(&backwards).unwrap();
        assert_eq!(sorted(left.entries().unwrap()), sorted(right.entries().unwrap()));
        assert!(left.verify().unwrap().is_sound() && right.verify().unwrap().is_sound());
        let again = left.append_records(&from_right).unwrap();
        assert_eq!((again.added, again.already_there), (0, 3));
        // Each goes on with its own chain, and the rest follows later.
        right.append(&notes(13..15, 2)).unwrap();
        let more = left.append_records(&records(&*right)).unwrap();
        assert_eq!((more.added, more.already_there), (2, 7));
        assert!(left.verify().unwrap().is_sound());
    }

    fn a_device_that_writes_elsewhere_is_not_continued_here(new) {
        let (here, there) = (new(1), new(2));
        there.append(&notes(0..1, 2)).unwrap();
        here.append_records(&records(&*there)).unwrap();
        let refused = here.append(&[note(1, device(2))]).unwrap_err();
        assert!(matches!(refused, StoreError::ForeignDevice { .. }), "{refused}");
        assert!(here.append(&[note(0, device(2))]).unwrap()[0].already_there);
    }

    fn records_that_do_not_fit_are_refused_and_named(new) {
        let (here, there) = (new(1), new(2));
        there.append(&notes(0..4, 2)).unwrap();
        let sound = records(&*there);
        let refused = |records: &[ChainedRecord<'_>], number: u64, why: &str| {
            let error = here.append_records(records).unwrap_err();
            assert!(matches!(error, StoreError::ChainBroken { number: named, .. } if named == number), "{error}");
            assert!(error.to_string().contains(why) && error.to_string().contains(&device(2).to_string()), "{error}");
            assert_eq!(here.head().unwrap().count, 0);
        };
        let mut altered = sound.clone();
        altered[2].record.body = altered[2].record.body.replace("gate", "lens").into();
        refused(&altered, 3, "hash");
        refused(&sound[1..], 2, "number 1 of the device is missing");
        refused(&[sound[0].clone(), sound[2].clone()], 3, "number 2 of the device is missing");
        let mut from_zero = sound.clone();
        from_zero[0].number = 0;
        refused(&from_zero, 0, "numbers begin at 1");
    }

    fn a_forked_chain_is_refused(new) {
        let (here, other) = (new(2), new(2));
        here.append(&notes(0..3, 2)).unwrap();
        other.append(&[note(0, device(2)), note(7, device(2))]).unwrap();
        let error = here.append_records(&records(&*other)).unwrap_err();
        assert!(matches!(error, StoreError::ChainBroken { number: 2, .. }), "{error}");
        assert!(error.to_string().contains("another entry stands under this number"), "{error}");
        assert!(here.verify().unwrap().is_sound());
    }

    fn an_id_at_two_places_is_refused(new) {
        let (here, there) = (new(1), new(2));
        here.append(&notes(0..1, 1)).unwrap();
        there.append(&[note(0, device(2))]).unwrap();
        let error = here.append_records(&records(&*there)).unwrap_err();
        assert!(error.to_string().contains("its id stands at another place here"), "{error}");
    }

    fn pages_go_from_the_latest_to_the_first(new) {
        let store = new(1);
        let entries = notes(0..7, 1);
        store.append(&entries).unwrap();
        let mut seen = Vec::new();
        let mut before = None;
        loop {
            let page = store.page(before, 3, &Filter::default()).unwrap();
            seen.extend(page.entries.into_iter().map(|stored| stored.chained.entry));
            before = page.older_before;
            if before.is_none() {
                break;
            }
        }
        seen.reverse();
        assert_eq!(seen, entries);
        assert_eq!(store.page(None, 7, &Filter::default()).unwrap().older_before, None);
        assert_eq!(store.page(None, 0, &Filter::default()).unwrap().entries, []);
        assert_eq!(store.page(Some(1), 3, &Filter::default()).unwrap().entries, []);
    }

    fn pages_are_filtered(new) {
        let store = new(1);
        let correction = Fact::Corrects(Corrects {
            entry: id(0),
            with: Box::new(reading(0, device(1), "turnstone").fact),
            happened: None,
            why: "read the wrong meter".to_owned(),
        });
        let entries = [
            reading(0, device(1), "turnstone"),
            reading(1, device(1), "plover"),
            note(2, device(1)),
            entry(3, device(1), correction),
        ];
        store.append(&entries).unwrap();
        let found = |filter: Filter| {
            let page = store.page(None, 10, &filter).unwrap();
            page.entries.iter().map(|stored| stored.chained.entry.id).collect::<Vec<_>>()
        };
        let machine = Filter { machine: Some(MachineId::new("turnstone")), ..Filter::default() };
        assert_eq!(found(machine), [id(3), id(0)]);
        assert_eq!(found(Filter { kinds: vec!["noted".to_owned()], ..Filter::default() }), [id(2)]);
        assert_eq!(found(Filter { words: "GATE brushed".to_owned(), ..Filter::default() }), [id(2)]);
        assert_eq!(found(Filter { words: "wrong meter".to_owned(), ..Filter::default() }), [id(3)]);
        assert_eq!(found(Filter { by: Some(PersonId::new("tomas")), ..Filter::default() }), []);
        let from = Some(entries[1].happened);
        let until = Some(entries[3].happened);
        assert_eq!(found(Filter { from, until, ..Filter::default() }), [id(2), id(1)]);
    }

    fn looking_can_be_broken_off(new) {
        let store = new(1);
        store.append(&notes(0..5, 1)).unwrap();
        let mut n_seen = 0;
        store.each_record(&mut |_| {
            n_seen += 1;
            if n_seen == 2 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        }).unwrap();
        assert_eq!(n_seen, 2);
    }

    fn unknown_kinds_and_odd_texts_come_back_byte_for_byte(new) {
        let store = new(1);
        let unknown = |kind: &str, body: &str| Fact::Unknown(Box::new(logbook::fact::Unknown {
            kind: kind.to_owned(),
            version: 9,
            body: body.into(),
            trouble: None,
        }));
        let bodies = ["{\"a\" : 1 }", "", "not json", "\u{0}\u{1F39E}", "\u{FEFF}é\r\n"];
        let entries: Vec<_> = bodies.iter().zip(0..)
            .map(|(body, number)| entry(number, device(1), unknown("from-a-newer-program", body)))
            .collect();
        store.append(&entries).unwrap();
        assert_eq!(store.entries().unwrap(), entries);
        assert!(store.append(&entries).unwrap().iter().all(|receipt| receipt.already_there));
        assert!(store.verify().unwrap().is_sound());
    }

    fn four_threads_may_write_and_read_at_once(new) {
        let store = new(1);
        std::thread::scope(|scope| {
            for thread in 0..4_u64 {
                let store = &store;
                scope.spawn(move || for number in 0..25 {
                    store.append(&[note(thread * 100 + number, device(1))]).unwrap();
                    assert!(store.head().unwrap().count > 0);
                    assert!(!store.entries().unwrap().is_empty());
                });
            }
        });
        let verification = store.verify().unwrap();
        assert_eq!(verification.entries, 100);
        assert!(verification.is_sound(), "{:?}", verification.findings);
    }
}
