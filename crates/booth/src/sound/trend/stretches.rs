//! A reading tells of the parts that were in the machine then: each change of one begins a stretch with a line of its
//! own.

use super::{COVERAGE, Change, Fit, TrendPoint, doubt, fit};
use crate::join;
use logbook::{Booth, EntryId, MachineId, When, booth::Machine};
use machine::{MachineType, ReadingLimit, Trigger};

/// Through fewer readings than this no line of an earlier stretch is drawn.
const FEWEST_EARLIER: usize = 3;

/// Something went into a slot that the quantity tells of.
#[derive(Clone, Debug)]
pub(super) struct PartChange {
    at: When,
    entry: EntryId,
    slot: String,
}

/// Every change of a part in some slots of a machine since it entered, in order of time; without a booth to look
/// through, only the last of each slot.
pub(super) fn part_changes(
    booth: Option<&Booth>,
    id: &MachineId,
    machine: &Machine,
    slots: &[&str],
) -> Vec<PartChange> {
    let lives = booth.into_iter().flat_map(|booth| booth.parts.values());
    let stints = lives.flat_map(|life| &life.stints).filter(|stint| stint.machine == *id);
    let fitted = stints.map(|stint| (stint.fitted, stint.entry, stint.slot.as_str()));
    let last = machine.disturbed.iter().map(|(slot, (at, entry))| (*at, *entry, slot.as_str()));
    let own = |(at, _, slot): &(When, EntryId, &str)| *at > machine.added.0 && slots.contains(slot);
    let mut all: Vec<PartChange> = fitted
        .chain(last)
        .filter(own)
        .map(|(at, entry, slot)| PartChange { at, entry, slot: slot.to_owned() })
        .collect();
    all.sort_by_key(|change| (change.at.unix_ms, change.entry));
    all.dedup_by_key(|change| change.entry);
    all
}

/// With which reading a run of baselines begins, at which place in the readings.
fn baselines<'p>(points: &'p [TrendPoint<'_>]) -> impl Iterator<Item = usize> + 'p {
    (0..points.len())
        .filter(|at| points[*at].reading.baseline && (*at == 0 || !points[*at - 1].reading.baseline))
}

/// Which reading comes first after a change.
fn first_after(points: &[TrendPoint<'_>], at: When) -> usize {
    points.iter().position(|point| point.reading.at >= at).unwrap_or(points.len())
}

/// Which reading the line begins with, and why.
pub(super) fn beginning(
    points: &[TrendPoint<'_>],
    changes: &[PartChange],
    kind: Option<&MachineType>,
) -> (usize, String) {
    let baseline = baselines(points).last();
    let part = changes.last().map(|change| (first_after(points, change.at), change));
    let day = |at: When| at.date().strftime("%-d %b %Y").to_string();
    match (baseline, part) {
        (baseline, Some((from, change))) if from > baseline.unwrap_or(0) => {
            let part =
                kind.and_then(|kind| kind.part(&change.slot)).map_or(&*change.slot, |part| &*part.name);
            (from, format!("the change of {} on {}", name_in_a_sentence(part), day(change.at)))
        }
        (Some(from), _) => (from, format!("the baseline of {}", day(points[from].reading.at))),
        (None, _) => (0, "the first reading".to_owned()),
    }
}

/// A name of a part as it stands within a sentence.
fn name_in_a_sentence(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().into_iter().flat_map(char::to_lowercase).chain(letters).collect()
}

/// The lines of the stretches before `from`.
pub(super) fn earlier(points: &[TrendPoint<'_>], from: usize, changes: &[PartChange]) -> Vec<Fit> {
    let mut cuts: Vec<usize> = changes.iter().map(|change| first_after(points, change.at)).collect();
    cuts.extend(baselines(points));
    cuts.extend([0, from]);
    cuts.retain(|cut| *cut <= from);
    cuts.sort_unstable();
    cuts.dedup();
    let stretches = cuts.windows(2).map(|ends| &points[ends[0]..ends[1]]);
    stretches.filter(|stretch| stretch.len() >= FEWEST_EARLIER).filter_map(fit).collect()
}

/// What the last repair of the machine or change of a part did.
pub(super) fn change<'a>(
    points: &[TrendPoint<'a>],
    machine: &Machine,
    changes: &[PartChange],
    limit: &ReadingLimit,
) -> Option<Change<'a>> {
    let parts = changes.last().map(|change| (change.at, change.entry));
    let repairs = machine
        .events
        .iter()
        .filter(|event| join::trigger_of_event(&event.event) == Some(Trigger::Repair))
        .map(|event| (event.at, event.entry));
    let (at, entry) = parts.into_iter().chain(repairs).max_by_key(|(at, _)| at.unix_ms)?;
    let before = points.iter().rev().find(|point| point.reading.at < at)?;
    let after = points.iter().find(|point| point.reading.at >= at)?;
    let difference = after.reading.value - before.reading.value;
    let doubt = doubt(before.reading, limit).hypot(doubt(after.reading, limit));
    Some(Change {
        at,
        entry,
        before: before.reading,
        after: after.reading,
        difference,
        clear: difference.abs() > COVERAGE * doubt,
    })
}
