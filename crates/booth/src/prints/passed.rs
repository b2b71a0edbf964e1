//! Which runs each reel of a print went through: by the marks of a show where there are any, else with the whole print.

use crate::show::{self, ShowPlan};
use logbook::{
    Booth, MachineId, PrintId, ShowingId,
    booth::{Print, PrintRun},
    fact::RunKind,
};
use machine::Library;
use std::collections::BTreeMap;

/// What shows with marks say of one print: for each showing the reels that began, with their machine.
pub(super) struct Marked<'a>(BTreeMap<&'a ShowingId, Vec<(u32, Option<MachineId>)>>);

/// Looks through the shows for which the print ran.
pub(super) fn marked<'a>(booth: &'a Booth, library: &Library, id: &PrintId, print: &'a Print) -> Marked<'a> {
    let showings = print.runs.iter().filter_map(|run| run.showing.as_ref());
    let mut all = BTreeMap::new();
    for showing in showings {
        if all.contains_key(showing) || !booth.shows.contains_key(showing) {
            continue;
        }
        // A show whose marks say nothing of this print leaves the word to the runs.
        if let Some(begun) = begun(booth, library, id, showing).filter(|begun| !begun.is_empty()) {
            all.insert(showing, begun);
        }
    }
    Marked(all)
}

/// The reels of a print that began in a show, by its marks.
fn begun(
    booth: &Booth,
    library: &Library,
    id: &PrintId,
    showing: &ShowingId,
) -> Option<Vec<(u32, Option<MachineId>)>> {
    let found = booth.showings.get_key_value(showing)?;
    let plan: ShowPlan = show::plan_of(booth, library, found).ok()?.value;
    let course = show::course_of(Some(&plan), booth.shows.get(showing)?);
    let own = course.ran.into_iter().filter(|ran| ran.is_start).filter_map(|ran| {
        let reel = plan.reels.get((ran.reel as usize).checked_sub(1)?)?;
        (reel.print.as_ref() == Some(id)).then_some((reel.reel, ran.machine))
    });
    Some(own.collect())
}

/// The runs of one reel, each with how often this reel went through, in order of time.
pub(super) fn runs_of(print: &Print, marked: &Marked<'_>, reel: u32) -> Vec<PrintRun> {
    let mut told: Vec<&ShowingId> = Vec::new();
    let mut runs = Vec::new();
    for run in &print.runs {
        let begun = run
            .showing
            .as_ref()
            .filter(|_| run.run == RunKind::Showing)
            .and_then(|showing| marked.0.get_key_value(showing));
        let Some((showing, begun)) = begun else {
            runs.push(run.clone());
            continue;
        };
        // One run stands for each machine; the marks of a show are told once, at the first of them.
        if told.contains(showing) {
            continue;
        }
        told.push(showing);
        for (_, machine) in begun.iter().filter(|(begun, _)| *begun == reel) {
            let machine = machine.clone().unwrap_or_else(|| run.machine.clone());
            let own = print.runs.iter().find(|own| own.showing == run.showing && own.machine == machine);
            runs.push(PrintRun { machine, passes: 1, ..own.unwrap_or(run).clone() });
        }
    }
    runs
}
