//! The stores: what there is, what will be wanted, and what to order now.

use crate::kit::{Log, at};
use booth::{
    lived::KeptBeliefs,
    stores::{LeadRests, NeedRests, StoreLine, StoreState, Stores, Wish, stores},
};
use jiff::civil::date;
use logbook::{
    Booth,
    fact::{
        CareDone, Outcome, PartFitted, Replaced, StockCounted, StockOrdered, StockReceived, StockUsed, Used,
    },
};
use machine::Library;
use std::sync::OnceLock;
use units::Probability;

const KIND: &str = "portable-16mm-halogen";
const NOW: &str = "2026-03-22 12:00";

fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(machine::shipped)
}

fn kept() -> &'static KeptBeliefs {
    static KEPT: OnceLock<KeptBeliefs> = OnceLock::new();
    KEPT.get_or_init(KeptBeliefs::default)
}

fn count(log: &mut Log, when: &str, item: &str, count: u32, minimum: u32) {
    let counted = StockCounted {
        item: item.into(),
        count,
        name: None,
        slot: None,
        kept_in: Some("bench".to_owned()),
        minimum: Some(minimum),
        only_in: None,
    };
    log.write(when, counted);
}

fn order(log: &mut Log, when: &str, item: &str, count: u32, expected: Option<jiff::civil::Date>) {
    let order = StockOrdered {
        order: "a".into(),
        item: item.into(),
        count,
        supplier: String::new(),
        expected,
        note: String::new(),
    };
    log.write(when, order);
}

/// `heron` and `plover`, each with an exciter lamp of 60 h, running two hours a day, and shows for a month.
fn two_machines() -> Log {
    let mut log = Log::new();
    for machine in ["heron", "plover"] {
        log.machine_of("2026-02-01 09:00", machine, KIND, Some(100.0));
        log.fitted("2026-02-01 10:00", machine, "exciter-lamp", &format!("exciter-{machine}"), Some(0.0));
        log.ran_daily("2026-02-02", 30, machine, 2.0);
        for day in 23..=31 {
            log.planned(&format!("{machine}-{day}"), &format!("2026-03-{day} 19:30"), 120.0, &[machine]);
        }
    }
    log
}

fn ask(booth: &Booth, wish: Wish) -> Stores<'_> {
    stores(booth, library(), &at(NOW), kept(), wish).value
}

fn line<'s, 'a>(stores: &'s Stores<'a>, item: &str) -> &'s StoreLine<'a> {
    stores.line(item).unwrap()
}

#[test]
fn every_item_that_the_types_name_stands_there_and_what_is_missing_comes_first() {
    let mut log = two_machines();
    count(&mut log, "2026-03-01 09:00", "exciter-lamp", 0, 2);
    count(&mut log, "2026-03-01 09:00", "fuse", 500, 5);
    let booth = log.fold();
    let stores = ask(&booth, Wish::default());
    let kind = library().get(KIND).unwrap();
    assert_eq!(stores.lines.len(), kind.spares.len() + kind.consumables.len());
    assert_eq!((stores.lines[0].id.as_str(), stores.lines[0].state), ("exciter-lamp", StoreState::Missing));
    assert_eq!(line(&stores, "fuse").state, StoreState::There);
    let belt = line(&stores, "take-up-belt");
    assert_eq!((belt.state, belt.order_now, belt.count()), (StoreState::NeverCounted, 0, None));
    assert!(stores.line("nothing").is_err());
}

#[test]
fn the_list_covers_what_fails_before_an_order_could_come_and_more_service_asks_for_no_less() {
    let mut log = two_machines();
    count(&mut log, "2026-03-01 09:00", "exciter-lamp", 0, 0);
    let booth = log.fold();
    let mut before = 0;
    for service in [0.5, 0.9, 0.95, 0.99, 0.999] {
        let wish = Wish { service: Probability::new(service).unwrap(), days: None };
        let stores = ask(&booth, wish);
        let exciter = line(&stores, "exciter-lamp");
        let need = exciter.need.as_ref().unwrap();
        assert_eq!((exciter.lead.days, exciter.lead.rests, need.days), (14, LeadRests::Type, 21));
        // The case list of the type stands in for a minimum that nobody set.
        assert_eq!((exciter.minimum, exciter.minimum_of_type), (2, true));
        assert_eq!(exciter.order_now, need.hold.max(2));
        assert!(need.hold >= before && matches!(need.rests, NeedRests::Lives(_)), "{need:?}");
        before = need.hold;
    }
    let far = ask(&booth, Wish { days: Some(400), ..Wish::default() });
    let near = ask(&booth, Wish::default());
    let expected = |stores: &Stores<'_>| line(stores, "exciter-lamp").need.as_ref().unwrap().expected;
    assert!(expected(&far) > 3.0 * expected(&near));
}

#[test]
fn what_is_on_order_is_not_ordered_again_and_counts_only_if_it_comes_in_time() {
    let mut log = two_machines();
    count(&mut log, "2026-03-01 09:00", "exciter-lamp", 0, 2);
    let lasts = |log: &Log| {
        let booth = log.fold();
        let stores = ask(&booth, Wish::default());
        let exciter = line(&stores, "exciter-lamp");
        (exciter.order_now, exciter.need.as_ref().unwrap().lasts.value(), exciter.state)
    };
    let bare = lasts(&log);
    order(&mut log, "2026-03-20 09:00", "exciter-lamp", 9, Some(date(2026, 8, 1)));
    let late = lasts(&log);
    assert_eq!((late.0, late.1), (0, bare.1));
    order(&mut log, "2026-03-21 09:00", "exciter-lamp", 9, Some(date(2026, 3, 28)));
    let in_time = lasts(&log);
    assert!(in_time.1 > bare.1 && in_time.1 > 0.95, "{in_time:?}");
    let came = StockReceived {
        item: "exciter-lamp".into(),
        count: 9,
        order: Some("a".into()),
        closes: false,
        put_in: None,
        note: String::new(),
    };
    log.write("2026-03-21 15:00", came);
    assert_eq!(lasts(&log).2, StoreState::There);
}

