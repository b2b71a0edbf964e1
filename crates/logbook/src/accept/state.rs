//! What a draft must fit: the booth as it stands.

use super::{Checked, Draft, Refusal, diary, machines, must, parts, prints};
use crate::{
    Booth, Fact, When,
    booth::{Machine, OrderLineId, StockItem},
    fact::StockMoved,
    ids::{ItemId, MachineId, OrderId, PlaceId, ShowingId},
};

/// Checks a draft against the booth.
pub(super) fn check(draft: &Draft, booth: &Booth) -> Checked {
    let at = draft.happened;
    if let Some(id) = draft.fact.machine()
        && !matches!(draft.fact, Fact::MachineAdded(_) | Fact::Corrects(_) | Fact::Noted(_))
    {
        machine(booth, id, at)?;
    }
    match &draft.fact {
        Fact::MachineAdded(fact) => machines::added(booth, at, fact),
        Fact::MachineRetired(fact) => machines::retired(booth, at, fact),
        Fact::Ran(fact) => machines::ran(booth, at, &draft.by, fact),
        Fact::MeterRead(fact) => machines::meter_read(booth, at, fact),
        Fact::MeterReplaced(fact) => machines::meter_replaced(booth, at, fact),
        Fact::FitnessSet(fact) => machines::fitness_set(booth, at, &draft.by, fact),
        Fact::CareDone(fact) => fact.used.iter().try_for_each(|used| in_stock(booth, "used", &used.item)),
        Fact::CareDeferred(fact) => machines::care_deferred(booth, at, fact),
        Fact::PartFitted(fact) => parts::fitted(booth, at, fact),
        Fact::PartMoved(fact) => parts::moved(booth, at, fact),
        Fact::PartRemoved(fact) => parts::removed(booth, at, fact),
        Fact::ShowingPlanned(fact) => diary::planned(booth, fact),
        Fact::ShowingHeld(fact) => showing(booth, &fact.showing),
        Fact::ShowingCancelled(fact) => diary::cancelled(booth, fact),
        Fact::Stoppage(fact) => fact.showing.as_ref().map_or(Ok(()), |id| showing(booth, id)),
        Fact::FaultOpened(fact) => diary::fault_opened(booth, fact),
        Fact::FaultNoted(fact) => diary::fault(booth, &fact.fault).map(|_| ()),
        Fact::FaultAnswered(fact) => diary::open_fault(booth, at, &fact.fault),
        Fact::FaultTried(fact) => {
            diary::open_fault(booth, at, &fact.fault)?;
            fact.used.iter().try_for_each(|used| in_stock(booth, "used", &used.item))
        }
        Fact::FaultMarked(fact) => diary::open_fault(booth, at, &fact.fault),
        Fact::RepairRequested(fact) => diary::open_fault(booth, at, &fact.fault),
        Fact::FaultClosed(fact) => diary::fault_closed(booth, at, fact),
        Fact::PrintInspected(fact) => prints::reels(booth, &fact.print, "reel", &[fact.reel]),
        Fact::PrintHandled(fact) => prints::reels(booth, &fact.print, "reels", &fact.reels),
        Fact::SetupKept(fact) => place(booth, &fact.place),
        Fact::ShowMarked(fact) => showing(booth, &fact.showing),
        Fact::PlanPinned(fact) => fact.showing.as_ref().map_or(Ok(()), |id| showing(booth, id)),
        Fact::ProgrammeKept(fact) => {
            fact.showings.iter().try_for_each(|id| showing(booth, id))?;
            fact.machines.iter().try_for_each(|id| machine(booth, id, at).map(drop))
        }
        Fact::StockReceived(fact) => {
            fact.order.as_ref().map_or(Ok(()), |order| ordered(booth, order, &fact.item))
        }
        Fact::StockUsed(fact) => in_stock(booth, "item", &fact.item),
        Fact::StockMoved(fact) => lies_there(booth, fact),
        // The rest fits whatever is there.
        _ => Ok(()),
    }
}

/// Checks that there is such a machine and that it had not left by then.
pub(super) fn machine<'a>(booth: &'a Booth, id: &MachineId, at: When) -> Result<&'a Machine, Refusal> {
    let machine = booth.machines.get(id).ok_or_else(|| {
        let there: Vec<&str> = booth.machines.keys().map(MachineId::as_str).take(12).collect();
        let right = if there.is_empty() {
            "add the machine first".to_owned()
        } else {
            format!("one of: {}", there.join(", "))
        };
        Refusal::new("machine", format!("there is no machine “{id}” in this booth"), right)
    })?;
    match &machine.retired {
        Some((left, _)) if at.unix_ms >= left.unix_ms => Err(Refusal::new(
            "machine",
            format!("“{id}” left the booth for good on {}", left.date()),
            "if it came back, add it again; else another machine or an earlier day",
        )),
        _ => Ok(machine),
    }
}

/// Checks that a showing stands in the diary.
pub(super) fn showing(booth: &Booth, id: &ShowingId) -> Checked {
    must(booth.showings.contains_key(id), || {
        Refusal::new(
            "showing",
            format!("there is no showing “{id}” in the diary"),
            "plan it first, or leave the showing out",
        )
    })
}

/// Checks that a hall is known.
fn place(booth: &Booth, id: &PlaceId) -> Checked {
    must(booth.places.contains_key(id), || {
        Refusal::new("place", format!("there is no place “{id}” in this booth"), "add the place first")
    })
}

/// Checks that an item of stock was counted at least once, or came in.
pub(super) fn in_stock(booth: &Booth, field: &'static str, id: &ItemId) -> Checked {
    must(booth.stock.get(id).is_some_and(StockItem::is_known), || {
        Refusal::new(field, format!("nobody ever counted “{id}”"), "count it first, or leave it out")
    })
}

/// Checks that an item was ordered under that order.
fn ordered(booth: &Booth, order: &OrderId, item: &ItemId) -> Checked {
    let known = OrderLineId { order: order.clone(), item: item.clone() };
    must(booth.orders.contains_key(&known), || {
        let of_item = booth.orders.iter().filter(|(line, order)| line.item == *item && order.open() > 0);
        let open: Vec<&str> = of_item.map(|(line, _)| line.order.as_str()).take(12).collect();
        let right = if open.is_empty() {
            "leave the order out; nothing of it is on order".to_owned()
        } else {
            format!("one of: {}", open.join(", "))
        };
        Refusal::new("order", format!("“{item}” was never ordered as “{order}”"), right)
    })
}

/// Checks that as many lie where they are said to come from.
fn lies_there(booth: &Booth, fact: &StockMoved) -> Checked {
    in_stock(booth, "item", &fact.item)?;
    let Some(item) = booth.stock.get(&fact.item) else { return Ok(()) };
    let from = fact.from.as_deref().unwrap_or(&item.kept_in);
    must(from != fact.to, || Refusal::new("to", "it lies there already", "another case, shelf or van"))?;
    let there = item.places().find(|(place, _)| *place == from).map_or(0, |(_, count)| count.max(0));
    must(i64::from(fact.count) <= there, || {
        let what = format!("by this log {there} of “{}” lie in “{from}”", fact.item);
        Refusal::new("count", what, "at most so many; count it first if there are more")
    })
}
