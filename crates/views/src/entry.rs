//! One entry of the logbook in words: what kind of thing it says, and what it says, in a line.

mod case;

use crate::{
    address::Place,
    common,
    film_path::outcome,
    sheet::Table,
    wording,
    words::{Mark, Words},
};
use jiff::civil::Date;
use logbook::{
    Booth, Entry, Fact,
    fact::{About, Ending, Fitness, PlanPinned, RunKind, ShowMark},
    ids::{ItemId, MachineId},
};
use machine::{Library, MachineType};

/// The name of a kind, as people read it.
pub fn kind_name(kind: &str) -> &str {
    match kind {
        "booth-named" => "The booth",
        "person-added" => "A person",
        "place-added" => "A place",
        "machine-added" => "A machine came",
        "machine-changed" => "A machine's particulars",
        "machine-retired" => "A machine went",
        "ran" => "A run",
        "meter-read" => "The hour meter",
        "meter-replaced" => "The hour meter changed",
        "part-fitted" => "A part fitted",
        "part-moved" => "A part moved",
        "part-removed" => "A part came out",
        "care-done" => "Care",
        "care-deferred" => "Care put off",
        "reading" => "A reading",
        "showing-planned" => "A showing in the diary",
        "showing-held" => "A showing held",
        "showing-cancelled" => "A showing cancelled",
        "stoppage" => "A stoppage",
        "fault-opened" => "A fault",
        "fault-noted" => "More about a fault",
        "fault-answered" => "An answer at a fault",
        "fault-tried" => "A remedy tried",
        "fault-marked" => "A fault's case",
        "repair-requested" => "A request for repair",
        "fault-closed" => "A fault dealt with",
        "fitness-set" => "May it be used?",
        "machine-event" => "An event",
        "print-added" => "A print",
        "print-inspected" => "A print inspected",
        "print-handled" => "A print on its way",
        "setup-kept" => "A hall's set-up",
        "programme-kept" => "A programme",
        "show-marked" => "A running show",
        "plan-pinned" => "A pin of the service plan",
        "stock-counted" => "Stock counted",
        "stock-ordered" => "Stock ordered",
        "stock-received" => "Stock came in",
        "stock-used" => "Stock used",
        "stock-moved" => "Stock moved",
        "noted" => "A note",
        "withdraws" => "A withdrawal",
        "corrects" => "A correction",
        other => other,
    }
}

/// What the words of an entry may look up.
#[derive(Clone, Copy)]
pub struct Names<'a> {
    /// The booth.
    pub booth: &'a Booth,
    /// The machine types.
    pub library: &'a Library,
}

impl Names<'_> {
    fn machine(&self, id: &MachineId) -> String {
        common::machine_name(self.booth, id.as_str())
    }

    fn kind_of(&self, id: &MachineId) -> Option<&MachineType> {
        self.library.get(self.booth.machines.get(id)?.machine_type.as_str())
    }

    fn task(&self, machine: &MachineId, task: &str) -> String {
        let known = self.kind_of(machine).and_then(|kind| kind.task(task));
        known.map_or_else(|| task.to_owned(), |task| task.name.clone())
    }

    fn slot(&self, machine: &MachineId, slot: &str) -> String {
        let known = self.kind_of(machine).and_then(|kind| kind.part(slot));
        known.map_or_else(|| slot.to_owned(), |part| part.name.clone())
    }

    fn quantity(&self, machine: &MachineId, quantity: &str) -> String {
        let known = self.kind_of(machine).and_then(|kind| kind.limit(quantity));
        known.map_or_else(|| quantity.to_owned(), |limit| limit.name.clone())
    }

    fn item(&self, id: &ItemId) -> String {
        self.booth.stock.get(id).map_or_else(|| id.to_string(), |item| item.name.clone())
    }

    fn showing(&self, id: &str) -> String {
        self.booth.showings.get(id).map_or_else(|| id.to_owned(), |showing| showing.title.clone())
    }

    fn print(&self, id: &str) -> String {
        self.booth.prints.get(id).map_or_else(|| id.to_owned(), |print| print.title.clone())
    }

    fn fault(&self, id: &str) -> String {
        self.booth.faults.get(id).map_or_else(|| id.to_owned(), |fault| fault.words.clone())
    }
}

