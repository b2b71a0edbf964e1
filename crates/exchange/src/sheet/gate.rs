//! The gate, tried out: every draft is accepted or refused against the booth with the drafts before it in it.
//!
//! The logbook is folded anew for each wave of drafts and not for each draft: first what rows name (machines, people,
//! places), then showings as planned and jumps of meters, then all that happened. Within a wave no draft needs another.

use super::{
    doubt::{Doubts, Severity},
    dry_run::{Ground, RowDraft},
};
use logbook::{Booth, Entry, EntryId, Fact, Refusal, accept, fold};
use std::{borrow::Cow, collections::HashMap};

/// What came through the gate.
pub(super) struct Through {
    /// The drafts in the order in which they can be written.
    pub drafts: Vec<RowDraft>,
    /// The entries that they became, in the same order; those that were refused are missing.
    pub entries: Vec<Entry>,
}

/// Sends drafts through the gate and doubts the rows of those that are refused, and of those that the fold would ask
/// about.
pub(super) fn try_out(drafts: Vec<RowDraft>, ground: &Ground<'_>, doubts: &mut Doubts) -> Through {
    let mut waves: [Vec<RowDraft>; 3] = Default::default();
    for draft in drafts {
        if let Some(wave) = waves.get_mut(wave_of(&draft.draft.fact)) {
            wave.push(draft);
        }
    }
    let mut accepted: Vec<Entry> = Vec::new();
    // What a refusal adds to an error of the row is only noise.
    let mut with_error = doubts.rows(Severity::Error);
    let mut booth = Cow::Borrowed(ground.booth);
    for wave in &waves {
        let before = accepted.len();
        for draft in wave {
            match accept(draft.draft.clone(), &booth, ground.now) {
                Ok(entry) => accepted.push(entry),
                Err(refusal) if draft.row.is_none_or(|row| with_error.insert(row)) => {
                    refused(draft, refusal, doubts);
                }
                Err(_) => {}
            }
        }
        if accepted.len() > before {
            let all = ground.entries.iter().chain(&accepted).cloned().collect();
            booth = Cow::Owned(fold(all).booth);
        }
    }
    let drafts: Vec<RowDraft> = waves.into_iter().flatten().collect();
    ask_what_the_fold_asks(&drafts, &booth, doubts);
    Through { drafts, entries: accepted }
}

/// Doubts rows whose entries the fold asks about, unless they are doubted already.
fn ask_what_the_fold_asks(drafts: &[RowDraft], booth: &Booth, doubts: &mut Doubts) {
    let rows: HashMap<EntryId, usize> =
        drafts.iter().filter_map(|draft| Some((draft.draft.id, draft.row?))).collect();
    let mut doubted = doubts.rows(Severity::Warning);
    for query in &booth.queries {
        if let Some(row) = rows.get(&query.entry)
            && doubted.insert(*row)
        {
            doubts.row(Severity::Warning, *row, query.what.clone(), query.settle.clone());
        }
    }
}

fn wave_of(fact: &Fact) -> usize {
    match fact {
        Fact::MachineAdded(_) | Fact::PersonAdded(_) | Fact::PlaceAdded(_) => 0,
        Fact::ShowingPlanned(_) | Fact::MeterReplaced(_) => 1,
        _ => 2,
    }
}

fn refused(draft: &RowDraft, refusal: Refusal, doubts: &mut Doubts) {
    let why = format!("the logbook refuses it: {}", refusal.what);
    match draft.row {
        Some(row) => doubts.row(Severity::Error, row, why, refusal.would_be_right),
        None => doubts.sheet(Severity::Error, why, refusal.would_be_right),
    }
}
