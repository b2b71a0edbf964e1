//! `stores`: what there is of each spare and consumable, what is on order, and what to order now.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::{
    Answer,
    lived::KeptBeliefs,
    stores::{Stores as Answered, USUAL_SERVICE, Wish, named_by_types},
};
use clap::{Args, Subcommand};
use jiff::civil::{Date, DateTime};
use logbook::{
    Fact, ItemId,
    fact::{StockCounted, StockMoved, StockOrdered, StockReceived, StockUsed},
    ids::{OrderId, SlotId},
};
use units::Probability;

/// What there is of each spare and consumable, what is on order, and what to order now
#[derive(Debug, Args)]
pub struct Stores {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Every item, what is missing first; or one of them
    List {
        /// Only this item, with what happened to it
        item: Option<String>,
        #[command(flatten)]
        wish: Asked,
    },
    /// What to order now so that the stores last until more can come
    Shopping {
        #[command(flatten)]
        wish: Asked,
        /// As CSV, one line for each item
        #[arg(long, conflicts_with = "json")]
        csv: bool,
    },
    /// Write down a count
    Count {
        /// The item
        item: String,
        /// How many there are
        count: u32,
        /// What it is
        #[arg(long)]
        name: Option<String>,
        /// The slot it fits
        #[arg(long)]
        slot: Option<String>,
        /// The case, shelf or van it is kept in
        #[arg(long, value_name = "PLACE")]
        kept_in: Option<String>,
        /// How many should be there at least
        #[arg(long)]
        minimum: Option<u32>,
        /// Only what lies in this place was counted
        #[arg(long, value_name = "PLACE")]
        only_in: Option<String>,
        #[command(flatten)]
        when: Moment,
    },
    /// Write down what was used outside care and fitting
    Use {
        /// The item
        item: String,
        /// How many
        #[arg(default_value_t = 1)]
        count: u32,
        /// The machine that they were for
        #[arg(long = "for", value_name = "MACHINE")]
        machine: Option<String>,
        /// The case, shelf or van they were taken from
        #[arg(long = "from", value_name = "PLACE")]
        taken_from: Option<String>,
        /// What for
        #[arg(long, default_value = "")]
        note: String,
        #[command(flatten)]
        when: Moment,
    },
    /// Write down an order, or change one
    Order {
        /// The item
        item: String,
        /// How many in all; 0: none after all
        count: u32,
        /// From whom
        #[arg(long = "from", value_name = "SUPPLIER", default_value = "")]
        supplier: String,
        /// When it is expected
        #[arg(long, value_name = "DATE", value_parser = crate::cli::day)]
        expected: Option<Date>,
        /// The order's name; left out: a new one
        #[arg(long)]
        order: Option<String>,
        /// Anything else
        #[arg(long, default_value = "")]
        note: String,
        #[command(flatten)]
        when: Moment,
    },
    /// Write down what came in
    Receive {
        /// The item
        item: String,
        /// How many; left out: all that is still to come of its order
        count: Option<u32>,
        /// The order; left out: the one that is open for the item
        #[arg(long, conflicts_with = "unordered")]
        order: Option<String>,
        /// They came without an order
        #[arg(long)]
        unordered: bool,
        /// Nothing more will come of that order
        #[arg(long)]
        closes: bool,
        /// Where they were put
        #[arg(long = "into", value_name = "PLACE")]
        put_in: Option<String>,
        #[command(flatten)]
        when: Moment,
    },
    /// Write down what went from one case, shelf or van into another
    Move {
        /// The item
        item: String,
        /// How many
        count: u32,
        /// To where
        to: String,
        /// From where; left out: from where it is kept
        #[arg(long, value_name = "PLACE")]
        from: Option<String>,
        #[command(flatten)]
        when: Moment,
    },
}

/// What the stores are to do.
#[derive(Debug, Args)]
struct Asked {
    /// The chance with which the stores are to last
    #[arg(long, default_value_t = USUAL_SERVICE, value_parser = service)]
    service: f64,
    /// For so many days; left out: until an order that goes out within a week could come
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=730))]
    days: Option<u32>,
}

/// When it happened.
#[derive(Debug, Args)]
struct Moment {
    /// When it happened, on the booth's clock (`2026-11-20T19:30`); left out: now
    #[arg(long, value_name = "MOMENT")]
    at: Option<DateTime>,
}

fn service(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(chance) if (0.5..1.0).contains(&chance) => Ok(chance),
        _ => Err("write a chance from 0.5 to less than 1, such as 0.95".to_owned()),
    }
}

impl Asked {
    fn wish(&self) -> Wish {
        Wish { service: Probability::clamped(self.service), days: self.days }
    }
}

impl Stores {
    /// Answers, or writes it down.
    pub fn run(&self, common: &Common) -> Outcome {
        match &self.what {
            What::List { item, wish } => list(common, item.as_deref(), wish.wish()),
            What::Shopping { wish, csv } => shopping(common, wish.wish(), *csv),
            _ => self.write(common),
        }
    }

    fn write(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let (fact, moment) = self.fact(&desk)?;
        let item = item_of(&fact);
        let happened = moment.at.map_or_else(|| Ok(desk.when()), |at| desk.moment(at))?;
        let entry = desk.write(desk.who(common)?, happened, fact)?;
        desk.refresh()?;
        let kept = KeptBeliefs::default();
        let answer = ask(&desk, &kept, Wish::default());
        let line = answer.value.line(item.as_str()).map_err(Failure::not_known)?;
        if common.json {
            return print::json(
                &serde_json::json!({ "entry": entry.id, "item": views::stores::line_json(line) }),
            );
        }
        print::text(&format!("Written down: {}.\n{}: {}\n", entry.id, line.name, line.why))
    }

