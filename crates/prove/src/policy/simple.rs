//! The handbook's intervals, and running to failure.

use super::Policy;
use crate::{
    log::{Deed, Log},
    scenario::{Clock, Kind},
};

/// Every part at its interval; a machine is adjusted when a reading stands past its limit.
pub(crate) struct Handbook<'s> {
    pub kind: &'s Kind,
}

impl Policy for Handbook<'_> {
    fn prepare(&mut self, log: &Log, deeds: &mut Vec<Deed>) {
        for &machine in &log.tonight.runs {
            let own = &log.machines[machine];
            for (part, spec) in self.kind.parts.iter().enumerate() {
                let Some(interval) = spec.interval else { continue };
                let past = |clock, limit: Option<f64>| {
                    limit.is_some_and(|limit| own.age(part, clock, log.day) >= limit)
                };
                if past(Clock::Hours, interval.hours) || past(Clock::Years, interval.years) {
                    deeds.push(Deed::Change { machine, part, ordered: true });
                }
            }
            if own.reading.read > 1.0 {
                deeds.push(Deed::Adjust { machine });
            }
        }
    }

    fn chance(&mut self, _: &Log) -> Option<f64> {
        None
    }
}

/// Nothing is changed or adjusted before it fails.
pub(crate) struct ToFailure;

impl Policy for ToFailure {
    fn prepare(&mut self, _: &Log, _: &mut Vec<Deed>) {}

    fn chance(&mut self, _: &Log) -> Option<f64> {
        None
    }
}
