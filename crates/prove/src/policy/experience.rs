//! What the log of one booth has taught about stoppages that no part explains: the unforeseen, loose work, drift.

use crate::log::{Log, Machine};
use risk::Rate;
use statrs::distribution::{ContinuousCDF, Normal};

/// One stoppage in so many showings that no part explains, until the log says otherwise (common practice, no source).
const UNEXPLAINED_ONE_IN: f64 = 100.0;
/// One piece of work in so many leaves something loose, until the log says otherwise (our choice, no source).
const LOOSE_ONE_IN: f64 = 100.0;
/// Standard deviation of a reading as a share of its limit (our choice, no source).
const READING_SD: f64 = 0.05;

/// Rates learnt from the log.
pub(crate) struct Experience {
    unforeseen: Rate,
    loose: Rate,
    drifts: Vec<Drift>,
}

/// What the readings of a machine say of its drift: a line through nothing, by least squares over all that were taken.
#[derive(Clone, Copy, Default)]
struct Drift {
    /// Hours since adjusting, times what was read; hours squared.
    hours_read: f64,
    hours_squared: f64,
    /// The machine's hours when it was last read.
    seen: f64,
}

impl Experience {
    pub fn new(n_machines: usize) -> Self {
        Self {
            unforeseen: Rate::once_in(UNEXPLAINED_ONE_IN),
            loose: Rate::once_in(LOOSE_ONE_IN),
            drifts: vec![Drift::default(); n_machines],
        }
    }

    /// Stoppages to expect in a showing that nothing foretells.
    pub const fn unforeseen(&self) -> f64 {
        self.unforeseen.mean()
    }

    /// The chance that a piece of work left something loose.
    pub const fn loose(&self) -> f64 {
        self.loose.mean()
    }

    /// How far a machine has drifted, as a share of its limit, and the chance that it stands past it.
    pub fn drift(&self, own: &Machine, machine: usize) -> (f64, f64) {
        let drift = &self.drifts[machine];
        let hours = own.hours - own.reading.adjusted_at;
        if drift.hours_squared <= 0.0 || hours <= 0.0 {
            return (0.0, 0.0);
        }
        let drifted = hours * drift.hours_read.max(0.0) / drift.hours_squared;
        let sd = READING_SD * hours / drift.hours_squared.sqrt();
        let past = Normal::new(drifted, sd).map_or(0.0, |law| law.sf(1.0));
        (drifted, past)
    }

    /// Learns from a showing that is over.
    pub fn shown(&mut self, log: &Log) {
        let tonight = &log.tonight;
        let share = (tonight.runs.len() as f64).recip();
        for &machine in &tonight.runs {
            self.unforeseen.saw(0.0, share);
            self.loose.saw(0.0, f64::from(log.machines[machine].worked));
            self.drifts[machine].looked_at(&log.machines[machine]);
        }
        // Nobody writes which it was: each is to blame by its rate.
        for &machine in &tonight.unblamed {
            let unforeseen = self.unforeseen() * share;
            let loose = self.loose() * f64::from(log.machines[machine].worked);
            let blame = loose / (loose + unforeseen);
            self.loose.saw(blame, 0.0);
            self.unforeseen.saw(1.0 - blame, 0.0);
        }
    }
}

impl Drift {
    fn looked_at(&mut self, own: &Machine) {
        let reading = &own.reading;
        let hours = reading.read_at - reading.adjusted_at;
        if reading.read_at > self.seen && hours > 0.0 {
            self.hours_read += hours * reading.read;
            self.hours_squared += hours * hours;
            self.seen = reading.read_at;
        }
    }
}
