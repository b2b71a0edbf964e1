//! What the machine types in use name to be kept: spares and consumables.

use logbook::Booth;
use machine::{Library, MachineType, Spare};
use rustc_hash::FxHashSet;

/// What sort of thing an item is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ItemKind {
    /// Something that is fitted.
    Spare,
    /// Something that care uses up.
    Consumable,
    /// Something that the booth keeps and no machine type names.
    Other,
}

/// A spare or consumable as a machine type names it.
#[derive(Clone, Copy, Debug)]
pub struct Named<'a> {
    /// Its id.
    pub id: &'a str,
    /// Its name in plain words.
    pub name: &'a str,
    /// What sort of thing it is.
    pub kind: ItemKind,
    /// The slot it fits first.
    pub slot: Option<&'a str>,
    /// The spare, if it is one.
    pub spare: Option<&'a Spare>,
}

/// The types of the machines that have not left, each once, in the order of the machines.
pub(super) fn types_in_use<'a>(booth: &Booth, library: &'a Library) -> Vec<&'a MachineType> {
    let mut seen = FxHashSet::default();
    let here = booth.machines.values().filter(|machine| machine.retired.is_none());
    here.map(|machine| machine.machine_type.as_str())
        .filter(|id| seen.insert(*id))
        .filter_map(|id| library.get(id))
        .collect()
}

/// Returns every spare and consumable that the types of the booth's machines name, each once: spares first.
pub fn named_by_types<'a>(booth: &Booth, library: &'a Library) -> Vec<Named<'a>> {
    let types = types_in_use(booth, library);
    let spares = types.iter().flat_map(|kind| &kind.spares).map(|spare| Named {
        id: spare.id.as_str(),
        name: &spare.name,
        kind: ItemKind::Spare,
        slot: spare.fits.first().map(machine::SlotId::as_str),
        spare: Some(spare),
    });
    let consumables = types.iter().flat_map(|kind| &kind.consumables).map(|consumable| Named {
        id: consumable.id.as_str(),
        name: &consumable.name,
        kind: ItemKind::Consumable,
        slot: None,
        spare: None,
    });
    let mut seen = FxHashSet::default();
    spares.chain(consumables).filter(|named| seen.insert(named.id)).collect()
}
