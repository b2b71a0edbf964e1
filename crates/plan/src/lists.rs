//! The model's lists with every name turned into a place in a list.

use crate::check::Ids;
use crate::model::Model;
use crate::pins::Pins;
use crate::problem::{Able, Bench, Chance, Group, Job, Mach, Show};
use crate::ways::Ways;
use std::collections::BTreeMap;
use units::Hours;

/// Lists the showings in the order of time, each with the machines that may run there.
pub(crate) fn shows(model: &Model, ids: &Ids<'_>, ways: &Ways, pins: &Pins) -> Vec<Show> {
    let mut order: Vec<usize> = (0..model.showings.len()).collect();
    order.sort_by_key(|&it| (model.showings[it].starts, it));
    let one = |of_model: usize| {
        let showing = &model.showings[of_model];
        let place = ids.places[showing.place.as_str()];
        let run = whole_minutes(showing.running_hours);
        let fixed = |machine: usize| pins.runs.contains(&(of_model, machine));
        let pinned = (0..model.machines.len()).filter(|&machine| fixed(machine)).count();
        let able = |machine: usize| {
            let it = &model.machines[machine];
            let may = it.fit && showing.needs.iter().all(|need| it.can.contains(need));
            let way = ways.between(ids.places[it.home.as_str()], place);
            let out = pins.stays_out.contains(&(of_model, machine))
                || (pinned >= showing.machines && !fixed(machine));
            way.filter(|_| may && !out).map(|(minutes, cost)| Able {
                machine,
                at: 0,
                journeys: 2.0 * cost,
                base_risk: showing.stoppage_cost.0 * run as f64 / 60.0 * it.stoppages_per_hour,
                fixed: fixed(machine),
                away: (showing.starts.0 - minutes, showing.ends.0 + minutes),
            })
        };
        Show {
            starts: showing.starts.0,
            ends: showing.ends.0,
            place,
            run,
            seats: showing.machines,
            stoppage: showing.stoppage_cost.0,
            able: (0..model.machines.len()).filter_map(able).collect(),
            of_model,
        }
    };
    order.into_iter().map(one).collect()
}

/// Lists the slots in the order of time, and where each stands in the model.
pub(crate) fn benches(model: &Model, ids: &Ids<'_>, ways: &Ways) -> (Vec<Bench>, Vec<usize>) {
    let mut order: Vec<usize> = (0..model.slots.len()).collect();
    order.sort_by_key(|&it| (model.slots[it].starts, it));
    let one = |&of_model: &usize| {
        let slot = &model.slots[of_model];
        let place = ids.places[slot.place.as_str()];
        // Nobody can come where no way leads: the slot has no minutes then.
        let way = slot
            .comes_from
            .as_ref()
            .map_or(Some((0, 0.0)), |from| ways.between(ids.places[from.as_str()], place));
        let (way_minutes, way_cost) = way.unwrap_or((slot.minutes.0 + 1, 0.0));
        Bench {
            starts: slot.starts.0,
            ends: slot.starts.0 + slot.minutes.0,
            minutes: slot.minutes.0 - 2 * way_minutes,
            way: 2 * way_minutes,
            opening: slot.cost.0 + 2.0 * way_cost,
            of_model,
        }
    };
    (order.iter().map(one).collect(), order)
}

/// Lists the work, in the order of the model.
pub(crate) fn jobs(
    model: &Model,
    ids: &Ids<'_>,
    pins: &Pins,
    benches: &[Bench],
    bench_order: &[usize],
) -> Vec<Job> {
    let one = |(at, work): (usize, &crate::model::Work)| {
        let machine = ids.machines[work.machine.as_str()];
        let needed = work
            .preparation
            .as_ref()
            .map_or(0, |id| model.preparations[ids.preparations[id.as_str()]].minutes.0);
        let slot = |bench: usize| {
            let slot = &model.slots[bench_order[bench]];
            let fixed = pins.done_in.contains(&(at, bench_order[bench]));
            let out = pins.not_in.contains(&(at, bench_order[bench]))
                || (pins.nowhere_else.contains(&at) && !fixed);
            let may = slot.place == model.machines[machine].home
                && slot.level >= work.level
                && benches[bench].minutes >= work.minutes.0 + needed;
            (may && !out).then_some(Chance {
                slot: bench,
                cost: work.cost.0 + work.minutes.0 as f64 * slot.cost_per_minute.0,
                fixed,
            })
        };
        let risk: Vec<_> =
            work.risk.iter().map(|it| (it.hours.as_minutes(), it.stoppages_per_hour)).collect();
        let hours_matter = work.minds_hours();
        Job {
            machine,
            minutes: work.minutes.0,
            preparation: work.preparation.as_ref().map(|id| ids.preparations[id.as_str()]),
            since: whole_minutes(work.hours_since),
            limit: work.limit_hours.map(whole_minutes),
            due: work.due_by.map(|due| due.0),
            holds: work.limit_minutes.map(|limit| limit.0),
            life: work.life.map(|life| (life.hours.as_minutes(), life.cost.0)),
            left: work.cost_per_hour_left.0 / 60.0,
            slots: (0..benches.len()).filter_map(slot).collect(),
            runs_matter: hours_matter
                || work.due_by.is_some()
                || work.limit_minutes.is_some()
                || risk.first().is_some_and(|&(_, rate)| rate > 0.0),
            hours_matter,
            risk,
        }
    };
    model.work.iter().enumerate().map(one).collect()
}

