//! What people fixed, and whether it can hold.

use crate::check::{Fault, Ids, ModelError};
use crate::model::{Model, Pin};
use crate::problem::{Job, Problem};
use std::collections::{BTreeMap, BTreeSet};

/// What people fixed, by the places in the model's lists.
#[derive(Default)]
pub(crate) struct Pins {
    pub runs: BTreeSet<(usize, usize)>,
    pub stays_out: BTreeSet<(usize, usize)>,
    pub done_in: BTreeSet<(usize, usize)>,
    pub not_in: BTreeSet<(usize, usize)>,
    pub nowhere_else: BTreeSet<usize>,
}

impl Pins {
    /// Reads the pins of a model; says which name what is not there.
    pub fn read(model: &Model, ids: &Ids<'_>) -> Result<Self, ModelError> {
        let mut pins = Self::default();
        let mut faults = Vec::new();
        for (n, pin) in model.pins.iter().enumerate() {
            let mut find = |kind: &str, id: &str, index: &std::collections::HashMap<&str, usize>| {
                let found = index.get(id).copied();
                if found.is_none() {
                    faults.push(Fault {
                        at: format!("pin {}", n + 1),
                        what: format!("there is no {kind} `{id}`"),
                    });
                }
                found
            };
            match pin {
                Pin::Runs { showing, machine } => {
                    let both =
                        (find("showing", showing, &ids.showings), find("machine", machine, &ids.machines));
                    if let (Some(showing), Some(machine)) = both {
                        pins.runs.insert((showing, machine));
                    }
                }
                Pin::StaysOut { showing, machine } => {
                    let both =
                        (find("showing", showing, &ids.showings), find("machine", machine, &ids.machines));
                    if let (Some(showing), Some(machine)) = both {
                        pins.stays_out.insert((showing, machine));
                    }
                }
                Pin::DoneIn { work, slot } => {
                    let both = (find("work", work, &ids.work), find("slot", slot, &ids.slots));
                    if let (Some(work), Some(slot)) = both {
                        pins.done_in.insert((work, slot));
                    }
                }
                Pin::NotIn { work, slot } => {
                    let both = (find("work", work, &ids.work), find("slot", slot, &ids.slots));
                    if let (Some(work), Some(slot)) = both {
                        pins.not_in.insert((work, slot));
                    }
                }
                Pin::NowhereElse { work } => {
                    if let Some(work) = find("work", work, &ids.work) {
                        pins.nowhere_else.insert(work);
                    }
                }
            }
        }
        if faults.is_empty() { Ok(pins) } else { Err(ModelError::Pins(faults)) }
    }

    /// Says which pins cannot hold, and why.
    pub fn hold(&self, problem: &Problem<'_>) -> Result<(), ModelError> {
        let mut faults = Vec::new();
        self.runs_can_be(problem, &mut faults);
        self.work_can_be(problem, &mut faults);
        if faults.is_empty() { Ok(()) } else { Err(ModelError::Pins(faults)) }
    }

    fn runs_can_be(&self, problem: &Problem<'_>, faults: &mut Vec<Fault>) {
        let model = problem.model;
        let mut count: BTreeMap<usize, usize> = BTreeMap::new();
        for &(showing, machine) in &self.runs {
            *count.entry(showing).or_default() += 1;
            let shows = &problem.machines[machine].shows;
            let there = shows.iter().any(|&show| problem.shows[show].of_model == showing);
            if !there || self.stays_out.contains(&(showing, machine)) {
                faults.push(Fault {
                    at: run_pin(model, showing, machine),
                    what: self.why_not_able(model, showing, machine),
                });
            }
        }
        for (showing, pinned) in count {
            let wanted = model.showings[showing].machines;
            if pinned > wanted {
                faults.push(Fault {
                    at: format!("pins of showing `{}`", model.showings[showing].id),
                    what: format!("{pinned} machines are fixed and it needs {wanted}"),
                });
            }
        }
        for (machine, mach) in problem.machines.iter().enumerate() {
            let fixed: Vec<usize> =
                (0..mach.shows.len()).filter(|&at| problem.able(machine, at).fixed).collect();
            for pair in fixed.windows(2).filter(|pair| !problem.both(machine, pair[0], pair[1])) {
                let (one, two) = (problem.show_id(mach.shows[pair[0]]), problem.show_id(mach.shows[pair[1]]));
                faults.push(Fault {
                    at: format!("pins of machine `{}`", model.machines[machine].id),
                    what: format!(
                        "it cannot run at `{one}` and at `{two}`: they overlap, journeys counted in"
                    ),
                });
            }
        }
    }

