//! The coming showings, and the hours that each machine will have run by the end of each.

use crate::day::{Day, Now};
use logbook::{
    Booth, ShowingId,
    booth::{Showing, ShowingState},
};

/// A showing that stands in the diary and is not over.
#[derive(Clone, Copy, Debug)]
pub struct Coming<'a> {
    /// The showing's id.
    pub id: &'a ShowingId,
    /// The showing.
    pub showing: &'a Showing,
    /// When it starts.
    pub starts_ms: i64,
    /// When it ends.
    pub ends_ms: i64,
    /// The evening to which it belongs.
    pub day: Day,
}

/// Returns the planned showings that are not over, the next first; from the same moment, in the diary's order.
pub fn coming<'a>(booth: &'a Booth, now: &Now) -> Vec<Coming<'a>> {
    coming_and_past(booth, now).0
}

/// Returns the planned showings that are not over, and how many are past and still stand as planned.
pub(crate) fn coming_and_past<'a>(booth: &'a Booth, now: &Now) -> (Vec<Coming<'a>>, usize) {
    let mut n_past = 0;
    let mut coming = Vec::new();
    let planned = booth.showings.iter().filter(|(_, showing)| showing.state == ShowingState::Planned);
    for (id, showing) in planned {
        let ends_ms = showing.ends().as_millisecond();
        if ends_ms <= now.unix_ms {
            n_past += 1;
            continue;
        }
        let starts_ms = showing.starts.timestamp().as_millisecond();
        coming.push(Coming { id, showing, starts_ms, ends_ms, day: now.day_of_zoned(&showing.starts) });
    }
    coming.sort_by_key(|coming: &Coming<'_>| coming.starts_ms);
    (coming, n_past)
}

/// One coming showing of one machine.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Turn<'a> {
    pub showing: &'a ShowingId,
    pub day: Day,
    /// Hours that the machine will have run in the diary by the end of this showing.
    pub hours_by_end: f64,
}

/// The coming showings of every machine, each machine's in a row.
#[derive(Debug, Default)]
pub(crate) struct Turns<'a> {
    /// Where each machine's turns begin, by its place in the booth.
    begins: Vec<usize>,
    turns: Vec<Turn<'a>>,
}

impl<'a> Turns<'a> {
    /// Deals the coming showings out to the machines that are assigned to them.
    pub fn deal(booth: &'a Booth, coming: &[Coming<'a>]) -> Self {
        let mut assigned: Vec<(usize, usize, f64)> = Vec::new();
        for (which, coming) in coming.iter().enumerate() {
            for (machine, hours) in &coming.showing.machines {
                if let Some(at) = booth.machines.get_index_of(machine) {
                    assigned.push((at, which, hours.hours().max(0.0)));
                }
            }
        }
        let mut begins = vec![0; booth.machines.len() + 1];
        for (at, ..) in &assigned {
            begins[at + 1] += 1;
        }
        for at in 1..begins.len() {
            begins[at] += begins[at - 1];
        }
        let mut order: Vec<usize> = (0..assigned.len()).collect();
        order.sort_by_key(|place| assigned[*place].0);
        let mut turns = Vec::with_capacity(assigned.len());
        let (mut machine, mut sum) = (usize::MAX, 0.0);
        for place in order {
            let (at, which, hours) = assigned[place];
            if at != machine {
                (machine, sum) = (at, 0.0);
            }
            sum += hours;
            let coming = &coming[which];
            turns.push(Turn { showing: coming.id, day: coming.day, hours_by_end: sum });
        }
        Self { begins, turns }
    }

    /// The turns of the machine at this place in the booth, the next first.
    pub fn of(&self, machine: usize) -> &[Turn<'a>] {
        match (self.begins.get(machine), self.begins.get(machine + 1)) {
            (Some(from), Some(to)) => &self.turns[*from..*to],
            _ => &[],
        }
    }
}
