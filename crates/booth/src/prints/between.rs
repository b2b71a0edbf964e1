//! What appeared on a reel between two inspections, and which machines and showings lie between.

use film::Gauge;
use logbook::{
    Booth,
    booth::{Inspection, Print, PrintRun},
    fact::{Flaw, Found},
};
use units::Frames;

/// One thing that was not there at the inspection before, or has become worse.
#[derive(Clone, PartialEq, Debug)]
pub struct Appeared<'a> {
    /// What was found.
    pub found: &'a Found,
    /// Of perforations that were damaged already: the grade before.
    pub grade_before: Option<u8>,
}

/// What two inspections of a reel tell apart.
#[derive(Clone, PartialEq, Debug)]
pub struct Change<'a> {
    /// The inspection before.
    pub before: &'a Inspection,
    /// The inspection that found more.
    pub after: &'a Inspection,
    /// What it found more, along the reel.
    pub appeared: Vec<Appeared<'a>>,
    /// The runs between the two, in order of time.
    pub runs: Vec<PrintRun>,
    /// Whom to ask, in a sentence.
    pub words: String,
}

/// What appeared on a reel between each two inspections, the newest first.
pub(super) fn changes<'a>(
    booth: &Booth,
    print: &'a Print,
    (reel, runs): (u32, &[PrintRun]),
    gauge: Gauge,
) -> Vec<Change<'a>> {
    let inspections: Vec<&Inspection> = print.inspections_of(reel).collect();
    let pairs = inspections.iter().zip(inspections.iter().skip(1)).rev();
    pairs.filter_map(|(before, after)| change(booth, runs, before, after, gauge)).collect()
}

fn change<'a>(
    booth: &Booth,
    runs: &[PrintRun],
    before: &'a Inspection,
    after: &'a Inspection,
    gauge: Gauge,
) -> Option<Change<'a>> {
    let appeared: Vec<Appeared<'a>> =
        after.found.iter().filter_map(|found| appeared(found, before, gauge)).collect();
    if appeared.is_empty() {
        return None;
    }
    let between = |run: &&PrintRun| {
        run.at.unix_ms > before.at.unix_ms && run.at.unix_ms <= after.at.unix_ms && run.passes > 0
    };
    let runs: Vec<PrintRun> = runs.iter().filter(between).cloned().collect();
    let words = words(booth, &runs);
    Some(Change { before, after, appeared, runs, words })
}

/// Counters of rewind benches differ by a foot or so from one winding to the next (common practice, no source).
fn slack(gauge: Gauge) -> Frames {
    Frames::new(gauge.frames_per_foot())
}

fn appeared<'a>(found: &'a Found, before: &Inspection, gauge: Gauge) -> Option<Appeared<'a>> {
    let last = |found: &Found| found.to_frame.unwrap_or(found.from_frame);
    let slack = slack(gauge);
    let same = |other: &&Found| {
        other.flaw == found.flaw
            && other.side == found.side
            && other.from_frame <= last(found) + slack
            && found.from_frame <= last(other) + slack
    };
    let known: Vec<&Found> = before.found.iter().filter(same).collect();
    if known.is_empty() {
        return Some(Appeared { found, grade_before: None });
    }
    let worse =
        found.flaw == Flaw::Perforations && known.iter().filter_map(|known| known.grade).max() < found.grade;
    let loosened = found.flaw == Flaw::Splice
        && found.holds == Some(false)
        && known.iter().all(|known| known.holds == Some(true));
    (worse || loosened)
        .then(|| Appeared { found, grade_before: known.iter().filter_map(|known| known.grade).max() })
}

/// Whom to ask: the machines between, with their passes.
fn words(booth: &Booth, runs: &[PrintRun]) -> String {
    let mut machines: Vec<(&logbook::MachineId, u32)> = Vec::new();
    for run in runs {
        match machines.iter_mut().find(|(machine, _)| *machine == &run.machine) {
            Some((_, passes)) => *passes += run.passes,
            None => machines.push((&run.machine, run.passes)),
        }
    }
    let passes = |count: u32| if count == 1 { "1 pass".to_owned() } else { format!("{count} passes") };
    match machines.as_slice() {
        [] => "No run stands in this logbook between the two: it happened on the way, on the bench, or in a machine that nobody wrote down.".to_owned(),
        [(machine, count)] => {
            format!("Between the two it ran only through {}, {}.", booth.machine_name(machine), passes(*count))
        }
        several => {
            let named: Vec<String> = several
                .iter()
                .map(|(machine, count)| format!("{} ({})", booth.machine_name(machine), passes(*count)))
                .collect();
            format!("Between the two it ran through {}: look at each.", named.join(" and "))
        }
    }
}
