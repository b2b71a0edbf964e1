//! The stores: counting, ordering, receiving, using and moving.

use super::{Ask, Form, as_typed, new_name, slug};
use crate::{
    fields::{Choice, Field, Kind, Problem},
    typed::Typed,
};
use serde_json::{Map, Value, json};

pub(super) const FORMS: &[Form] = &[
    Form {
        kind: "stock-counted",
        title: "Stock counted",
        hint: "How many of a spare or consumable there are",
        needs_machine: false,
        offered: true,
        fields: counted,
        complete: name_item,
    },
    Form {
        kind: "stock-used",
        title: "Stock used",
        hint: "Used up, lost or given away, outside care and fitting",
        needs_machine: false,
        offered: true,
        fields: used,
        complete: as_typed,
    },
    Form {
        kind: "stock-ordered",
        title: "Stock ordered",
        hint: "What is on its way, from whom, and when it is expected",
        needs_machine: false,
        offered: true,
        fields: ordered,
        complete: name_order,
    },
    Form {
        kind: "stock-received",
        title: "Stock came in",
        hint: "A parcel came, with an order or without",
        needs_machine: false,
        offered: true,
        fields: received,
        complete: as_typed,
    },
    Form {
        kind: "stock-moved",
        title: "Stock moved",
        hint: "From one case, shelf or van into another",
        needs_machine: false,
        offered: true,
        fields: moved,
        complete: as_typed,
    },
];

/// Spares and consumables: those in the stores first, then what the machine types here name and nobody counted yet.
fn items(ask: &Ask<'_>) -> Vec<Choice> {
    let mut all = in_stock(ask);
    for item in booth::stores::named_by_types(ask.booth, ask.library) {
        if !ask.booth.stock.contains_key(item.id) {
            all.push(Choice::new(item.id, format!("{} (never counted)", item.name)));
        }
    }
    all
}

fn in_stock(ask: &Ask<'_>) -> Vec<Choice> {
    let stock = ask.booth.stock.iter();
    stock
        .map(|(id, item)| Choice::new(id.as_str(), format!("{} ({} there)", item.name, item.count)))
        .collect()
}

/// Every case, shelf and van that was named.
fn places(ask: &Ask<'_>) -> Vec<Choice> {
    let stock = ask.booth.stock.values();
    let mut names: Vec<&str> = stock.flat_map(|item| item.places().map(|(place, _)| place)).collect();
    names.sort_unstable();
    names.dedup();
    names.into_iter().filter(|name| !name.is_empty()).map(|name| Choice::new(name, name)).collect()
}

fn counted(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("item", "Which item", Kind::Pick(items(ask))).hint("Left empty: a new one, named below."),
        Field::new("count", "How many there are", Kind::Whole).required(),
        Field::new("only_in", "Counted in one place only", Kind::Suggest(places(ask)))
            .hint("Left empty: all there is of it, wherever it lies."),
        Field::new("name", "What it is", Kind::Line),
        Field::new("kept_in", "Where it is kept", Kind::Suggest(places(ask))),
        Field::new("minimum", "How many should be there at least", Kind::Whole),
    ]
}

/// Names a new item; one that a machine type names brings its name and slot along.
fn name_item(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    let Some(item) = body.get("item").and_then(Value::as_str).map(str::to_owned) else {
        let Some(name) = body.get("name").and_then(Value::as_str).map(str::to_owned) else {
            return vec![Problem::new("name", "A new item needs a name: say what it is.")];
        };
        let id = new_name(&name, |id| ask.booth.stock.contains_key(id));
        body.insert("item".to_owned(), json!(id));
        return Vec::new();
    };
    let fresh = ask.booth.stock.get(item.as_str()).is_none_or(|stock| stock.counted.is_none());
    let named =
        booth::stores::named_by_types(ask.booth, ask.library).into_iter().find(|named| named.id == item);
    if let Some(named) = named.filter(|_| fresh) {
        body.entry("name").or_insert_with(|| json!(named.name));
        if let Some(slot) = named.slot {
            body.entry("slot").or_insert_with(|| json!(slot));
        }
    }
    Vec::new()
}

