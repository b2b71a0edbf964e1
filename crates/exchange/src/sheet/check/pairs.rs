//! Rows against rows: the same twice, and two showings on one machine at one time.

use crate::sheet::{
    doubt::{
        Doubts,
        Severity::{Error, Warning},
    },
    slip::{Slip, Span},
};
use std::collections::{BTreeMap, HashMap};

/// How long two runs may overlap before somebody is asked, in milliseconds: times are written to the next five
/// minutes (common practice, no source).
const OVERLAP_MS: i64 = 10 * 60 * 1000;

/// Doubts rows that say exactly what an earlier row says.
pub(super) fn duplicates(spans: &[(Slip, Span)], doubts: &mut Doubts) {
    let mut seen: HashMap<String, usize> = HashMap::new();
    for (slip, _) in spans {
        // The debug form holds every field, so that rows are alike exactly if their forms are.
        let same = format!("{:?}", Slip { row: 0, ..slip.clone() });
        if let Some(first) = seen.get(&same) {
            let why = format!("the same as row {first}");
            // At one moment a thing happens once; on one day it may happen twice.
            let severity = if slip.start.is_some() { Error } else { Warning };
            doubts.row(
                severity,
                slip.row,
                why,
                format!("leave out row {} if it is the same showing or work", slip.row),
            );
        } else {
            seen.insert(same, slip.row);
        }
    }
}

/// Doubts rows that have a machine run while another row has it running.
pub(super) fn overlaps(spans: &[(Slip, Span)], doubts: &mut Doubts) {
    let mut by_machine: BTreeMap<&str, Vec<(i64, i64, &Slip)>> = BTreeMap::new();
    for (slip, span) in spans {
        let Some(lasted) = span.lasted.filter(|_| slip.start.is_some()) else { continue };
        let start = span.start.unix_ms;
        let end = start + lasted.as_seconds().as_milliseconds() as i64;
        for machine in &slip.machines {
            by_machine.entry(machine.as_str()).or_default().push((start, end, slip));
        }
    }
    for (machine, mut runs) in by_machine {
        runs.sort_by_key(|(start, _, slip)| (*start, slip.row));
        for pair in runs.windows(2) {
            let [(start_a, end_a, a), (start_b, _, b)] = pair else { continue };
            let same = Slip { row: 0, ..(*a).clone() } == Slip { row: 0, ..(*b).clone() };
            if !same && end_a - start_b > OVERLAP_MS && a.machines.len() == 1 && b.machines.len() == 1 {
                let right = if start_a == start_b {
                    "one of the two rows, or another machine"
                } else {
                    "a later start, or another machine"
                };
                for (own, other) in [(a, b), (b, a)] {
                    let why = format!("{machine} runs by row {} at the same time", other.row);
                    doubts.row(Warning, own.row, why, right);
                }
            }
        }
    }
}