/// Says in a line what a fact says.
pub fn in_words(fact: &Fact, names: Names<'_>) -> String {
    match fact {
        Fact::BoothNamed(named) => format!("{}, in the time zone {}", named.name, named.zone),
        Fact::PersonAdded(person) => person.name.clone(),
        Fact::PlaceAdded(place) => with_note(place.name.clone(), &place.notes),
        Fact::MachineAdded(added) => format!("{} ({})", added.name, added.machine_type),
        Fact::MachineChanged(changed) => {
            let new = [
                changed.name.as_deref(),
                changed.machine_type.as_ref().map(logbook::ids::TypeId::as_str),
                changed.serial.as_deref(),
                changed.place.as_ref().map(logbook::PlaceId::as_str),
            ];
            format!(
                "{}: now {}",
                names.machine(&changed.machine),
                new.into_iter().flatten().collect::<Vec<_>>().join(", ")
            )
        }
        Fact::MachineRetired(retired) => format!("{}: {}", names.machine(&retired.machine), retired.why),
        Fact::Ran(ran) => ran_in_words(ran, names),
        Fact::MeterRead(read) => {
            format!(
                "{}: the meter shows {}",
                names.machine(&read.machine),
                wording::meter(read.reading_hours)
            )
        }
        Fact::MeterReplaced(replaced) => format!(
            "{}: the meter goes on from {}",
            names.machine(&replaced.machine),
            wording::hours(replaced.new_reading_hours)
        ),
        _ => in_more_words(fact, names),
    }
}

/// Parts, care, readings, showings, faults and the rest.
fn in_more_words(fact: &Fact, names: Names<'_>) -> String {
    match fact {
        Fact::PartFitted(fitted) => {
            let old = fitted.replaces.as_ref().map(|old| format!("; the old one {}", ending(old.why)));
            let at = names.slot(&fitted.machine, fitted.slot.as_str());
            let said = format!("{}: {at} fitted{}", names.machine(&fitted.machine), old.unwrap_or_default());
            with_note(said, &fitted.note)
        }
        Fact::PartMoved(moved) => {
            let at = names.slot(&moved.machine, moved.slot.as_str());
            format!("{} moved to {}, {at}", moved.part, names.machine(&moved.machine))
        }
        Fact::PartRemoved(removed) => {
            with_note(format!("{} came out: {}", removed.part, ending(removed.why)), &removed.note)
        }
        Fact::CareDone(done) => {
            let task = names.task(&done.machine, done.task.as_str());
            with_note(
                format!("{}: {task}, {}", names.machine(&done.machine), outcome(done.outcome)),
                &done.note,
            )
        }
        Fact::CareDeferred(put_off) => {
            let task = names.task(&put_off.machine, put_off.task.as_str());
            format!("{}: {task} put off. {}", names.machine(&put_off.machine), put_off.why)
        }
        Fact::Reading(read) => {
            let what = names.quantity(&read.machine, read.quantity.as_str());
            format!("{}: {what} {} {}", names.machine(&read.machine), read.value, read.unit)
        }
        Fact::ShowingPlanned(planned) => {
            format!("{}, {}", planned.title, planned.starts.strftime("%a %-d %b %Y %H:%M"))
        }
        Fact::ShowingHeld(held) => {
            let showing = names.showing(held.showing.as_str());
            with_note(format!("{showing}, lasted {}", wording::minutes(held.lasted_minutes)), &held.note)
        }
        Fact::ShowingCancelled(cancelled) => {
            format!("{}: {}", names.showing(cancelled.showing.as_str()), cancelled.why)
        }
        _ => in_other_words(fact, names),
    }
}

