//! The ways between places.

use crate::check::Ids;
use crate::model::Model;

/// The named ways between places; of several the quickest is gone, and of equally quick ones the cheapest.
pub(crate) struct Ways(Vec<Vec<Option<(i64, f64)>>>);

impl Ways {
    /// Reads the ways that a model names.
    pub fn new(model: &Model, ids: &Ids<'_>) -> Self {
        let n = model.places.len();
        let mut ways = vec![vec![None; n]; n];
        for (place, row) in ways.iter_mut().enumerate() {
            row[place] = Some((0, 0.0));
        }
        for journey in &model.journeys {
            let (from, to) = (ids.places[journey.from.as_str()], ids.places[journey.to.as_str()]);
            let way = (journey.minutes.0, journey.cost.0);
            for (a, b) in [(from, to), (to, from)] {
                if shorter(Some(way), ways[a][b]) {
                    ways[a][b] = Some(way);
                }
            }
        }
        Self(ways)
    }

    /// Returns the minutes and the cost of one way, if it can be gone.
    pub fn between(&self, from: usize, to: usize) -> Option<(i64, f64)> {
        self.0[from][to]
    }
}

fn shorter(one: Option<(i64, f64)>, other: Option<(i64, f64)>) -> bool {
    match (one, other) {
        (None, _) => false,
        (Some(_), None) => true,
        (Some(one), Some(other)) => one.0 < other.0 || (one.0 == other.0 && one.1 < other.1),
    }
}
