//! The plan in names, and why each choice stands where it stands: what the best other choice would cost more, with
//! everything else left as it is.

use crate::answer::{Breakdown, Doing, Left, Overdue, Plan, Reason, Seat, Session, ShowingPlan, Unstaffed};
use crate::cost::{Choice, Held, Tally, insert, job_tally, overdue_runs};
use crate::model::{Cost, Minutes};
use crate::problem::Problem;
use crate::work_path::{May, Stretches};
use units::Hours;

/// Tells a plan.
pub(crate) fn plan(problem: &Problem<'_>, choice: &Choice, cost: f64, bound: f64, proven: f64) -> Plan {
    let gap = if cost > 0.0 { (cost - bound) / cost } else { 0.0 };
    let proven = cost - bound <= proven * cost.abs().max(1.0);
    let held = choice.sessions(problem);
    let teller = Teller { problem, choice, held: &held };
    let order = |count: usize| 0..count;
    Plan {
        cost: Cost(cost),
        bound: Cost(bound),
        gap: if proven { 0.0 } else { gap },
        proven,
        breakdown: choice.breakdown(problem),
        showings: order(problem.shows.len()).map(|show| teller.showing(show)).collect(),
        sessions: order(problem.benches.len()).filter_map(|bench| teller.session(bench)).collect(),
        left: order(problem.jobs.len()).filter_map(|job| teller.left(job)).collect(),
        overdue: order(problem.jobs.len()).flat_map(|job| teller.overdue(job)).collect(),
        unstaffed: order(problem.shows.len()).filter_map(|show| teller.unstaffed(show)).collect(),
        caveats: caveats(proven, gap),
    }
}

fn caveats(proven: bool, gap: f64) -> Vec<String> {
    let mut caveats = vec![
        "each reason changes one choice and leaves all others as they are".to_owned(),
        "a machine comes home between showings at different places".to_owned(),
    ];
    if !proven {
        caveats.push(format!("a better plan may exist: this one costs at most {:.2} % more", gap * 100.0));
    }
    caveats
}

struct Teller<'p, 'm> {
    problem: &'p Problem<'m>,
    choice: &'p Choice,
    held: &'p [Held],
}

impl Teller<'_, '_> {
    fn machine_id(&self, machine: usize) -> &str {
        &self.problem.model.machines[machine].id
    }

    fn work_id(&self, job: usize) -> &str {
        &self.problem.model.work[job].id
    }

    fn showing(&self, show: usize) -> ShowingPlan {
        let seat = |&machine: &usize| Seat {
            machine: self.machine_id(machine).to_owned(),
            because: self.why_machine(show, machine),
        };
        ShowingPlan {
            showing: self.problem.show_id(show).to_owned(),
            machines: self.choice.crews[show].iter().map(seat).collect(),
        }
    }

    fn why_machine(&self, show: usize, machine: usize) -> Reason {
        let it = &self.problem.shows[show];
        let own =
            it.able.iter().find(|able| able.machine == machine).expect("a crew is made of able machines");
        let pinned = &self.problem.model.showings[it.of_model].id;
        let by_person = self.problem.model.pins.iter().any(|pin| {
            matches!(pin, crate::model::Pin::Runs { showing, machine: of }
                if showing == pinned && of == self.machine_id(machine))
        });
        if by_person {
            return fixed_by_person();
        }
        let mut runs = self.choice.runs[machine].clone();
        runs.retain(|&at| at != own.at);
        let without = self.tally(machine, &runs);
        let with = self.tally(machine, &self.choice.runs[machine]);
        let mut best: Option<(f64, usize, Breakdown)> = None;
        let (mut busy, mut able) = (0, 0);
        for other in it.able.iter().filter(|other| !self.choice.crews[show].contains(&other.machine)) {
            able += 1;
            if !self.choice.free(self.problem, other.machine, other.at) {
                busy += 1;
                continue;
            }
            let mut runs = self.choice.runs[other.machine].clone();
            insert(&mut runs, other.at);
            let more = minus(
                self.tally(other.machine, &runs),
                self.tally(other.machine, &self.choice.runs[other.machine]),
            );
            let change = minus(more, minus(with, without));
            let total = change.total().0;
            if best.as_ref().is_none_or(|(least, _, _)| total < *least) {
                best = Some((total, other.machine, change));
            }
        }
        match best {
            None if able == 0 => {
                none("no other fit machine can do what the showing needs and be brought there")
            }
            None if busy == able => none("every other machine that could is busy at that time"),
            None => none("no other machine is free"),
            Some((more, other, change)) => Reason {
                next_best: Some(self.machine_id(other).to_owned()),
                costs_more: Some(Cost(more)),
                words: in_words(&format!("`{}`", self.machine_id(other)), more, &change),
            },
        }
    }

