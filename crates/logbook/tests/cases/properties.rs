//! What holds for every logbook, however strange.

use crate::kit::*;
use logbook::{
    Booth, Draft, Entry, Fact, Folded, When, accept,
    fact::{
        CareDone, Ending, FaultMark, FaultReply, Fitness, MeterChange, Outcome, PartFitted, PartRemoved, Ran,
        RemedyResult, Role, RunKind, Used,
    },
    fold, fold_as_of, wire,
};
use proptest::{collection::vec, prelude::*, sample::subsequence, test_runner::RngSeed};

/// Each property is tried on so many logs, the same ones in every run.
fn settings() -> ProptestConfig {
    ProptestConfig {
        cases: 200,
        rng_seed: RngSeed::Fixed(16),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// Hours as people and broken files write them.
fn any_hours() -> impl Strategy<Value = f64> {
    prop_oneof![8 => 0.0..4.0, 1 => Just(0.0), 1 => -2.0..30.0, 1 => Just(f64::NAN), 1 => Just(f64::INFINITY)]
}

fn some_machine() -> impl Strategy<Value = &'static str> {
    prop_oneof![6 => Just("turnstone"), 3 => Just("dunlin"), 1 => Just("nobody-knows")]
}

fn some_part() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just("lamp-1"), Just("lamp-2"), Just("roller-a")]
}

fn some_slot() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just("lamp"), Just("guide-roller")]
}

fn some_showing() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just("matinee"), Just("club-night")]
}

fn ending() -> impl Strategy<Value = Ending> {
    prop_oneof![Just(Ending::Failed), Just(Ending::Planned), Just(Ending::Borrowed)]
}

fn run_kind() -> impl Strategy<Value = RunKind> {
    prop_oneof![3 => Just(RunKind::Showing), 1 => Just(RunKind::Test), 1 => Just(RunKind::Rewind)]
}

/// The machines' comings and goings, their running and their meters.
fn running() -> impl Strategy<Value = Fact> {
    prop_oneof![
        1 => some_machine().prop_map(|name| machine(name).into()),
        6 => (some_machine(), run_kind(), any_hours(), any::<bool>(), prop::option::of(some_showing())).prop_map(
            |(name, run, hours, estimated, showing)| {
                Ran { estimated, showing: showing.map(Into::into), ..ran(name, run, hours) }.into()
            }
        ),
        3 => (0.0..60.0).prop_map(|reading: f64| meter(reading.round()).into()),
        1 => (prop::option::of(0.0..60.0), 0.0..5.0, 0..3).prop_map(|(old, new, why)| {
            let why = [MeterChange::Replaced, MeterChange::Reset, MeterChange::RolledOver][why as usize];
            meter_jump(why, old, new).into()
        }),
    ]
}

fn living() -> impl Strategy<Value = Fact> {
    let replaces = || prop::option::of((prop::option::of(some_part()), ending()));
    prop_oneof![
        (some_part(), some_slot(), some_machine(), replaces(), any::<bool>()).prop_map(
            |(part, slot, name, out, item)| {
                let replaces =
                    out.map(|(part, why)| logbook::fact::Replaced { part: part.map(Into::into), why });
                let item = item.then(|| "halogen-lamp".into());
                PartFitted { machine: name.into(), replaces, item, ..fitted(part, slot) }.into()
            }
        ),
        (some_part(), some_slot(), some_machine(), replaces()).prop_map(|(part, slot, name, out)| {
            let replaces = out.map(|(part, why)| logbook::fact::Replaced { part: part.map(Into::into), why });
            logbook::fact::PartMoved { replaces, ..moved(part, name, slot) }.into()
        }),
        (some_part(), ending()).prop_map(|(part, why)| PartRemoved {
            part: part.into(),
            why,
            note: String::new()
        }
        .into()),
        (0_u32..5).prop_map(|count| counted("halogen-lamp", count).into()),
    ]
}

