//! Running: hours, lamp, strikes, and the meter's figures as they come.

use super::{
    apply::Folding,
    clock_plan::{ClockPlan, Counting, Stretch, share},
    line::Line,
};
use crate::{
    When,
    booth::{Clocks, Meter, MeterMark, Run},
    fact::{MeterReplaced, Ran, RunKind},
    ids::EntryId,
    rules,
};
use units::Hours;

/// A machine's clocks at work: what a run touches, close together, so that a million runs stay quick.
#[derive(Debug, Default)]
pub(super) struct Live {
    /// The counters now.
    pub clocks: Clocks,
    /// The runs so far.
    pub runs: Vec<Run>,
    /// When the machine left for good, if it has.
    pub left: Option<When>,
    /// By what a run is multiplied now.
    factor: f64,
    /// Hours of the open stretch that were spread so far.
    spread: f64,
    /// The hours to spread in the open stretch, from when to when.
    to_spread: Option<(f64, i64, i64)>,
    stretches: std::vec::IntoIter<Stretch>,
    /// The entry that closes the open stretch.
    closes: Option<EntryId>,
    /// Where the clocks stood at the very beginning.
    pub beginning: Clocks,
}

impl Live {
    /// Starts at the first stretch.
    pub fn new(plan: ClockPlan, beginning: Clocks) -> Self {
        let runs = Vec::with_capacity(plan.runs + plan.stretches.len());
        let stretches = plan.stretches.into_iter();
        let mut new = Self { clocks: beginning, runs, stretches, beginning, ..Self::default() };
        new.open();
        new
    }

    fn open(&mut self) {
        let next = self.stretches.next();
        self.closes = next.map(|stretch| stretch.closed_by);
        (self.factor, self.to_spread) = match next.map(|stretch| stretch.counting) {
            Some(Counting::Times(factor)) => (factor, None),
            Some(Counting::Spread { hours, from, to }) => (1.0, Some((hours, from, to))),
            None => (1.0, None),
        };
    }

    /// Returns the counters at a moment, with what is to be spread until then.
    pub fn clocks_at(&mut self, at: i64) -> &mut Clocks {
        if let Some((hours, from, to)) = self.to_spread {
            let more = Hours::new((hours * share(at, from, to) - self.spread).max(0.0));
            self.spread += more.hours();
            // What nobody wrote down is taken as showings with the lamp lit: the common case and the cautious one.
            self.clocks.showing += more;
            self.clocks.lit += more;
            self.clocks.estimated += more;
        }
        &mut self.clocks
    }

    /// Ends the open stretch if this entry does; returns the hours that were spread in it.
    fn close(&mut self, line: &Line) -> Option<f64> {
        if self.closes != Some(line.id) {
            return None;
        }
        self.open();
        Some(std::mem::take(&mut self.spread))
    }
}

impl Folding {
    /// Returns a machine's counters at the moment of a line.
    pub fn clocks_at(&mut self, place: usize, line: &Line) -> Clocks {
        *self.live[place].clocks_at(line.at.unix_ms)
    }

    /// A machine ran.
    pub fn ran(&mut self, line: &Line, place: usize, ran: &Ran) {
        if !rules::is_run_length(ran.hours) {
            let what = format!("a run cannot last {}; it is not counted", ran.hours);
            self.ask(line, Some(place), what, "correct the hours: from 0 to 24 for one run");
            return;
        }
        self.ask_if_left(line, place);
        let hours = ran.hours * self.live[place].factor;
        let lit = self.lit_hours(line, place, ran, hours);
        self.live[place].clocks.count(ran, hours, lit);
        self.ask_if_written_twice(line, place, ran);
        self.live[place].runs.push(Run {
            at: line.at,
            run: ran.run,
            hours,
            written: ran.hours,
            estimated: ran.estimated,
            entry: line.id,
        });
        if let Some(print) = &ran.print {
            self.print_ran(line, print, ran, hours);
        }
        if let Some(showing) = &ran.showing {
            self.ran_for(line, place, showing, ran);
        }
    }

