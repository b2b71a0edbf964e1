//! The hour meter's say: how the runs of each machine are counted between two figures of its meter.
//!
//! A meter tells how much a machine ran in all, the runs tell when. So between two figures the runs are stretched or
//! shrunk until they add up to what the meter gained; what no run accounts for is spread evenly over the time.
//! This needs the figure at the end of a stretch before its first run is counted, hence a pass of its own.

use super::{
    line::{Stub, Touch},
    queries::Queries,
};
use crate::{
    Entry, Fact, When,
    fact::{MachineAdded, MeterChange, MeterReplaced},
    ids::{EntryId, MachineId},
    rules,
};
use units::Hours;

/// How the runs between two figures are counted.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Counting {
    /// Each run is multiplied by this.
    Times(f64),
    /// Runs count as written, and these hours are spread evenly from one moment to the other.
    Spread {
        /// Hours that no run accounts for.
        hours: f64,
        /// From (milliseconds).
        from: i64,
        /// To (milliseconds).
        to: i64,
    },
}

/// The time up to one figure of the meter that was taken as right.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Stretch {
    /// How its runs are counted.
    pub counting: Counting,
    /// The entry that brought the figure.
    pub closed_by: EntryId,
}

/// What the first pass finds out about one machine.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct ClockPlan {
    /// How many runs there are.
    pub runs: usize,
    /// The stretches in order; runs after the last one count as written.
    pub stretches: Vec<Stretch>,
    /// The entry by which the machine came in; absent: it never did.
    pub entered: Option<u32>,
    /// Film hours that runs written for days before it came in add up to, settled.
    pub film_before: f64,
    /// The last figure that was taken as right, with its moment.
    open: Option<(Hours, When)>,
    /// Hours since then: motor and film.
    motor: f64,
    film: f64,
    /// Film hours in closed stretches.
    film_closed: f64,
    /// Where the machine came in: the number of the stretch, the film hours so far in it, and the moment.
    mark: Option<(usize, f64, i64)>,
    retired: bool,
}

/// Makes the plans of all machines, by their number.
pub(super) fn plans(
    stubs: &[Stub],
    entries: &[Entry],
    machines: usize,
    queries: &mut Queries,
) -> Vec<ClockPlan> {
    let mut plans = vec![ClockPlan::default(); machines];
    for stub in stubs {
        let touch = stub.touch();
        let (Some(machine), false) = (stub.machine(), touch == Touch::Other) else {
            continue;
        };
        let plan = &mut plans[machine];
        match touch {
            Touch::Film | Touch::Rewind => plan.run(stub.hours, touch),
            Touch::Leaves => plan.retired = true,
            _ => plan.figure(stub, &entries[stub.entry as usize], queries),
        }
    }
    for plan in &mut plans {
        plan.count_before(Counting::Times(1.0));
    }
    plans
}

impl ClockPlan {
    fn run(&mut self, hours: f64, touch: Touch) {
        self.runs += 1;
        if rules::is_run_length(Hours::new(hours)) {
            self.motor += hours;
            if touch == Touch::Film {
                self.film += hours;
            }
        }
    }

    fn figure(&mut self, stub: &Stub, entry: &Entry, queries: &mut Queries) {
        match &entry.fact {
            Fact::MachineAdded(added) => self.enters(stub, entry, added, queries),
            Fact::MeterRead(read) => self.read(entry, &read.machine, read.reading_hours, queries),
            Fact::MeterReplaced(replaced) => self.jump(entry, replaced, queries),
            _ => {}
        }
    }

    fn enters(&mut self, stub: &Stub, entry: &Entry, added: &MachineAdded, queries: &mut Queries) {
        if self.entered.is_some() && !self.retired {
            return;
        }
        let back_again = std::mem::take(&mut self.retired) && self.entered.is_some();
        self.entered.get_or_insert(stub.entry);
        if !back_again {
            self.mark = Some((self.stretches.len(), self.film, entry.happened.unix_ms));
            self.film_before = self.film_closed;
        }
        match added.meter_hours {
            // Nobody knows what it did elsewhere: the meter goes on from here.
            Some(figure) if back_again && rules::is_meter_figure(figure) => {
                self.close(Counting::Times(1.0), entry, figure);
            }
            Some(figure) => self.read(entry, &added.machine, figure, queries),
            None => {}
        }
    }