fn caring() -> impl Strategy<Value = Fact> {
    let outcome = prop_oneof![Just(Outcome::Done), Just(Outcome::Fine), Just(Outcome::Skipped)];
    prop_oneof![
        (outcome, any::<bool>(), any::<bool>()).prop_map(|(outcome, includes, used)| {
            let used = if used { vec![Used { item: "halogen-lamp".into(), count: 1 }] } else { vec![] };
            let includes = if includes { vec!["gate-brush".into()] } else { vec![] };
            CareDone { includes, used, ..cared("oil-rollers", outcome) }.into()
        }),
        prop::option::of(0.0..20.0).prop_map(|hours| deferred("gate-brush", hours, None).into()),
        prop_oneof![Just(Fitness::Fit), Just(Fitness::Danger), Just(Fitness::Unfit)]
            .prop_map(|is| fit(is).into()),
        Just(opened("tick").into()),
        Just(closed("tick").into()),
        Just(answered("tick", "exciter-glows", FaultReply::No).into()),
        Just(tried("tick", "fit-lamp", RemedyResult::Helped, &[("halogen-lamp", 1)]).into()),
        Just(marked("tick", FaultMark::ShowOver).into()),
        Just(request("tick").into()),
        Just(person("tove", Role::Technician).into()),
        Just(person("tove", Role::Operator).into()),
        Just(person("ada", Role::Keeper).into()),
    ]
}

fn planning() -> impl Strategy<Value = Fact> {
    let starts =
        (1_u8..5, 18_u8..22).prop_map(|(day, hour)| format!("2026-01-{day:02}T{hour}:00[Europe/Lisbon]"));
    prop_oneof![
        (some_showing(), starts, 30.0..200.0)
            .prop_map(|(name, starts, length)| showing(name, &starts, length).into()),
        (some_showing(), any_hours()).prop_map(|(name, lasted)| {
            let lasted_minutes = lasted * 60.0;
            logbook::fact::ShowingHeld {
                showing: name.into(),
                lasted_minutes,
                audience: None,
                note: String::new(),
            }
            .into()
        }),
        some_showing().prop_map(|name| {
            logbook::fact::ShowingCancelled { showing: name.into(), why: "storm".to_owned() }.into()
        }),
    ]
}

/// Something to write, by whom, and how many hours after the first day it happened.
fn line() -> impl Strategy<Value = (&'static str, f64, Fact)> {
    let who = prop_oneof![3 => Just("ada"), 1 => Just("tove"), 1 => Just("ben")];
    // Boxed, for the test threads' stacks are small.
    let fact = prop_oneof![4 => running().boxed(), 3 => living().boxed(), 3 => caring().boxed(), 2 => planning().boxed()];
    (who, (0_i32..300).prop_map(|hours| f64::from(hours) / 2.0), fact)
}

/// A log with settlements among its lines, each naming one of the first so many entries.
fn log() -> impl Strategy<Value = Log> {
    let settlement = prop::option::weighted(0.2, (2_u128..30, any::<bool>()));
    vec((line(), settlement), 1..30).prop_map(|lines| {
        let mut log = with_turnstone();
        for ((who, hours, fact), settlement) in lines {
            match settlement {
                Some((entry, true)) => log.by(who, hours, withdraws(id(entry))),
                Some((entry, false)) => log.by(who, hours, corrects(id(entry), fact)),
                None => log.by(who, hours, fact),
            };
        }
        log
    })
}