    fn fact(&self, desk: &Desk) -> Result<(Fact, &Moment), Failure> {
        Ok(match &self.what {
            What::Count { item, count, name, slot, kept_in, minimum, only_in, when } => {
                let named =
                    named_by_types(&desk.booth, &desk.library).into_iter().find(|named| named.id == item);
                let fresh = desk.booth.stock.get(item.as_str()).is_none_or(|stock| stock.counted.is_none());
                let named = named.filter(|_| fresh);
                let fact = StockCounted {
                    item: ItemId::new(item),
                    count: *count,
                    name: name.clone().or_else(|| named.map(|named| named.name.to_owned())),
                    slot: slot.as_deref().or_else(|| named.and_then(|named| named.slot)).map(SlotId::new),
                    kept_in: kept_in.clone(),
                    minimum: *minimum,
                    only_in: only_in.clone(),
                };
                (fact.into(), when)
            }
            What::Use { item, count, machine, taken_from, note, when } => {
                let fact = StockUsed {
                    item: ItemId::new(item),
                    count: *count,
                    taken_from: taken_from.clone(),
                    machine: desk.machine_if(machine.as_ref())?,
                    note: note.clone(),
                };
                (fact.into(), when)
            }
            What::Order { item, count, supplier, expected, order, note, when } => {
                let fact = StockOrdered {
                    order: order.as_deref().map_or_else(new_order, OrderId::new),
                    item: ItemId::new(item),
                    count: *count,
                    supplier: supplier.clone(),
                    expected: *expected,
                    note: note.clone(),
                };
                (fact.into(), when)
            }
            What::Receive { item, count, order, unordered, closes, put_in, when } => {
                let order = if *unordered { None } else { open_order(desk, item, order.as_deref())? };
                let open = order.as_ref().map(|(_, open)| *open);
                let count = count.or(open).ok_or_else(|| {
                    Failure::new(Kind::Usage, format!("how many of `{item}` came?"))
                        .hinted("nothing of it is on order: name the number after the item")
                })?;
                let fact = StockReceived {
                    item: ItemId::new(item),
                    count,
                    order: order.map(|(order, _)| order),
                    closes: *closes,
                    put_in: put_in.clone(),
                    note: String::new(),
                };
                (fact.into(), when)
            }
            What::Move { item, count, to, from, when } => {
                let fact =
                    StockMoved { item: ItemId::new(item), count: *count, from: from.clone(), to: to.clone() };
                (fact.into(), when)
            }
            What::List { .. } | What::Shopping { .. } => unreachable!("these only read"),
        })
    }
}

fn new_order() -> OrderId {
    let id = uuid::Uuid::now_v7().simple().to_string();
    OrderId::new(format!("order-{}", &id[id.len() - 12..]))
}

/// The order that is open for an item and how many are to come; the one named, if one is.
fn open_order(desk: &Desk, item: &str, named: Option<&str>) -> Result<Option<(OrderId, u32)>, Failure> {
    let of_item = desk.booth.orders.iter().filter(|(line, _)| line.item.as_str() == item);
    if let Some(named) = named {
        let open =
            of_item.filter(|(line, _)| line.order.as_str() == named).map(|(_, order)| order.open()).next();
        return Ok(Some((OrderId::new(named), open.unwrap_or(0))));
    }
    let open: Vec<_> = of_item.filter(|(_, order)| order.open() > 0).collect();
    match open.as_slice() {
        [] => Ok(None),
        [(line, order)] => Ok(Some((line.order.clone(), order.open()))),
        several => {
            let names: Vec<_> = several.iter().map(|(line, _)| line.order.as_str()).collect();
            Err(Failure::new(Kind::Usage, format!("several orders of `{item}` are open"))
                .hinted(format!("name one with --order: {}", names.join(", "))))
        }
    }
}

fn item_of(fact: &Fact) -> ItemId {
    match fact {
        Fact::StockCounted(fact) => fact.item.clone(),
        Fact::StockUsed(fact) => fact.item.clone(),
        Fact::StockOrdered(fact) => fact.item.clone(),
        Fact::StockReceived(fact) => fact.item.clone(),
        Fact::StockMoved(fact) => fact.item.clone(),
        _ => unreachable!("this verb writes of stock alone"),
    }
}

fn ask<'a>(desk: &'a Desk, kept: &'a KeptBeliefs, wish: Wish) -> Answer<Answered<'a>> {
    booth::stores::stores(&desk.booth, &desk.library, &desk.now, kept, wish)
}

fn list(common: &Common, item: Option<&str>, wish: Wish) -> Outcome {
    let desk = Desk::open(common, false)?;
    let kept = KeptBeliefs::default();
    let answer = ask(&desk, &kept, wish);
    let Some(item) = item else {
        if common.json {
            return print::json(&views::stores::json(&answer));
        }
        return print::sheet(&views::stores::sheet(&answer));
    };
    let line = answer.value.line(item).map_err(Failure::not_known)?;
    if common.json {
        return print::json(&views::stores::line_json(line));
    }
    print::sheet(&views::stores::item_sheet(&answer, line))
}

fn shopping(common: &Common, wish: Wish, csv: bool) -> Outcome {
    let desk = Desk::open(common, false)?;
    let kept = KeptBeliefs::default();
    let answer = ask(&desk, &kept, wish);
    if csv {
        return print::text(&views::stores::shopping_csv(&answer.value));
    }
    if common.json {
        return print::json(&views::stores::shopping_json(&answer));
    }
    print::sheet(&views::stores::shopping_sheet(&answer))
}
