//! The stores: what was counted, what was drawn, and what is left on the eve of tonight.

use crate::diary::Calendar;
use crate::names::slot;
use crate::pen::{Hand, Pen, minutes_after};
use crate::setting::KEEPER;
use jiff::civil::{Date, DateTime};
use logbook::fact::{StockCounted, StockMoved, StockOrdered, StockReceived};

/// What is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Item {
    HalogenLamp,
    TungstenLamp,
    Exciter,
    TakeUpBelt,
    MainBelt,
    PressureRoller,
    Claw,
    Fuse,
}

struct Shelf {
    id: &'static str,
    name: &'static str,
    slot: &'static str,
    kept_in: &'static str,
    minimum: u32,
    at_first: u32,
    now: u32,
}

impl Item {
    const ALL: [Self; 8] = [
        Self::HalogenLamp,
        Self::TungstenLamp,
        Self::Exciter,
        Self::TakeUpBelt,
        Self::MainBelt,
        Self::PressureRoller,
        Self::Claw,
        Self::Fuse,
    ];

    pub(crate) fn id(self) -> &'static str {
        self.shelf().id
    }

    fn shelf(self) -> &'static Shelf {
        &SHELVES[self as usize]
    }
}

const CASE: &str = "touring case";
const BENCH: &str = "bench drawer, Port Nessary";

const SHELVES: [Shelf; 8] = [
    shelf("lamp-24v-250w", "Projection lamp 24 V 250 W", slot::LAMP, CASE, 2, 4, 1),
    shelf("lamp-230v-750w", "Projection lamp 230 V 750 W, no longer made", slot::LAMP, BENCH, 2, 6, 4),
    shelf("exciter-lamp", "Exciter lamp, pre-focus", slot::EXCITER, CASE, 2, 3, 0),
    shelf("take-up-belt", "Take-up belt", slot::TAKE_UP_BELT, CASE, 1, 2, 1),
    shelf("main-belt", "Main drive belt", slot::MAIN_BELT, BENCH, 1, 1, 1),
    shelf("pressure-roller", "Pressure roller", slot::PRESSURE_ROLLER, BENCH, 1, 1, 1),
    shelf("claw-tip", "Claw tip", slot::CLAW, BENCH, 1, 0, 0),
    shelf("fuse", "Fuse, slow", slot::FUSES, CASE, 5, 10, 7),
];

const fn shelf(
    id: &'static str,
    name: &'static str,
    slot: &'static str,
    kept_in: &'static str,
    minimum: u32,
    at_first: u32,
    now: u32,
) -> Shelf {
    Shelf { id, name, slot, kept_in, minimum, at_first, now }
}

/// How many came with each parcel.
const PARCEL: u32 = 3;
/// From whom the parcels come.
const DEPOT: &str = "the county film depot";
/// How long the depot takes, in days.
const DEPOT_DAYS: i64 = 9;
/// Days from the eve of tonight until the parcel that is on its way is expected: after the next showings.
const NEXT_PARCEL_DAYS: i32 = 12;

/// What care uses up: id, where it is kept, minimum, at first and now, as counted.
const USED_UP: [(&str, &str, u32, u32, u32); 3] =
    [("swabs", CASE, 30, 200, 45), ("alcohol", BENCH, 1, 6, 2), ("light-oil", BENCH, 1, 3, 2)];
/// What they are called.
const USED_UP_NAMES: [&str; 3] =
    ["Gate brush, cotton buds, orange sticks", "Isopropyl alcohol, 99 %", "Light machine oil"];

/// What the keeper believes to be on the shelves.
pub(crate) struct Stores {
    counts: [u32; 8],
}

