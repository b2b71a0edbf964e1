//! What can be done about the hazards of a showing.

use super::{
    cause::{Cause, Doing},
    hazards::{Eased, Hazards, covers},
    rules::{COVER_PAUSE_MINUTES, FETCH_MINUTES, STANDBY_MINUTES, STRIKE_REHEARSAL_MINUTES},
};
use crate::{coming::Coming, due::Desk};
use logbook::{ItemId, MachineId};
use machine::{Hand, Loss, TaskId};
use risk::{Action, Chance, Change, Effect, Lean, Outcome, Supply};
use rustc_hash::{FxHashMap, FxHashSet};
use units::{Probability, Seconds};

/// The deeds. The key of an action is its place, and the place of what is done.
#[derive(Default)]
pub(super) struct Deeds<'a> {
    pub list: Vec<Action<usize>>,
    pub doings: Vec<Doing<'a>>,
    pub supplies: Vec<Supply<usize>>,
    pub leans: Vec<Lean>,
    /// The place of each supply.
    supplied: FxHashMap<Supplied<'a>, usize>,
    /// The places of care and of rehearsals, which ease several hazards at once.
    care: FxHashMap<(&'a MachineId, &'a TaskId), usize>,
    rehearsals: FxHashMap<&'a MachineId, usize>,
}

