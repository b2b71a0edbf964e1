//! The stores: what is missing first, what to order, what the case wants, and one item with its history.

use crate::{
    address::Place,
    common,
    sheet::{Block, Card, Sheet, Table},
    wording,
    words::{Mark, Words},
};
use booth::{
    Answer,
    stores::{ItemKind, LeadRests, NeedRests, Packing, StoreLine, StoreState, Stores},
};
use logbook::booth::{StockDeed, StockItem};
use serde_json::{Value, json};

/// The mark of an item's state, in words of its own.
fn mark(state: StoreState) -> (Mark, &'static str) {
    match state {
        StoreState::Missing => (Mark::Overdue, "none there"),
        StoreState::Short => (Mark::Due, "too few"),
        StoreState::OnOrder => (Mark::Soon, "on order"),
        StoreState::NeverCounted => (Mark::NoRecord, "never counted"),
        StoreState::There => (Mark::UpToDate, "there"),
    }
}

fn marked(state: StoreState) -> Words {
    let (mark, word) = mark(state);
    Words::new().mark_as(mark, word)
}

/// Shows all of the stores: the shopping list, the case for the next evening, and every item, what is missing first.
pub fn sheet(answer: &Answer<Stores<'_>>) -> Sheet {
    let stores = &answer.value;
    let mut sheet = Sheet::new("Stores");
    sheet.lead(lead(stores));
    sheet.heading("To order now");
    sheet.push(Block::Table(shopping(stores)));
    if !stores.shopping().is_empty() {
        sheet.say(Words::new().link(Place::Shopping, "The list to print or copy"));
    }
    let wanting = [StoreState::Missing, StoreState::Short, StoreState::OnOrder];
    let cards: Vec<Card> =
        stores.lines.iter().filter(|line| wanting.contains(&line.state)).map(|line| card(line)).collect();
    if !cards.is_empty() {
        sheet.heading("Missing or too few");
        sheet.push(Block::Cards(cards));
    }
    case(&mut sheet, &stores.packing);
    sheet.heading("Everything in the stores");
    let there = stores.lines.iter().filter(|line| line.stock.is_some());
    sheet.push(Block::Table(items("Everything that was ever counted or came in", there)));
    let never: Vec<_> = stores.lines.iter().filter(|line| line.stock.is_none()).collect();
    if !never.is_empty() {
        let head = format!("{} that nobody counted yet", wording::counted(never.len(), "item"));
        let table = items("What the machine types name and nobody counted", never.into_iter());
        sheet.push(Block::Folded(head, Box::new(Block::Table(table))));
    }
    common::reasons(&mut sheet, answer);
    sheet
}

fn lead(stores: &Stores<'_>) -> String {
    let list = stores.shopping();
    let missing = stores.lines.iter().filter(|line| line.state == StoreState::Missing).count();
    let chance = format!("{} %", (stores.wish.service.value() * 1000.0).round() / 10.0);
    match (list.len(), missing) {
        (0, 0) => format!(
            "Nothing to order: what was counted lasts with a chance of {chance} until more could come."
        ),
        (0, n) => format!("{} missing, and on order.", wording::counted(n, "item")),
        (n, missing) => {
            let gone = if missing == 0 { String::new() } else { format!("; of {missing} there is none") };
            format!(
                "{} to order now{gone}. What is there then lasts with a chance of {chance} until more could come.",
                wording::counted(n, "item")
            )
        }
    }
}

/// The shopping list: how many, of what, and why.
pub fn shopping(stores: &Stores<'_>) -> Table {
    let heads = ["#Order", "What", "Why"];
    let mut table = Table::new("To order now", &heads, "Nothing has to be ordered now.");
    for line in stores.shopping() {
        let cells = vec![
            line.order_now.to_string().into(),
            Words::new().link(Place::StoreItem(line.id.clone()), line.name),
            line.why.as_str().into(),
        ];
        table.push(cells, vec![("item", line.id.to_string()), ("order", line.order_now.to_string())]);
    }
    table
}