    fn why_not_able(&self, model: &Model, showing: usize, machine: usize) -> String {
        let (it, at) = (&model.machines[machine], &model.showings[showing]);
        let lacks = at.needs.iter().find(|need| !it.can.contains(need));
        if self.stays_out.contains(&(showing, machine)) {
            "another pin keeps the machine out of this showing".to_owned()
        } else if !it.fit {
            "the machine is not fit to run".to_owned()
        } else if let Some(need) = lacks {
            format!("the machine cannot do `{need}`, which the showing needs")
        } else {
            format!("no journeys lead from `{}` to `{}`", it.home, at.place)
        }
    }

    fn work_can_be(&self, problem: &Problem<'_>, faults: &mut Vec<Fault>) {
        let model = problem.model;
        let mut used: BTreeMap<usize, (i64, BTreeSet<(usize, usize)>)> = BTreeMap::new();
        for &(work, slot) in &self.done_in {
            let job = &problem.jobs[work];
            let at = format!("pin of work `{}` in slot `{}`", model.work[work].id, model.slots[slot].id);
            let chance = job.slots.iter().find(|chance| problem.benches[chance.slot].of_model == slot);
            let Some(chance) = chance else {
                faults.push(Fault { at, what: self.why_not_here(problem, work, slot) });
                continue;
            };
            let mach = &problem.machines[job.machine];
            let away = (0..mach.shows.len())
                .filter(|&at| problem.able(job.machine, at).fixed)
                .find(|&at| !problem.home_for(job.machine, at, chance.slot));
            if let Some(away) = away {
                let show = problem.show_id(mach.shows[away]);
                faults.push(Fault { at, what: format!("its machine is fixed for `{show}` at that time") });
            }
            let entry = used.entry(chance.slot).or_default();
            entry.0 += job.minutes;
            if let Some(preparation) = job.preparation
                && entry.1.insert((job.machine, preparation))
            {
                entry.0 += problem.preparations[preparation].0;
            }
        }
        for (bench, (minutes, _)) in used {
            let there = problem.benches[bench].minutes;
            if minutes > there {
                faults.push(Fault {
                    at: format!("pins in slot `{}`", problem.bench_id(bench)),
                    what: format!("the work fixed there takes {minutes} minutes and there are {there}"),
                });
            }
        }
        Self::benches_apart(problem, faults);
    }

    /// A machine cannot be on two benches at once.
    fn benches_apart(problem: &Problem<'_>, faults: &mut Vec<Fault>) {
        let fixed = |job: &Job| -> Vec<usize> {
            job.slots.iter().filter(|chance| chance.fixed).map(|chance| chance.slot).collect()
        };
        for (at, job) in problem.jobs.iter().enumerate() {
            for pair in fixed(job).windows(2) {
                if problem.benches[pair[0]].ends > problem.benches[pair[1]].starts {
                    let (one, two) = (problem.bench_id(pair[0]), problem.bench_id(pair[1]));
                    faults.push(Fault {
                        at: format!("pins of work `{}`", problem.model.work[at].id),
                        what: format!("the slots `{one}` and `{two}` overlap"),
                    });
                }
            }
        }
    }

    fn why_not_here(&self, problem: &Problem<'_>, work: usize, slot: usize) -> String {
        let model = problem.model;
        let (job, bench) = (&model.work[work], &model.slots[slot]);
        let home = &model.machines[problem.jobs[work].machine].home;
        if self.not_in.contains(&(work, slot)) {
            "another pin keeps the work out of this slot".to_owned()
        } else if *home != bench.place {
            format!("the machine lives at `{home}` and the bench is at `{}`", bench.place)
        } else if bench.level < job.level {
            format!("the work asks for level {} and the slot has {}", job.level, bench.level)
        } else {
            "the slot is too short for the work with its preparation and the way there and back".to_owned()
        }
    }
}

fn run_pin(model: &Model, showing: usize, machine: usize) -> String {
    format!("pin of machine `{}` at showing `{}`", model.machines[machine].id, model.showings[showing].id)
}