proptest! {
    #![proptest_config(settings())]

    #[test]
    fn the_order_in_which_entries_arrive_does_not_matter(log in log(), seed in any::<u64>()) {
        let mut shuffled = log.entries.clone();
        shuffled.sort_by_key(|entry| (entry.id.0.as_u128() as u64).wrapping_mul(seed | 1).rotate_left(17));
        prop_assert_eq!(fold(shuffled), log.fold());
        let reversed: Vec<Entry> = log.entries.iter().rev().cloned().collect();
        prop_assert_eq!(fold(reversed), log.fold());
    }

    #[test]
    fn bringing_two_halves_together_is_the_same_as_having_written_one_log(log in log(), cut in 0_usize..30) {
        // Both halves hold the middle, as after a copy that was brought back twice.
        let cut = cut.min(log.entries.len());
        let mut both = log.entries[cut / 2..].to_vec();
        both.extend_from_slice(&log.entries[..cut]);
        prop_assert_eq!(fold(both), log.fold());
    }

    #[test]
    fn moments_from_broken_clocks_are_folded_like_any_other(log in log(), strange in vec((any::<i64>(), any::<i32>(), 0_usize..30), 1..6)) {
        let mut entries = log.entries;
        for (unix_ms, offset_s, place) in strange {
            let place = place % entries.len();
            entries[place].happened = When { unix_ms, offset_s, ..entries[place].happened };
            entries[place].recorded.unix_ms = unix_ms.wrapping_mul(31);
        }
        let folded = fold(entries.clone());
        entries.reverse();
        prop_assert_eq!(fold(entries), folded);
    }

    #[test]
    fn withdrawing_is_the_same_as_never_having_written((log, extra) in (log(), line())) {
        let mut with = log.clone();
        let (who, hours, fact) = extra;
        with.by(who, hours, fact);
        // Numbers that no other settlement names.
        with.entries.last_mut().unwrap().id = id(1000);
        // What not everybody may take back has cases of its own.
        prop_assume!(!with.booth().guarded.contains_key(&id(1000)));
        with.at(0.0, withdraws(id(1000)));
        with.entries.last_mut().unwrap().id = id(1001);
        // A technician's entry stays one that only a technician settles.
        let mut without = with.booth();
        without.guarded.retain(|entry, _| entry.0.as_u128() < 1000);
        prop_assert_eq!(without, log.booth());
    }

    #[test]
    fn the_booth_as_of_a_day_is_the_fold_of_what_was_written_by_then(log in log(), cut in 0_usize..30) {
        let cut = cut.min(log.entries.len() - 1);
        let by = log.entries[cut].recorded;
        prop_assert_eq!(fold_as_of(log.entries.clone(), by), fold(log.entries[..=cut].to_vec()));
    }

    #[test]
    fn every_entry_that_the_wire_can_carry_comes_back_as_it_was(log in log()) {
        for entry in log.entries.iter().filter(|entry| !format!("{entry:?}").contains("NaN") && !format!("{entry:?}").contains("inf")) {
            prop_assert_eq!(&wire::decode(&wire::encode(entry)), entry);
        }
    }

    #[test]
    fn a_folded_booth_comes_back_from_a_snapshot_as_it_was(log in log()) {
        let folded = fold(log.entries);
        let bytes = postcard::to_stdvec(&folded).unwrap();
        let back: Folded = postcard::from_bytes(&bytes).unwrap();
        prop_assert_eq!(&back, &folded);
        // Also what equality passes over: the order of maps, the zone of a showing.
        prop_assert_eq!(format!("{back:?}"), format!("{folded:?}"));
    }

    #[test]
    fn more_hours_never_turn_a_clock_back(log in log(), hours in 0.0..5.0) {
        let before = log.turnstone().clocks;
        let mut more = log.clone();
        more.at(149.75, showed(hours));
        let after = more.turnstone().clocks;
        prop_assert!(after.motor() >= before.motor() - h(1e-9));
        prop_assert!(after.strikes >= before.strikes);
        prop_assert!(after.hours_run() >= before.hours_run() - h(1e-9), "{before:?} {after:?}");
    }

    #[test]
    fn nothing_that_is_accepted_is_asked_about(
        lines in vec((line(), prop::option::weighted(0.2, (any::<prop::sample::Index>(), any::<bool>()))), 1..40),
        order in subsequence((0..40).collect::<Vec<_>>(), 20),
    ) {
        let mut log = Log::default();
        let mut booth = Booth::default();
        for (number, ((who, hours, fact), settles)) in lines.into_iter().enumerate() {
            // Half of the lines are dated in the order in which they are written, the others anyhow.
            let hours = if order.contains(&number) { hours } else { number as f64 * 5.0 };
            let fact = match settles.filter(|_| !log.entries.is_empty()) {
                Some((entry, true)) => withdraws(entry.get(&log.entries).id).into(),
                Some((entry, false)) => corrects(entry.get(&log.entries).id, fact),
                None => fact,
            };
            if let Some(entry) = try_to_write(&booth, number, who, hours, fact) {
                let own = entry.id;
                log.entries.push(entry);
                booth = log.booth();
                let asked: Vec<_> = booth.queries.iter().filter(|query| query.entry == own && !is_about_the_whole(&query.what)).collect();
                prop_assert!(asked.is_empty(), "{asked:?}\n{:#?}", log.entries);
            }
        }
    }
}

fn try_to_write(booth: &Booth, number: usize, who: &str, hours: f64, fact: Fact) -> Option<Entry> {
    let now = When { unix_ms: after(5_000.0).unix_ms + i64::try_from(number).unwrap(), ..after(0.0) };
    let draft = Draft {
        id: id(number as u128 + 1),
        device: logbook::DeviceId(uuid::Uuid::from_u128(7)),
        happened: after(hours),
        by: who.into(),
        fact,
    };
    accept(draft, booth, now).ok()
}

/// That runs and meter differ is a question to the whole stretch; the gate says so in its own words.
fn is_about_the_whole(what: &str) -> bool {
    what.starts_with("since the figure before")
}