/// The shopping list on a sheet of its own.
pub fn shopping_sheet(answer: &Answer<Stores<'_>>) -> Sheet {
    let mut sheet = Sheet::new("Shopping list");
    sheet.say(Words::new().quiet(answer.value.today.strftime("%A %-d %B %Y").to_string()));
    sheet.push(Block::Table(shopping(&answer.value)));
    common::reasons(&mut sheet, answer);
    sheet
}

/// The shopping list as plain lines: to copy into a letter.
pub fn shopping_text(stores: &Stores<'_>) -> String {
    let lines = stores.shopping();
    let lines: Vec<String> =
        lines.iter().map(|line| format!("{} x {}\n", line.order_now, line.name)).collect();
    lines.concat()
}

/// The shopping list as CSV (RFC 4180): a line for each item.
pub fn shopping_csv(stores: &Stores<'_>) -> String {
    let mut out = String::from("item,name,order,there,minimum,on_order,enough,days,why\r\n");
    for line in stores.shopping() {
        let need = line.need.as_ref();
        let number = |value: Option<String>| value.unwrap_or_default();
        let fields = [
            line.id.to_string(),
            line.name.to_owned(),
            line.order_now.to_string(),
            number(line.count().map(|count| count.to_string())),
            line.minimum.to_string(),
            line.on_order().to_string(),
            number(need.map(|need| need.hold.to_string())),
            number(need.map(|need| need.days.to_string())),
            line.why.clone(),
        ];
        out.push_str(&fields.map(|field| quoted(&field)).join(","));
        out.push_str("\r\n");
    }
    out
}

/// A field as RFC 4180 has it. What a spreadsheet would take for a formula is kept from being one.
fn quoted(field: &str) -> String {
    let field = if field.starts_with(['=', '+', '@', '\t']) { format!("'{field}") } else { field.to_owned() };
    if field.contains([',', '"', '\r', '\n']) { format!("\"{}\"", field.replace('"', "\"\"")) } else { field }
}

/// An item that wants something, with the ways to write it down.
fn card(line: &StoreLine<'_>) -> Card {
    let (mark, word) = mark(line.state);
    Card {
        title: Words::new().link(Place::StoreItem(line.id.clone()), line.name).plain(" ").mark_as(mark, word),
        mark: None,
        lines: vec![amounts(line), line.why.as_str().into()],
        ways: ways(line, "/stores"),
        data: vec![("item", line.id.to_string()), ("state", line.state.as_str().to_owned())],
    }
}

fn amounts(line: &StoreLine<'_>) -> Words {
    let count = line.count().map_or_else(|| "never counted".to_owned(), |count| format!("{count} there"));
    Words::new()
        .strong(count)
        .plain(format!(" · at least {} · {} on order", line.minimum, line.on_order()))
        .quiet(
            line.stock
                .map(places)
                .filter(|said| !said.is_empty())
                .map(|said| format!(" · {said}"))
                .unwrap_or_default(),
        )
}

/// Where an item lies.
fn places(stock: &StockItem) -> String {
    if stock.elsewhere.is_empty() {
        return stock.kept_in.clone();
    }
    let lies = stock.places().filter(|(_, count)| *count != 0);
    lies.map(|(place, count)| {
        format!("{count} in {}", if place.is_empty() { "no place named" } else { place })
    })
    .collect::<Vec<_>>()
    .join(", ")
}