    fn tally(&self, machine: usize, runs: &[usize]) -> Breakdown {
        let mut sum = Tally::default();
        for &at in runs {
            let able = self.problem.able(machine, at);
            sum.journeys += able.journeys;
            sum.stoppages += able.base_risk;
        }
        for &job in &self.problem.machines[machine].work {
            job_tally(self.problem, job, runs, &self.choice.done[job], &mut sum);
        }
        self.as_breakdown(&sum, 0.0)
    }

    fn as_breakdown(&self, sum: &Tally, sessions: f64) -> Breakdown {
        Breakdown {
            stoppages: Cost(sum.stoppages),
            wasted_life: Cost(sum.waste),
            work: Cost(sum.work),
            sessions: Cost(sessions),
            journeys: Cost(sum.journeys),
            left_over: Cost(sum.left),
            overdue: Cost(sum.overdue as f64 * self.problem.overdue),
            unstaffed: Cost(0.0),
        }
    }

    fn session(&self, bench: usize) -> Option<Session> {
        let (held, it) = (&self.held[bench], &self.problem.benches[bench]);
        if held.jobs.is_empty() {
            return None;
        }
        let slot = &self.problem.model.slots[it.of_model];
        let prepared = |&(machine, preparation, _): &(usize, usize, usize)| {
            (self.machine_id(machine).to_owned(), self.problem.model.preparations[preparation].id.clone())
        };
        let mut jobs = held.jobs.clone();
        jobs.sort_unstable_by_key(|&job| (self.problem.jobs[job].machine, job));
        Some(Session {
            slot: slot.id.clone(),
            who: slot.who.clone(),
            minutes_used: Minutes(held.minutes + it.way),
            minutes: slot.minutes,
            preparations: held.prepared.iter().map(prepared).collect(),
            work: jobs.iter().map(|&job| self.doing(job, bench)).collect(),
        })
    }

    fn doing(&self, job: usize, bench: usize) -> Doing {
        let it = &self.problem.jobs[job];
        let at =
            it.slots.iter().position(|chance| chance.slot == bench).expect("work is done in its own slots");
        let before: Vec<usize> = self.choice.done[job].iter().copied().filter(|&other| other < at).collect();
        let starts = self.problem.benches[bench].starts;
        let shows = &self.problem.machines[it.machine].shows;
        let runs: Vec<usize> = self.choice.runs[it.machine]
            .iter()
            .copied()
            .filter(|&run| self.problem.shows[shows[run]].starts < starts)
            .collect();
        Doing {
            work: self.work_id(job).to_owned(),
            machine: self.machine_id(it.machine).to_owned(),
            hours_since: self.hours_at_end(job, &runs, &before),
            because: self.why_slot(job, at),
        }
    }

    fn hours_at_end(&self, job: usize, runs: &[usize], done: &[usize]) -> Hours {
        let mut sum = Tally::default();
        job_tally(self.problem, job, runs, done, &mut sum);
        Hours::from_minutes(sum.since as f64)
    }

    /// What the work costs when done in other slots, as the rest of the bench stands.
    fn with_doings(&self, job: usize, done: &[usize]) -> Option<Breakdown> {
        let it = &self.problem.jobs[job];
        let mut sum = Tally::default();
        job_tally(self.problem, job, &self.choice.runs[it.machine], done, &mut sum);
        let mut sessions = 0.0;
        for &at in done {
            let bench = it.slots[at].slot;
            let mut held = self.held[bench].clone();
            if self.choice.done[job].contains(&at) {
                held.take(self.problem, bench, job);
            }
            let (minutes, cost) = held.adds(self.problem, bench, job);
            if held.minutes + minutes > self.problem.benches[bench].minutes {
                return None;
            }
            sessions += cost;
        }
        Some(self.as_breakdown(&sum, sessions))
    }

    fn why_slot(&self, job: usize, at: usize) -> Reason {
        let it = &self.problem.jobs[job];
        if it.slots[at].fixed {
            return fixed_by_person();
        }
        let now = self.with_doings(job, &self.choice.done[job]).expect("the plan fits its slots");
        let mut others: Vec<(Vec<usize>, String)> = Vec::new();
        let mut left: Vec<usize> = self.choice.done[job].clone();
        left.retain(|&other| other != at);
        let may = Stretches::new(self.problem, job, &self.choice.runs[it.machine]).may;
        for other in (0..it.slots.len()).filter(|other| !self.choice.done[job].contains(other)) {
            let mut done = left.clone();
            insert(&mut done, other);
            let apart = done.windows(2).all(|pair| {
                let bench = |at: usize| &self.problem.benches[it.slots[at].slot];
                bench(pair[0]).ends <= bench(pair[1]).starts
            });
            if may[other] != May::Not && apart {
                others.push((done, format!("`{}`", self.problem.bench_id(it.slots[other].slot))));
            }
        }
        others.push((left, "leaving it".to_owned()));
        self.best_of(job, &now, &others)
    }

