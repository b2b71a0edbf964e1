//! What the plan does not settle by itself and whoever follows it must: spares that lack, open faults, reels that must not
//! run.

use super::{
    made::{BenchSession, ServicePlan, WorkKind},
    model::{Built, Job},
};
use crate::{due::Desk, prints, stores::Served, words::many};
use jiff::civil::Date;
use logbook::{ItemId, MachineId, booth::Machine};
use machine::{CareKind, MachineType, PriorLife};
use rustc_hash::FxHashMap;

/// All of it, in sentences: what stops work, then what stops showings.
pub(super) fn heeded(built: &Built<'_>, desk: &Desk<'_>, plan: &ServicePlan<'_>) -> Vec<String> {
    let mut said = spares(built, desk, &plan.sessions);
    said.extend(faults(built, plan));
    said.extend(reels(built, desk));
    said
}

/// Work that wants a spare that will not be there: by the count, and by what is on order.
fn spares(built: &Built<'_>, desk: &Desk<'_>, sessions: &[BenchSession<'_>]) -> Vec<String> {
    let booth = built.booth;
    let served = Served::at(desk);
    let mut wanted: FxHashMap<ItemId, i64> = FxHashMap::default();
    let mut said = Vec::new();
    for session in sessions {
        let on = session.starts.date();
        for work in &session.work {
            let Some(machine) = booth.machines.get(work.machine) else { continue };
            let Some(kind) = desk.kind_of(machine) else { continue };
            for life in renewed(built, kind, machine, (work.machine, work.kind, work.what)) {
                let Some(item) = served.item_of(work.machine, machine, kind, life) else { continue };
                let taken = wanted.entry(item.clone()).or_default();
                *taken += 1;
                let there = booth.stock.get(&item).map_or(0, |stock| stock.count);
                let in_time = ordered(built, &item).filter(|(day, _)| day.is_some_and(|day| day <= on));
                let coming: i64 = in_time.map(|(_, count)| count).sum();
                if *taken > there.max(0) + coming {
                    let of_type = kind.spares.iter().find(|spare| spare.id.as_str() == item.as_str());
                    let own = booth.stock.get(&item).map(|stock| stock.name.as_str());
                    let name = own.or(of_type.map(|spare| spare.name.as_str())).unwrap_or(item.as_str());
                    said.push(format!(
                        "{}: no spare for the work of {} ({}). {}; {}.",
                        booth.machine_name(work.machine),
                        on.strftime("%-d %b"),
                        work.words.to_lowercase(),
                        lacks(name, there, *taken),
                        next(built, &item, on)
                    ));
                }
            }
        }
    }
    said
}

/// The lives that begin anew with a piece of work.
fn renewed<'k>(
    built: &Built<'_>,
    kind: &'k MachineType,
    machine: &Machine,
    (id, sort, what): (&MachineId, WorkKind, &str),
) -> Vec<&'k PriorLife> {
    let slots: Vec<&str> = match sort {
        WorkKind::Change => vec![what],
        WorkKind::Care => {
            let job = built.jobs.iter().find_map(|job| match job {
                Job::Care(item) if item.machine == id && item.task.id.as_str() == what => Some(item),
                _ => None,
            });
            let renews = job.filter(|item| item.task.kind == CareKind::Replace);
            renews.into_iter().flat_map(|item| &item.task.parts).map(machine::SlotId::as_str).collect()
        }
    };
    let first = |slot: &str| kind.lives_of(slot).find(|life| crate::lived::is_reckoned(machine, kind, life));
    slots
        .into_iter()
        .filter_map(first)
        .filter(|life| life.loss.as_ref().is_none_or(|loss| loss.spare))
        .collect()
}

/// What is on order of an item: when it is expected, if somebody said, and how many.
fn ordered<'b>(built: &'b Built<'_>, item: &'b ItemId) -> impl Iterator<Item = (Option<Date>, i64)> + 'b {
    let open = built.booth.orders.iter().filter(|(line, order)| line.item == *item && order.open() > 0);
    open.map(|(_, order)| (order.expected, i64::from(order.open())))
}

fn lacks(name: &str, there: i64, taken: i64) -> String {
    match there {
        ..=0 => format!("{name}: none there"),
        there => format!("{name}: {there} there, and this is the {} that is wanted", nth(taken)),
    }
}

fn nth(n: i64) -> String {
    match n {
        2 => "second".to_owned(),
        3 => "third".to_owned(),
        n => format!("{n}th"),
    }
}

fn next(built: &Built<'_>, item: &ItemId, after: Date) -> String {
    let first = ordered(built, item).filter_map(|(expected, _)| expected).filter(|day| *day > after).min();
    match first {
        Some(day) => format!("the next is expected on {}", day.strftime("%-d %b")),
        None if ordered(built, item).any(|(expected, _)| expected.is_none()) => {
            "one is on order, and nobody has said when it comes".to_owned()
        }
        None => "none is on order".to_owned(),
    }
}

/// Machines that stand at showings with a fault open.
fn faults(built: &Built<'_>, plan: &ServicePlan<'_>) -> Vec<String> {
    let mut said = Vec::new();
    for machine in built.booth.machines.keys() {
        let at: Vec<_> = plan
            .showings
            .iter()
            .filter(|showing| showing.machines.iter().any(|seat| seat.machine == machine))
            .collect();
        let Some(first) = at.first() else { continue };
        for (_, fault) in built.booth.open_faults(machine) {
            said.push(format!(
                "{} has an open fault (“{}”) and stands at {}, from {} on: settle it first, or choose another machine.",
                built.booth.machine_name(machine),
                crate::words::first_sentence(&fault.words),
                many(at.len(), "showing"),
                first.starts.strftime("%-d %b")
            ));
        }
    }
    said
}

/// Reels that must not run at the showings that want them, each once.
fn reels(built: &Built<'_>, desk: &Desk<'_>) -> Vec<String> {
    let mut wanted: Vec<(String, usize, String)> = Vec::new();
    for coming in &built.showings {
        for reel in prints::barred(built.booth, desk.library, coming.showing) {
            let on = reel.machine.map_or_else(String::new, |machine| format!(" on {machine}"));
            let what = format!("{}, reel {}, must not run{on}", reel.title, reel.reel);
            let day = coming.showing.starts.strftime("%-d %b").to_string();
            match wanted.iter_mut().find(|(known, ..)| *known == what) {
                Some((_, n, _)) => *n += 1,
                None => wanted.push((what, 1, day)),
            }
        }
    }
    let tell = |(what, n, first): (String, usize, String)| {
        let at = many(n, "showing");
        format!(
            "{what}: it is wanted at {at}, from {first} on. Leave it out, or find another print or machine."
        )
    };
    wanted.into_iter().map(tell).collect()
}
