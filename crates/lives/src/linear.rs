//! Small symmetric systems.

/// A symmetric positive definite matrix as the product of a triangle with itself.
pub(crate) struct Cholesky {
    lower: Vec<Vec<f64>>,
}

impl Cholesky {
    /// Factors a matrix; none where it is not positive definite.
    pub fn of(matrix: &[Vec<f64>]) -> Option<Self> {
        let n = matrix.len();
        let mut lower = vec![vec![0.0; n]; n];
        for i in 0..n {
            for j in 0..=i {
                let known: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
                let rest = matrix[i][j] - known;
                if i == j {
                    if rest.is_nan() || rest <= 0.0 {
                        return None;
                    }
                    lower[i][i] = rest.sqrt();
                } else {
                    lower[i][j] = rest / lower[j][j];
                }
            }
        }
        Some(Self { lower })
    }

    /// Solves for a right side.
    pub fn solve(&self, right: &[f64]) -> Vec<f64> {
        let n = right.len();
        let mut x = right.to_vec();
        for i in 0..n {
            let known: f64 = (0..i).map(|k| self.lower[i][k] * x[k]).sum();
            x[i] = (x[i] - known) / self.lower[i][i];
        }
        for i in (0..n).rev() {
            let known: f64 = (i + 1..n).map(|k| self.lower[k][i] * x[k]).sum();
            x[i] = (x[i] - known) / self.lower[i][i];
        }
        x
    }

    /// The inverse.
    pub fn inverse(&self) -> Vec<Vec<f64>> {
        let n = self.lower.len();
        (0..n).map(|i| self.solve(&(0..n).map(|j| f64::from(u8::from(i == j))).collect::<Vec<_>>())).collect()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_solution_solves_and_a_saddle_is_refused() {
        let matrix = vec![vec![4.0, 1.0, 0.5], vec![1.0, 3.0, -0.2], vec![0.5, -0.2, 2.0]];
        let x = Cholesky::of(&matrix).unwrap().solve(&[1.0, 2.0, 3.0]);
        for (row, wanted) in matrix.iter().zip([1.0, 2.0, 3.0]) {
            let found: f64 = row.iter().zip(&x).map(|(a, x)| a * x).sum();
            assert!((found - wanted).abs() < 1e-13);
        }
        assert!(Cholesky::of(&[vec![1.0, 2.0], vec![2.0, 1.0]]).is_none());
    }
}