    fn read(&mut self, entry: &Entry, machine: &MachineId, figure: Hours, queries: &mut Queries) {
        match check_reading(self.open, figure, entry.happened) {
            Ok(gained) => {
                let counting = self.counting(gained, entry, machine, queries);
                self.close(counting, entry, figure);
            }
            Err(trouble) => trouble.ask(entry, machine, queries),
        }
    }

    fn jump(&mut self, entry: &Entry, jump: &MeterReplaced, queries: &mut Queries) {
        match check_jump(self.open, jump, entry.happened) {
            Ok(gained) => {
                let counting = self.counting(gained, entry, &jump.machine, queries);
                self.close(counting, entry, jump.new_reading_hours);
            }
            Err(trouble) => {
                trouble.ask(entry, &jump.machine, queries);
                if rules::is_meter_figure(jump.new_reading_hours) {
                    self.close(Counting::Times(1.0), entry, jump.new_reading_hours);
                }
            }
        }
    }

    /// Returns how the runs of the open stretch are counted if the meter gained so much in it.
    fn counting(
        &self,
        gained: Option<Hours>,
        entry: &Entry,
        machine: &MachineId,
        queries: &mut Queries,
    ) -> Counting {
        let (Some(gained), Some((_, from))) = (gained, self.open) else { return Counting::Times(1.0) };
        let (gained, runs) = (gained.hours(), self.motor);
        let far_apart = (gained - runs).abs() > rules::METER_TOLERANCE_HOURS.hours()
            && (gained - runs).abs() > rules::METER_TOLERANCE * gained;
        if far_apart && runs > 0.0 {
            ask_about_difference(gained, runs, entry, machine, queries);
        }
        let spread = |hours| Counting::Spread { hours, from: from.unix_ms, to: entry.happened.unix_ms };
        match () {
            () if runs <= 0.0 && gained <= 0.0 => Counting::Times(1.0),
            () if runs <= 0.0 => spread(gained),
            // A meter that stands still while the machine runs is broken; the runs are all there is.
            () if far_apart && gained <= 0.0 => Counting::Times(1.0),
            () if far_apart && gained > runs => spread(gained - runs),
            () => Counting::Times(gained / runs),
        }
    }

    fn close(&mut self, counting: Counting, entry: &Entry, figure: Hours) {
        self.film_closed += match counting {
            Counting::Times(factor) => self.film * factor,
            Counting::Spread { hours, .. } => self.film + hours,
        };
        self.stretches.push(Stretch { counting, closed_by: entry.id });
        self.open = Some((figure, entry.happened));
        (self.motor, self.film) = (0.0, 0.0);
        if self.mark.is_some_and(|(stretch, ..)| stretch + 1 == self.stretches.len()) {
            self.count_before(counting);
        }
    }

    /// Counts the part of the stretch in which the machine came in that lies before that.
    fn count_before(&mut self, counting: Counting) {
        let Some((_, film, at)) = self.mark.take() else { return };
        self.film_before += match counting {
            Counting::Times(factor) => film * factor,
            Counting::Spread { hours, from, to } => film + hours * share(at, from, to),
        };
    }
}

/// Returns which share of the time from one moment to another has passed at a third.
pub(super) fn share(at: i64, from: i64, to: i64) -> f64 {
    if at >= to {
        1.0
    } else {
        (at.saturating_sub(from) as f64 / to.saturating_sub(from) as f64).clamp(0.0, 1.0)
    }
}

/// What is wrong with a figure of the meter.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum MeterTrouble {
    /// No meter shows this.
    NotAFigure(Hours),
    /// Lower than the figure before.
    Lower {
        /// The figure.
        figure: Hours,
        /// The one before.
        before: Hours,
    },
    /// More hours than have passed.
    TooMuch {
        /// What the meter would have gained.
        gained: Hours,
        /// When the figure before was read.
        since: When,
    },
}