/// Something of which there are only so many.
#[derive(PartialEq, Eq, Hash)]
enum Supplied<'a> {
    /// Spares in the stores.
    Stock(&'a ItemId),
    /// A part that stands in a machine at home.
    PartOf(&'a MachineId, &'a str),
    /// The parts of a machine at home that somebody may fetch: it stands by only with all of them.
    AtHome(&'a MachineId),
}

impl<'a> Deeds<'a> {
    pub fn gather(desk: &Desk<'a>, hazards: &Hazards<'a>, coming: &Coming<'a>) -> Self {
        let busy = busy_machines(desk, coming);
        let mut made = Self::default();
        for (at, cause) in hazards.causes.iter().enumerate() {
            let eased = &hazards.eased[at];
            match cause {
                Cause::Part { .. } => made.for_part(desk, &busy, at, hazards),
                Cause::LooseWork { machine, .. } => {
                    let place = made.rehearsal(machine);
                    made.effect(place, at, Change::Becomes(Chance::NEVER));
                    if let Some(Doing::Rehearse { after_work, .. }) = made.doings.get_mut(place) {
                        *after_work = true;
                    }
                }
                Cause::Reel { print, title, reel, .. } => {
                    let doing = Doing::MendReel { print, title, reel: *reel };
                    made.worked(doing, eased, at);
                }
                Cause::Fault { machine, fault, .. } => {
                    made.worked(Doing::WorkFault { machine, fault }, eased, at);
                }
                Cause::Reading { .. } | Cause::NotForUse { .. } | Cause::Unexplained { .. } => {}
            }
        }
        made.for_readings(hazards);
        made.standby(desk, hazards, coming, &busy);
        made
    }

    /// What can be done about one part.
    fn for_part(
        &mut self,
        desk: &Desk<'a>,
        busy: &FxHashSet<&'a MachineId>,
        at: usize,
        hazards: &Hazards<'a>,
    ) {
        let (cause, eased, outcome) = (&hazards.causes[at], &hazards.eased[at], &hazards.list[at].outcome);
        let Cause::Part { machine, kind, life, spares, .. } = cause else { return };
        let Some(loss) = &life.loss else { return };
        let has_spare = spares.is_none_or(|count| count > 0);
        let stock = eased.leans.map(|lean| {
            let supply = self.supply(Supplied::Stock(lean.item), lean.pieces);
            // Where a machine takes over sooner than the part is changed nobody opens the box.
            if lean.without.dark() > outcome.dark() {
                self.leans.push(Lean { hazard: at, supply, without: lean.without });
            }
            supply
        });
        if let (Some(new), Some(minutes), true) = (eased.new, loss.bench_minutes, has_spare) {
            let item = eased.leans.map(|lean| lean.item);
            let place = self.add(Doing::Change { machine, kind, life, item }, minutes);
            self.list[place].takes.extend(stock);
            self.effect(place, at, Change::Becomes(new));
        }
        if loss.at_strike > 0.0 && has_spare && !eased.struck {
            let place = self.rehearsal(machine);
            self.effect(place, at, Change::Leaves(Probability::clamped(1.0 - loss.at_strike)));
        }
        if let Some((from, minutes)) = fetched(desk, busy, cause, loss).filter(|_| !has_spare) {
            let place = self.add(Doing::Fetch { machine, from, kind, life }, FETCH_MINUTES);
            let part = self.supply(Supplied::PartOf(from, life.slot.as_str()), 1);
            let at_home = self.supply(Supplied::AtHome(from), 0);
            self.supplies[at_home].count += 1;
            self.list[place].takes.extend([part, at_home]);
            self.effect(place, at, Change::Costs(Outcome::pause(Seconds::new(minutes * 60.0))));
        }
        let Some((late, cared)) = &eased.cared else { return };
        for item in late.iter().filter(|item| item.task.who != Hand::Technician) {
            let known = self.care.get(&(*machine, &item.task.id)).copied();
            let place = known
                .unwrap_or_else(|| self.add(Doing::Care { machine, task: item.task }, item.task.minutes()));
            self.care.insert((machine, &item.task.id), place);
            self.effect(place, at, Change::Becomes(*cared));
        }
    }

    /// A new part begins its readings anew; where a reading tells of several, each is as likely to blame.
    fn for_readings(&mut self, hazards: &Hazards<'a>) {
        for (at, cause) in hazards.causes.iter().enumerate() {
            let Cause::Reading { machine, parts, .. } = cause else { continue };
            let others = Probability::clamped(1.0 - 1.0 / parts.len().max(1) as f64);
            for slot in parts {
                let fits_it = |doing: &Doing<'_>| match doing {
                    Doing::Change { machine: own, life, .. } => own == machine && life.slot == **slot,
                    _ => false,
                };
                if let Some(place) = self.doings.iter().position(fits_it) {
                    self.effect(place, at, Change::Leaves(others));
                }
            }
        }
    }

    /// A deed fits the last spare that is there.
    pub fn takes_last(&self, place: usize) -> bool {
        let is_change = matches!(self.doings[place], Doing::Change { .. });
        is_change && self.list[place].takes.iter().any(|supply| self.supplies[*supply].count == 1)
    }

    /// Adds a deed and returns its place.
    fn add(&mut self, doing: Doing<'a>, minutes: f64) -> usize {
        self.list.push(Action {
            key: self.doings.len(),
            minutes,
            needs: Vec::new(),
            takes: Vec::new(),
            effects: Vec::new(),
        });
        self.doings.push(doing);
        self.doings.len() - 1
    }

    fn effect(&mut self, place: usize, hazard: usize, change: Change) {
        self.list[place].effects.push(Effect { hazard, change });
    }

    /// Work that eases one hazard, where there is any.
    fn worked(&mut self, doing: Doing<'a>, eased: &Eased<'a>, hazard: usize) {
        if let Some((minutes, change)) = eased.worked {
            let place = self.add(doing, minutes);
            self.effect(place, hazard, change);
        }
    }

    /// The rehearsal of a machine: one is enough for all that it shows.
    fn rehearsal(&mut self, machine: &'a MachineId) -> usize {
        if let Some(place) = self.rehearsals.get(machine) {
            return *place;
        }
        let place = self.add(Doing::Rehearse { machine, after_work: false }, STRIKE_REHEARSAL_MINUTES);
        self.rehearsals.insert(machine, place);
        place
    }

    fn supply(&mut self, what: Supplied<'a>, count: usize) -> usize {
        let Self { supplied, supplies, .. } = self;
        *supplied.entry(what).or_insert_with(|| {
            supplies.push(Supply { key: supplies.len(), count });
            supplies.len() - 1
        })
    }

    /// A machine that nobody needs at that time could stand threaded beside each one that runs alone.
    fn standby(
        &mut self,
        desk: &Desk<'a>,
        hazards: &Hazards<'a>,
        coming: &Coming<'a>,
        busy: &FxHashSet<&'a MachineId>,
    ) {
        let cover = Outcome::pause(Seconds::new(COVER_PAUSE_MINUTES * 60.0));
        for (id, _) in &coming.showing.machines {
            let Some(machine) = desk.booth.machines.get(id) else { continue };
            let alone = coming.showing.machines.iter().filter(|(other, _)| other != id).all(|(other, _)| {
                desk.booth.machines.get(other).is_none_or(|stands| !covers(desk, other, stands, machine))
            });
            let mut free = desk.booth.machines.iter().filter(|(other, _)| !busy.contains(other));
            let free = free.find(|(id, other)| covers(desk, id, other, machine));
            let (Some((other, _)), true) = (free, alone) else { continue };
            let place = self.add(Doing::Standby { machine: other, of: id }, STANDBY_MINUTES);
            let own = hazards.causes.iter().enumerate().filter(|(_, cause)| cause.machine() == Some(id));
            for (at, _) in own {
                self.effect(place, at, Change::Costs(cover));
            }
            // It stands by for one machine, with nothing taken out of it.
            let at_home = self.supply(Supplied::AtHome(other), 1);
            let all = self.supplies[at_home].count;
            self.list[place].takes.extend(std::iter::repeat_n(at_home, all));
        }
    }
}

/// Machines that are needed in a showing that overlaps this one.
fn busy_machines<'a>(desk: &Desk<'a>, coming: &Coming<'a>) -> FxHashSet<&'a MachineId> {
    let (starts, ends) = (coming.starts_ms, coming.ends_ms);
    let overlapping = desk.coming.iter().filter(|other| other.starts_ms < ends && starts < other.ends_ms);
    overlapping.flat_map(|other| other.showing.machines.iter().map(|(id, _)| id)).collect()
}

/// A like part in a machine that stays at home, and how long it takes to fit it in a showing.
fn fetched<'a>(
    desk: &Desk<'a>,
    busy: &FxHashSet<&'a MachineId>,
    cause: &Cause<'a>,
    loss: &Loss,
) -> Option<(&'a MachineId, f64)> {
    let Cause::Part { kind, life, .. } = cause else { return None };
    let minutes = loss.minutes.filter(|_| loss.spare)?;
    let mut like = desk.register.fitted(desk.booth, kind.id.as_str(), life.slot.as_str());
    like.find(|(id, _)| !busy.contains(id)).map(|(from, _)| (from, minutes))
}
