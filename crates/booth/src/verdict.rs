//! Is a reading good enough? A limit is only passed or failed by more than the reading's own doubt.

use crate::{
    answer::{Answer, Caveat, CaveatKind, Ground},
    known::{NotKnown, find_machine, find_type, known_names},
};
use logbook::{
    Booth,
    booth::{Machine, ReadingRecord},
};
use machine::{Basis, Judgement, Library, MachineType, ReadingLimit};
use serde::Serialize;

/// What a reading says.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Inside the bounds of a good machine.
    Good,
    /// Neither good nor calling for anything yet.
    Watch,
    /// Do something soon.
    Act,
    /// Do not run film.
    Stop,
    /// The reading's doubt reaches across a limit, or there is nothing to compare it with.
    CannotTell,
}

/// A doubt of twice the standard uncertainty covers about 95 of 100 cases (JCGM 100:2008, 6.2 and G.6.6, from memory).
const COVERAGE: f64 = 2.0;

/// Judges a value with its standard uncertainty against a limit, both in the limit's unit.
///
/// A reading whose doubt reaches from one judgement into another cannot be told. Without an uncertainty the bare value
/// is judged.
pub fn verdict(
    value_in_unit: f64,
    uncertainty_in_unit: Option<f64>,
    reference_in_unit: Option<f64>,
    limit: &ReadingLimit,
) -> Verdict {
    let doubt = uncertainty_in_unit.unwrap_or(0.0).abs() * COVERAGE;
    let judge = |value: f64| limit.judge(value, reference_in_unit);
    let judged = [judge(value_in_unit - doubt), judge(value_in_unit), judge(value_in_unit + doubt)];
    match judged {
        [Some(low), Some(middle), Some(high)] if low == middle && middle == high => of(middle),
        _ => Verdict::CannotTell,
    }
}

const fn of(judgement: Judgement) -> Verdict {
    match judgement {
        Judgement::Good => Verdict::Good,
        Judgement::Watch => Verdict::Watch,
        Judgement::Act => Verdict::Act,
        Judgement::Stop => Verdict::Stop,
    }
}

/// A reading of a machine and what it says.
#[derive(Clone, Debug)]
pub struct JudgedReading<'a> {
    /// The reading.
    pub reading: &'a ReadingRecord,
    /// The baseline it was compared with, if the limit asks for one.
    pub reference: Option<&'a ReadingRecord>,
    /// The limit.
    pub limit: &'a ReadingLimit,
    /// What it says.
    pub verdict: Verdict,
}

/// Returns every reading of one quantity of a machine with its verdict, in order of time.
pub fn readings_of<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: &str,
    quantity: &str,
) -> Result<Answer<Vec<JudgedReading<'a>>>, NotKnown> {
    let (_, id, machine) = find_machine(booth, machine)?;
    let kind = find_type(library, id, machine)?;
    let limit = kind.limit(quantity).ok_or_else(|| NotKnown::Quantity {
        machine_type: kind.id.to_string(),
        asked: quantity.to_owned(),
        known: known_names(quantity, kind.limits.iter().map(|limit| limit.quantity.as_str())),
    })?;
    let read = machine.readings.iter().filter(|reading| reading.quantity.as_str() == quantity);
    let value: Vec<JudgedReading<'a>> = read.map(|reading| judge(machine, reading, limit)).collect();
    let caveats = value.iter().filter_map(caveat).collect();
    Ok(Answer { because: vec![ground(kind, limit)], caveats, value })
}

/// Judges a reading of a machine against a limit.
pub(crate) fn judge<'a>(
    machine: &'a Machine,
    reading: &'a ReadingRecord,
    limit: &'a ReadingLimit,
) -> JudgedReading<'a> {
    let baseline = |own: &&ReadingRecord| {
        own.baseline && own.quantity == reading.quantity && own.slot == reading.slot && own.at <= reading.at
    };
    let reference = machine.readings.iter().rev().find(baseline);
    let verdict = if reading.unit == limit.unit.as_str() {
        verdict(reading.value, reading.uncertainty, reference.map(|own| own.value), limit)
    } else {
        Verdict::CannotTell
    };
    JudgedReading { reading, reference, limit, verdict }
}

fn caveat(judged: &JudgedReading<'_>) -> Option<Caveat> {
    let day = judged.reading.at.date();
    if judged.reading.unit != judged.limit.unit.as_str() {
        let words = format!(
            "The reading of {day} is in {}, the limit in {}: it cannot be judged.",
            judged.reading.unit, judged.limit.unit
        );
        return Some(Caveat::new(CaveatKind::NoReference, words));
    }
    let lacks = judged.limit.basis != Basis::Reading && judged.reference.is_none();
    let words = format!("There is no baseline before the reading of {day} to compare it with.");
    lacks.then(|| Caveat::new(CaveatKind::NoReference, words))
}

fn ground(kind: &MachineType, limit: &ReadingLimit) -> Ground {
    Ground::TypeFile {
        machine_type: kind.id.to_string(),
        line: limit.quantity.to_string(),
        words: kind.source(limit.source.as_str()).map_or_else(String::new, |source| source.words.clone()),
    }
}