fn in_other_words(fact: &Fact, names: Names<'_>) -> String {
    match fact {
        Fact::Stoppage(stoppage) => {
            let machine = stoppage.machine.as_ref().map(|id| format!("{}: ", names.machine(id)));
            format!("{}dark for {:.0}. {}", machine.unwrap_or_default(), stoppage.dark_seconds, stoppage.what)
        }
        Fact::FaultOpened(fault) => {
            let at =
                fault.slot.as_ref().map(|slot| format!(", {}", names.slot(&fault.machine, slot.as_str())));
            format!("{}{}: {}", names.machine(&fault.machine), at.unwrap_or_default(), fault.words)
        }
        Fact::FaultNoted(noted) => format!("{}: {}", names.fault(noted.fault.as_str()), noted.words),
        Fact::FaultClosed(closed) => {
            let said = format!("{}: {}", names.fault(closed.fault.as_str()), closed.cause);
            with_note(said, &closed.cure)
        }
        Fact::FaultAnswered(_) | Fact::FaultTried(_) | Fact::FaultMarked(_) | Fact::RepairRequested(_) => {
            case::in_words(fact, names)
        }
        Fact::FitnessSet(set) => {
            format!("{}: {}. {}", names.machine(&set.machine), fitness(set.fitness), set.why)
        }
        Fact::MachineEvent(event) => {
            let words = machine::Trigger::from_word(&event.event)
                .map_or(event.event.clone(), machine::Trigger::in_words);
            with_note(format!("{}: {words}", names.machine(&event.machine)), &event.note)
        }
        Fact::PrintAdded(print) => with_note(format!("{} ({})", print.title, print.gauge), &print.note),
        Fact::PrintInspected(inspected) => {
            let said = format!(
                "{}, reel {}: {}",
                names.print(inspected.print.as_str()),
                inspected.reel,
                crate::prints::found_in_short(&inspected.found)
            );
            with_note(said, &inspected.note)
        }
        Fact::PrintHandled(handled) => {
            let deed = crate::prints::deed_in_words(handled.deed, &handled.whom);
            with_note(format!("{} {deed}", names.print(handled.print.as_str())), &handled.note)
        }
        Fact::SetupKept(kept) => {
            let place = names.booth.places.get(&kept.place);
            let name = place.map_or_else(|| kept.place.to_string(), |place| place.name.clone());
            let values = kept.values.iter().map(|(key, value)| format!("{key} {value}"));
            with_note(format!("{name}: {}", values.collect::<Vec<_>>().join(", ")), &kept.note)
        }
        Fact::ProgrammeKept(kept) => {
            let titles: Vec<&str> = kept.items.iter().map(|item| item.title.as_str()).collect();
            with_note(format!("{}: {}", kept.title, titles.join(", ")), &kept.note)
        }
        Fact::PlanPinned(pin) => with_note(pin_in_words(pin, names), &pin.note),
        Fact::ShowMarked(marked) => {
            let on = marked.machine.as_ref().map(|id| format!(", {}", names.machine(id)));
            let showing = names.showing(marked.showing.as_str());
            let said = format!("{showing}: {}, reel {}", mark(marked.mark), marked.reel);
            with_note(said + &on.unwrap_or_default(), &marked.note)
        }
        Fact::StockCounted(counted) => {
            let name = counted.name.clone().unwrap_or_else(|| names.item(&counted.item));
            let only = counted.only_in.as_ref().map(|place| format!(" in {place}")).unwrap_or_default();
            format!("{name}: {} there{only}", counted.count)
        }
        Fact::StockOrdered(ordered) => {
            let supplier = if ordered.supplier.is_empty() {
                String::new()
            } else {
                format!(" from {}", ordered.supplier)
            };
            let expected = ordered.expected.map(|day| format!(", expected on {day}")).unwrap_or_default();
            let said =
                format!("{}: {} ordered{supplier}{expected}", names.item(&ordered.item), ordered.count);
            with_note(said, &ordered.note)
        }
        Fact::StockReceived(received) => {
            let last = if received.closes { "; no more comes of that order" } else { "" };
            let said = format!("{}: {} came in{last}", names.item(&received.item), received.count);
            with_note(said, &received.note)
        }
        Fact::StockUsed(used) => {
            let on = used.machine.as_ref().map(|machine| format!(" for {}", names.machine(machine)));
            let said = format!("{}: {} used{}", names.item(&used.item), used.count, on.unwrap_or_default());
            with_note(said, &used.note)
        }
        Fact::StockMoved(moved) => {
            let from = moved.from.as_ref().map(|place| format!(" from {place}")).unwrap_or_default();
            format!("{}: {} moved{from} to {}", names.item(&moved.item), moved.count, moved.to)
        }
        Fact::Noted(noted) => match &noted.about {
            Some(About::Machine(machine)) => format!("{}: {}", names.machine(machine), noted.words),
            _ => noted.words.clone(),
        },
        Fact::Withdraws(withdraws) => format!("takes an entry back: {}", withdraws.why),
        Fact::Corrects(corrects) => with_note(in_words(&corrects.with, names), &corrects.why),
        Fact::Unknown(unknown) => format!("written by a newer program: {}", unknown.body),
        _ => fact.kind().to_owned(),
    }
}