/// Lists the machines, and tells each showing where it stands among each machine's.
pub(crate) fn machines(model: &Model, shows: &mut [Show], jobs: &[Job]) -> Vec<Mach> {
    let none = || Mach { shows: Vec::new(), able_at: Vec::new(), work: Vec::new(), clashes: false };
    let mut machines: Vec<Mach> = model.machines.iter().map(|_| none()).collect();
    for (show, it) in shows.iter_mut().enumerate() {
        for (place, able) in it.able.iter_mut().enumerate() {
            let machine = &mut machines[able.machine];
            able.at = machine.shows.len();
            machine.shows.push(show);
            machine.able_at.push(place);
        }
    }
    for (job, it) in jobs.iter().enumerate() {
        machines[it.machine].work.push(job);
    }
    for machine in &mut machines {
        let mut latest: Option<i64> = None;
        for (at, &show) in machine.shows.iter().enumerate() {
            let away = shows[show].able[machine.able_at[at]].away;
            machine.clashes |= latest.is_some_and(|latest| away.0 < latest);
            latest = latest.max(Some(away.1));
        }
    }
    machines
}

/// A machine that a person sent to a showing is not on the bench meanwhile.
pub(crate) fn drop_slots_taken_by_pins(
    shows: &[Show],
    benches: &[Bench],
    machines: &[Mach],
    jobs: &mut [Job],
) {
    for job in jobs {
        let machine = &machines[job.machine];
        let fixed: Vec<_> = machine
            .shows
            .iter()
            .zip(&machine.able_at)
            .map(|(&show, &able)| &shows[show].able[able])
            .filter(|able| able.fixed)
            .map(|able| able.away)
            .collect();
        job.slots.retain(|chance| {
            let bench = &benches[chance.slot];
            chance.fixed || fixed.iter().all(|away| away.1 <= bench.starts || bench.ends <= away.0)
        });
    }
}

/// Returns the one that stands for all that are joined with it.
fn find(root: &mut [usize], it: usize) -> usize {
    let mut it = it;
    while root[it] != it {
        root[it] = root[root[it]];
        it = root[it];
    }
    it
}

/// Puts together what shares slots, directly or through others.
pub(crate) fn groups(jobs: &[Job], n_benches: usize) -> Vec<Group> {
    let mut root: Vec<usize> = (0..n_benches).collect();
    for job in jobs {
        for pair in job.slots.windows(2) {
            let (one, other) = (find(&mut root, pair[0].slot), find(&mut root, pair[1].slot));
            root[one.max(other)] = one.min(other);
        }
    }
    let mut groups: BTreeMap<usize, Group> = BTreeMap::new();
    for bench in 0..n_benches {
        let at = find(&mut root, bench);
        let none = || Group { jobs: Vec::new(), benches: Vec::new() };
        groups.entry(at).or_insert_with(none).benches.push(bench);
    }
    for (job, it) in jobs.iter().enumerate() {
        if let Some(first) = it.slots.first() {
            let at = find(&mut root, first.slot);
            groups.get_mut(&at).expect("every slot has a group").jobs.push(job);
        }
    }
    groups.into_values().filter(|group| !group.jobs.is_empty()).collect()
}

fn whole_minutes(hours: Hours) -> i64 {
    hours.as_minutes().round() as i64
}