/// The ways to write down what happened to an item; each leads back.
pub fn ways(line: &StoreLine<'_>, back: &str) -> Vec<Words> {
    let form = |kind: &str, words: &str, more: &[(&str, String)]| {
        let mut fields = vec![("item".to_owned(), line.id.to_string())];
        fields.extend(more.iter().map(|(key, value)| ((*key).to_owned(), value.clone())));
        fields.push(("back".to_owned(), back.to_owned()));
        Words::new().link(Place::LogKind(kind.to_owned(), fields), words)
    };
    let mut ways = vec![form("stock-counted", "Count", &[])];
    if line.stock.is_some() {
        ways.push(form("stock-used", "Use", &[]));
    }
    let wanted: Vec<_> =
        (line.order_now > 0).then(|| ("count", line.order_now.to_string())).into_iter().collect();
    ways.push(form("stock-ordered", "Order", &wanted));
    let open: Vec<(&str, String)> = match line.orders.as_slice() {
        [(id, order), ..] => vec![("order", id.order.to_string()), ("count", order.open().to_string())],
        [] => Vec::new(),
    };
    ways.push(form("stock-received", "It came", &open));
    if line.stock.is_some_and(|stock| stock.count > 0) {
        ways.push(form("stock-moved", "Move", &[]));
    }
    ways
}

