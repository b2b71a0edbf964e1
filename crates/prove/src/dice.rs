//! Luck that is the same for every policy: each draw has a name, and the name alone says what comes up.
//!
//! So the third lamp of the second machine of a booth has the same strength whoever runs the booth and whenever it is
//! fitted; policies differ by what they do, and far fewer booths show it. Names are mixed by the finaliser of SplitMix64
//! (Steele, Lea and Flood 2014, Fast splittable pseudorandom number generators; the constants from memory).

/// What is drawn.
#[derive(Clone, Copy)]
pub(crate) enum Draw {
    Machines,
    Rate,
    Factor,
    MachineFactor,
    Neglect,
    UnexplainedRate,
    AgeAtStart,
    CareAtStart,
    Strength,
    AtStrike,
    Gap,
    Length,
    Minutes,
    Assigned,
    Second,
    Unexplained,
    Slip,
    Forgotten,
    ForgottenFor,
    Drift,
    ReadingError,
    PastLimit,
}

/// The luck of one booth.
#[derive(Clone, Copy)]
pub(crate) struct Dice {
    key: u64,
}

impl Dice {
    pub const fn of_booth(seed: u64, booth: u64) -> Self {
        Self { key: mixed(seed ^ mixed(booth.wrapping_add(0x9E37_79B9_7F4A_7C15))) }
    }

    /// An even number between 0 and 1, never quite either.
    pub const fn even(self, draw: Draw, name: [u64; 3]) -> f64 {
        let [a, b, c] = name;
        let word = (draw as u64) | a << 8 | b << 20 | c << 32;
        ((mixed(self.key ^ mixed(word)) >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// An even number between two.
    pub const fn between(self, draw: Draw, name: [u64; 3], (low, high): (f64, f64)) -> f64 {
        low + (high - low) * self.even(draw, name)
    }

    /// A number between two, all ratios alike.
    pub fn ratio(self, draw: Draw, name: [u64; 3], (low, high): (f64, f64)) -> f64 {
        (low.ln() + (high / low).ln() * self.even(draw, name)).exp()
    }

    /// An exponential number with mean 1.
    pub fn exponential(self, draw: Draw, name: [u64; 3]) -> f64 {
        -self.even(draw, name).ln()
    }

    /// A normal number (Box and Muller 1958).
    pub fn normal(self, draw: Draw, [a, b, c]: [u64; 3]) -> f64 {
        let radius = (-2.0 * self.even(draw, [a, b, c]).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.even(draw, [a, b + 2048, c])).cos()
    }

    /// True with a chance.
    pub const fn happens(self, draw: Draw, name: [u64; 3], chance: f64) -> bool {
        self.even(draw, name) < chance
    }
}

const fn mixed(mut word: u64) -> u64 {
    word = word.wrapping_add(0x9E37_79B9_7F4A_7C15);
    word = (word ^ (word >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    word = (word ^ (word >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    word ^ (word >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_are_even_and_do_not_lean_on_each_other() {
        const N: u64 = 40_000;
        let dice = Dice::of_booth(7, 3);
        let (mut sum, mut square, mut beside) = (0.0, 0.0, 0.0);
        for at in 0..N {
            let x = dice.even(Draw::Strength, [at % 6, at % 40, at]) - 0.5;
            let y = dice.even(Draw::Strength, [at % 6, at % 40, at + 1]) - 0.5;
            sum += x;
            square += x * x;
            beside += x * y;
        }
        let n = N as f64;
        // Four standard errors of each.
        assert!((sum / n).abs() < 4.0 * (1.0 / 12.0 / n).sqrt());
        assert!((square / n - 1.0 / 12.0).abs() < 4.0 * (1.0 / 180.0 / n).sqrt());
        assert!((beside / n).abs() < 4.0 / 12.0 / n.sqrt());
    }

    #[test]
    fn normal_draws_have_spread_one_and_names_are_all_different() {
        const N: u64 = 40_000;
        let dice = Dice::of_booth(1, 1);
        let mean = (0..N).map(|at| dice.normal(Draw::Drift, [0, 0, at])).sum::<f64>() / N as f64;
        let square = (0..N).map(|at| dice.normal(Draw::Drift, [0, 0, at]).powi(2)).sum::<f64>() / N as f64;
        assert!(mean.abs() < 0.02 && (square - 1.0).abs() < 4.0 * (2.0 / N as f64).sqrt(), "{mean} {square}");
        let names = [[0, 0, 1], [0, 1, 0], [1, 0, 0], [0, 0, 0]];
        for (at, one) in names.iter().enumerate() {
            for other in &names[at + 1..] {
                assert_ne!(dice.even(Draw::Strength, *one), dice.even(Draw::Strength, *other));
            }
        }
    }
}
