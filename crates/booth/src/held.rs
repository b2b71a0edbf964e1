//! The showings that were held: how many, and when each machine was last in one.

use logbook::{Booth, booth::ShowingState};

/// When showings that were held began, by machine.
#[derive(Debug, Default)]
pub(crate) struct Held {
    /// How many showings were held.
    pub count: usize,
    /// When the showings of each machine (by its place in the booth) began (milliseconds), in order.
    starts: Vec<Vec<i64>>,
}

impl Held {
    /// Finds them in one pass over the showings.
    pub fn of(booth: &Booth) -> Self {
        let mut made = Self { count: 0, starts: vec![Vec::new(); booth.machines.len()] };
        for showing in booth.showings.values() {
            let ShowingState::Held { started, .. } = showing.state else { continue };
            made.count += 1;
            let places = showing.machines.iter().filter_map(|(id, _)| booth.machines.get_index_of(id));
            places.for_each(|place| made.starts[place].push(started.unix_ms));
        }
        made.starts.iter_mut().for_each(|starts| starts.sort_unstable());
        made
    }

    /// When the last showing of the machine at this place before a moment began.
    pub fn last_of(&self, place: usize, before_ms: i64) -> Option<i64> {
        let starts = self.starts.get(place)?;
        let n_before = starts.partition_point(|start| *start < before_ms);
        starts[..n_before].last().copied()
    }

    /// How many showings of the machine at this place began at a moment or after it.
    pub fn since(&self, place: usize, ms: i64) -> usize {
        self.starts.get(place).map_or(0, |starts| starts.len() - starts.partition_point(|start| *start < ms))
    }
}
