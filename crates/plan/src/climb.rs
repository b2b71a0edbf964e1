//! The volume method: prices move against what the answers to them disagree on, averaged over the last answers
//! (F. Barahona and R. Anbil, "The volume algorithm: producing primal solutions with a subgradient method",
//! Mathematical Programming 87, 2000; from memory).

/// What all parts answered to a set of prices.
pub(crate) struct Answer {
    /// No plan costs less.
    pub bound: f64,
    /// Disagreement at each price: positive where the price should rise.
    pub apart: Vec<f64>,
}

/// Prices on their way up.
#[derive(Debug, Clone, Default)]
pub(crate) struct Climb {
    /// How freely each price moves.
    scale: Vec<f64>,
    /// The best prices so far, and their bound.
    pub prices: Vec<f64>,
    pub bound: f64,
    /// The disagreement of the last answers on average; none yet.
    average: Vec<f64>,
    pace: f64,
    idle: usize,
    green: usize,
}

impl Climb {
    /// Begins with known prices, each of which moves as freely as `scale` says.
    pub fn from(prices: Vec<f64>, scale: Vec<f64>) -> Self {
        debug_assert_eq!(prices.len(), scale.len());
        let (bound, pace) = (f64::NEG_INFINITY, FIRST_PACE);
        Self { scale, prices, bound, average: Vec::new(), pace, idle: 0, green: 0 }
    }

    /// Forgets the bound where the question has changed, and keeps the way that prices were going.
    pub fn ask_anew(&mut self) {
        self.bound = f64::NEG_INFINITY;
    }

    /// Moves prices for so many steps, or until the bound reaches `target`.
    pub fn go(&mut self, target: f64, steps: usize, mut ask: impl FnMut(&[f64]) -> Answer) {
        if self.bound == f64::NEG_INFINITY {
            let answer = ask(&self.prices);
            self.bound = answer.bound;
            if self.average.is_empty() {
                self.average = answer.apart;
            }
        }
        for _ in 0..steps {
            let norm: f64 = self.average.iter().zip(&self.scale).map(|(it, scale)| scale * it * it).sum();
            let missing = target * (1.0 + 1e-3 * target.signum()) - self.bound;
            if norm < 1e-12 || self.bound >= target - 1e-9 * target.abs().max(1.0) {
                break;
            }
            let hoped = missing.min(HOPED * self.bound.abs().max(1.0)).max(1e-9 * target.abs());
            let by = self.pace * hoped / norm;
            let ways = self.average.iter().zip(&self.scale).map(|(apart, scale)| scale * apart);
            let trial: Vec<f64> = self.prices.iter().zip(ways).map(|(price, way)| price + by * way).collect();
            let answer = ask(&trial);
            self.learn(trial, &answer);
        }
    }

    fn learn(&mut self, trial: Vec<f64>, answer: &Answer) {
        let same_way: f64 = self.average.iter().zip(&answer.apart).map(|(a, b)| a * b).sum();
        let share = best_share(&self.average, &answer.apart, &self.scale);
        for (average, apart) in self.average.iter_mut().zip(&answer.apart) {
            *average += share * (apart - *average);
        }
        if answer.bound > self.bound {
            self.bound = answer.bound;
            self.prices = trial;
            self.idle = 0;
            if same_way > 0.0 {
                self.green += 1;
                if self.green >= 2 {
                    self.pace = (self.pace * 1.2f64).min(2.0);
                    self.green = 0;
                }
            }
        } else {
            self.idle += 1;
            if self.idle >= IDLE_STEPS {
                self.pace = (self.pace * 0.7f64).max(1e-4);
                self.idle = 0;
            }
        }
    }
}

/// How far the first step goes, of the way to the target that the average points.
const FIRST_PACE: f64 = 0.15;
/// The bound is hoped to rise by this much of itself at most: a target may lie far above all that can be reached.
const HOPED: f64 = 0.04;
/// So many steps without a better bound, and they become shorter.
const IDLE_STEPS: usize = 3;

/// How much of the newest disagreement goes into the average: what makes it smallest, within limits.
fn best_share(average: &[f64], newest: &[f64], scale: &[f64]) -> f64 {
    let (mut across, mut length) = (0.0, 0.0);
    for ((a, b), scale) in average.iter().zip(newest).zip(scale) {
        across += scale * a * (a - b);
        length += scale * (a - b) * (a - b);
    }
    if length < 1e-12 { 0.1 } else { (across / length).clamp(0.02, 0.3) }
}
