//! Running: hours, lamp, strikes, and the meter's figures as they come.

use super::{
    apply::Folding,
    clock_plan::{Counting, Stretch, share},
    line::Line,
};
use crate::{
    booth::{Clocks, Meter, MeterMark, Run},
    fact::{MeterReplaced, Ran, RunKind},
    rules,
};
use units::Hours;

/// A machine's clocks at work.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Live {
    stretches: Vec<Stretch>,
    /// The stretch that is open now.
    now: usize,
    /// Hours of the open stretch that were spread so far.
    spread: f64,
    /// Where the clocks stood at the very beginning.
    pub beginning: Clocks,
}

impl Live {
    /// Starts at the first stretch.
    pub fn new(stretches: Vec<Stretch>, beginning: Clocks) -> Self {
        Self { stretches, now: 0, spread: 0.0, beginning }
    }

    fn factor(&self) -> f64 {
        match self.stretches.get(self.now) {
            Some(Stretch { counting: Counting::Times(factor), .. }) => *factor,
            _ => 1.0,
        }
    }

    /// Returns the hours to be spread between the last call and a moment.
    fn spread_until(&mut self, at: i64) -> f64 {
        let Some(Stretch { counting: Counting::Spread { hours, from, to }, .. }) =
            self.stretches.get(self.now)
        else {
            return 0.0;
        };
        let until_now = hours * share(at, *from, *to);
        let more = (until_now - self.spread).max(0.0);
        self.spread += more;
        more
    }

    /// Ends the open stretch if this entry does; returns the hours that were spread in it.
    fn close(&mut self, line: &Line) -> Option<f64> {
        if self.stretches.get(self.now)?.closed_by != line.id {
            return None;
        }
        self.now += 1;
        Some(std::mem::take(&mut self.spread))
    }
}

impl Folding {
    /// Returns a machine's counters at the moment of a line.
    pub fn clocks_at(&mut self, place: usize, line: &Line) -> Clocks {
        let more = Hours::new(self.live[place].spread_until(line.at.unix_ms));
        let clocks = &mut self.machine(place).clocks;
        if more > Hours::ZERO {
            // What nobody wrote down is taken as showings with the lamp lit: the common case and the cautious one.
            clocks.showing += more;
            clocks.lit += more;
            clocks.estimated += more;
        }
        *clocks
    }

    /// A machine ran.
    pub fn ran(&mut self, line: &Line, place: usize, ran: &Ran) {
        if !rules::is_run_length(ran.hours) {
            let what = format!("a run cannot last {}; it is not counted", ran.hours);
            self.ask(line, Some(place), what, "correct the hours: from 0 to 24 for one run");
            return;
        }
        self.ask_if_retired(line, place);
        let hours = ran.hours * self.live[place].factor();
        let lit = self.lit_hours(line, place, ran, hours);
        let machine = self.machine(place);
        machine.clocks.count(ran, hours, lit);
        let twice = machine.runs.iter().rev().take_while(|run| run.at.unix_ms == line.at.unix_ms);
        let twice =
            twice.filter(|run| run.run == ran.run && run.written == ran.hours).map(|run| run.entry).next();
        machine.runs.push(Run {
            at: line.at,
            run: ran.run,
            hours,
            written: ran.hours,
            estimated: ran.estimated,
            entry: line.id,
        });
        if let Some(twice) = twice {
            let what = format!("the same run stands in entry {twice} too; both are counted");
            self.ask(line, Some(place), what, "if it was written twice, withdraw one of the two");
        }
        if let Some(print) = &ran.print {
            self.print_ran(line, print, ran, hours);
        }
        if let Some(showing) = &ran.showing {
            self.ran_for(line, place, showing, ran);
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
        self.ask_if_retired(line, place);
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
        self.clocks_at(place, line);
        let Some(spread) = self.live[place].close(line) else { return false };
        let machine = self.machine(place);
        if spread > 0.0 {
            let hours = Hours::new(spread);
            let run = RunKind::Showing;
            machine.runs.push(Run {
                at: line.at,
                run,
                hours,
                written: hours,
                estimated: true,
                entry: line.id,
            });
        }
        let meter = machine.meter.get_or_insert_with(|| Meter {
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
    pub fn ask_if_retired(&mut self, line: &Line, place: usize) {
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
