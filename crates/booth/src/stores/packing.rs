//! What the case lists of the machines of the next evening want, and where it lies.

use super::served::Served;
use crate::due::Desk;
use logbook::ItemId;
use machine::Spare;
use rustc_hash::FxHashMap;

/// One item of the case for the next evening.
#[derive(Clone, Debug)]
pub struct Packing<'a> {
    /// The item.
    pub id: ItemId,
    /// Its name in plain words.
    pub name: &'a str,
    /// How many travel in the case.
    pub carry: u32,
    /// How many there are, wherever they lie; none: nobody ever counted.
    pub there: Option<i64>,
    /// Where they lie: place and how many.
    pub places: Vec<(&'a str, i64)>,
    /// The machines for which they travel.
    pub machines: Vec<&'a str>,
}

impl Packing<'_> {
    /// Returns how many lack; none: nobody knows.
    pub fn lacks(&self) -> Option<u32> {
        self.there.map(|there| u32::try_from(i64::from(self.carry) - there.max(0)).unwrap_or(0))
    }
}

/// The case lists of the machines that show on the next evening, what lacks first, then what nobody counted.
pub(super) fn packing<'a>(desk: &Desk<'a>, served: &Served<'a>) -> Vec<Packing<'a>> {
    let booth = desk.booth;
    let evening = desk.coming.first().map(|next| next.day.max(desk.now.day));
    let tonight =
        desk.coming.iter().take_while(|coming| evening.is_some_and(|evening| coming.day <= evening));
    let mut list: Vec<Packing<'a>> = Vec::new();
    let mut at: FxHashMap<ItemId, usize> = FxHashMap::default();
    for (machine, _) in tonight.flat_map(|coming| &coming.showing.machines) {
        let Some(about) = booth.machines.get(machine) else { continue };
        let Some(kind) = desk.kind_of(about) else { continue };
        for spare in kind.spares.iter().filter(|spare| spare.carry > 0) {
            let slot = spare.fits.first().map_or("", machine::SlotId::as_str);
            let id = served.kept_as(machine, kind, spare, slot);
            let place = *at.entry(id.clone()).or_insert_with(|| {
                list.push(pack(id, spare));
                list.len() - 1
            });
            let line = &mut list[place];
            line.carry = line.carry.max(spare.carry);
            let name = booth.machine_name(machine);
            if !line.machines.contains(&name) {
                line.machines.push(name);
            }
        }
    }
    for line in &mut list {
        if let Some(stock) = booth.stock.get(&line.id) {
            line.name = &stock.name;
            line.there = stock.is_known().then_some(stock.count);
            line.places = stock.places().filter(|(_, count)| *count > 0).collect();
        }
    }
    let rank = |line: &Packing<'_>| match line.lacks() {
        Some(lacks) if lacks > 0 => 0,
        None => 1,
        Some(_) => 2,
    };
    list.sort_by_key(rank);
    list
}

fn pack(id: ItemId, spare: &Spare) -> Packing<'_> {
    Packing {
        id,
        name: &spare.name,
        carry: spare.carry,
        there: None,
        places: Vec::new(),
        machines: Vec::new(),
    }
}
