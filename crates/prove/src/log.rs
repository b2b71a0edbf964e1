//! What a logbook would show of a booth: clocks, what was fitted when, care done, readings, stock. Nothing hidden.

use crate::scenario::{Clock, Kind};

/// Days in a year.
pub(crate) const DAYS: f64 = 365.25;

/// A booth as its logbook shows it.
pub(crate) struct Log {
    /// Days since the log began.
    pub day: f64,
    pub machines: Vec<Machine>,
    /// Spares at hand, by part of the kind.
    pub stock: Vec<u32>,
    pub tonight: Tonight,
}

/// The coming showing.
#[derive(Default)]
pub(crate) struct Tonight {
    /// Machines that run, and the hours of each.
    pub runs: Vec<usize>,
    pub hours: f64,
    /// A second machine stands ready.
    pub covered: bool,
    /// A machine that nobody needs could be threaded beside.
    pub free: bool,
    /// Minutes for work before the doors.
    pub minutes: f64,
    /// Machines whose lamps were struck in a rehearsal, a bit for each.
    pub struck: u64,
    /// After the showing: machines that stopped it, once for each stoppage that no part explained.
    pub unblamed: Vec<usize>,
}

/// A machine as the logbook shows it.
pub(crate) struct Machine {
    pub hours: f64,
    pub showings: f64,
    /// The day it last ran.
    pub last_run: f64,
    /// The day from which it can be used.
    pub out_until: f64,
    pub fitted: Vec<Fitted>,
    pub cares: Vec<Done>,
    pub reading: Reading,
    /// Pieces of work on it since it last ran.
    pub worked: u32,
}

/// A part in its slot: what the clocks showed when it was as good as new.
#[derive(Clone, Copy)]
pub(crate) struct Fitted {
    pub hours: f64,
    pub showings: f64,
    pub day: f64,
    /// How old it was in hours, showings and years when the log first saw it.
    pub entered: [f64; 3],
}

/// When care was last done.
#[derive(Clone, Copy)]
pub(crate) struct Done {
    pub hours: f64,
    pub day: f64,
}

/// The adjustment of a machine, as a share of its limit: what was read, and at which hours.
#[derive(Clone, Copy, Default)]
pub(crate) struct Reading {
    pub adjusted_at: f64,
    pub read_at: f64,
    pub read: f64,
}

/// Something to do before a showing.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Deed {
    /// Fit a new part; `ordered` beforehand, or from the spares.
    Change { machine: usize, part: usize, ordered: bool },
    /// Do care.
    Care { machine: usize, care: usize },
    /// Strike the lamps of a machine once with time to change them.
    Strike { machine: usize },
    /// Thread a second machine.
    Standby,
    /// Adjust a machine.
    Adjust { machine: usize },
}

/// To strike once in a rehearsal, and to thread a second machine (common practice, no source).
pub(crate) const STRIKE_MINUTES: f64 = 3.0;
pub(crate) const STANDBY_MINUTES: f64 = 25.0;
/// Where another machine stands threaded, it takes over within so many seconds (common practice, no source).
pub(crate) const COVER_SECONDS: f64 = 300.0;

impl Machine {
    /// How old a part is on a clock when the day begins.
    pub fn age(&self, part: usize, clock: Clock, day: f64) -> f64 {
        let fitted = &self.fitted[part];
        match clock {
            Clock::Hours => self.hours - fitted.hours,
            Clock::Showings => self.showings - fitted.showings,
            Clock::Years => (day - fitted.day) / DAYS,
        }
    }

    /// The age from which a showing's share of the hazard counts, and how far it reaches: for years, from the last run.
    pub fn span(&self, part: usize, clock: Clock, day: f64, hours: f64) -> (f64, f64) {
        let fitted = &self.fitted[part];
        match clock {
            Clock::Hours => (self.hours - fitted.hours, hours),
            Clock::Showings => (self.showings - fitted.showings, 1.0),
            Clock::Years => {
                let from = self.last_run.max(fitted.day);
                (((from - fitted.day) / DAYS).max(0.0), ((day - from) / DAYS).max(0.0))
            }
        }
    }

    /// The same of the showing that has just been: from where to where it took a part that still stands in its slot;
    /// no way at all for one that was fitted after it.
    pub fn last_span(&self, part: usize, clock: Clock, day: f64, hours: f64) -> (f64, f64) {
        let age = self.age(part, clock, day);
        let span = match clock {
            Clock::Hours => hours,
            Clock::Showings => 1.0,
            Clock::Years => 0.0,
        };
        let span = span.min(age.max(0.0));
        (age - span, span)
    }

    /// True where care is past its interval.
    pub fn overdue(&self, kind: &Kind, care: usize, day: f64) -> bool {
        let (every, done) = (&kind.cares[care], &self.cares[care]);
        every.hours.is_some_and(|hours| self.hours - done.hours > hours)
            || every.days.is_some_and(|days| day - done.day > days)
    }
}

/// Which clock's place in [`Fitted::entered`].
pub(crate) const fn place(clock: Clock) -> usize {
    match clock {
        Clock::Hours => 0,
        Clock::Showings => 1,
        Clock::Years => 2,
    }
}
