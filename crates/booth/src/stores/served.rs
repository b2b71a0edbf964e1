//! Which item of the stores serves which place in which machine.

use crate::{due::Desk, lived::is_reckoned, register::Register};
use logbook::{Booth, ItemId, MachineId, booth::Machine, ids::SlotId};
use machine::{Library, MachineType, PriorLife, Spare};
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// A part's place in a machine, one of the lives that may end there, and the item that is fitted then.
#[derive(Clone)]
pub(super) struct Place<'a> {
    /// The machine's place in the booth.
    pub at: usize,
    pub machine: &'a MachineId,
    pub about: &'a Machine,
    pub kind: &'a MachineType,
    pub life: &'a PriorLife,
    pub item: ItemId,
}

/// What was last drawn from the stores for each place: places of machines and of items in the booth's own lists.
#[derive(Debug, Default)]
pub(crate) struct Drawn(FxHashMap<usize, FxHashMap<SlotId, (i64, usize)>>);

impl Drawn {
    /// Finds it in one pass over the parts.
    pub fn of(booth: &Booth) -> Self {
        let mut drawn = Self::default();
        for part in booth.parts.values() {
            let (Some(item), Some(first)) = (&part.item, part.stints.first()) else { continue };
            let places = (booth.machines.get_index_of(&first.machine), booth.stock.get_index_of(item));
            let (Some(machine), Some(item)) = places else { continue };
            let slots = drawn.0.entry(machine).or_default();
            let last = slots.entry(first.slot.clone()).or_insert((first.fitted.unix_ms, item));
            if last.0 <= first.fitted.unix_ms {
                *last = (first.fitted.unix_ms, item);
            }
        }
        drawn
    }

    fn last<'a>(&self, booth: &'a Booth, machine: &MachineId, slot: &str) -> Option<&'a ItemId> {
        let (_, item) = self.0.get(&booth.machines.get_index_of(machine)?)?.get(slot)?;
        booth.stock.get_index(*item).map(|(id, _)| id)
    }
}

/// Looks up which item serves a place.
pub(crate) struct Served<'a> {
    booth: &'a Booth,
    register: Arc<Register>,
}

impl<'a> Served<'a> {
    pub fn new(booth: &'a Booth) -> Self {
        Self { booth, register: Arc::default() }
    }

    /// The same, with what was found in the booth before.
    pub fn at(desk: &Desk<'a>) -> Self {
        Self { booth: desk.booth, register: Arc::clone(&desk.register) }
    }

    /// Every place in the machines that have not left, once for each life that may end there.
    pub(super) fn places(&self, library: &'a Library) -> Vec<Place<'a>> {
        let mut places = Vec::new();
        for (at, (machine, about)) in self.booth.machines.iter().enumerate() {
            let Some(kind) = crate::join::type_of(library, about).filter(|_| about.retired.is_none()) else {
                continue;
            };
            for life in kind.lives.iter().filter(|life| is_reckoned(about, kind, life)) {
                if let Some(item) = self.item_of(machine, about, kind, life) {
                    places.push(Place { at, machine, about, kind, life, item });
                }
            }
        }
        places
    }

    /// The item that is fitted where a life ends, if it is one that is kept in stores.
    pub fn item_of(
        &self,
        machine: &MachineId,
        about: &Machine,
        kind: &MachineType,
        life: &PriorLife,
    ) -> Option<ItemId> {
        let slot = life.slot.as_str();
        if kind.spares_for(slot).next().is_some() {
            return spare_of(about, kind, life).map(|spare| self.kept_as(machine, kind, spare, slot));
        }
        self.drawn_for(machine, slot).cloned().or_else(|| self.fitting(kind, &[slot]))
    }

    /// The item under which a spare is kept for a place: the one last drawn for it; the one of the spare's own name; one
    /// of another name that fits; or else the spare's name, though nothing of it is there.
    pub fn kept_as(&self, machine: &MachineId, kind: &MachineType, spare: &Spare, slot: &str) -> ItemId {
        let of_another = |item: &ItemId| {
            kind.spares_for(slot).any(|other| other.id.as_str() == item.as_str() && other.id != spare.id)
        };
        if let Some(drawn) = self.drawn_for(machine, slot).filter(|item| !of_another(item)) {
            return drawn.clone();
        }
        if self.booth.stock.contains_key(spare.id.as_str()) {
            return ItemId::new(spare.id.as_str());
        }
        let slots: Vec<&str> = spare.fits.iter().map(machine::SlotId::as_str).collect();
        self.fitting(kind, &slots).unwrap_or_else(|| ItemId::new(spare.id.as_str()))
    }

    fn drawn_for(&self, machine: &MachineId, slot: &str) -> Option<&'a ItemId> {
        self.register.drawn(self.booth).last(self.booth, machine, slot)
    }

