//! What must be settled on a machine before it runs: what a look found, and which checks come first when time is short.

use crate::due::counts;
use logbook::{
    Booth, MachineId,
    booth::{CareRecord, Machine},
    fact::Outcome,
};
use machine::{CareKind, CareTask, MachineType, Trigger};

/// What a look or a deed found to want attention, and nobody has settled since.
#[derive(Clone, Copy, Debug)]
pub struct Attention<'a> {
    /// The care task at which it was found.
    pub task: &'a CareTask,
    /// What was written down.
    pub record: &'a CareRecord,
}

/// Returns what stands open from looks at a machine, in film-path order.
///
/// A finding is settled by a later deed at the same task or in a bigger one, by a part fitted there afterwards, by a
/// fault opened afterwards at that place or at none, or by a decision afterwards whether the machine may be used.
pub fn attentions<'a>(
    booth: &'a Booth,
    kind: &'a MachineType,
    (id, machine): (&MachineId, &'a Machine),
) -> Vec<Attention<'a>> {
    let mut found: Vec<(usize, Attention<'a>)> = Vec::new();
    for (point, record) in machine.care.iter().filter(|(_, record)| record.outcome == Outcome::Attention) {
        let Some(at) = kind.task_position(point.task.as_str()) else { continue };
        let attention = Attention { task: &kind.care[at], record };
        if !is_settled(booth, kind, (id, machine), &attention) {
            found.push((at, attention));
        }
    }
    found.sort_by_key(|(at, attention)| (*at, attention.record.at));
    found.into_iter().map(|(_, attention)| attention).collect()
}

fn is_settled(
    booth: &Booth,
    kind: &MachineType,
    (id, machine): (&MachineId, &Machine),
    attention: &Attention<'_>,
) -> bool {
    let (task, at) = (attention.task, attention.record.at);
    let slot = task.stands_at().map(machine::SlotId::as_str);
    let contains = |other: &str| {
        let bigger = kind.task(other);
        other == task.id.as_str() || bigger.is_some_and(|bigger| bigger.includes.contains(&task.id))
    };
    let done = machine.care.iter().any(|(point, record)| {
        record.at > at
            && counts(record.outcome)
            && record.outcome != Outcome::Attention
            && contains(point.task.as_str())
    });
    let renewed = || {
        let part = slot.and_then(|slot| machine.fitted.get(slot)).and_then(|part| booth.parts.get(part));
        part.and_then(|life| life.stints.last()).is_some_and(|stint| stint.fitted > at)
    };
    let passed_on = || {
        booth.faults.values().any(|fault| {
            let there = fault.slot.as_ref().is_none_or(|own| Some(own.as_str()) == slot);
            fault.machine == *id && fault.opened.0 >= at && there
        })
    };
    let decided = machine.fitness.since.is_some_and(|(since, _)| since >= at);
    done || decided || renewed() || passed_on()
}

/// Chooses from checks those that matter most and fit into so many minutes, in their order along the film path.
///
/// What safety hangs on comes first, then what is looked at before every single reel, because a reel is lost by it;
/// then tests and looks, which find what would stop the show; cleaning and oiling last (common practice, no source).
pub(crate) fn weightiest<'a>(
    checks: &[(&'a MachineId, &'a CareTask)],
    minutes: f64,
) -> Vec<(&'a MachineId, &'a CareTask)> {
    let mut order: Vec<usize> = (0..checks.len()).collect();
    order.sort_by_key(|at| {
        let task = checks[*at].1;
        let looked = matches!(task.kind, CareKind::Look | CareKind::Test);
        (!task.safety, !task.answers(Trigger::EveryReel), !looked, (task.minutes() * 60.0) as i64)
    });
    let mut left = minutes;
    let mut chosen: Vec<usize> = Vec::new();
    for at in order {
        let takes = checks[at].1.minutes();
        if takes <= left {
            left -= takes;
            chosen.push(at);
        }
    }
    chosen.sort_unstable();
    chosen.into_iter().map(|at| checks[at]).collect()
}