impl MeterTrouble {
    /// What is wrong, in words.
    pub fn what(self) -> String {
        match self {
            Self::NotAFigure(figure) => format!("no meter shows {figure}"),
            Self::Lower { figure, before } => {
                format!("the meter shows {figure}, less than the {before} read before")
            }
            Self::TooMuch { gained, since } => format!(
                "the meter would have gained {gained:.1} since {}, more hours than have passed",
                since.date()
            ),
        }
    }

    /// What would settle it.
    pub fn settle(self) -> &'static str {
        match self {
            Self::NotAFigure(_) => "write the figure as the meter shows it, in hours",
            Self::Lower { .. } => {
                "was the meter replaced, set back, or did it roll over? Then write that; if one of the two figures \
                 was misread, correct that entry"
            }
            Self::TooMuch { .. } => {
                "look at the meter again, and correct whichever of the two figures is wrong"
            }
        }
    }

    fn ask(self, entry: &Entry, machine: &MachineId, queries: &mut Queries) {
        let what = format!("{}; the figure is left out", self.what());
        queries.ask(entry.id, entry.happened, Some(machine), what, self.settle());
    }
}

/// Checks a reading against the figure before; returns what the meter gained, if there was one.
pub(crate) fn check_reading(
    before: Option<(Hours, When)>,
    figure: Hours,
    at: When,
) -> Result<Option<Hours>, MeterTrouble> {
    if !rules::is_meter_figure(figure) {
        return Err(MeterTrouble::NotAFigure(figure));
    }
    let Some((last, since)) = before else { return Ok(None) };
    if figure < last {
        return Err(MeterTrouble::Lower { figure, before: last });
    }
    check_gain(figure - last, since, at).map(Some)
}

/// Checks a jump of the meter; returns what it gained up to the jump, if that is known.
pub(crate) fn check_jump(
    before: Option<(Hours, When)>,
    jump: &MeterReplaced,
    at: When,
) -> Result<Option<Hours>, MeterTrouble> {
    let (old, new) = (jump.old_reading_hours, jump.new_reading_hours);
    for figure in old.iter().chain([&new]) {
        if !rules::is_meter_figure(*figure) {
            return Err(MeterTrouble::NotAFigure(*figure));
        }
    }
    let Some((last, since)) = before else { return Ok(None) };
    if let Some(old) = old
        && old < last
    {
        return Err(MeterTrouble::Lower { figure: old, before: last });
    }
    match (jump.why, old) {
        // The counting never stopped: from the last figure to the top, and on from nothing.
        (MeterChange::RolledOver, old) => {
            let last_seen = old.unwrap_or(last);
            let gained = last_seen - last + rules::gained_by_rolling_over(last_seen, new);
            check_gain(gained, since, at).map(Some)
        }
        (_, Some(old)) => check_gain(old - last, since, at).map(Some),
        (_, None) => Ok(None),
    }
}

fn check_gain(gained: Hours, since: When, at: When) -> Result<Hours, MeterTrouble> {
    if gained > rules::most_hours_between(since, at) {
        return Err(MeterTrouble::TooMuch { gained, since });
    }
    Ok(gained)
}

fn ask_about_difference(gained: f64, runs: f64, entry: &Entry, machine: &MachineId, queries: &mut Queries) {
    let taken = match () {
        () if gained <= 0.0 => "the runs count, as if the meter stood still",
        () if gained > runs => "the rest is spread evenly over that time as estimated running",
        () => "the meter counts, and the runs are shortened to fit",
    };
    queries.ask(
        entry.id,
        entry.happened,
        Some(machine),
        format!("since the figure before, the meter gained {gained:.1} h but the runs add up to {runs:.1} h; {taken}"),
        "write the runs that are missing, correct those that are wrong, or correct the figure if it was misread",
    );
}
