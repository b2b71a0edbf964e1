//! Parts with an identity: each lives in stints, one slot of one machine at a time.

use super::{apply::Folding, line::Line, queries};
use crate::{
    booth::{Clocks, PartLife, Stint, StintEnd},
    fact::{Ending, PartFitted, PartMoved, PartRemoved, Replaced},
    ids::{PartId, SlotId},
    rules,
};
use std::mem::take;

impl Folding {
    /// A part goes into a slot.
    pub fn part_fitted(&mut self, line: &Line, place: usize, fact: &mut PartFitted) {
        self.ask_if_left(line, place);
        if self.is_there_already(line, place, &fact.part, &fact.slot) {
            return;
        }
        if let Some(item) = &fact.item {
            self.draw_from_stock(line, item, 1);
        }
        if let Some((machine, slot)) = self.whereabouts(&fact.part) {
            let what = format!(
                "part “{}” was still fitted in {} ({slot}); it is taken as borrowed from there",
                fact.part,
                queries::machine(&machine)
            );
            self.ask(line, Some(place), what, "write it as moved, or give this part a short name of its own");
            self.take_out(line, &fact.part, Ending::Borrowed);
        }
        let age_hours = fact.age_hours.filter(|hours| rules::is_meter_figure(*hours));
        let age_band_hours = fact.age_band_hours.filter(|band| rules::is_age_band(*band));
        if (age_hours, age_band_hours) != (fact.age_hours, fact.age_band_hours) {
            let what = format!("the age of part “{}” cannot be; it is taken as unknown", fact.part);
            self.ask(line, Some(place), what, "correct the age");
        }
        let life = PartLife {
            slot: fact.slot.clone(),
            lot: take(&mut fact.lot),
            item: fact.item.take(),
            age_hours,
            age_band_hours,
            age_days: fact.age_days,
            strikes: fact.strikes,
            stints: Vec::new(),
        };
        self.booth.parts.entry(fact.part.clone()).or_insert(life);
        self.put_in(line, place, &fact.part, &fact.slot, fact.replaces.as_ref());
    }

    /// A known part goes into another slot.
    pub fn part_moved(&mut self, line: &Line, place: usize, fact: &PartMoved) {
        self.ask_if_left(line, place);
        if self.is_there_already(line, place, &fact.part, &fact.slot) {
            return;
        }
        if self.booth.parts.contains_key(&fact.part) {
            self.take_out(line, &fact.part, fact.why);
        } else {
            let what =
                format!("part “{}” was never written down before; its age is taken as unknown", fact.part);
            self.ask(
                line,
                Some(place),
                what,
                "write where and when it was first fitted, or correct the part",
            );
            self.booth.parts.insert(fact.part.clone(), unknown_age(&fact.slot));
        }
        self.put_in(line, place, &fact.part, &fact.slot, fact.replaces.as_ref());
    }

    /// A part comes out of its slot.
    pub fn part_removed(&mut self, line: &Line, fact: &PartRemoved) {
        if !self.take_out(line, &fact.part, fact.why) {
            let what = format!("part “{}” is not fitted anywhere; nothing came out", fact.part);
            self.ask(line, None, what, "write where it was fitted before, or correct the part");
        }
    }

    fn is_there_already(&mut self, line: &Line, place: usize, part: &PartId, slot: &SlotId) -> bool {
        let there = self.machine(place).fitted.get(slot) == Some(part);
        if there {
            let what = format!("part “{part}” is in {slot} already; nothing changed");
            self.ask(line, Some(place), what, "if it is a new part, give it a short name of its own");
        }
        there
    }

    /// Puts a part that is nowhere now into a slot, and ends the stint of what was there.
    fn put_in(
        &mut self,
        line: &Line,
        place: usize,
        part: &PartId,
        slot: &SlotId,
        replaces: Option<&Replaced>,
    ) {
        self.make_room(line, place, slot, replaces);
        let clocks_at_fitting = self.clocks_at(place, line);
        let (machine_id, machine) =
            self.booth.machines.get_index_mut(place).expect("places come from the booth's own list");
        machine.fitted.insert(slot.clone(), part.clone());
        machine.disturbed.insert(slot.clone(), (line.at, line.id));
        if let Some(life) = self.booth.parts.get_mut(part) {
            life.stints.push(Stint {
                machine: machine_id.clone(),
                slot: slot.clone(),
                fitted: line.at,
                clocks_at_fitting,
                entry: line.id,
                ended: None,
            });
        }
    }

