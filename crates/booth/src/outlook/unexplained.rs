//! Stoppages that no part explains: how often one comes unforeseen, and how often work leaves something loose.

use super::rules::{LOOSE_ONE_IN, UNEXPLAINED_ONE_IN, UNEXPLAINED_SECONDS};
use logbook::{Booth, MachineId, booth::StoppageRecord, fact::Ending};
use risk::Rate;
use rustc_hash::{FxHashMap, FxHashSet};
use units::{Seconds, civil::Evening};

/// Stoppages that no part explains.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Unexplained {
    /// How many there were.
    pub seen: usize,
    /// In so many showings that were held.
    pub showings: usize,
    /// How often one comes unforeseen, by the showing.
    pub unforeseen: Rate,
    /// How often a part that was fitted or moved is left loose, by the part.
    pub loose: Rate,
    /// How many parts were fitted or moved in machines that were here before.
    pub worked: usize,
    /// How long such a stoppage lasts.
    pub pause: Seconds,
}

impl Unexplained {
    /// Finds them in all showings so far.
    pub fn of(booth: &Booth, showings: usize) -> Self {
        let failed = FailedParts::of(booth);
        let stoppages: Vec<&StoppageRecord> =
            booth.stoppages.iter().filter(|stoppage| !failed.explain(booth, stoppage)).collect();
        let seen = stoppages.len();
        let dark: f64 = stoppages.iter().map(|stoppage| stoppage.dark.seconds()).sum();
        let works = Works::of(booth);
        let mut unforeseen = Rate::once_in(UNEXPLAINED_ONE_IN);
        let mut loose = Rate::once_in(LOOSE_ONE_IN);
        // Two machines may stop in one showing, and a record may miss some: never fewer showings than stoppages.
        unforeseen.saw(0.0, showings.max(seen) as f64);
        loose.saw(0.0, works.n as f64);
        // Nobody writes which it was: each is to blame by its rate.
        for stoppage in stoppages {
            let n = works.before(booth, stoppage) as f64;
            let blame = loose.mean() * n / (loose.mean() * n + unforeseen.mean());
            loose.saw(blame, 0.0);
            unforeseen.saw(1.0 - blame, 0.0);
        }
        let pause = Seconds::new((UNEXPLAINED_SECONDS + dark) / (1.0 + seen as f64));
        Self { seen, showings, unforeseen, loose, worked: works.n, pause }
    }
}

/// When parts were fitted in machines that were here before, by machine, in order of time.
struct Works<'a> {
    at: FxHashMap<&'a MachineId, Vec<i64>>,
    n: usize,
}

impl<'a> Works<'a> {
    fn of(booth: &'a Booth) -> Self {
        let mut at: FxHashMap<&MachineId, Vec<i64>> = FxHashMap::default();
        for stint in booth.parts.values().flat_map(|part| &part.stints) {
            // What came with the machine was not worked on.
            let came = booth.machines.get(&stint.machine).map(|machine| booth.evening_of(machine.added.0));
            if came.is_some_and(|came| came != booth.evening_of(stint.fitted)) {
                at.entry(&stint.machine).or_default().push(stint.fitted.unix_ms);
            }
        }
        for times in at.values_mut() {
            times.sort_unstable();
        }
        Self { n: at.values().map(Vec::len).sum(), at }
    }

    /// How many parts of the machine that stopped were fitted since the run before.
    fn before(&self, booth: &Booth, stoppage: &StoppageRecord) -> usize {
        let Some((id, machine)) =
            stoppage.machine.as_ref().and_then(|id| Some((id, booth.machines.get(id)?)))
        else {
            return 0;
        };
        // The run in which it stopped may be written down at its beginning or its end: that of another evening counts.
        let evening = booth.evening_of(stoppage.at);
        let until = machine.runs.partition_point(|run| run.at.unix_ms <= stoppage.at.unix_ms);
        let last = machine.runs[..until].iter().rev().find(|run| booth.evening_of(run.at) != evening);
        let since = last.map_or(i64::MIN, |run| run.at.unix_ms);
        self.at.get(id).map_or(0, |times| {
            times.partition_point(|at| *at <= stoppage.at.unix_ms) - times.partition_point(|at| *at <= since)
        })
    }
}

/// The evenings on which a part was taken out as failed, by machine.
struct FailedParts<'a> {
    of_machine: FxHashSet<(&'a MachineId, Evening)>,
    of_any: FxHashSet<Evening>,
}

impl<'a> FailedParts<'a> {
    fn of(booth: &'a Booth) -> Self {
        let ends = booth.parts.values().flat_map(|part| &part.stints).filter_map(|stint| {
            let end = stint.ended.as_ref().filter(|end| end.why == Ending::Failed)?;
            Some((&stint.machine, booth.evening_of(end.at)))
        });
        let of_machine: FxHashSet<_> = ends.collect();
        let of_any = of_machine.iter().map(|(_, evening)| *evening).collect();
        Self { of_machine, of_any }
    }

    /// A part was taken out as failed on that machine on the same evening.
    fn explain(&self, booth: &Booth, stoppage: &StoppageRecord) -> bool {
        let evening = booth.evening_of(stoppage.at);
        match &stoppage.machine {
            Some(machine) => self.of_machine.contains(&(machine, evening)),
            None => self.of_any.contains(&evening),
        }
    }
}
