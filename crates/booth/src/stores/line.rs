//! One line of the stores: an item, what there is of it, and what will be wanted.

use super::{
    LOOKED_AT_DAYS, USUAL_LEAD_DAYS, Wish,
    demand::{NeedRests, Reckoner, Wanted},
    named::{ItemKind, Named},
    said,
    served::{Place, Served},
    used::Used,
};
use jiff::civil;
use logbook::{
    ItemId,
    booth::{OrderLineId, StockItem, StockOrder},
};
use machine::{Library, MachineType, Spare};
use serde::Serialize;
use units::Probability;

/// How an item stands, what is missing first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum StoreState {
    /// There is none, and some should be there.
    Missing,
    /// There are fewer than should be there, and not enough are on order.
    Short,
    /// There are fewer than should be there, and enough are on order.
    OnOrder,
    /// Nobody ever counted it.
    NeverCounted,
    /// There are as many as should be there.
    There,
}

impl StoreState {
    /// The word that JSON, class names and commands use.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Missing => "missing",
            Self::Short => "short",
            Self::OnOrder => "on-order",
            Self::NeverCounted => "never-counted",
            Self::There => "there",
        }
    }
}

/// How long an order takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Lead {
    /// Days.
    pub days: u32,
    /// Whose word that is.
    pub rests: LeadRests,
}

/// What a lead time rests on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LeadRests {
    /// So many of the booth's own last orders.
    Orders(usize),
    /// The machine type.
    Type,
    /// Nothing but the usual.
    Usual,
}

/// What will be wanted of an item.
#[derive(Clone, PartialEq, Debug)]
pub struct Need {
    /// Over so many days from now.
    pub days: u32,
    /// So many are enough with the chance that was asked for.
    pub hold: u32,
    /// The chance that what is there, and comes in time, lasts.
    pub lasts: Probability,
    /// How many will be wanted on average.
    pub expected: f64,
    /// Changes that are planned for that time.
    pub planned: usize,
    /// What it rests on.
    pub rests: NeedRests,
}

impl Need {
    /// True where hardly anything but the machine type speaks.
    pub fn on_prior(&self) -> bool {
        matches!(self.rests, NeedRests::Lives(rests) if rests.on_prior())
    }
}

/// One item.
#[derive(Clone, Debug)]
pub struct StoreLine<'a> {
    /// Its id.
    pub id: ItemId,
    /// Its name in plain words.
    pub name: &'a str,
    /// What sort of thing it is.
    pub kind: ItemKind,
    /// What the stores know of it; none: nobody ever wrote of it.
    pub stock: Option<&'a StockItem>,
    /// How many should be there at least.
    pub minimum: u32,
    /// The minimum is the case list of the machine type, for the booth has set none.
    pub minimum_of_type: bool,
    /// How many a depot keeps, in the words of the machine type.
    pub depot: Option<&'a str>,
    /// What is on order.
    pub orders: Vec<(&'a OrderLineId, &'a StockOrder)>,
    /// Places in machines that it serves.
    pub in_use: usize,
    /// What was used of it.
    pub used: Used,
    /// Deeds of care until an order could come, of a consumable.
    pub deeds_to_come: Option<f64>,
    /// How long an order takes.
    pub lead: Lead,
    /// What will be wanted; none: nothing is known of its use.
    pub need: Option<Need>,
    /// How many to order now.
    pub order_now: u32,
    /// How it stands.
    pub state: StoreState,
    /// Why so many are to be ordered, or how it stands, in a sentence.
    pub why: String,
}

impl StoreLine<'_> {
    /// Returns how many there are, if that is known.
    pub fn count(&self) -> Option<i64> {
        self.stock.filter(|stock| stock.is_known()).map(|stock| stock.count)
    }

    /// Returns how many are on order.
    pub fn on_order(&self) -> u32 {
        self.orders.iter().map(|(_, order)| order.open()).fold(0, u32::saturating_add)
    }

    /// Returns the day on which the next of an order is expected.
    pub fn expected(&self) -> Option<civil::Date> {
        self.orders.iter().filter_map(|(_, order)| order.expected).min()
    }
}

/// Makes the lines.
pub(super) struct Lines<'d, 'a> {
    pub reckoner: &'d Reckoner<'d, 'a>,
    pub served: &'d Served<'a>,
    pub library: &'a Library,
    pub wish: Wish,
}

