//! Running: hours, lamp, strikes, and the meter's figures as they come.

use super::{
    apply::Folding,
    clock_plan::{ClockPlan, Counting, Stretch, share},
    deeds::Deeds,
    line::Line,
};
use crate::{
    booth::{Clocks, Meter, MeterMark, Run},
    fact::{MeterReplaced, Ran, RunKind},
    ids::EntryId,
    rules,
};
use units::Hours;

/// With how many runs before it of the same moment a run is compared: a bound for broken files in which all runs carry
/// the same moment.
const RUNS_COMPARED: usize = 16;

/// A machine at work: what runs and deeds touch, close together, so that a million of them stay quick.
#[derive(Debug, Default)]
pub(super) struct Live {
    /// The counters now.
    pub clocks: Clocks,
    /// The runs so far.
    pub runs: Vec<Run>,
    /// When the last run was, in milliseconds: so that most runs need not look at the one before.
    last_run: Option<i64>,
    /// The last deeds of care.
    pub deeds: Deeds,
    /// Some care was left out or put off and may still be.
    pub has_open_care: bool,
    /// The machine has left for good.
    pub has_left: bool,
    /// By what a run is multiplied now.
    factor: f64,
    /// Hours are being spread.
    spreads: bool,
    /// The meter's say.
    meter: Box<MeterPlan>,
}

/// How the meter wants the hours counted, stretch by stretch.
#[derive(Debug, Default)]
struct MeterPlan {
    /// The hours to spread in the open stretch, from when to when.
    to_spread: (f64, i64, i64),
    /// How many of them were spread so far.
    spread: f64,
    /// The entry that closes the open stretch.
    closes: Option<EntryId>,
    /// The stretches after it.
    stretches: std::vec::IntoIter<Stretch>,
    /// Where the clocks stood at the very beginning.
    beginning: Clocks,
}

impl Live {
    /// Starts at the first stretch.
    pub fn new(plan: ClockPlan, beginning: Clocks) -> Self {
        let runs = Vec::with_capacity(plan.runs + plan.stretches.len());
        let stretches = plan.stretches.into_iter();
        let meter = Box::new(MeterPlan { stretches, beginning, ..MeterPlan::default() });
        let mut new = Self { clocks: beginning, runs, meter, ..Self::default() };
        new.open();
        new
    }

    /// Returns where the clocks stood at the very beginning.
    pub fn beginning(&self) -> Clocks {
        self.meter.beginning
    }

    fn open(&mut self) {
        let next = self.meter.stretches.next();
        self.meter.closes = next.map(|stretch| stretch.closed_by);
        (self.factor, self.spreads) = (1.0, false);
        match next.map(|stretch| stretch.counting) {
            Some(Counting::Times(factor)) => self.factor = factor,
            Some(Counting::Spread { hours, from, to }) => {
                self.meter.to_spread = (hours, from, to);
                self.spreads = true;
            }
            None => {}
        }
    }

    /// Returns the counters at a moment, with what is to be spread until then.
    pub fn clocks_at(&mut self, at: i64) -> &mut Clocks {
        if self.spreads {
            let (hours, from, to) = self.meter.to_spread;
            let more = Hours::new((hours * share(at, from, to) - self.meter.spread).max(0.0));
            self.meter.spread += more.hours();
            // What nobody wrote down is taken as showings with the lamp lit: the common case and the cautious one.
            self.clocks.showing += more;
            self.clocks.lit += more;
            self.clocks.estimated += more;
        }
        &mut self.clocks
    }

    /// Ends the open stretch if this entry does; returns the hours that were spread in it.
    fn close(&mut self, line: &Line) -> Option<f64> {
        if self.meter.closes != Some(line.id) {
            return None;
        }
        self.open();
        Some(std::mem::take(&mut self.meter.spread))
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
        let live = &mut self.live[place];
        if live.last_run.replace(line.at.unix_ms) != Some(line.at.unix_ms) {
            return;
        }
        // The run itself is not among them yet.
        let before = live.runs.iter().rev().take(RUNS_COMPARED);
        let mut same_time = before.take_while(|run| run.at.unix_ms == line.at.unix_ms);
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
        if !self.live[place].has_left {
            return;
        }
        let Some((left, _)) = &self.machine(place).retired else { return };
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

    /// Hands the clocks, runs and deeds at work back to the machines.
    pub fn stop_work(&mut self) {
        let machines = self.booth.machines.values_mut().zip(std::mem::take(&mut self.live));
        for (place, (machine, live)) in machines.enumerate() {
            machine.clocks = live.clocks;
            machine.runs = live.runs;
            machine.care = live.deeds.write_out(place, &self.deed_names, &mut self.deed_notes);
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