fn case(sheet: &mut Sheet, packing: &[Packing<'_>]) {
    if packing.is_empty() {
        return;
    }
    sheet.heading("The case for the next evening");
    let lacking: Vec<_> = packing.iter().filter(|one| one.lacks().is_none_or(|lacks| lacks > 0)).collect();
    if lacking.is_empty() {
        sheet.say("All that the machine types want in the case is there; see below where it lies.");
    } else {
        sheet.push(Block::Table(packed("Missing from the case", &lacking)));
    }
    let there: Vec<_> = packing.iter().filter(|one| one.lacks() == Some(0)).collect();
    if !there.is_empty() {
        let head = format!("{} to pack", wording::counted(there.len(), "item"));
        sheet.push(Block::Folded(head, Box::new(Block::Table(packed("To pack", &there)))));
    }
}

fn packed(caption: &str, all: &[&Packing<'_>]) -> Table {
    let heads = ["What", "#Should travel", "#There", "Where", "For"];
    let mut table = Table::new(caption, &heads, "Nothing.").tight();
    for one in all {
        let there = one.there.map_or_else(|| "never counted".to_owned(), |count| count.to_string());
        let lies: Vec<String> = one
            .places
            .iter()
            .map(
                |(place, count)| {
                    if place.is_empty() { count.to_string() } else { format!("{count} in {place}") }
                },
            )
            .collect();
        let cells = vec![
            Words::new().link(Place::StoreItem(one.id.clone()), one.name),
            one.carry.to_string().into(),
            there.into(),
            lies.join(", ").into(),
            one.machines.join(", ").into(),
        ];
        table.push(cells, vec![("item", one.id.to_string())]);
    }
    table
}

fn items<'l, 'a: 'l>(caption: &str, lines: impl Iterator<Item = &'l StoreLine<'a>>) -> Table {
    let heads =
        ["What", "State", "#There", "#At least", "#On order", "Where", "Last counted", "#Used a month"];
    let mut table = Table::new(caption, &heads, "The stores are empty: count what is there.").tight();
    for line in lines {
        let used = line.stock.map(|_| format!("{:.1}", line.used.per_month())).unwrap_or_default();
        let counted = line.stock.and_then(|stock| stock.counted);
        let cells = vec![
            Words::new().link(Place::StoreItem(line.id.clone()), line.name),
            marked(line.state),
            line.count().map(|count| count.to_string()).unwrap_or_default().into(),
            line.minimum.to_string().into(),
            line.on_order().to_string().into(),
            line.stock.map(places).unwrap_or_default().into(),
            counted
                .map(|(at, entry)| Words::new().link(Place::Entry(entry), at.date().to_string()))
                .unwrap_or_default(),
            used.into(),
        ];
        table.push(cells, vec![("item", line.id.to_string()), ("state", line.state.as_str().to_owned())]);
    }
    table
}

/// How many of the last changes an item's sheet shows.
const LATEST: usize = 40;

/// Shows one item: how it stands, what is on order, what happened to it.
pub fn item_sheet(answer: &Answer<Stores<'_>>, line: &StoreLine<'_>) -> Sheet {
    let mut sheet = Sheet::new(line.name);
    sheet.say(marked(line.state));
    sheet.lead(line.why.as_str());
    sheet.push(Block::Facts(facts(line)));
    if !line.orders.is_empty() {
        sheet.heading("On order");
        sheet.push(Block::Table(orders(line)));
    }
    sheet.heading("What happened to it");
    sheet.push(Block::Table(changes(line.stock)));
    sheet.because(answer.because.iter().map(common::ground));
    sheet
}

fn facts(line: &StoreLine<'_>) -> Vec<(String, Words)> {
    let mut facts = vec![
        ("There".to_owned(), line.count().map_or("never counted".into(), |count| count.to_string().into())),
        (
            "At least".to_owned(),
            Words::new().plain(line.minimum.to_string()).quiet(if line.minimum_of_type {
                " by the case list of the machine type"
            } else {
                ""
            }),
        ),
        ("On order".to_owned(), line.on_order().to_string().into()),
    ];
    if let Some(stock) = line.stock {
        facts.push(("Where".to_owned(), places(stock).into()));
        facts.push(("Used a month".to_owned(), format!("{:.1}", line.used.per_month()).into()));
    }
    if let Some(need) = &line.need {
        facts.push((
            format!("Enough for {} days", need.days),
            Words::new()
                .strong(need.hold.to_string())
                .quiet(format!(", {:.1} wanted on average", need.expected)),
        ));
        facts.push(("That it runs out before".to_owned(), need.lasts.complement().in_words().into()));
    }
    if let Some(deeds) = line.deeds_to_come {
        facts.push(("Care until then that uses it".to_owned(), format!("{deeds:.0} times").into()));
    }
    let days = wording::counted(line.lead.days as usize, "day");
    let lead = match line.lead.rests {
        LeadRests::Orders(1) => format!("{days}, as the last order did"),
        LeadRests::Orders(n) => format!("{days}, the longest of the last {}", wording::counted(n, "order")),
        LeadRests::Type => format!("{days}, as the machine type says"),
        LeadRests::Usual => format!("{days}, for want of anything better"),
    };
    facts.push(("An order takes".to_owned(), lead.into()));
    if let Some(depot) = line.depot {
        facts.push(("A depot keeps".to_owned(), depot.into()));
    }
    facts
}

fn orders(line: &StoreLine<'_>) -> Table {
    let heads = ["Order", "From", "#Ordered", "#Came", "Expected"];
    let mut table = Table::new("On order", &heads, "Nothing is on order.").tight();
    for (id, order) in &line.orders {
        let cells = vec![
            Words::new().link(Place::Entry(order.ordered.1), id.order.as_str()),
            order.supplier.as_str().into(),
            order.count.to_string().into(),
            order.received.to_string().into(),
            order.expected.map(|day| day.to_string()).unwrap_or_default().into(),
        ];
        table.push(cells, vec![("order", id.order.to_string())]);
    }
    table
}

fn changes(stock: Option<&StockItem>) -> Table {
    let heads = ["When", "What", "#How many", "#Left"];
    let mut table = Table::new("The latest changes", &heads, "Nothing is written down yet.").tight();
    for change in stock.iter().flat_map(|stock| stock.changes.iter().rev()).take(LATEST) {
        let deed = match change.deed {
            StockDeed::Counted => "counted",
            StockDeed::Used => "used",
            StockDeed::Received => "came in",
            StockDeed::Moved => "moved",
        };
        let cells = vec![
            Words::new().link(Place::Entry(change.entry), change.at.date().to_string()),
            deed.into(),
            change.count.to_string().into(),
            change.left.to_string().into(),
        ];
        table.push(cells, vec![("entry", change.entry.to_string())]);
    }
    table
}

/// Says which spares lack for the next evening, for the page of tonight; none where none does.
pub fn no_spare(packing: &[Packing<'_>]) -> Option<Words> {
    let lacking: Vec<&Packing<'_>> =
        packing.iter().filter(|one| one.there.is_some_and(|there| there <= 0)).collect();
    let first = lacking.first()?;
    let mut words =
        Words::new().plain("Nothing in the case of: ").link(Place::StoreItem(first.id.clone()), first.name);
    for one in &lacking[1..] {
        words = words.plain(", ").link(Place::StoreItem(one.id.clone()), one.name);
    }
    Some(words.plain(". ").link(Place::Stores, "Stores"))
}

/// The stores as JSON.
pub fn json(answer: &Answer<Stores<'_>>) -> Value {
    let stores = &answer.value;
    json!({
        "today": stores.today,
        "service": stores.wish.service,
        "items": stores.lines.iter().map(line_json).collect::<Vec<_>>(),
        "case": stores.packing.iter().map(packing_json).collect::<Vec<_>>(),
        "because": answer.because,
        "caveats": answer.caveats,
    })
}

/// The shopping list as JSON.
pub fn shopping_json(answer: &Answer<Stores<'_>>) -> Value {
    let stores = &answer.value;
    json!({
        "today": stores.today,
        "service": stores.wish.service,
        "shopping": stores.shopping().into_iter().map(line_json).collect::<Vec<_>>(),
        "because": answer.because,
        "caveats": answer.caveats,
    })
}

/// One item as JSON.
pub fn line_json(line: &StoreLine<'_>) -> Value {
    let kind = match line.kind {
        ItemKind::Spare => "spare",
        ItemKind::Consumable => "consumable",
        ItemKind::Other => "other",
    };
    json!({
        "item": line.id,
        "name": line.name,
        "kind": kind,
        "state": line.state,
        "count": line.count(),
        "minimum": line.minimum,
        "minimum_of_type": line.minimum_of_type,
        "on_order": line.on_order(),
        "expected": line.expected(),
        "orders": line.orders.iter().map(|(id, order)| json!({
            "order": id.order,
            "supplier": order.supplier,
            "ordered": order.count,
            "received": order.received,
            "expected": order.expected,
        })).collect::<Vec<_>>(),
        "places": line.stock.map(|stock| stock.places().map(|(place, count)| json!({ "place": place, "count": count })).collect::<Vec<_>>()),
        "counted": line.stock.and_then(|stock| stock.counted).map(|(at, _)| crate::json::moment(at)),
        "in_use": line.in_use,
        "used_in_all": line.used.in_all,
        "used_missing_at_counts": line.used.missing,
        "used_per_month": line.used.per_month(),
        "care_deeds_to_come": line.deeds_to_come,
        "lead_days": line.lead.days,
        "lead_rests_on": match line.lead.rests {
            LeadRests::Orders(_) => "orders",
            LeadRests::Type => "type",
            LeadRests::Usual => "usual",
        },
        "need": line.need.as_ref().map(|need| json!({
            "horizon_days": need.days,
            "enough": need.hold,
            "lasts_chance": need.lasts,
            "expected_use": need.expected,
            "planned_changes": need.planned,
            "rests_on": match need.rests {
                NeedRests::Lives(rests) => json!({
                    "kind": "lives",
                    "failures": rests.failures,
                    "lives": rests.lives,
                    "share_from_data": rests.from_data,
                }),
                NeedRests::Record(used) => json!({ "kind": "record", "used": used }),
                NeedRests::Plan => json!({ "kind": "plan" }),
            },
        })),
        "order_now": line.order_now,
        "why": line.why,
    })
}

fn packing_json(one: &Packing<'_>) -> Value {
    json!({
        "item": one.id,
        "name": one.name,
        "carry": one.carry,
        "there": one.there,
        "lacks": one.lacks(),
        "places": one.places.iter().map(|(place, count)| json!({ "place": place, "count": count })).collect::<Vec<_>>(),
        "machines": one.machines,
    })
}