fn ran_in_words(ran: &logbook::fact::Ran, names: Names<'_>) -> String {
    let what = match ran.run {
        RunKind::Showing => "a showing",
        RunKind::Rehearsal => "a rehearsal",
        RunKind::Test => "a test",
        RunKind::Rewind => "rewinding",
    };
    let guess = if ran.estimated { ", estimated" } else { "" };
    format!("{}: {what}, {}{guess}", names.machine(&ran.machine), wording::hours(ran.hours))
}

fn with_note(said: String, note: &str) -> String {
    if note.is_empty() { said } else { format!("{said} — {note}") }
}

const fn ending(ending: Ending) -> &'static str {
    match ending {
        Ending::Failed => "failed",
        Ending::Worn => "was worn past use",
        Ending::Planned => "was changed as planned",
        Ending::Borrowed => "was taken for another use",
        Ending::Damaged => "was broken by something else",
        Ending::Unknown => "ended in a way nobody wrote down",
    }
}

fn pin_in_words(pin: &PlanPinned, names: Names<'_>) -> String {
    let machine = names.machine(&pin.machine);
    match (&pin.showing, &pin.task, pin.on) {
        (Some(showing), ..) => format!("{machine} runs at {}", names.showing(showing.as_str())),
        (None, Some(task), Some(on)) => {
            format!(
                "{machine}: {} on {}",
                names.task(&pin.machine, task.as_str()),
                on.strftime("%a %-d %b %Y")
            )
        }
        _ => format!("{machine}: nothing is fixed"),
    }
}

/// What happened in a running show, in words.
pub const fn mark(mark: ShowMark) -> &'static str {
    match mark {
        ShowMark::Started => "picture on the screen",
        ShowMark::ChangedOver => "changed over",
        ShowMark::ReelEnded => "reel ended",
        ShowMark::Paused => "paused",
        ShowMark::Stopped => "stopped",
        ShowMark::Resumed => "on again",
        ShowMark::Ended => "the end",
    }
}

const fn fitness(fitness: Fitness) -> &'static str {
    match fitness {
        Fitness::Fit => "fit",
        Fitness::Limited => "fit within limits",
        Fitness::Unfit => "not to be used until mended",
        Fitness::Danger => "dangerous, quarantined",
    }
}

/// Lists entries, as they come.
pub fn table<'e>(entries: impl Iterator<Item = &'e Entry>, names: Names<'_>, today: Date) -> Table {
    let heads = ["When", "What", "Said", "Who"];
    let mut table = Table::new("Entries", &heads, "No entry fits.").tight();
    for entry in entries {
        let kind = kind_name(entry.fact.kind());
        let what = match entry.fact {
            Fact::Corrects(_) | Fact::Withdraws(_) => Words::new().mark_as(Mark::Attention, kind),
            _ => kind.into(),
        };
        let cells = vec![
            Words::new().link(Place::Entry(entry.id), wording::moment(entry.happened, today)),
            what,
            in_words(&entry.fact, names).into(),
            common::person_name(names.booth, &entry.by).into(),
        ];
        table.push(cells, vec![("entry", entry.id.to_string()), ("kind", entry.fact.kind().to_owned())]);
    }
    table
}