    fn best_of(&self, job: usize, now: &Breakdown, others: &[(Vec<usize>, String)]) -> Reason {
        let mut best: Option<(f64, &str, Breakdown)> = None;
        for (done, name) in others {
            let Some(cost) = self.with_doings(job, done) else { continue };
            let change = minus(cost, *now);
            let more = change.total().0;
            if best.as_ref().is_none_or(|(least, _, _)| more < *least) {
                best = Some((more, name, change));
            }
        }
        match best {
            None => none("no slot that could take it has the minutes"),
            Some((more, name, change)) => Reason {
                next_best: Some(name.trim_matches('`').to_owned()),
                costs_more: Some(Cost(more)),
                words: in_words(name, more, &change),
            },
        }
    }

    fn left(&self, job: usize) -> Option<Left> {
        let it = &self.problem.jobs[job];
        if !self.choice.done[job].is_empty() {
            return None;
        }
        let now = self.with_doings(job, &[])?;
        let may = Stretches::new(self.problem, job, &self.choice.runs[it.machine]).may;
        let others: Vec<(Vec<usize>, String)> = (0..it.slots.len())
            .filter(|&at| may[at] != May::Not)
            .map(|at| (vec![at], format!("`{}`", self.problem.bench_id(it.slots[at].slot))))
            .collect();
        let because = if others.is_empty() {
            none("no slot at its machine's home takes it: level, minutes, pins, or the machine is away")
        } else {
            self.best_of(job, &now, &others)
        };
        Some(Left {
            work: self.work_id(job).to_owned(),
            machine: self.machine_id(it.machine).to_owned(),
            hours_since: self.hours_at_end(job, &self.choice.runs[it.machine], &[]),
            because,
        })
    }

    fn overdue(&self, job: usize) -> Vec<Overdue> {
        let it = &self.problem.jobs[job];
        let runs = &self.choice.runs[it.machine];
        let shows = &self.problem.machines[it.machine].shows;
        let tell = |at: usize| {
            let starts = self.problem.shows[shows[at]].starts;
            let earlier = it.slots.iter().any(|chance| self.problem.benches[chance.slot].ends <= starts);
            let because = if earlier {
                "no slot before it and no other machine avoids it without something that counts more"
            } else {
                "no slot before it can take the work"
            };
            Overdue {
                showing: self.problem.show_id(shows[at]).to_owned(),
                machine: self.machine_id(it.machine).to_owned(),
                work: self.work_id(job).to_owned(),
                because: because.to_owned(),
            }
        };
        overdue_runs(self.problem, job, runs, &self.choice.done[job]).into_iter().map(tell).collect()
    }

    fn unstaffed(&self, show: usize) -> Option<Unstaffed> {
        let it = &self.problem.shows[show];
        let missing = it.seats - self.choice.crews[show].len();
        let because = if it.able.len() < it.seats {
            format!("only {} fit machines can do what it needs and be brought there", it.able.len())
        } else {
            "the machines that could are at other showings, or fixed elsewhere".to_owned()
        };
        (missing > 0).then(|| Unstaffed { showing: self.problem.show_id(show).to_owned(), missing, because })
    }
}

fn fixed_by_person() -> Reason {
    Reason { next_best: None, costs_more: None, words: "a person fixed it".to_owned() }
}

fn none(words: &str) -> Reason {
    Reason { next_best: None, costs_more: None, words: words.to_owned() }
}

fn minus(one: Breakdown, other: Breakdown) -> Breakdown {
    let less = |a: Cost, b: Cost| Cost(a.0 - b.0);
    Breakdown {
        stoppages: less(one.stoppages, other.stoppages),
        wasted_life: less(one.wasted_life, other.wasted_life),
        work: less(one.work, other.work),
        sessions: less(one.sessions, other.sessions),
        journeys: less(one.journeys, other.journeys),
        left_over: less(one.left_over, other.left_over),
        overdue: less(one.overdue, other.overdue),
        unstaffed: less(one.unstaffed, other.unstaffed),
    }
}

/// Says what makes the difference: the largest parts of it, more first.
fn in_words(name: &str, more: f64, change: &Breakdown) -> String {
    let mut parts = vec![
        (change.stoppages.0, "stoppages"),
        (change.wasted_life.0, "wasted life"),
        (change.work.0, "parts and minutes"),
        (change.sessions.0, "sessions and preparations"),
        (change.journeys.0, "journeys"),
        (change.left_over.0, "what is left at the end"),
        (change.overdue.0, "running past a limit"),
    ];
    parts.retain(|(cost, _)| cost.abs() > 0.005);
    parts.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
    let told: Vec<String> =
        parts.iter().take(3).map(|(cost, what)| format!("{cost:+.2} for {what}")).collect();
    let sum = if more.abs() < 0.005 {
        "would cost the same".to_owned()
    } else {
        format!("would cost {:.2} {}", more.abs(), if more > 0.0 { "more" } else { "less" })
    };
    if told.is_empty() { format!("{name} {sum}") } else { format!("{name} {sum}: {}", told.join(", ")) }
}
