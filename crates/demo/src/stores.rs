//! The stores: what was counted, what was drawn, and what is left on the eve of tonight.

use crate::diary::Calendar;
use crate::names::slot;
use crate::pen::{Hand, Pen, minutes_after};
use crate::setting::KEEPER;
use jiff::civil::DateTime;
use logbook::fact::StockCounted;

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

/// How many came with each parcel from the depot.
const PARCEL: u32 = 3;

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
        Self { counts: Item::ALL.map(|item| item.shelf().at_first) }
    }

    /// Draws one; when there is none, a parcel has come the day before.
    pub(crate) fn draw(&mut self, pen: &mut Pen, item: Item, at: DateTime) {
        let count = &mut self.counts[item as usize];
        if *count == 0 {
            *count = PARCEL;
            pen.write(minutes_after(at, -26 * 60), Hand::laptop(KEEPER), counted(item, PARCEL));
        }
        *count -= 1;
    }

    /// The last count, on the day before today.
    pub(crate) fn close(pen: &mut Pen, calendar: &Calendar) {
        let at = calendar.date(calendar.days - 1).at(16, 20, 0, 0);
        for item in Item::ALL {
            pen.write(at, Hand::phone(KEEPER), counted(item, item.shelf().now));
        }
    }
}

/// The names of everything that is kept.
#[cfg(test)]
pub(crate) fn ids() -> impl Iterator<Item = &'static str> {
    SHELVES.iter().map(|shelf| shelf.id)
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
