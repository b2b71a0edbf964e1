//! Plans that can be: made from the beginning to the end, then mended bit by bit while they become cheaper.

use crate::assign::assign;
use crate::bench::Question;
use crate::cost::{Choice, insert, machine_cost};
use crate::problem::Problem;

/// Less than this is no improvement but rounding.
pub(crate) const EPSILON: f64 = 1e-9;

/// A small generator of numbers that look random (S. Vigna's SplitMix64, public domain; from memory).
pub(crate) struct Dice(pub u64);

impl Dice {
    /// Returns a number below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^= mixed >> 31;
        usize::try_from(mixed % n.max(1) as u64).unwrap_or(0)
    }

    /// Returns a number between 0 and 1, never 0.
    pub fn share(&mut self) -> f64 {
        (self.below(FINE) as f64 + 0.5) / FINE as f64
    }
}

/// Numbers between 0 and 1 that are told apart.
const FINE: usize = 1 << 24;

/// A plan that is being made better.
#[derive(Clone)]
pub(crate) struct Draft<'p, 'm> {
    pub problem: &'p Problem<'m>,
    pub choice: Choice,
    /// What each machine's runs and work cost.
    pub machines: Vec<f64>,
}

impl<'p, 'm> Draft<'p, 'm> {
    /// Fills the diary in the order of time, each showing taking the machines that are cheapest by `seen`, or, where
    /// that is not given, by what they cost as the diary stands; then puts the work where it is best.
    pub fn make(problem: &'p Problem<'m>, seen: Option<&dyn Fn(usize, usize) -> f64>) -> Self {
        let choice = Choice::only_fixed(problem);
        let mut draft = Self { problem, machines: vec![0.0; problem.machines.len()], choice };
        for machine in 0..problem.machines.len() {
            draft.machines[machine] = draft.cost_of(machine);
        }
        for show in 0..problem.shows.len() {
            let mut offers = Vec::new();
            for place in 0..problem.shows[show].able.len() {
                let able = &problem.shows[show].able[place];
                let cost = match seen {
                    Some(seen) if draft.may_run(show, place) => seen(show, place),
                    Some(_) => f64::INFINITY,
                    None => draft.adds(show, place),
                };
                offers.push((cost, able.machine, able.at));
            }
            offers.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            let seats = problem.shows[show].seats - draft.choice.crews[show].len();
            for &(_, machine, at) in offers.iter().filter(|it| it.0.is_finite()).take(seats) {
                draft.choice.put(problem, machine, at);
                draft.machines[machine] = draft.cost_of(machine);
            }
        }
        draft.settle_work(None);
        draft
    }

    /// Goes on from known choices.
    pub fn from(problem: &'p Problem<'m>, choice: Choice) -> Self {
        let mut draft = Self { problem, machines: Vec::new(), choice };
        draft.machines = (0..problem.machines.len()).map(|machine| draft.cost_of(machine)).collect();
        draft
    }

    fn cost_of(&self, machine: usize) -> f64 {
        machine_cost(self.problem, machine, &self.choice.runs[machine], &self.choice.done)
    }

    fn may_run(&self, show: usize, place: usize) -> bool {
        let able = &self.problem.shows[show].able[place];
        !self.choice.crews[show].contains(&able.machine)
            && self.choice.free(self.problem, able.machine, able.at)
    }

    /// Returns what a machine costs more with one more showing; infinite where it cannot have it.
    fn adds(&self, show: usize, place: usize) -> f64 {
        if !self.may_run(show, place) {
            return f64::INFINITY;
        }
        let able = &self.problem.shows[show].able[place];
        let mut runs = self.choice.runs[able.machine].clone();
        insert(&mut runs, able.at);
        machine_cost(self.problem, able.machine, &runs, &self.choice.done) - self.machines[able.machine]
    }

    /// Puts all work where it is best as the diary stands; `only` says which machines' groups to look at.
    pub fn settle_work(&mut self, only: Option<&[bool]>) {
        for group in &self.problem.groups {
            let touched = |&job: &usize| only.is_none_or(|only| only[self.problem.jobs[job].machine]);
            if !group.jobs.iter().any(touched) {
                continue;
            }
            let question = Question::new(self.problem, group, &self.choice.runs);
            let mut done: Vec<Vec<usize>> =
                group.jobs.iter().map(|&job| self.choice.done[job].clone()).collect();
            question.settle(&mut done);
            for (&job, way) in group.jobs.iter().zip(done) {
                self.choice.done[job] = way;
            }
            for &job in &group.jobs {
                let machine = self.problem.jobs[job].machine;
                self.machines[machine] = self.cost_of(machine);
            }
        }
    }

    /// Mends the plan for at most so many sweeps over the diary.
    pub fn mend(&mut self, sweeps: usize, dice: &mut Dice) {
        let n = self.problem.shows.len();
        let mut idle = 0;
        for sweep in 0..sweeps {
            let mut touched = vec![false; self.problem.machines.len()];
            let mut gained = false;
            for wave in self.waves(sweep, dice, n) {
                if self.recrew(&wave, &mut touched) {
                    gained = true;
                }
            }
            if gained {
                self.settle_work(Some(&touched));
            }
            idle = if gained { 0 } else { idle + 1 };
            if idle > IDLE_SWEEPS {
                return;
            }
        }
    }

