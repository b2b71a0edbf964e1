//! The gate: a draft becomes an entry, or is refused with what would be right.
//!
//! Two sets of rules. `shape` looks at the draft alone: ids, texts, numbers, dates (and `fresh` at the names that it
//! brings in). `state` looks at the booth as well: is there such a machine, is the slot free, may this person decide
//! that. What passes both raises no query of its own when it is folded, save two that only the whole can raise: that the
//! runs differ from the meter, and what a correction leads to (its effect lies in the past, which the booth no longer
//! shows; its new fact is held to the first set of rules only).
//!
//! The booth does not hold the ids of entries, so that a correction names an entry of this logbook is for the keeper
//! of the entries to check, with [`must_be_known`].

mod diary;
mod fresh;
mod guard;
mod machines;
mod parts;
mod prints;
mod shape;
mod state;

use crate::{
    Booth, Entry, Fact, When,
    ids::{DeviceId, EntryId, PersonId},
    rules,
};
use jiff::civil;

/// What a person or instrument wants to write.
#[derive(Clone, PartialEq, Debug)]
pub struct Draft {
    /// The id under which it will stand; sent again with the same id it is written once.
    pub id: EntryId,
    /// The device that writes it.
    pub device: DeviceId,
    /// When it happened.
    pub happened: When,
    /// Who writes it.
    pub by: PersonId,
    /// What it says.
    pub fact: Fact,
}

/// Why a draft was not accepted.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{what}; {would_be_right}")]
pub struct Refusal {
    /// The field at fault, as the wire names it (`hours`, `happened`).
    pub field: &'static str,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub would_be_right: String,
}

impl Refusal {
    fn new(field: &'static str, what: impl Into<String>, would_be_right: impl Into<String>) -> Self {
        Self { field, what: what.into(), would_be_right: would_be_right.into() }
    }
}

/// What a check gives.
type Checked = Result<(), Refusal>;

/// Refuses unless something holds.
fn must(holds: bool, refusal: impl FnOnce() -> Refusal) -> Checked {
    if holds { Ok(()) } else { Err(refusal()) }
}

/// The first day that a logbook may speak of. Common knowledge, no source: film was first projected in the 1890s.
const FIRST_DAY: civil::Date = civil::date(1890, 1, 1);

/// Accepts or refuses a draft against the booth as it stands at `now`.
///
/// # Errors
/// The first rule that the draft breaks, with the field, what is wrong and what would be right.
pub fn accept(draft: Draft, booth: &Booth, now: When) -> Result<Entry, Refusal> {
    check_head(&draft, now)?;
    shape::check(&draft.fact, draft.id, now)?;
    fresh::check(&draft, booth)?;
    guard::check(&draft, booth)?;
    state::check(&draft, booth)?;
    let Draft { id, device, happened, by, fact } = draft;
    Ok(Entry { id, device, happened, recorded: now, by, fact })
}

/// Checks that a correction or withdrawal names an entry of this logbook; whoever keeps the entries calls it.
///
/// # Errors
/// That the entry is not known.
pub fn must_be_known(fact: &Fact, known: &dyn Fn(EntryId) -> bool) -> Result<(), Refusal> {
    let Some(target) = fact.settles() else { return Ok(()) };
    must(known(target), || {
        Refusal::new(
            "entry",
            format!("there is no entry {target} in this logbook"),
            "name an entry as the logbook lists it",
        )
    })
}

/// Checks that a correction or withdrawal does not take a machine out of the booth by way of corrections in between;
/// whoever keeps the entries calls it with the entry that the last of them names.
///
/// # Errors
/// That the entry holds a machine in danger, or would make another machine of one.
pub fn must_keep_its_machine(
    by: &PersonId,
    fact: &Fact,
    root: EntryId,
    booth: &Booth,
) -> Result<(), Refusal> {
    match fact {
        Fact::Corrects(corrects) => guard::keeps_its_machine(booth, by, root, Some(&corrects.with)),
        Fact::Withdraws(_) => guard::keeps_its_machine(booth, by, root, None),
        _ => Ok(()),
    }
}

fn check_head(draft: &Draft, now: When) -> Checked {
    shape::id("by", draft.by.as_str())?;
    must(draft.happened.unix_ms <= now.unix_ms.saturating_add(rules::CLOCK_SKEW_MS), || {
        Refusal::new(
            "happened",
            format!("{} lies in the future", draft.happened.local().strftime("%-d %B %Y, %H:%M")),
            "a moment up to now; what is to come is written as a planned showing",
        )
    })?;
    moment("happened", draft.happened)
}

/// Checks that a moment is one that a logbook may speak of.
fn moment(field: &'static str, at: When) -> Checked {
    must(at.offset_s.unsigned_abs() <= 18 * 3600, || {
        Refusal::new(
            field,
            "the local clock is more than 18 hours from UTC",
            "the offset of the booth's time zone",
        )
    })?;
    must(at.date() >= FIRST_DAY, || {
        let what = format!("{} is before there was film", at.date());
        Refusal::new(field, what, "a day from 1890 on, with the year in four figures")
    })
}
