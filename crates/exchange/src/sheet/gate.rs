//! The gate, tried out: every draft is accepted or refused against the booth with the drafts before it in it.
//!
//! The logbook is folded anew for each wave of drafts and not for each draft: first what rows name (machines, people,
//! places), then showings as planned, then all that happened. Within a wave no draft needs another.

use super::{
    doubt::{Doubts, Severity},
    dry_run::{Ground, RowDraft},
};
use logbook::{Booth, Entry, Fact, accept, fold};
use std::borrow::Cow;

/// Sends drafts through the gate and doubts the rows of those that are refused.
///
/// Returns the drafts in the order in which they can be written.
pub(super) fn try_out(drafts: Vec<RowDraft>, ground: &Ground<'_>, doubts: &mut Doubts) -> Vec<RowDraft> {
    let mut waves: [Vec<RowDraft>; 3] = Default::default();
    for draft in drafts {
        if let Some(wave) = waves.get_mut(wave_of(&draft.draft.fact)) {
            wave.push(draft);
        }
    }
    let mut accepted: Vec<Entry> = Vec::new();
    let mut booth = Cow::Borrowed(ground.booth);
    let last = waves.len() - 1;
    for (index, wave) in waves.iter().enumerate() {
        let before = accepted.len();
        accepted.extend(wave.iter().filter_map(|draft| try_one(draft, &booth, ground, doubts)));
        if accepted.len() > before && index < last {
            let all = ground.entries.iter().chain(&accepted).cloned().collect();
            booth = Cow::Owned(fold(all).booth);
        }
    }
    waves.into_iter().flatten().collect()
}

fn wave_of(fact: &Fact) -> usize {
    match fact {
        Fact::MachineAdded(_) | Fact::PersonAdded(_) | Fact::PlaceAdded(_) => 0,
        Fact::ShowingPlanned(_) => 1,
        _ => 2,
    }
}

fn try_one(draft: &RowDraft, booth: &Booth, ground: &Ground<'_>, doubts: &mut Doubts) -> Option<Entry> {
    match accept(draft.draft.clone(), booth, ground.now) {
        Ok(entry) => Some(entry),
        Err(refusal) => {
            let why = format!("the logbook refuses it: {}", refusal.what);
            match draft.row {
                Some(row) => doubts.row(Severity::Error, row, why, refusal.would_be_right),
                None => doubts.sheet(Severity::Error, why, refusal.would_be_right),
            }
            None
        }
    }
}
