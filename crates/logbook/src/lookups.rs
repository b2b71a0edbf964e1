//! Short ways to what is often asked of a booth. All of them read; none of them judges.

use crate::{
    Booth, When,
    booth::{Clocks, Fault, Machine, PartLife, Showing, ShowingState, Stint},
    fact::{Fitness, Role},
    ids::{FaultId, MachineId, PartId, PersonId, ShowingId, SlotId},
};
use jiff::tz::TimeZone;
use units::{Hours, civil::Evening};

/// How old a part is, on each of the clocks by which parts age.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct PartAge {
    /// Hours of film running.
    pub running: Hours,
    /// Hours of the motor: running and rewinding.
    pub motor: Hours,
    /// Hours with the lamp lit.
    pub lit: Hours,
    /// Strikes of the lamp.
    pub strikes: u32,
    /// How much of `running` is inferred rather than read.
    pub estimated: Hours,
    /// Its age was known when this logbook first met it; if not, it is at least this old.
    pub known: bool,
}

impl Clocks {
    /// Returns what these counters gained since an earlier state of the same machine; never less than nothing.
    #[must_use]
    pub fn since(&self, earlier: &Self) -> Self {
        let gained = |now: Hours, then: Hours| (now - then).max(Hours::ZERO);
        Self {
            showing: gained(self.showing, earlier.showing),
            testing: gained(self.testing, earlier.testing),
            rewinding: gained(self.rewinding, earlier.rewinding),
            lit: gained(self.lit, earlier.lit),
            strikes: self.strikes.saturating_sub(earlier.strikes),
            estimated: gained(self.estimated, earlier.estimated),
        }
    }
}

impl Machine {
    /// Returns whether it may be offered for a showing: still here, and neither unfit nor dangerous.
    pub fn is_available(&self) -> bool {
        self.retired.is_none() && !matches!(self.fitness.fitness, Fitness::Unfit | Fitness::Danger)
    }
}

impl PartLife {
    /// Returns the stint that lasts, if the part is fitted now.
    pub fn open_stint(&self) -> Option<&Stint> {
        self.stints.last().filter(|stint| stint.ended.is_none())
    }

    /// Returns how old the part is: what it brought with it and what it has seen in all its stints.
    ///
    /// The hours it brought count on every clock of hours, for nobody writes down more than one figure.
    pub fn age(&self, booth: &Booth) -> PartAge {
        let brought = self.age_hours.unwrap_or(Hours::ZERO);
        let mut age = PartAge {
            running: brought,
            motor: brought,
            lit: brought,
            strikes: self.strikes.unwrap_or(0),
            estimated: Hours::ZERO,
            known: self.age_hours.is_some(),
        };
        for stint in &self.stints {
            let seen = booth.seen_in(stint);
            age.running += seen.hours_run();
            age.motor += seen.motor();
            age.lit += seen.lit;
            age.strikes = age.strikes.saturating_add(seen.strikes);
            age.estimated += seen.estimated;
        }
        age
    }
}

impl Booth {
    /// Returns the booth's time zone; UTC until it is set up.
    pub fn zone(&self) -> TimeZone {
        TimeZone::get(&self.settings.zone).unwrap_or(TimeZone::UTC)
    }

    /// Returns the evening to which a moment belongs, by the booth's zone and the time at which its night ends.
    ///
    /// A moment of which only the day is known belongs to the evening of that day.
    pub fn evening_of(&self, at: When) -> Evening {
        match at.precision {
            crate::Precision::Second | crate::Precision::Minute => {
                let local = self.zone().to_datetime(at.timestamp());
                Evening::of(local, self.settings.night_ends)
            }
            crate::Precision::Day | crate::Precision::Month => Evening::on(at.date()),
        }
    }

    /// Returns the evening to which a showing belongs: that on which it begins, by the clock of its place.
    pub fn evening_of_showing(&self, showing: &Showing) -> Evening {
        Evening::of(showing.starts.datetime(), self.settings.night_ends)
    }

    /// Returns the machines that may be offered for a showing.
    pub fn available_machines(&self) -> impl Iterator<Item = (&MachineId, &Machine)> {
        self.machines.iter().filter(|(_, machine)| machine.is_available())
    }

    /// Returns the machines that have not left the booth.
    pub fn machines_here(&self) -> impl Iterator<Item = (&MachineId, &Machine)> {
        self.machines.iter().filter(|(_, machine)| machine.retired.is_none())
    }

    /// Returns the open faults of a machine, in the order in which they were opened.
    pub fn open_faults(&self, machine: &MachineId) -> impl Iterator<Item = (&FaultId, &Fault)> {
        self.faults.iter().filter(move |(_, fault)| fault.closed.is_none() && fault.machine == *machine)
    }

    /// Returns the showings that stand in the diary and have neither been held nor called off, the next one first.
    pub fn coming_showings(&self) -> Vec<(&ShowingId, &Showing)> {
        let mut coming: Vec<_> =
            self.showings.iter().filter(|(_, showing)| showing.state == ShowingState::Planned).collect();
        coming.sort_by_key(|(_, showing)| showing.starts.timestamp());
        coming
    }

    /// Returns the part that is in a slot of a machine, with its id.
    pub fn part_in(&self, machine: &MachineId, slot: &SlotId) -> Option<(&PartId, &PartLife)> {
        let part = self.machines.get(machine)?.fitted.get(slot)?;
        self.parts.get_key_value(part)
    }

    /// Returns what a part has seen of its machine's running in one stint.
    pub fn seen_in(&self, stint: &Stint) -> Clocks {
        let until = match &stint.ended {
            Some(end) => Some(&end.clocks),
            None => self.machines.get(&stint.machine).map(|machine| &machine.clocks),
        };
        until.map_or_else(Clocks::default, |clocks| clocks.since(&stint.clocks_at_fitting))
    }

    /// Returns what people call a machine, for sentences; its id where it has no name.
    pub fn machine_name<'n>(&'n self, id: &'n MachineId) -> &'n str {
        let name = self.machines.get(id).map(|machine| machine.name.as_str());
        name.filter(|name| !name.is_empty()).unwrap_or(id.as_str())
    }

    /// Returns what somebody is called, for sentences; the id where nobody added them.
    pub fn person_name<'n>(&'n self, id: &'n PersonId) -> &'n str {
        let name = self.people.get(id).map(|person| person.name.as_str());
        name.filter(|name| !name.is_empty()).unwrap_or(id.as_str())
    }

    /// Returns whether somebody may release a machine from danger.
    pub fn is_technician(&self, person: &PersonId) -> bool {
        self.people.get(person).is_some_and(|person| person.role == Role::Technician)
    }
}
