//! The stores: counted, used, moved, ordered and received, in whatever order the entries arrive.

use crate::kit::*;
use jiff::civil::date;
use logbook::{
    Draft, Fact, Refusal, accept,
    booth::{OrderLineId, StockDeed, StockItem, StockOrder},
    fact::{StockCounted, StockMoved, StockOrdered, StockReceived, StockUsed},
    fold,
};

fn ordered(order: &str, count: u32) -> StockOrdered {
    StockOrdered {
        order: order.into(),
        item: "exciter".into(),
        count,
        supplier: "the depot".to_owned(),
        expected: Some(date(2026, 4, 9)),
        note: String::new(),
    }
}

fn received(order: Option<&str>, count: u32) -> StockReceived {
    StockReceived {
        item: "exciter".into(),
        count,
        order: order.map(Into::into),
        closes: false,
        put_in: None,
        note: String::new(),
    }
}

fn used(count: u32) -> StockUsed {
    StockUsed { item: "exciter".into(), count, taken_from: None, machine: None, note: String::new() }
}

fn moved(count: u32, from: Option<&str>, to: &str) -> StockMoved {
    StockMoved { item: "exciter".into(), count, from: from.map(str::to_owned), to: to.to_owned() }
}

fn kept_in(place: &str, count: u32) -> StockCounted {
    StockCounted { kept_in: Some(place.to_owned()), ..counted("exciter", count) }
}

fn item(log: &Log) -> StockItem {
    log.booth().stock["exciter"].clone()
}

fn order(log: &Log, order: &str) -> StockOrder {
    log.booth().orders[&OrderLineId { order: order.into(), item: "exciter".into() }].clone()
}

fn places(item: &StockItem) -> Vec<(&str, i64)> {
    item.places().collect()
}

fn write(log: &Log, fact: impl Into<Fact>) -> Result<(), Refusal> {
    let draft = Draft {
        id: id(77),
        device: logbook::DeviceId(uuid::Uuid::from_u128(7)),
        happened: after(500.0),
        by: "ada".into(),
        fact: fact.into(),
    };
    accept(draft, &log.booth(), after(1000.0)).map(drop)
}

#[test]
fn an_order_is_open_until_all_of_it_came() {
    let mut log = Log::default();
    log.at(0.0, counted("exciter", 1));
    log.at(1.0, ordered("a", 4));
    assert_eq!((order(&log, "a").open(), order(&log, "a").expected), (4, Some(date(2026, 4, 9))));
    log.at(200.0, received(Some("a"), 3));
    assert_eq!((order(&log, "a").open(), item(&log).count), (1, 4));
    log.at(300.0, received(Some("a"), 1));
    assert_eq!((order(&log, "a").open(), item(&log).count), (0, 5));
    assert_eq!(order(&log, "a").last_received.unwrap().0, after(300.0));
    assert!(log.asked().is_empty());
}

#[test]
fn what_never_comes_is_closed_or_ordered_anew() {
    let mut log = Log::default();
    log.at(1.0, ordered("a", 4));
    let short = log.at(200.0, StockReceived { closes: true, ..received(Some("a"), 3) });
    assert_eq!(order(&log, "a").open(), 0);
    log.at(201.0, withdraws(short));
    assert_eq!((order(&log, "a").open(), log.booth().stock.contains_key("exciter")), (4, false));
    let later = StockOrdered { expected: Some(date(2026, 5, 1)), ..ordered("a", 2) };
    log.at(300.0, later);
    assert_eq!((order(&log, "a").open(), order(&log, "a").expected), (2, Some(date(2026, 5, 1))));
    assert_eq!(order(&log, "a").ordered.0, after(1.0), "it was ordered when it was ordered first");
}

#[test]
fn a_corrected_order_counts_as_it_should_have_been() {
    let mut log = Log::default();
    let wrong = log.at(1.0, ordered("a", 40));
    log.at(2.0, corrects(wrong, ordered("a", 4)));
    assert_eq!(order(&log, "a").open(), 4);
}

#[test]
fn what_came_on_an_order_that_nobody_wrote_is_asked_about() {
    let mut log = Log::default();
    log.at(1.0, received(Some("b"), 2));
    assert_eq!(item(&log).count, 2);
    assert_eq!(log.asked(), ["“exciter” came in on order “b”, which nobody wrote down"]);
    // It was written of a later moment, since only its day was known.
    log.at(5.0, ordered("b", 2));
    assert_eq!(order(&log, "b").open(), 0);
    assert!(log.asked().is_empty());
}

