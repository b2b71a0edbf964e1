//! What can be done about the hazards of a showing.

use super::{
    cause::{Cause, Doing},
    hazards::{Hazards, covers},
    rules::{COVER_PAUSE_MINUTES, FETCH_MINUTES, STANDBY_MINUTES, STRIKE_REHEARSAL_MINUTES},
};
use crate::{coming::Coming, due::Desk};
use logbook::MachineId;
use machine::{Hand, Loss, TaskId};
use risk::{Action, Change, Effect, Outcome};
use rustc_hash::{FxHashMap, FxHashSet};
use units::{Probability, Seconds};

/// The deeds. The key of an action is its place, and the place of what is done.
pub(super) struct Deeds<'a> {
    pub list: Vec<Action<usize>>,
    pub doings: Vec<Doing<'a>>,
}

impl<'a> Deeds<'a> {
    pub fn gather(desk: &Desk<'a>, hazards: &Hazards<'a>, coming: &Coming<'a>) -> Self {
        let busy = busy_machines(desk, coming);
        let mut made = Self { list: Vec::new(), doings: Vec::new() };
        let mut care: FxHashMap<(&MachineId, &TaskId), usize> = FxHashMap::default();
        for (at, cause) in hazards.causes.iter().enumerate() {
            let Cause::Part { machine, kind, life, spares, .. } = cause else { continue };
            let Some(loss) = &life.loss else { continue };
            let eased = &hazards.eased[at];
            let has_spare = spares.is_none_or(|count| count > 0);
            if let (Some(new), Some(minutes), true) = (eased.new, loss.bench_minutes, has_spare) {
                made.push(Doing::Change { machine, kind, life }, minutes, at, Change::Becomes(new));
            }
            if loss.at_strike > 0.0 && has_spare && !eased.struck {
                let burning = Probability::clamped(1.0 - loss.at_strike);
                made.push(
                    Doing::StrikeOnce { machine },
                    STRIKE_REHEARSAL_MINUTES,
                    at,
                    Change::Leaves(burning),
                );
            }
            if let Some((from, minutes)) = fetched(desk, &busy, cause, loss).filter(|_| !has_spare) {
                let ready = Outcome::pause(Seconds::new(minutes * 60.0));
                made.push(
                    Doing::Fetch { machine, from, kind, life },
                    FETCH_MINUTES,
                    at,
                    Change::Costs(ready),
                );
            }
            for item in eased.cared.iter().flat_map(|(late, _)| late) {
                if item.task.who == Hand::Technician {
                    continue;
                }
                let Some((_, cared)) = eased.cared.as_ref().map(|(late, cared)| (late, *cared)) else {
                    continue;
                };
                let effect = Effect { hazard: at, change: Change::Becomes(cared) };
                let place = *care.entry((machine, &item.task.id)).or_insert_with(|| {
                    made.add(Doing::Care { machine, task: item.task }, item.task.minutes());
                    made.list.len() - 1
                });
                made.list[place].effects.push(effect);
            }
        }
        made.standby(desk, hazards, coming, &busy);
        made
    }

    fn add(&mut self, doing: Doing<'a>, minutes: f64) {
        self.list.push(Action { key: self.doings.len(), minutes, needs: Vec::new(), effects: Vec::new() });
        self.doings.push(doing);
    }

    fn push(&mut self, doing: Doing<'a>, minutes: f64, hazard: usize, change: Change) {
        self.add(doing, minutes);
        if let Some(action) = self.list.last_mut() {
            action.effects.push(Effect { hazard, change });
        }
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
                desk.booth.machines.get(other).is_none_or(|stands| !covers(desk, stands, machine))
            });
            let mut free = desk.booth.machines.iter().filter(|(other, _)| !busy.contains(other));
            let free = free.find(|(_, other)| covers(desk, other, machine));
            let (Some((other, _)), true) = (free, alone) else { continue };
            self.add(Doing::Standby { machine: other, of: id }, STANDBY_MINUTES);
            let own = hazards.causes.iter().enumerate().filter(|(_, cause)| cause.machine() == Some(id));
            let effects = own.map(|(at, _)| Effect { hazard: at, change: Change::Costs(cover) });
            if let Some(action) = self.list.last_mut() {
                action.effects.extend(effects);
            }
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
