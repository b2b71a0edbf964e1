//! What is believed of the life of a part in a slot: the type's prior life, and the lives of its like.

use super::{
    chances::Belief,
    kept::KeptBeliefs,
    kin::Whereabouts,
    stretch::{Entered, Stretch, stretches},
};
use crate::{day::Now, due::Desk, register::Register};
use lives::{
    Ending, LifeRecord, Lives,
    bayes::{BandedLife, Known, Prior},
};
use logbook::{
    Booth, MachineId,
    booth::{Machine, PartLife},
};
use machine::{LifeClock, MachineType, PriorLife};
use std::sync::Arc;

/// So many machines' lives are weighed beside the machine's own; of more, those that ran longest. Even where each has seen
/// one failure only, twice as many would narrow what is expected of a machine by less than a twentieth: what sets
/// machines of one type apart weighs more.
pub const MOST_KIN: usize = 12;

/// The lives of one kind of part in one machine type, by machine.
pub struct Lived<'a> {
    /// The prior life.
    pub prior: &'a PriorLife,
    /// What was seen, in the order of the booth's parts.
    pub stretches: Vec<Stretch<'a>>,
}

impl<'a> Lived<'a> {
    /// Gathers the lives of parts that fit the same slot, or a like one, in machines of this type.
    pub fn gather(booth: &'a Booth, kind: &MachineType, prior: &'a PriorLife, now: &Now) -> Self {
        let alike = like_slots(kind, prior);
        let of_type = |machine: &MachineId| {
            booth
                .machines
                .get(machine)
                .is_some_and(|machine| machine.machine_type.as_str() == kind.id.as_str())
        };
        let fits = |life: &PartLife| {
            life.stints.iter().any(|stint| alike.contains(&stint.slot.as_str()) && of_type(&stint.machine))
        };
        let seen = booth.parts.iter().filter(|(_, life)| fits(life));
        let stretches = seen
            .flat_map(|(part, life)| stretches(booth, part, life, prior, now))
            .filter(|stretch| of_type(stretch.machine) && alike.contains(&stretch.slot.as_str()))
            .collect();
        Self { prior, stretches }
    }

    /// Failures among them.
    pub fn failures(&self) -> usize {
        self.stretches.iter().filter(|stretch| stretch.failed()).count()
    }
}

/// The slots whose lives are shared: those with the same prior life that one spare fits.
pub(super) fn like_slots<'k>(kind: &'k MachineType, prior: &'k PriorLife) -> Vec<&'k str> {
    let same = |other: &&PriorLife| {
        other.clock == prior.clock
            && other.variant == prior.variant
            && (other.shape, other.scale) == (prior.shape, prior.scale)
    };
    let fits_both = |slot: &str| {
        let own = |spare: &machine::Spare| spare.fits.iter().any(|fits| fits.as_str() == prior.slot.as_str());
        slot == prior.slot.as_str() || kind.spares_for(slot).any(own)
    };
    let mut slots: Vec<&str> = kind
        .lives
        .iter()
        .filter(same)
        .map(|life| life.slot.as_str())
        .filter(|slot| fits_both(slot))
        .collect();
    slots.dedup();
    slots
}

fn known<'s>(stretches: impl Iterator<Item = Stretch<'s>>) -> Known {
    let mut records = Vec::new();
    let mut banded = Vec::new();
    for stretch in stretches {
        match stretch.entered {
            Entered::At(entered) => records.extend(record(entered, &stretch)),
            Entered::Within(low, high) => {
                banded.push(BandedLife {
                    entered: (low, high),
                    watched: stretch.watched,
                    failed: stretch.failed(),
                });
            }
        }
    }
    let lives = Lives::new(records).expect("each record is made so that it ends after it began");
    Known { lives, banded }
}

/// A life that was watched for no time at all, or for less than its age can tell, tells nothing, unless it failed: then it failed at the first use, for
/// which the smallest age that still counts is a hundredth of an hour (or of a strike, or of a year).
fn record(entered: f64, stretch: &Stretch<'_>) -> Option<LifeRecord> {
    const FIRST_USE: f64 = 0.01;
    let (left, ending): (f64, fn(f64) -> Ending) = if stretch.failed() {
        (entered + stretch.watched.max(FIRST_USE), Ending::Failed)
    } else {
        (entered + stretch.watched, Ending::Censored)
    };
    (left.is_finite() && left > entered).then(|| LifeRecord { entered, ending: ending(left), count: 1 })
}

