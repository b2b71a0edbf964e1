//! The cheapest way to give each seat a machine, each machine at most one seat.
//!
//! Shortest augmenting paths with potentials (the Hungarian method as H. W. Kuhn and J. Munkres gave it, in the form
//! of R. Jonker and A. Volgenant, Computing 38, 1987; from memory).

/// Returns for each row its column. `costs[row][column]`; infinite where they do not go together. There must be at
/// least as many columns as rows, and a finite way must exist: give each row a column of its own for staying empty.
pub(crate) fn assign(costs: &[Vec<f64>]) -> Vec<usize> {
    let (n, m) = (costs.len(), costs.first().map_or(0, Vec::len));
    // Row n stands for "none yet" throughout; column m is where each search begins.
    let mut row_of = vec![n; m + 1];
    let (mut row_price, mut column_price) = (vec![0.0; n + 1], vec![0.0; m + 1]);
    for row in 0..n {
        row_of[m] = row;
        let mut at = m;
        let mut least = vec![f64::INFINITY; m];
        let mut from = vec![m; m];
        let mut seen = vec![false; m + 1];
        while row_of[at] != n {
            seen[at] = true;
            let here = row_of[at];
            let (mut step, mut next) = (f64::INFINITY, m);
            for column in (0..m).filter(|&column| !seen[column]) {
                let cost = costs[here][column] - row_price[here] - column_price[column];
                if cost < least[column] {
                    least[column] = cost;
                    from[column] = at;
                }
                if least[column] < step {
                    step = least[column];
                    next = column;
                }
            }
            for column in 0..=m {
                if seen[column] {
                    row_price[row_of[column]] += step;
                    column_price[column] -= step;
                } else if column < m {
                    least[column] -= step;
                }
            }
            at = next;
            assert!(at != m, "every row has a column of its own, so a way exists");
        }
        while at != m {
            row_of[at] = row_of[from[at]];
            at = from[at];
        }
        row_of[m] = n;
    }
    let mut columns = vec![usize::MAX; n];
    for (column, &row) in row_of[..m].iter().enumerate().filter(|(_, row)| **row != n) {
        columns[row] = column;
    }
    columns
}