    fn make_room(&mut self, line: &Line, place: usize, slot: &SlotId, replaces: Option<&Replaced>) {
        let named = replaces.and_then(|replaced| replaced.part.as_ref());
        let Some(occupant) = self.machine(place).fitted.get(slot).cloned() else {
            if let Some(replaced) = replaces
                && let Some(part) = named
            {
                self.came_with_machine(line, place, slot, part, replaced.why);
            }
            return;
        };
        if named.is_some_and(|part| *part != occupant) {
            let what = format!(
                "by this log it was “{occupant}” that sat in {slot}; that one is taken as the one replaced"
            );
            self.ask(
                line,
                Some(place),
                what,
                "correct which part came out, or write how the other one got there",
            );
        }
        if replaces.is_none() {
            let what = format!(
                "“{occupant}” was in {slot} and nobody wrote why it came out; the reason is taken as unknown"
            );
            self.ask(line, Some(place), what, "correct the entry and say how the old part's life ended");
        }
        self.take_out(line, &occupant, replaces.map_or(Ending::Unknown, |replaced| replaced.why));
    }

    /// A part comes out that was never written down as fitted: it came with the machine, at an unknown age.
    fn came_with_machine(&mut self, line: &Line, place: usize, slot: &SlotId, part: &PartId, why: Ending) {
        if let Some((machine, other)) = self.whereabouts(part) {
            let what = format!(
                "by this log “{part}” sits in {} ({other}), not in {slot}; it is left there",
                queries::machine(&machine)
            );
            self.ask(line, Some(place), what, "correct which part came out, or write how it got there");
            return;
        }
        if self.booth.parts.contains_key(part) {
            return;
        }
        let clocks = self.clocks_at(place, line);
        let clocks_at_fitting = self.live[place].beginning();
        let (machine_id, machine) =
            self.booth.machines.get_index(place).expect("places come from the booth's own list");
        let fitted = if machine.added.0.unix_ms < line.at.unix_ms { machine.added.0 } else { line.at };
        let ended = Some(StintEnd { at: line.at, clocks, why, entry: line.id });
        let stint = Stint {
            machine: machine_id.clone(),
            slot: slot.clone(),
            fitted,
            clocks_at_fitting,
            entry: line.id,
            ended,
        };
        self.booth.parts.insert(part.clone(), PartLife { stints: vec![stint], ..unknown_age(slot) });
    }

    /// Returns the machine and slot in which a part is fitted now.
    fn whereabouts(&self, part: &PartId) -> Option<(crate::ids::MachineId, SlotId)> {
        let stint = self.booth.parts.get(part)?.stints.last().filter(|stint| stint.ended.is_none())?;
        Some((stint.machine.clone(), stint.slot.clone()))
    }

    /// Ends a part's open stint; returns whether there was one.
    fn take_out(&mut self, line: &Line, part: &PartId, why: Ending) -> bool {
        let Some((machine, slot)) = self.whereabouts(part) else { return false };
        let clocks = match self.booth.machines.get_index_of(&machine) {
            Some(place) => self.empty_slot(line, place, &slot),
            None => Clocks::default(),
        };
        if let Some(stint) = self.booth.parts.get_mut(part).and_then(|life| life.stints.last_mut()) {
            stint.ended = Some(StintEnd { at: line.at, clocks, why, entry: line.id });
        }
        true
    }

    fn empty_slot(&mut self, line: &Line, place: usize, slot: &SlotId) -> Clocks {
        let machine = self.machine(place);
        machine.fitted.swap_remove(slot);
        machine.disturbed.insert(slot.clone(), (line.at, line.id));
        self.clocks_at(place, line)
    }
}

/// The life of a part about which nothing is known but where it was made to sit.
fn unknown_age(slot: &SlotId) -> PartLife {
    PartLife {
        slot: slot.clone(),
        lot: String::new(),
        item: None,
        age_hours: None,
        age_band_hours: None,
        age_days: None,
        strikes: None,
        stints: Vec::new(),
    }
}