/// True where this prior life speaks of a machine: the usual one, or an alternative that its settings name.
pub fn is_reckoned(machine: &Machine, kind: &MachineType, prior: &PriorLife) -> bool {
    let named =
        |life: &PriorLife| machine.settings.get(life.slot.as_str()).is_some_and(|said| *said == life.variant);
    if prior.alternative {
        return named(prior);
    }
    let rival = |life: &&PriorLife| life.alternative && life.clock == prior.clock;
    prior.clock != LifeClock::Operations && !kind.lives_of(prior.slot.as_str()).filter(rival).any(named)
}

/// Beliefs about the parts of a booth as it stands: about one prior life of one type in one machine.
pub struct Beliefs<'a> {
    booth: &'a Booth,
    now: Now,
    register: Arc<Register>,
    kept: &'a KeptBeliefs,
}

impl<'a> Beliefs<'a> {
    /// Looks at nothing yet. What is found stays in `kept` for the next question.
    pub fn new(booth: &'a Booth, now: Now, kept: &'a KeptBeliefs) -> Self {
        Self { booth, now, register: Arc::default(), kept }
    }

    /// The same, with what was found in the booth before.
    pub(crate) fn at(desk: &Desk<'a>, kept: &'a KeptBeliefs) -> Self {
        Self { booth: desk.booth, now: desk.now, register: Arc::clone(&desk.register), kept }
    }

    /// What is believed of such a part in a machine.
    pub fn of(&self, kind: &MachineType, prior: &PriorLife, machine: &MachineId) -> Arc<Belief> {
        let own = self.booth.machines.get_index_of(machine);
        let kin = self.whereabouts().kin(self.booth, kind, prior);
        let others = kin.iter().copied().filter(|place| Some(*place) != own).take(MOST_KIN);
        let slots = like_slots(kind, prior);
        let seen_at = |place: usize| known(self.seen_at(place, &slots, prior));
        let own = own.map_or_else(Known::nothing, seen_at);
        let machines = std::iter::once(own).chain(others.map(seen_at)).collect();
        self.kept.of(Prior::around(prior.shape, prior.scale), machines)
    }

    fn whereabouts(&self) -> &Whereabouts {
        self.register.whereabouts(self.booth)
    }

    /// What was seen of such parts in one machine.
    fn seen_at(&self, place: usize, slots: &[&str], prior: &PriorLife) -> impl Iterator<Item = Stretch<'a>> {
        let machine = self.booth.machines.get_index(place).map(|(id, _)| id);
        let parts = self.whereabouts().parts_of(self.booth, place, slots);
        let lives =
            parts.into_iter().flat_map(|(part, life)| stretches(self.booth, part, life, prior, &self.now));
        lives
            .filter(move |stretch| Some(stretch.machine) == machine && slots.contains(&stretch.slot.as_str()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use logbook::{EntryId, PartId, fact::Ending as End, ids::SlotId};

    /// Every record can be weighed, whatever age and time: by its age what it was watched for may be lost.
    #[test]
    fn a_life_that_its_age_swallows_tells_nothing() {
        let (part, machine) = (PartId::new("lamp-1"), MachineId::new("heron"));
        let slot = SlotId::new("lamp");
        let weighed = |entered, watched, ending| {
            let entry = EntryId(uuid::Uuid::nil());
            let from = Entered::At(entered);
            let stretch = Stretch {
                part: &part,
                machine: &machine,
                slot: &slot,
                entered: from,
                watched,
                ending,
                entry,
            };
            let known = known(std::iter::once(stretch));
            known.lives.records().len()
        };
        for ending in [None, Some(End::Failed)] {
            for (entered, watched) in [(1e15, 1e-3), (1e308, 1.0), (f64::MAX, f64::MAX), (f64::INFINITY, 1.0)]
            {
                assert_eq!(weighed(entered, watched, ending), 0, "{entered} {watched} {ending:?}");
            }
            assert_eq!(weighed(1e6, 1.0, ending), 1);
        }
        assert_eq!((weighed(1e6, 1e-12, None), weighed(0.0, 0.0, None)), (0, 0));
        assert_eq!(weighed(0.0, 0.0, Some(End::Failed)), 1);
    }
}
