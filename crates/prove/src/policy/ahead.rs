//! What all modes of a machine's parts gather in a showing, worked out side by side.

use super::{
    grid::Table,
    quick::{quick_exp, quick_ln},
};

/// Ages at the beginning and the end of a showing, and the hazard between them, a way to fail after the other.
#[derive(Default)]
pub(crate) struct Ahead {
    ways: usize,
    /// For each way both ages, as shares of the table's scale; then the hazard gathered by each.
    at: Vec<f64>,
}

/// Numbers that a processor takes at once, as a rule.
const LANES: usize = 4;
/// An age of nothing gathers nothing; its logarithm must still be a number.
const LEAST_AGE: f64 = 1e-300;

impl Ahead {
    /// Begins with another machine.
    pub fn begin(&mut self) {
        self.ways = 0;
        self.at.clear();
    }

    /// Adds a way to fail: the ages between which the showing lies, as shares of its scale.
    pub fn way(&mut self, from: f64, to: f64) {
        self.ways += 1;
        self.at.extend([from, to]);
    }

    /// Works out what is gathered, each way by its own table, in the same order.
    pub fn work_out<'t>(&mut self, tables: impl Iterator<Item = &'t Table>) {
        // Whole lanes, so that no odd ones are left over.
        self.at.resize(self.at.len().next_multiple_of(LANES), LEAST_AGE);
        pulp::Arch::new().dispatch(WorkOut { at: &mut self.at, tables });
    }

    /// The hazard that each way gathers between its ages.
    pub fn gathered(&self) -> impl Iterator<Item = f64> {
        let (ends, _) = self.at.as_chunks::<2>();
        ends[..self.ways].iter().map(|[from, to]| to - from)
    }
}

/// Compiled for the processor at hand.
struct WorkOut<'a, I> {
    at: &'a mut [f64],
    tables: I,
}

impl<'t, I: Iterator<Item = &'t Table>> pulp::NullaryFnOnce for WorkOut<'_, I> {
    type Output = ();

    #[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
    #[inline(always)]
    fn call(self) {
        for age in &mut *self.at {
            *age = quick_ln(if *age > LEAST_AGE { *age } else { LEAST_AGE });
        }
        let (ends, _) = self.at.as_chunks_mut::<2>();
        for ([from, to], table) in ends.iter_mut().zip(self.tables) {
            (*from, *to) = (table.ln_gathered(*from), table.ln_gathered(*to));
        }
        for ln in self.at {
            *ln = quick_exp(*ln);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Side by side as one by one: ages of nothing, small and great, an odd number of ways, room used twice.
    #[test]
    fn what_is_gathered_side_by_side_is_what_each_way_gathers() {
        let tables = [Table::of_law(4.0, 0.8), Table::of_law(1.0, 1.0), Table::of_law(2.5, 1.7)];
        let mut ahead = Ahead::default();
        for spans in [[(0.0, 0.05), (0.3, 0.4), (2.0, 2.1)], [(1e-9, 0.7), (5.0, 5.0), (0.0, 0.0)]] {
            ahead.begin();
            for (from, to) in spans {
                ahead.way(from, to);
            }
            ahead.work_out(tables.iter());
            let found: Vec<f64> = ahead.gathered().collect();
            assert_eq!(found.len(), 3);
            for ((found, table), (from, to)) in found.iter().zip(&tables).zip(spans) {
                let alone = table.gathered(to) - table.gathered(from);
                assert!((found - alone).abs() < 1e-12, "{from} to {to}: {found} and {alone}");
            }
        }
    }
}