impl<'a> Lines<'_, 'a> {
    /// Every item of the stores, and every one that the machine types name and that is kept under no other name.
    pub fn all(&self, named: &[Named<'a>]) -> Vec<StoreLine<'a>> {
        let booth = self.reckoner.desk.booth;
        let places = self.served.places(self.library);
        let known = |id: &str| named.iter().find(|named| named.id == id);
        let in_stock = booth.stock.iter().map(|(id, stock)| {
            let named = known(id.as_str());
            (
                id.clone(),
                if stock.name == id.as_str() {
                    named.map_or(stock.name.as_str(), |named| named.name)
                } else {
                    &stock.name
                },
                named,
            )
        });
        let elsewhere = |named: &&Named<'a>| {
            let own = |id: &ItemId| known(id.as_str()).is_none();
            named.spare.is_some_and(|spare| {
                booth.stock.iter().any(|(id, stock)| {
                    own(id) && stock.slot.as_ref().is_some_and(|slot| fits(spare, slot.as_str()))
                }) && !places.iter().any(|place| place.item.as_str() == named.id)
            })
        };
        let only_named = named
            .iter()
            .filter(|named| !booth.stock.contains_key(named.id))
            .filter(|named| !elsewhere(named))
            .map(|named| (ItemId::new(named.id), named.name, Some(named)));
        in_stock.chain(only_named).map(|(id, name, named)| self.line(id, name, named, &places)).collect()
    }

    fn line(
        &self,
        id: ItemId,
        name: &'a str,
        named: Option<&Named<'a>>,
        places: &[Place<'a>],
    ) -> StoreLine<'a> {
        let booth = self.reckoner.desk.booth;
        let stock = booth.stock.get(&id);
        let own: Vec<&Place<'a>> = places.iter().filter(|place| place.item == id).collect();
        let spare = named
            .and_then(|named| named.spare)
            .or_else(|| own.iter().find_map(|place| spare_at(place.kind, place.life.slot.as_str())));
        let kind =
            named.map_or(if own.is_empty() { ItemKind::Other } else { ItemKind::Spare }, |named| named.kind);
        let used = stock.map(|stock| Used::of(stock, &self.reckoner.desk.now)).unwrap_or_default();
        let lead = self.lead(&id, spare);
        let days = self.wish.days.unwrap_or(lead.days + LOOKED_AT_DAYS);
        let wanted = match kind {
            ItemKind::Consumable => self.reckoner.of_consumable(id.as_str(), &used, f64::from(days)),
            ItemKind::Spare | ItemKind::Other => self.reckoner.of_spare(&own, &used, f64::from(days)),
        };
        let set = stock.map_or(0, |stock| stock.minimum);
        let case_list = spare.map_or(0, |spare| spare.carry);
        let mut line = StoreLine {
            name,
            kind,
            stock,
            minimum: if set > 0 { set } else { case_list },
            minimum_of_type: set == 0 && case_list > 0,
            depot: spare.map(|spare| spare.depot.as_str()),
            orders: booth.orders.iter().filter(|(order, line)| order.item == id && line.open() > 0).collect(),
            in_use: in_use(&own),
            used,
            deeds_to_come: (kind == ItemKind::Consumable)
                .then(|| self.reckoner.deeds_to_come(id.as_str(), f64::from(days))),
            lead,
            need: None,
            order_now: 0,
            state: StoreState::NeverCounted,
            why: String::new(),
            id,
        };
        line.need = wanted.map(|wanted| self.need(&line, &wanted, days));
        settle(&mut line);
        line.why = said::why(&line, &own, booth, self.reckoner.desk.now.day.date());
        line
    }

    fn need(&self, line: &StoreLine<'_>, wanted: &Wanted, days: u32) -> Need {
        let today = self.reckoner.desk.now.day.date();
        // An order without a day comes, by the lead time, in time; so does one that is late, for all that is known.
        let in_time = |order: &StockOrder| {
            order.expected.is_none_or(|day| units::civil::days_between(today, day) <= i64::from(days))
        };
        let coming: u32 =
            line.orders.iter().filter(|(_, order)| in_time(order)).map(|(_, order)| order.open()).sum();
        let there = u32::try_from(line.count().unwrap_or(0).max(0)).unwrap_or(u32::MAX);
        let stock = wanted.demand.stock_for(self.wish.service);
        Need {
            days,
            hold: u32::try_from(stock.spares).unwrap_or(u32::MAX),
            lasts: wanted.demand.covered_by(there.saturating_add(coming) as usize),
            expected: stock.expected_use,
            planned: wanted.planned,
            rests: wanted.rests,
        }
    }

    fn lead(&self, id: &ItemId, spare: Option<&Spare>) -> Lead {
        let orders = self.reckoner.desk.booth.orders.iter().filter(|(line, _)| line.item == *id);
        let mut took: Vec<(i64, i64)> = orders
            .filter_map(|(_, order)| {
                let (came, ordered) = (order.last_received?.0.unix_ms, order.ordered.0.unix_ms);
                Some((came, crate::day::days_between_ms(ordered, came).max(0)))
            })
            .collect();
        took.sort_unstable();
        let last: Vec<i64> = took.iter().rev().take(3).map(|(_, days)| *days).collect();
        if let Some(longest) = last.iter().max() {
            return Lead {
                days: u32::try_from(*longest).unwrap_or(u32::MAX),
                rests: LeadRests::Orders(last.len()),
            };
        }
        match spare {
            Some(spare) => Lead { days: spare.lead.days, rests: LeadRests::Type },
            None => Lead { days: USUAL_LEAD_DAYS, rests: LeadRests::Usual },
        }
    }
}

/// Says how it stands, and how many to order.
fn settle(line: &mut StoreLine<'_>) {
    let Some(count) = line.count() else { return };
    let there = u32::try_from(count.max(0)).unwrap_or(u32::MAX);
    let wanted = line.minimum.max(line.need.as_ref().map_or(0, |need| need.hold));
    line.order_now = wanted.saturating_sub(there.saturating_add(line.on_order()));
    line.state = match (there, line.order_now) {
        (0, _) if wanted > 0 => StoreState::Missing,
        (_, more) if more > 0 => StoreState::Short,
        _ if there < wanted => StoreState::OnOrder,
        _ => StoreState::There,
    };
}

fn in_use(places: &[&Place<'_>]) -> usize {
    let mut slots: Vec<_> = places.iter().map(|place| (place.at, place.life.slot.as_str())).collect();
    slots.sort_unstable();
    slots.dedup();
    slots.len()
}

fn fits(spare: &Spare, slot: &str) -> bool {
    spare.fits.iter().any(|own| own.as_str() == slot)
}

fn spare_at<'k>(kind: &'k MachineType, slot: &str) -> Option<&'k Spare> {
    kind.spares_for(slot).next()
}