#[test]
fn what_is_used_comes_from_home_first_then_from_where_most_lies() {
    let mut log = Log::default();
    log.at(0.0, kept_in("bench", 6));
    log.at(1.0, moved(3, None, "touring case"));
    log.at(2.0, moved(1, Some("touring case"), "van"));
    assert_eq!(places(&item(&log)), [("bench", 3), ("touring case", 2), ("van", 1)]);
    log.at(3.0, StockUsed { taken_from: Some("van".to_owned()), ..used(1) });
    assert_eq!(places(&item(&log)), [("bench", 3), ("touring case", 2)]);
    log.at(4.0, used(4));
    assert_eq!((places(&item(&log)), item(&log).count), (vec![("bench", 0), ("touring case", 1)], 1));
    log.at(5.0, used(2));
    assert_eq!((places(&item(&log)), item(&log).count), (vec![("bench", -1)], -1));
}

#[test]
fn one_case_can_be_counted_by_itself() {
    let mut log = Log::default();
    log.at(0.0, kept_in("bench", 6));
    log.at(1.0, moved(2, None, "touring case"));
    let only =
        |place: &str, count| StockCounted { only_in: Some(place.to_owned()), ..counted("exciter", count) };
    log.at(2.0, only("touring case", 3));
    assert_eq!((places(&item(&log)), item(&log).count), (vec![("bench", 4), ("touring case", 3)], 7));
    log.at(3.0, only("bench", 1));
    assert_eq!((places(&item(&log)), item(&log).count), (vec![("bench", 1), ("touring case", 3)], 4));
    // All of it counted: what lies elsewhere is still there, as far as the count reaches.
    log.at(4.0, counted("exciter", 5));
    assert_eq!(places(&item(&log)), [("bench", 2), ("touring case", 3)]);
    log.at(5.0, counted("exciter", 2));
    assert_eq!(places(&item(&log)), [("bench", 0), ("touring case", 2)]);
}

#[test]
fn more_than_lies_there_cannot_be_moved() {
    let mut log = Log::default();
    log.at(0.0, kept_in("bench", 2));
    log.at(1.0, moved(3, None, "touring case"));
    assert_eq!((places(&item(&log)), item(&log).count), (vec![("bench", 0), ("touring case", 2)], 2));
    assert_eq!(log.asked().len(), 1);
}

#[test]
fn whatever_arrives_first_the_stores_are_the_same() {
    let mut log = Log::default();
    log.at(0.0, kept_in("bench", 2));
    log.at(1.0, ordered("a", 4));
    log.at(2.0, StockReceived { put_in: Some("touring case".to_owned()), ..received(Some("a"), 3) });
    log.at(3.0, used(1));
    log.at(4.0, moved(1, Some("touring case"), "van"));
    log.at(5.0, StockOrdered { expected: None, ..ordered("a", 5) });
    log.at(6.0, counted("exciter", 5));
    let booth = log.booth();
    assert_eq!(booth.stock["exciter"].count, 5);
    assert_eq!(booth.stock["exciter"].changes.len(), 5);
    assert_eq!(booth.stock["exciter"].changes[2].deed, StockDeed::Used);
    for turn in 1..log.entries.len() {
        let mut entries = log.entries.clone();
        entries.rotate_left(turn);
        assert_eq!(fold(entries.clone()).booth, booth);
        entries.reverse();
        assert_eq!(fold(entries).booth, booth);
    }
}

#[test]
fn a_part_remembers_the_item_it_was_drawn_from() {
    let mut log = with_turnstone();
    log.at(0.0, counted("halogen-lamp", 3));
    log.at(1.0, logbook::fact::PartFitted { item: Some("halogen-lamp".into()), ..fitted("lamp-1", "lamp") });
    assert_eq!(log.booth().parts["lamp-1"].item, Some("halogen-lamp".into()));
}

#[test]
fn the_gate_knows_what_is_on_order_and_what_lies_where() {
    let mut log = Log::default();
    log.at(0.0, kept_in("bench", 2));
    log.at(1.0, ordered("a", 4));
    write(&log, received(Some("a"), 4)).unwrap();
    write(&log, received(None, 4)).unwrap();
    write(&log, moved(2, None, "van")).unwrap();
    write(&log, used(3)).unwrap();
    write(&log, ordered("b", 0)).unwrap();
    for (fact, field) in [
        (Fact::from(received(Some("z"), 1)), "order"),
        (received(None, 0).into(), "count"),
        (moved(3, None, "van").into(), "count"),
        (moved(1, None, "bench").into(), "to"),
        (moved(1, None, " ").into(), "to"),
        (StockUsed { item: "nothing".into(), ..used(1) }.into(), "item"),
        (StockUsed { machine: Some("nobody".into()), ..used(1) }.into(), "machine"),
        (StockOrdered { expected: Some(date(26, 4, 9)), ..ordered("a", 4) }.into(), "expected"),
        (StockOrdered { supplier: "a\nb".to_owned(), ..ordered("a", 4) }.into(), "supplier"),
    ] {
        assert_eq!(write(&log, fact).unwrap_err().field, field);
    }
}
