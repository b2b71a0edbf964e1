//! What a fault that stands open may do to a showing, by what the fault desk believes of it.

use super::{
    hazards::{Spot, rare},
    readings,
    rules::{OPEN_FAULT_ONE_IN, STOPPING_FAULT_ONE_IN},
};
use crate::{
    desk::{self, Prognosis, Way},
    due::Desk,
};
use logbook::{
    FaultId, MachineId, When,
    booth::{Fault, Machine},
};
use machine::Stops;
use risk::{Chance, Outcome};
use units::{Probability, Seconds};

/// What an open fault may do.
pub(super) struct Trouble {
    pub prognosis: Option<Prognosis>,
    /// The chance and the outcome of a stoppage; none where nobody would stop for it.
    pub stoppage: Option<(Chance, Outcome)>,
    /// Showings that the machine ran since it was opened, and stoppages of the machine in them.
    pub since: (usize, usize),
}

/// Weighs an open fault of a machine for a showing.
pub(super) fn weigh(spot: &Spot<'_, '_>, id: &FaultId, fault: &Fault) -> Trouble {
    // A fault that was met in words only is not for the desk to reckon with.
    let on_desk = (!fault.symptoms.is_empty())
        .then(|| desk::open(spot.desk.booth, spot.desk.library, id.as_str(), &spot.desk.zoned).ok())
        .flatten();
    let prognosis = on_desk.and_then(|open| open.prognosis());
    let since = since(spot, fault.opened.0);
    let again = |one_in: f64| rare(1.0 + since.1 as f64, one_in + since.0.max(since.1) as f64);
    let stoppage = match &prognosis {
        None => Some((again(OPEN_FAULT_ONE_IN), spot.outcome(None, 0.0, true))),
        Some(known) if known.stops == Stops::Nothing => None,
        Some(known) => Some((again(STOPPING_FAULT_ONE_IN), outcome(spot, &known.ways))),
    };
    Trouble { prognosis, stoppage, since }
}

/// A machine has an open fault that must be settled before it runs, or a reading past the limit for any film.
pub(super) fn must_not_run<'a>(at: &Desk<'a>, id: &MachineId, machine: &'a Machine) -> bool {
    let Some(kind) = at.kind_of(machine) else { return false };
    at.booth.open_faults(id).any(|(_, fault)| desk::stop_now(kind, fault).is_some())
        || readings::bar_film(at, id, machine)
}

/// The showings of the machine that were held since something began, and its stoppages in them.
pub(super) fn since(spot: &Spot<'_, '_>, begun: When) -> (usize, usize) {
    let booth = spot.desk.booth;
    let opened = begun.unix_ms;
    let place = booth.machines.get_index_of(spot.id);
    let held = place.map_or(0, |place| spot.desk.register.held(booth).since(place, opened));
    let stopped = booth
        .stoppages
        .iter()
        .filter(|stoppage| stoppage.machine.as_ref() == Some(spot.id) && stoppage.at.unix_ms > opened);
    (held, stopped.count())
}

/// All ways in one: each by its chance.
fn outcome(spot: &Spot<'_, '_>, ways: &[Way]) -> Outcome {
    let kind = spot.desk.kind_of(spot.machine);
    let (mut lost, mut lost_dark, mut pause) = (0.0, 0.0, 0.0);
    for way in ways {
        let ready =
            way.spare.as_ref().is_none_or(|spare| kind.is_some_and(|kind| spot.has_spare(kind, spare)));
        let one = spot.outcome(way.minutes, 0.0, ready);
        let (chance, gone) = (way.chance.value(), one.lost.value());
        lost += chance * gone;
        lost_dark += chance * gone * one.lost_dark.seconds();
        pause += chance * (1.0 - gone) * one.pause.seconds();
    }
    let mean = |sum: f64, of: f64| if of > 0.0 { sum / of } else { 0.0 };
    Outcome {
        pause: Seconds::new(mean(pause, 1.0 - lost)),
        lost: Probability::clamped(lost),
        lost_dark: Seconds::new(mean(lost_dark, lost)),
    }
}
