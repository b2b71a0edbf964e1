//! Who may take back that a machine is dangerous.

use super::{
    Refused, correction,
    matters::{Matter, Said},
    one_by_one,
    people::Roles,
    says_danger,
};
use crate::{
    Entry, Fact,
    ids::{EntryId, MachineId},
};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeSet;

/// What a matter says about danger: of each word its entry, machine and moment.
#[derive(Default)]
struct Words {
    /// A machine is dangerous.
    danger: BTreeSet<(EntryId, MachineId, i64)>,
    /// A technician says that it is not.
    releases: BTreeSet<(EntryId, MachineId, i64)>,
}

impl Words {
    fn by(entries: &[Entry], matter: &Matter, counts: &FxHashSet<usize>, roles: &Roles) -> Self {
        let said = Said::by(entries, &matter.places, counts);
        let mut words = Self::default();
        for entry in &said.entries {
            let Fact::FitnessSet(fact) = &entry.fact else { continue };
            let word = (entry.id, fact.machine.clone(), entry.happened.unix_ms);
            let (by, written) = said.words_of(entry);
            if says_danger(&entry.fact) {
                words.danger.insert(word);
            } else if roles.is_technician(by, written) {
                words.releases.insert(word);
            }
        }
        words
    }

    /// Returns whether from here on no danger is taken back and no release is added.
    fn may_become(&self, then: &Self) -> bool {
        self.danger.is_subset(&then.danger) && then.releases.is_subset(&self.releases)
    }
}

/// Judges the settlements of one matter: of those that are no technician's, those count that leave every danger as it is.
pub(super) fn judge(
    entries: &[Entry],
    matter: &Matter,
    roles: &Roles,
    refused: &mut FxHashMap<usize, Refused>,
) {
    let says = |counts: &FxHashSet<usize>| Words::by(entries, matter, counts, roles);
    one_by_one(entries, &matter.settlements, roles, refused, says, |words, then, _| words.may_become(then));
}

/// Returns whether danger hangs on a matter: it says danger somewhere, or holds a technician's release.
pub(super) fn hangs_on(entries: &[Entry], matter: &Matter, roles: &Roles) -> bool {
    matter.places.iter().map(|place| &entries[*place]).any(|entry| {
        let words = correction(entry).unwrap_or(&entry.fact);
        matches!(words, Fact::FitnessSet(_))
            && (says_danger(words) || roles.is_technician(&entry.by, entry.recorded.unix_ms))
    })
}