    fn ask_if_written_twice(&mut self, line: &Line, place: usize, ran: &Ran) {
        let mut same_time =
            self.live[place].runs.iter().rev().take_while(|run| run.at.unix_ms == line.at.unix_ms);
        if let Some(run) = same_time.find(|run| run.run == ran.run && run.written == ran.hours) {
            let what = format!("the same run stands in entry {} too; both are counted", run.entry);
            self.ask(line, Some(place), what, "if it was written twice, withdraw one of the two");
        }
    }

    fn lit_hours(&mut self, line: &Line, place: usize, ran: &Ran, hours: Hours) -> Hours {
        match ran.lit_hours {
            Some(lit) if rules::is_run_length(lit) => lit,
            written => {
                if let Some(lit) = written {
                    let what = format!("a lamp cannot be lit for {lit} in one run; the usual is taken");
                    self.ask(line, Some(place), what, "correct the lamp hours: from 0 to 24 for one run");
                }
                if lights(ran.run) { hours } else { Hours::ZERO }
            }
        }
    }

    /// Somebody read the meter.
    pub fn meter_read(&mut self, line: &Line, place: usize, figure: Hours) {
        self.ask_if_left(line, place);
        self.figure(line, place, figure, Some(figure));
    }

    /// The meter's count jumped.
    pub fn meter_replaced(&mut self, line: &Line, place: usize, jump: &MeterReplaced) {
        if self.figure(line, place, jump.new_reading_hours, jump.old_reading_hours)
            && let Some(meter) = &mut self.machine(place).meter
        {
            meter.changes.push((line.at, jump.why));
        }
    }

    /// Takes a figure if the plan took it as right, and ends the stretch with it.
    pub fn figure(&mut self, line: &Line, place: usize, reading: Hours, closing: Option<Hours>) -> bool {
        let live = &mut self.live[place];
        live.clocks_at(line.at.unix_ms);
        let Some(spread) = live.close(line) else { return false };
        if spread > 0.0 {
            let hours = Hours::new(spread);
            let run = RunKind::Showing;
            live.runs.push(Run { at: line.at, run, hours, written: hours, estimated: true, entry: line.id });
        }
        let meter = self.machine(place).meter.get_or_insert_with(|| Meter {
            reading,
            at: line.at,
            entry: line.id,
            changes: Vec::new(),
            marks: Vec::new(),
        });
        (meter.reading, meter.at, meter.entry) = (reading, line.at, line.id);
        meter.marks.push(MeterMark { at: line.at, reading, closing, entry: line.id });
        true
    }

    /// Asks how a machine can still be used that has left for good.
    pub fn ask_if_left(&mut self, line: &Line, place: usize) {
        let Some(left) = self.live[place].left else { return };
        let what = format!(
            "the machine left the booth for good on {}, before this; it is counted all the same",
            left.date()
        );
        self.ask(
            line,
            Some(place),
            what,
            "if it came back, add it again; else correct the day or the machine",
        );
    }

    /// Hands the clocks at work back to the machines.
    pub fn stop_clocks(&mut self) {
        for (machine, live) in self.booth.machines.values_mut().zip(&mut self.live) {
            machine.clocks = live.clocks;
            machine.runs = std::mem::take(&mut live.runs);
        }
    }
}

impl Clocks {
    /// Counts a run.
    fn count(&mut self, ran: &Ran, hours: Hours, lit: Hours) {
        match ran.run {
            RunKind::Showing => self.showing += hours,
            RunKind::Rehearsal | RunKind::Test => self.testing += hours,
            RunKind::Rewind => self.rewinding += hours,
        }
        if ran.estimated && ran.run != RunKind::Rewind {
            self.estimated += hours;
        }
        self.lit += lit;
        let strikes = ran.strikes.unwrap_or(u32::from(lights(ran.run)));
        self.strikes = self.strikes.saturating_add(strikes);
    }
}

/// Returns whether the lamp is lit in such a run unless somebody says otherwise.
fn lights(run: RunKind) -> bool {
    matches!(run, RunKind::Showing | RunKind::Rehearsal)
}