#[test]
fn an_order_takes_as_long_as_the_last_ones_did() {
    let mut log = two_machines();
    count(&mut log, "2026-03-01 09:00", "exciter-lamp", 0, 2);
    order(&mut log, "2026-03-01 10:00", "exciter-lamp", 1, None);
    let came = StockReceived {
        item: "exciter-lamp".into(),
        count: 1,
        order: Some("a".into()),
        closes: false,
        put_in: None,
        note: String::new(),
    };
    log.write("2026-03-20 10:00", came);
    let booth = log.fold();
    let stores = ask(&booth, Wish::default());
    let lead = line(&stores, "exciter-lamp").lead;
    assert_eq!((lead.days, lead.rests), (19, LeadRests::Orders(1)));
}

#[test]
fn a_booth_keeps_spares_under_names_of_its_own() {
    let mut log = two_machines();
    let own = StockCounted {
        item: "old-lamp".into(),
        count: 4,
        name: Some("Old lamp".to_owned()),
        slot: Some("lamp".into()),
        kept_in: None,
        minimum: None,
        only_in: None,
    };
    log.write("2026-03-01 09:00", own);
    let booth = log.fold();
    let stores = ask(&booth, Wish::default());
    assert_eq!(line(&stores, "old-lamp").in_use, 2);
    assert!(stores.line("lamp-24v-250w").is_err(), "it is kept under another name");
    // Once a lamp of the type's own name is drawn for one machine, that one is served by it.
    let mut log = log;
    count(&mut log, "2026-03-02 09:00", "lamp-24v-250w", 3, 1);
    let fitted = PartFitted {
        part: "lamp-1".into(),
        slot: "lamp".into(),
        machine: "heron".into(),
        age_hours: Some(units::Hours::ZERO),
        age_band_hours: None,
        age_days: None,
        strikes: None,
        lot: String::new(),
        replaces: None::<Replaced>,
        item: Some("old-lamp".into()),
        note: String::new(),
    };
    log.write("2026-03-03 09:00", fitted);
    let booth = log.fold();
    let stores = ask(&booth, Wish::default());
    assert_eq!((line(&stores, "old-lamp").in_use, line(&stores, "lamp-24v-250w").in_use), (1, 1));
}

/// What care used by the record goes on being used: twelve swabs in six cleanings make two a cleaning.
#[test]
fn consumables_go_by_their_record_and_the_care_to_come() {
    let mut log = two_machines();
    count(&mut log, "2026-02-02 09:00", "swabs", 100, 10);
    for day in 3..9 {
        let cleaned = CareDone {
            machine: "heron".into(),
            task: "gate-brush".into(),
            slot: None,
            outcome: Outcome::Done,
            note: String::new(),
            minutes: None,
            includes: Vec::new(),
            used: vec![Used { item: "swabs".into(), count: 2 }],
            photos: Vec::new(),
            walk: String::new(),
        };
        log.write(&format!("2026-02-0{day} 18:00"), cleaned);
    }
    let booth = log.fold();
    let stores = ask(&booth, Wish::default());
    let swabs = line(&stores, "swabs");
    assert_eq!((swabs.used.in_all, swabs.used.last_year, swabs.count()), (12, 12, Some(88)));
    let (need, deeds) = (swabs.need.as_ref().unwrap(), swabs.deeds_to_come.unwrap());
    assert!(deeds > 10.0, "{deeds}");
    assert!((need.expected - 12.5 / 6.0 * deeds).abs() < 1e-6, "{need:?} {deeds}");
    assert_eq!(need.rests, NeedRests::Record(12));
}

#[test]
fn what_is_missing_at_a_count_was_used() {
    let mut log = two_machines();
    count(&mut log, "2026-01-21 12:00", "fuse", 20, 5);
    let used =
        StockUsed { item: "fuse".into(), count: 3, taken_from: None, machine: None, note: String::new() };
    log.write("2026-02-01 12:00", used);
    count(&mut log, "2026-03-01 12:00", "fuse", 13, 5);
    let booth = log.fold();
    let stores = ask(&booth, Wish::default());
    let used = line(&stores, "fuse").used;
    assert_eq!((used.in_all, used.missing), (7, 4));
    // Sixty days: so many a month of 30.4375 days.
    assert!((used.per_month() - 7.0 * 30.4375 / 60.0).abs() < 1e-6, "{}", used.per_month());
}

#[test]
fn the_case_of_the_next_evening_holds_what_the_type_wants() {
    let mut log = two_machines();
    count(&mut log, "2026-03-01 09:00", "exciter-lamp", 1, 2);
    count(&mut log, "2026-03-01 09:00", "fuse", 10, 5);
    let booth = log.fold();
    let stores = ask(&booth, Wish::default());
    let find = |item: &str| stores.packing.iter().find(|one| one.id.as_str() == item).unwrap();
    assert_eq!((find("exciter-lamp").carry, find("exciter-lamp").lacks()), (2, Some(1)));
    assert_eq!(stores.packing[0].id.as_str(), "exciter-lamp");
    assert_eq!(find("fuse").lacks(), Some(0));
    assert_eq!(find("fuse").places, [("bench", 10)]);
    assert_eq!(find("take-up-belt").lacks(), None, "nobody ever counted it");
}
