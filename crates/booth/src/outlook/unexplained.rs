//! Stoppages that no part explains: the booth's own rate of them weighs on every showing.

use logbook::{Booth, MachineId, booth::StoppageRecord, fact::Ending};
use rustc_hash::FxHashSet;
use units::civil::Evening;

/// Stoppages that no part explains.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Unexplained {
    /// How many there were.
    pub seen: usize,
    /// In so many showings that were held.
    pub showings: usize,
    /// Seconds of dark screen in all.
    pub dark_s: f64,
}

impl Unexplained {
    /// Finds them in all showings so far.
    pub fn of(booth: &Booth, showings: usize) -> Self {
        let failed = FailedParts::of(booth);
        let stoppages = booth.stoppages.iter().filter(|stoppage| !failed.explain(booth, stoppage));
        let (seen, dark_s) =
            stoppages.fold((0, 0.0), |(n, dark), stoppage| (n + 1, dark + stoppage.dark.seconds()));
        Self { seen, showings, dark_s }
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