    /// An item of a name of the booth's own that fits one of these slots.
    fn fitting(&self, kind: &MachineType, slots: &[&str]) -> Option<ItemId> {
        let fits = |slot: &SlotId| slots.contains(&slot.as_str());
        let own = |id: &ItemId| kind.spares.iter().all(|spare| spare.id.as_str() != id.as_str());
        let stock = self.booth.stock.iter();
        stock
            .filter(|(id, item)| own(id) && item.slot.as_ref().is_some_and(fits))
            .map(|(id, _)| id.clone())
            .next()
    }
}

/// The spare that is fitted when a life ends. Where a part has several spares or lives (a motor its brushes, bearings
/// and capacitor), it is the one whose name speaks of the same thing.
fn spare_of<'a>(about: &Machine, kind: &'a MachineType, life: &PriorLife) -> Option<&'a Spare> {
    let slot = life.slot.as_str();
    let spares: Vec<&Spare> = kind.spares_for(slot).collect();
    if life.variant.is_empty() {
        return spares.first().copied();
    }
    let best = spares.iter().max_by_key(|spare| words_in_common(spare, life)).copied()?;
    if words_in_common(best, life) > 0 {
        return Some(best);
    }
    // A spare that nobody else claims.
    let claimed = |other: &PriorLife| {
        !std::ptr::eq(other, life) && is_reckoned(about, kind, other) && words_in_common(best, other) > 0
    };
    (spares.len() == 1 && !kind.lives_of(slot).any(claimed)).then_some(best)
}

fn words_in_common(spare: &Spare, life: &PriorLife) -> usize {
    let named: Vec<String> = stems(spare.id.as_str()).chain(stems(&spare.name)).collect();
    stems(&life.variant).filter(|stem| named.contains(stem)).count()
}

/// The beginnings of the words that tell one thing from another.
fn stems(words: &str) -> impl Iterator<Item = String> + '_ {
    const LETTERS: usize = 5;
    let words = words.split(|letter: char| !letter.is_alphanumeric()).filter(|word| word.len() > 1);
    words
        .map(|word| word.to_lowercase().chars().take(LETTERS).collect::<String>())
        .filter(|stem| !["and", "of", "or", "the", "by", "set", "on"].contains(&stem.as_str()))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// Which spare each life of the shipped types is mended with.
    #[test]
    fn lives_find_the_spare_that_speaks_of_the_same_thing() {
        let library = machine::shipped();
        let mut booth = Booth::default();
        let about = crate::stores::tests::machine("portable-16mm-halogen");
        booth.machines.insert("m".into(), about.clone());
        let kind = library.get("portable-16mm-halogen").unwrap();
        let spare = |slot: &str, variant: &str| {
            let life = kind.lives_of(slot).find(|life| life.variant == variant).unwrap();
            spare_of(&about, kind, life).map(|spare| spare.id.as_str())
        };
        assert_eq!(spare("motor", "brushes"), Some("motor-brushes"));
        assert_eq!(spare("motor", "bearings"), Some("motor-bearings"));
        assert_eq!(spare("claw", "tip"), Some("claw-tip"));
        assert_eq!(spare("claw", "cam and follower"), Some("cam"));
        assert_eq!(spare("amplifier", "smoothing capacitors"), Some("smoothing-set"));
        assert_eq!(spare("amplifier", "controls and switches"), None);
        assert_eq!(spare("photocell", "solid state"), Some("photocell"));
        let kind = library.get("booth-35mm-xenon").unwrap();
        let life = kind.lives_of("motor").find(|life| life.variant == "bearings").unwrap();
        assert!(spare_of(&about, kind, life).is_none(), "a capacitor mends no bearing");
    }
}
