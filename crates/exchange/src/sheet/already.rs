//! What of a sheet stands in the logbook already.

use super::{
    doubt::{Doubts, Severity},
    dry_run::RowDraft,
    ids::is_imported,
};
use jiff::civil::Date;
use logbook::{Entry, EntryId, Fact, MachineId, Precision};
use std::collections::{HashMap, HashSet};

/// The logbook, as far as an import must know it.
pub(super) struct Known<'e> {
    ids: HashSet<EntryId>,
    settled: HashSet<EntryId>,
    /// Imported entries that stand, by what they are about and the day.
    imported: HashMap<About<'e>, Vec<&'e Entry>>,
}

/// What an entry is about: its kind, its machine, its day.
type About<'e> = (&'static str, &'e MachineId, Date);

impl<'e> Known<'e> {
    /// Looks through the entries of a logbook.
    pub fn of(entries: &'e [Entry]) -> Self {
        let settled: HashSet<EntryId> = entries.iter().filter_map(settles).collect();
        let mut imported: HashMap<About<'e>, Vec<&'e Entry>> = HashMap::new();
        for entry in entries.iter().filter(|entry| is_imported(entry.id) && !settled.contains(&entry.id)) {
            if let Some((kind, machine)) = counted_once(&entry.fact) {
                imported.entry((kind, machine, entry.happened.date())).or_default().push(entry);
            }
        }
        Self { ids: entries.iter().map(|entry| entry.id).collect(), settled, imported }
    }

    /// Tells whether an entry stands in the logbook.
    pub fn has(&self, id: EntryId) -> bool {
        self.ids.contains(&id)
    }

    /// Tells whether an entry was withdrawn or corrected since.
    pub fn is_settled(&self, id: EntryId) -> bool {
        self.settled.contains(&id)
    }

    /// Doubts drafts that say something else of a machine and day than an earlier import did.
    ///
    /// `sheet` are the ids of all entries of this sheet: an imported entry that the sheet still has is no sign of
    /// a changed row.
    pub fn compare(&self, drafts: &[RowDraft], sheet: &HashSet<EntryId>, doubts: &mut Doubts) {
        for draft in drafts {
            let Some((kind, machine)) = counted_once(&draft.draft.fact) else { continue };
            let about = (kind, machine, draft.draft.happened.date());
            let earlier =
                self.imported.get(&about).into_iter().flatten().find(|entry| !sheet.contains(&entry.id));
            if let (Some(earlier), Some(row)) = (earlier, draft.row) {
                let why = format!(
                    "an earlier import has another {kind} of {machine} on {} (entry {}); \
                     if this row was changed since, it would count twice",
                    about.2, earlier.id
                );
                let severity = harm(earlier, draft);
                doubts.row(severity, row, why, "withdraw the earlier entry first, or leave this row out");
            }
        }
    }
}

/// Returns how grave it is that a day has another fact of the same kind: runs and part changes would count twice,
/// unless both are known to the minute and lie apart.
fn harm(earlier: &Entry, draft: &RowDraft) -> Severity {
    let apart = match (&earlier.fact, &draft.draft.fact) {
        (Fact::Ran(a), Fact::Ran(b)) => {
            let exact =
                [earlier.happened, draft.draft.happened].iter().all(|at| at.precision <= Precision::Minute);
            let between = earlier.happened.hours_until(draft.draft.happened);
            exact && (between >= a.hours || -between >= b.hours)
        }
        (Fact::MeterRead(_), _) => true,
        _ => false,
    };
    if apart { Severity::Warning } else { Severity::Error }
}

/// Returns the entry that an entry withdraws or corrects.
fn settles(entry: &Entry) -> Option<EntryId> {
    match &entry.fact {
        Fact::Withdraws(withdraws) => Some(withdraws.entry),
        Fact::Corrects(corrects) => Some(corrects.entry),
        _ => None,
    }
}

/// Returns kind and machine of facts that do harm when they are counted twice.
fn counted_once(fact: &Fact) -> Option<(&'static str, &MachineId)> {
    match fact {
        Fact::Ran(ran) => Some(("run", &ran.machine)),
        Fact::MeterRead(read) => Some(("meter reading", &read.machine)),
        Fact::PartFitted(fitted) => Some(("part change", &fitted.machine)),
        _ => None,
    }
}