impl Stores {
    /// The first count, on the morning on which the log begins.
    pub(crate) fn open(pen: &mut Pen, calendar: &Calendar) -> Self {
        let at = calendar.start.at(14, 0, 0, 0);
        for item in Item::ALL {
            let shelf = item.shelf();
            let first = StockCounted {
                item: shelf.id.into(),
                count: shelf.at_first,
                name: Some(shelf.name.to_owned()),
                slot: Some(shelf.slot.into()),
                kept_in: Some(shelf.kept_in.to_owned()),
                minimum: Some(shelf.minimum),
                only_in: None,
            };
            pen.write(at, Hand::laptop(KEEPER), first);
        }
        for ((id, kept_in, minimum, at_first, _), name) in USED_UP.into_iter().zip(USED_UP_NAMES) {
            let first = StockCounted {
                item: id.into(),
                count: at_first,
                name: Some(name.to_owned()),
                slot: None,
                kept_in: Some(kept_in.to_owned()),
                minimum: Some(minimum),
                only_in: None,
            };
            pen.write(at, Hand::laptop(KEEPER), first);
        }
        Self { counts: Item::ALL.map(|item| item.shelf().at_first) }
    }

    /// Draws one; when there is none, a parcel that was ordered in time has come the day before.
    pub(crate) fn draw(&mut self, pen: &mut Pen, item: Item, at: DateTime) {
        let count = &mut self.counts[item as usize];
        if *count == 0 {
            *count = PARCEL;
            let came = minutes_after(at, -26 * 60);
            let ordered_at = minutes_after(came, -DEPOT_DAYS * 24 * 60);
            let order = format!("depot-{}-{}", ordered_at.date(), item.id());
            let expected = Some(came.date());
            pen.write(ordered_at, Hand::laptop(KEEPER), ordered(&order, item, PARCEL, expected));
            pen.write(came, Hand::laptop(KEEPER), received(&order, item, PARCEL));
        }
        *count -= 1;
    }

    /// The last count, on the day before today.
    pub(crate) fn close(pen: &mut Pen, calendar: &Calendar) {
        let at = calendar.date(calendar.days - 1).at(16, 20, 0, 0);
        for item in Item::ALL {
            pen.write(at, Hand::phone(KEEPER), counted(item, item.shelf().now));
        }
        for (id, _, _, _, now) in USED_UP {
            let count = StockCounted { item: id.into(), ..counted(Item::Fuse, now) };
            pen.write(at, Hand::phone(KEEPER), count);
        }
        Self::send_for_lamps(pen, calendar);
    }

    /// Two of the lamps that are no longer made travel with the machine that burns them, and new lamps are on their way.
    fn send_for_lamps(pen: &mut Pen, calendar: &Calendar) {
        let eve = calendar.date(calendar.days - 1);
        let to_the_case =
            StockMoved { item: Item::TungstenLamp.id().into(), count: 2, from: None, to: CASE.to_owned() };
        pen.write(eve.at(16, 40, 0, 0), Hand::phone(KEEPER), to_the_case);
        let expected = Some(calendar.date(calendar.days - 1 + NEXT_PARCEL_DAYS));
        let order = format!("depot-{eve}");
        pen.write(
            eve.at(16, 45, 0, 0),
            Hand::laptop(KEEPER),
            ordered(&order, Item::HalogenLamp, PARCEL, expected),
        );
    }
}

fn ordered(order: &str, item: Item, count: u32, expected: Option<Date>) -> StockOrdered {
    StockOrdered {
        order: order.into(),
        item: item.id().into(),
        count,
        supplier: DEPOT.to_owned(),
        expected,
        note: String::new(),
    }
}

fn received(order: &str, item: Item, count: u32) -> StockReceived {
    StockReceived {
        item: item.id().into(),
        count,
        order: Some(order.into()),
        closes: false,
        put_in: None,
        note: String::new(),
    }
}

/// The names of the spares that are kept.
#[cfg(test)]
pub(crate) fn ids() -> impl Iterator<Item = &'static str> {
    SHELVES.iter().map(|shelf| shelf.id)
}

/// The names of what care uses up.
#[cfg(test)]
pub(crate) fn used_up() -> impl Iterator<Item = &'static str> {
    USED_UP.iter().map(|(id, ..)| *id)
}

fn counted(item: Item, count: u32) -> StockCounted {
    StockCounted {
        item: item.id().into(),
        count,
        name: None,
        slot: None,
        kept_in: None,
        minimum: None,
        only_in: None,
    }
}
