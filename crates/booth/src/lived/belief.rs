//! What is believed of the life of a part in a slot: the type's prior life, and the lives of its like.

use super::stretch::{Entered, Stretch, stretches};
use crate::day::Now;
use lives::{
    Ending, LifeRecord, Lives,
    bayes::{BandedLife, Family, Known, Posterior, Prior},
};
use logbook::{
    Booth, MachineId,
    booth::{Machine, PartLife},
};
use machine::{LifeClock, MachineType, PriorLife};
use rustc_hash::FxHashMap;
use std::{cell::RefCell, rc::Rc};

/// So many machines' lives are weighed one by one beside the machine's own; of more, those watched longest. A family of
/// this size says nearly all that a larger one would.
pub const MOST_KIN: usize = 24;

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

    /// What is believed of such a part in one machine.
    pub fn belief(&self, machine: &MachineId) -> Posterior {
        let prior = Prior::around(self.prior.shape, self.prior.scale);
        let (own, others): (Vec<&Stretch<'a>>, Vec<&Stretch<'a>>) =
            self.stretches.iter().partition(|stretch| stretch.machine == machine);
        let mut kin: Vec<(&MachineId, Vec<&Stretch<'a>>)> = Vec::new();
        let mut at: FxHashMap<&MachineId, usize> = FxHashMap::default();
        for stretch in others {
            let place = *at.entry(stretch.machine).or_insert_with(|| {
                kin.push((stretch.machine, Vec::new()));
                kin.len() - 1
            });
            kin[place].1.push(stretch);
        }
        let watched =
            |stretches: &[&Stretch<'a>]| stretches.iter().map(|stretch| stretch.watched).sum::<f64>();
        kin.sort_by(|a, b| watched(&b.1).total_cmp(&watched(&a.1)));
        kin.truncate(MOST_KIN);
        let known = std::iter::once(known(&own)).chain(kin.iter().map(|(_, stretches)| known(stretches)));
        Family::new(prior, known.collect()).quick_posterior(Some(0))
    }
}

/// The slots whose lives are shared: those with the same prior life that one spare fits.
fn like_slots<'k>(kind: &'k MachineType, prior: &'k PriorLife) -> Vec<&'k str> {
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

fn known(stretches: &[&Stretch<'_>]) -> Known {
    let mut records = Vec::new();
    let mut banded = Vec::new();
    for stretch in stretches {
        match stretch.entered {
            Entered::At(entered) => records.extend(record(entered, stretch)),
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

/// A life that was watched for no time at all tells nothing, unless it failed: then it failed at the first use, for
/// which the smallest age that still counts is a hundredth of an hour (or of a strike, or of a year).
fn record(entered: f64, stretch: &Stretch<'_>) -> Option<LifeRecord> {
    const FIRST_USE: f64 = 0.01;
    let ending = if stretch.failed() {
        Ending::Failed(entered + stretch.watched.max(FIRST_USE))
    } else if stretch.watched > 0.0 {
        Ending::Censored(entered + stretch.watched)
    } else {
        return None;
    };
    Some(LifeRecord { entered, ending, count: 1 })
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

/// Beliefs, each worked out once: about one prior life of one type in one machine.
pub struct Beliefs<'a> {
    booth: &'a Booth,
    now: Now,
    lived: RefCell<FxHashMap<*const PriorLife, Rc<Lived<'a>>>>,
    held: RefCell<FxHashMap<(*const PriorLife, &'a MachineId), Rc<Posterior>>>,
}

impl<'a> Beliefs<'a> {
    /// Knows nothing yet.
    pub fn new(booth: &'a Booth, now: Now) -> Self {
        Self { booth, now, lived: RefCell::default(), held: RefCell::default() }
    }

    /// The lives behind a belief.
    pub fn lived(&self, kind: &'a MachineType, prior: &'a PriorLife) -> Rc<Lived<'a>> {
        // A prior life stands at one place of one library for as long as the question lasts, so its address names it.
        let key = std::ptr::from_ref(prior);
        if let Some(lived) = self.lived.borrow().get(&key) {
            return Rc::clone(lived);
        }
        let lived = Rc::new(Lived::gather(self.booth, kind, prior, &self.now));
        self.lived.borrow_mut().insert(key, Rc::clone(&lived));
        lived
    }

    /// What is believed of such a part in a machine.
    pub fn of(&self, kind: &'a MachineType, prior: &'a PriorLife, machine: &'a MachineId) -> Rc<Posterior> {
        let key = (std::ptr::from_ref(prior), machine);
        if let Some(held) = self.held.borrow().get(&key) {
            return Rc::clone(held);
        }
        let belief = Rc::new(self.lived(kind, prior).belief(machine));
        self.held.borrow_mut().insert(key, Rc::clone(&belief));
        belief
    }
}