fn ordered(ask: &Ask<'_>) -> Vec<Field> {
    let mut suppliers: Vec<&str> = ask.booth.orders.values().map(|order| order.supplier.as_str()).collect();
    suppliers.sort_unstable();
    suppliers.dedup();
    let suppliers = suppliers.into_iter().filter(|name| !name.is_empty());
    vec![
        Field::new("item", "Which item", Kind::Pick(items(ask))).required(),
        Field::new("count", "How many", Kind::Whole).required(),
        Field::new(
            "supplier",
            "From whom",
            Kind::Suggest(suppliers.map(|name| Choice::new(name, name)).collect()),
        ),
        Field::new("expected", "When it is expected", Kind::Day),
        Field::new("order", "Which order", Kind::Suggest(open_orders(ask)))
            .hint("Left empty: a new order. An order that is named again is changed."),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}

fn open_orders(ask: &Ask<'_>) -> Vec<Choice> {
    let mut open: Vec<&str> = ask
        .booth
        .orders
        .iter()
        .filter(|(_, order)| order.open() > 0)
        .map(|(line, _)| line.order.as_str())
        .collect();
    open.sort_unstable();
    open.dedup();
    open.into_iter().map(|order| Choice::new(order, order)).collect()
}

/// Gives a new order a name of its own: from whom, and the end of the entry's id, which no other order has.
fn name_order(body: &mut Map<String, Value>, ask: &Ask<'_>, _: &Typed) -> Vec<Problem> {
    if !body.contains_key("order") {
        let from = body.get("supplier").and_then(Value::as_str).map(slug).filter(|from| !from.is_empty());
        let id = ask.id.to_string();
        let tail = id.rsplit('-').next().unwrap_or(&id);
        body.insert("order".to_owned(), json!(format!("{}-{tail}", from.as_deref().unwrap_or("order"))));
    }
    Vec::new()
}

fn received(ask: &Ask<'_>) -> Vec<Field> {
    let open = ask.booth.orders.iter().filter(|(_, order)| order.open() > 0);
    let choices = open.map(|(line, order)| {
        let item = ask.booth.stock.get(&line.item).map_or(line.item.as_str(), |item| item.name.as_str());
        Choice::new(line.order.as_str(), format!("{} ({} of {item} to come)", line.order, order.open()))
    });
    let mut orders: Vec<Choice> = choices.collect();
    orders.dedup_by(|a, b| a.value == b.value);
    vec![
        Field::new("item", "Which item", Kind::Pick(items(ask))).required(),
        Field::new("count", "How many", Kind::Whole).required(),
        Field::new("order", "Of which order", Kind::Pick(orders)).hint("Left empty: they came unordered."),
        Field::new("closes", "Nothing more comes of that order", Kind::Tick),
        Field::new("put_in", "Where they were put", Kind::Suggest(places(ask)))
            .hint("Left empty: where the item is kept."),
        Field::new("note", "Note", Kind::Paragraph),
    ]
}

fn used(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("item", "Which item", Kind::Pick(in_stock(ask))).required(),
        Field::new("count", "How many", Kind::Whole).required().preset("1"),
        Field::new("machine", "For which machine", Kind::Pick(ask.machines())),
        Field::new("taken_from", "Taken from", Kind::Suggest(places(ask)))
            .hint("Left empty: where the item is kept."),
        Field::new("note", "What for", Kind::Line),
    ]
}

fn moved(ask: &Ask<'_>) -> Vec<Field> {
    vec![
        Field::new("item", "Which item", Kind::Pick(in_stock(ask))).required(),
        Field::new("count", "How many", Kind::Whole).required(),
        Field::new("from", "From", Kind::Suggest(places(ask))).hint("Left empty: from where it is kept."),
        Field::new("to", "To", Kind::Suggest(places(ask))).required(),
    ]
}