    /// Changes one crew at a time until none alone makes the plan cheaper.
    pub fn polish(&mut self, rounds: usize) {
        for _ in 0..rounds {
            let mut touched = vec![false; self.problem.machines.len()];
            let mut gained = false;
            for show in 0..self.problem.shows.len() {
                gained |= self.recrew(&[show], &mut touched);
            }
            if !gained {
                return;
            }
            self.settle_work(Some(&touched));
        }
    }

    /// Parts the showings into sets in which no machine runs twice: in the order of time, or shuffled.
    fn waves(&self, sweep: usize, dice: &mut Dice, n: usize) -> Vec<Vec<usize>> {
        let mut order: Vec<usize> = (0..n).collect();
        if sweep % 2 == 1 {
            for at in (1..n).rev() {
                order.swap(at, dice.below(at + 1));
            }
        }
        let mut waves = Vec::new();
        let mut wave: Vec<usize> = Vec::new();
        let mut busy = vec![false; self.problem.machines.len()];
        for show in order {
            let crew = &self.choice.crews[show];
            if crew.iter().any(|&machine| busy[machine]) || wave.len() >= MOST_IN_WAVE {
                waves.push(std::mem::take(&mut wave));
                busy.fill(false);
            }
            for &machine in crew {
                busy[machine] = true;
            }
            wave.push(show);
        }
        waves.push(wave);
        waves
    }

    /// Crews a set of showings anew, at the least cost as all others stand; says whether that was cheaper.
    fn recrew(&mut self, wave: &[usize], touched: &mut [bool]) -> bool {
        let before: Vec<(usize, Vec<usize>)> =
            wave.iter().map(|&show| (show, self.choice.crews[show].clone())).collect();
        let mut rows = Vec::new();
        let mut now = 0.0;
        for (show, crew) in &before {
            let it = &self.problem.shows[*show];
            for able in it.able.iter().filter(|able| !able.fixed && crew.contains(&able.machine)) {
                now += self.machines[able.machine];
                self.choice.take(self.problem, able.machine, able.at);
                self.machines[able.machine] = self.cost_of(able.machine);
                now -= self.machines[able.machine];
            }
            let fixed = self.choice.crews[*show].len();
            now += (it.seats - crew.len()) as f64 * self.problem.unstaffed;
            rows.extend((fixed..it.seats).map(|_| *show));
        }
        let crews = self.cheapest_crews(&rows);
        for (&show, place) in rows.iter().zip(&crews.1) {
            if let Some(place) = place {
                let able = &self.problem.shows[show].able[*place];
                self.choice.put(self.problem, able.machine, able.at);
            }
        }
        let better = crews.0 < now - EPSILON * now.abs().max(1.0);
        if !better {
            self.restore(&before);
        }
        for (machine, touched) in touched.iter_mut().enumerate() {
            let changed = before
                .iter()
                .any(|(show, crew)| crew.contains(&machine) || self.choice.crews[*show].contains(&machine));
            if changed {
                self.machines[machine] = self.cost_of(machine);
                *touched |= better;
            }
        }
        better
    }

    fn restore(&mut self, before: &[(usize, Vec<usize>)]) {
        for (show, crew) in before {
            for able in &self.problem.shows[*show].able {
                let (was, is) =
                    (crew.contains(&able.machine), self.choice.crews[*show].contains(&able.machine));
                if is && !was {
                    self.choice.take(self.problem, able.machine, able.at);
                } else if was && !is {
                    self.choice.put(self.problem, able.machine, able.at);
                }
            }
        }
    }

    /// Returns what the cheapest crews of these seats cost, and who takes each seat (its place among the able).
    fn cheapest_crews(&self, rows: &[usize]) -> (f64, Vec<Option<usize>>) {
        if rows.is_empty() {
            return (0.0, Vec::new());
        }
        let mut columns: Vec<usize> = rows
            .iter()
            .flat_map(|&show| self.problem.shows[show].able.iter().map(|able| able.machine))
            .collect();
        columns.sort_unstable();
        columns.dedup();
        let empty = columns.len();
        let mut costs: Vec<Vec<f64>> = Vec::with_capacity(rows.len());
        for (row, &show) in rows.iter().enumerate() {
            if row > 0 && rows[row - 1] == show {
                let mut again: Vec<f64> = costs[row - 1].clone();
                again[empty + row - 1] = f64::INFINITY;
                again[empty + row] = self.problem.unstaffed;
                costs.push(again);
                continue;
            }
            let mut line = vec![f64::INFINITY; empty + rows.len()];
            for (place, able) in self.problem.shows[show].able.iter().enumerate() {
                let column = columns.binary_search(&able.machine).expect("every able machine has a column");
                line[column] = self.adds(show, place);
            }
            line[empty + row] = self.problem.unstaffed;
            costs.push(line);
        }
        let chosen = assign(&costs);
        let cost = chosen.iter().enumerate().map(|(row, &column)| costs[row][column]).sum();
        let place = |(row, &column): (usize, &usize)| {
            let machine = *columns.get(column)?;
            self.problem.shows[rows[row]].able.iter().position(|able| able.machine == machine)
        };
        (cost, chosen.iter().enumerate().map(place).collect())
    }

    /// Returns what the plan costs.
    pub fn cost(&self) -> f64 {
        self.choice.cost(self.problem)
    }
}

/// Sweeps without gain before mending ends.
const IDLE_SWEEPS: usize = 3;
/// Largest set of showings that is crewed at once; the work grows with its square and more.
const MOST_IN_WAVE: usize = 160;
