//! Showings.

use super::{
    apply::Folding,
    line::Line,
    pending::{Waiting, WaitingFor},
};
use crate::{
    booth::{Showing, ShowingState},
    fact::{Ran, RunKind, ShowingCancelled, ShowingHeld, ShowingPlanned},
    ids::ShowingId,
    rules,
};
use std::mem::take;
use units::Hours;

impl Folding {
    /// A showing stands in the diary, or its plan changes: the plan that was written last holds.
    pub fn showing_planned(&mut self, line: &Line, fact: &mut ShowingPlanned) {
        let written = (line.recorded, line.id);
        match self.booth.showings.get_index_of(&fact.showing) {
            None => {
                let state = ShowingState::Planned;
                let showing = self.showing_as_planned(line, fact, state);
                self.booth.showings.insert(fact.showing.clone(), showing);
                self.planned.push(written);
            }
            Some(place) if written > self.planned[place] => {
                let state = match take_state(&mut self.booth.showings[place]) {
                    // Planned again after it was called off.
                    ShowingState::Cancelled { .. } => ShowingState::Planned,
                    state => state,
                };
                self.booth.showings[place] = self.showing_as_planned(line, fact, state);
                self.planned[place] = written;
            }
            Some(_) => {}
        }
    }

    fn showing_as_planned(&mut self, line: &Line, fact: &mut ShowingPlanned, state: ShowingState) -> Showing {
        let mut length_minutes = fact.length_minutes;
        if !rules::is_showing_length(length_minutes) {
            let what =
                format!("a showing cannot last {length_minutes} minutes; its length is taken as unknown");
            self.ask(line, None, what, "correct the length: more than nothing, at most a day");
            length_minutes = 0.0;
        }
        Showing {
            title: take(&mut fact.title),
            starts: fact.starts.clone(),
            length_minutes,
            place: fact.place.clone(),
            machines: self.shares(line, fact, length_minutes),
            prints: take(&mut fact.prints),
            note: take(&mut fact.note),
            state,
            entry: line.id,
        }
    }

    /// Returns how long each machine will run: as said, else an equal share of the programme.
    fn shares(
        &mut self,
        line: &Line,
        fact: &mut ShowingPlanned,
        length_minutes: f64,
    ) -> Vec<(crate::ids::MachineId, Hours)> {
        let equal = Hours::from_minutes(length_minutes / fact.machines.len().max(1) as f64);
        let assigned = take(&mut fact.machines);
        for machine in assigned.iter().map(|assigned| &assigned.machine) {
            if !self.booth.machines.contains_key(machine) {
                self.ask_about_machine(line, Some(machine));
            }
        }
        let hours = |said: Option<Hours>| said.filter(|hours| rules::is_run_length(*hours)).unwrap_or(equal);
        assigned.into_iter().map(|assigned| (assigned.machine, hours(assigned.running_hours))).collect()
    }

    /// A showing took place.
    pub fn showing_held(&mut self, line: &Line, fact: &ShowingHeld) {
        if !rules::is_showing_length(fact.lasted_minutes) {
            let what = format!(
                "a showing cannot have lasted {} minutes; the planned length is taken",
                fact.lasted_minutes
            );
            self.ask(line, None, what, "correct how long it lasted: more than nothing, at most a day");
        }
        self.at_showing(line, &fact.showing, WaitingFor::Held { lasted_minutes: fact.lasted_minutes });
    }

    /// A showing will not take place.
    pub fn showing_cancelled(&mut self, line: &Line, fact: &mut ShowingCancelled) {
        self.at_showing(line, &fact.showing, WaitingFor::Cancelled { why: take(&mut fact.why) });
    }

    /// A machine ran for a showing.
    pub fn ran_for(&mut self, line: &Line, place: usize, showing: &ShowingId, ran: &Ran) {
        if ran.run == RunKind::Showing {
            self.at_showing(line, showing, WaitingFor::Ran { place });
        } else {
            self.mention_showing(line, Some(place), showing);
        }
    }

    /// A showing is named; if it never comes into the diary, somebody should say which was meant.
    pub fn mention_showing(&mut self, line: &Line, place: Option<usize>, showing: &ShowingId) {
        if !self.booth.showings.contains_key(showing) {
            self.at_showing(line, showing, WaitingFor::Mentioned { place });
        }
    }

    fn at_showing(&mut self, line: &Line, showing: &ShowingId, what: WaitingFor) {
        match self.booth.showings.get_index_of(showing) {
            Some(at) => self.showing_news(line, at, what),
            None => self.pending.showings.push(Waiting { id: showing.clone(), line: line.clone(), what }),
        }
    }

    /// Takes news of a showing that stands in the diary.
    pub fn showing_news(&mut self, line: &Line, at: usize, news: WaitingFor) {
        let showing = &mut self.booth.showings[at];
        match (news, &showing.state) {
            (WaitingFor::Held { lasted_minutes }, _) => {
                let lasted_minutes = if rules::is_showing_length(lasted_minutes) {
                    lasted_minutes
                } else {
                    showing.length_minutes
                };
                showing.state = ShowingState::Held { started: line.at, lasted_minutes };
            }
            (WaitingFor::Cancelled { .. }, ShowingState::Held { .. }) => {
                let what = format!(
                    "“{}” is called off here, but by this log it took place; it counts as held",
                    showing.title
                );
                self.ask(line, None, what, "withdraw whichever of the two is wrong");
            }
            (WaitingFor::Cancelled { why }, _) => showing.state = ShowingState::Cancelled { why },
            (WaitingFor::Ran { .. }, ShowingState::Planned) => {
                let lasted_minutes = showing.length_minutes;
                showing.state = ShowingState::Held { started: line.at, lasted_minutes };
            }
            (WaitingFor::Ran { place }, ShowingState::Cancelled { .. }) => {
                self.pending.called_off.push((at, place, line.clone()));
            }
            (WaitingFor::Ran { .. } | WaitingFor::Mentioned { .. }, _) => {}
        }
    }
}

fn take_state(showing: &mut Showing) -> ShowingState {
    std::mem::replace(&mut showing.state, ShowingState::Planned)
}
