//! A straight line through readings that a few wild ones cannot bend.

use std::cmp::Ordering;

/// The tenth and ninetieth hundredth of a normal distribution lie so many standard deviations from its middle.
const TENTH: f64 = 1.281_551_565_544_600_4;
/// Standard deviation of a normal distribution over its median absolute deviation.
const NORMAL_OVER_MAD: f64 = 1.4826;
/// Standard error of a median over that of a mean, for a normal distribution: the root of pi / 2.
const MEDIAN_OVER_MEAN: f64 = 1.253_314_137_315_500_1;

/// A line with its doubt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Rise for each unit along.
    pub slope: f64,
    /// The slope is less than this in one case of ten.
    pub slope_low: f64,
    /// The slope is more than this in one case of ten.
    pub slope_high: f64,
    /// Where it stands at nought.
    pub intercept: f64,
    /// The middle of the points along.
    pub middle: f64,
    /// How far points scatter about it: their median absolute deviation, scaled to a standard deviation.
    pub scatter: f64,
    /// How many points it rests on.
    pub n: usize,
}

impl Line {
    /// Where the line stands.
    pub fn at(&self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }

    /// Between which values the line lies in eight cases of ten.
    pub fn band(&self, x: f64) -> (f64, f64) {
        let level = TENTH * MEDIAN_OVER_MEAN * self.scatter / (self.n.max(1) as f64).sqrt();
        let far = x - self.middle;
        let (down, up) = (self.slope - self.slope_low, self.slope_high - self.slope);
        let (down, up) = if far < 0.0 { (up, down) } else { (down, up) };
        (self.at(x) - level.hypot(down * far), self.at(x) + level.hypot(up * far))
    }

    /// Its standard deviations downwards and upwards, as if it lay about its middle by a normal law on either side.
    pub fn doubt(&self, x: f64) -> (f64, f64) {
        let (low, high) = self.band(x);
        ((self.at(x) - low) / TENTH, (high - self.at(x)) / TENTH)
    }

    /// True if nine cases of ten or more agree on the way that it leads.
    pub fn leads(&self) -> bool {
        self.slope_low > 0.0 || self.slope_high < 0.0
    }
}

/// Fits the line of Theil and Sen: the median of the slopes between all pairs of points.
///
/// The band of the slope comes from order statistics of the pairs' slopes with Kendall's variance (Sen, "Estimates of
/// the regression coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63, 1968). None without two different
/// places along, or with a number that is none.
pub fn theil_sen(points: &[(f64, f64)]) -> Option<Line> {
    if points.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
        return None;
    }
    let mut slopes = pair_slopes(points);
    let slope = median(&mut slopes)?;
    let intercept = median(&mut points.iter().map(|(x, y)| y - slope * x).collect::<Vec<_>>())?;
    let middle = median(&mut points.iter().map(|(x, _)| *x).collect::<Vec<_>>())?;
    let apart = |(x, y): &(f64, f64)| (y - intercept - slope * x).abs();
    let scatter = NORMAL_OVER_MAD * median(&mut points.iter().map(apart).collect::<Vec<_>>())?;
    let (slope_low, slope_high) = slope_band(&slopes, points);
    Some(Line { slope, slope_low, slope_high, intercept, middle, scatter, n: points.len() })
}

fn pair_slopes(points: &[(f64, f64)]) -> Vec<f64> {
    let pairs = points.iter().enumerate().flat_map(|(n, a)| points[n + 1..].iter().map(move |b| (a, b)));
    pairs.filter(|(a, b)| a.0 != b.0).map(|(a, b)| (b.1 - a.1) / (b.0 - a.0)).collect()
}

/// The slopes must be sorted.
fn slope_band(slopes: &[f64], points: &[(f64, f64)]) -> (f64, f64) {
    let of = |values: Vec<f64>| ties(values).into_iter().map(kendall).sum::<f64>();
    let tied = of(points.iter().map(|p| p.0).collect()) + of(points.iter().map(|p| p.1).collect());
    let deviation = ((kendall(points.len()) - tied).max(0.0) / 18.0).sqrt();
    let (count, spread) = (slopes.len() as f64, TENTH * deviation);
    let last = slopes.len() - 1;
    let high = (f64::midpoint(count, spread).round_ties_even() as usize).min(last);
    let low = ((((count - spread) / 2.0).round_ties_even() - 1.0).max(0.0) as usize).min(last);
    (slopes[low], slopes[high])
}

fn kendall(n: usize) -> f64 {
    let n = n as f64;
    n * (n - 1.0) * (2.0 * n + 5.0)
}

/// How many values are the same, for each value that comes more than once.
fn ties(mut values: Vec<f64>) -> Vec<usize> {
    values.sort_by(f64::total_cmp);
    values.chunk_by(|a, b| a == b).map(<[f64]>::len).filter(|n| *n > 1).collect()
}

/// Sorts, and takes the middle or the mean of the two middle ones.
pub(super) fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_by(|a, b| a.partial_cmp(b).unwrap_or(Ordering::Equal));
    let half = values.len() / 2;
    match values.len() {
        0 => None,
        odd if odd % 2 == 1 => Some(values[half]),
        _ => Some(f64::midpoint(values[half - 1], values[half])),
    }
}

/// The scale of what lies beside a middle: their median absolute size, scaled to a standard deviation.
pub(super) fn scale_of(residuals: impl Iterator<Item = f64>) -> f64 {
    NORMAL_OVER_MAD * median(&mut residuals.map(f64::abs).collect::<Vec<_>>()).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn points(x: &[f64], y: &[f64]) -> Vec<(f64, f64)> {
        x.iter().copied().zip(y.iter().copied()).collect()
    }

    const HOURS: [f64; 8] = [0.0, 10.0, 22.0, 35.0, 50.0, 61.0, 75.0, 90.0];

    /// Values of scipy 1.17.1, `scipy.stats.theilslopes(y, x, alpha=0.8, method="joint")`: slope, intercept, low and
    /// high slope. `oracles/sound_check.py` compares a whole trend with scipy on each run.
    #[test]
    fn the_line_and_its_band_are_those_of_a_statistics_library() {
        let cases: [(&[f64], &[f64], [f64; 4]); 3] = [
            (
                &HOURS,
                &[0.200, 0.214, 0.221, 0.240, 0.262, 0.268, 0.291, 0.300],
                [0.001_151_428_571_428_570_6, 0.199_85, 0.001_076_923_076_923_078, 0.001_213_333_333_333_333],
            ),
            (
                &HOURS,
                &[0.200, 0.214, 0.221, 0.900, 0.262, 0.268, 0.291, 0.300],
                [
                    0.001_137_377_049_180_327_3,
                    0.201_313_114_754_098_35,
                    0.000_954_545_454_545_454_1,
                    0.001_213_333_333_333_333,
                ],
            ),
            (
                &[0.0, 5.0, 5.0, 12.0, 20.0, 20.0, 31.0],
                &[1.0, 1.2, 1.1, 1.2, 1.2, 1.5, 1.4],
                [0.012_903_225_806_451_61, 1.035_483_870_967_742, 0.007_692_307_692_307_691, 0.02],
            ),
        ];
        for (x, y, wanted) in cases {
            let line = theil_sen(&points(x, y)).unwrap();
            let found = [line.slope, line.intercept, line.slope_low, line.slope_high];
            for (found, wanted) in found.into_iter().zip(wanted) {
                assert!((found - wanted).abs() < 1e-12, "{line:?} against {wanted}");
            }
        }
    }

    #[test]
    fn one_wild_reading_does_not_bend_the_line() {
        let steady: Vec<(f64, f64)> = HOURS.iter().map(|x| (*x, 0.2 + 0.001 * x)).collect();
        let mut wild = steady.clone();
        wild[3].1 = 5.0;
        let (steady, wild) = (theil_sen(&steady).unwrap(), theil_sen(&wild).unwrap());
        assert!((steady.slope - wild.slope).abs() < 1e-9 && wild.leads());
    }

    #[test]
    fn there_is_no_line_through_one_place_or_through_nothing() {
        assert_eq!(theil_sen(&[]), None);
        assert_eq!(theil_sen(&[(3.0, 1.0), (3.0, 2.0)]), None);
        assert_eq!(theil_sen(&[(3.0, 1.0), (4.0, f64::NAN)]), None);
        assert!(theil_sen(&[(3.0, 1.0), (4.0, 2.0)]).is_some());
    }

    #[test]
    fn the_band_is_narrowest_among_the_points() {
        let y = [0.200, 0.214, 0.221, 0.240, 0.262, 0.268, 0.291, 0.300];
        let line = theil_sen(&points(&HOURS, &y)).unwrap();
        let width = |x: f64| line.band(x).1 - line.band(x).0;
        assert!(width(45.0) < width(0.0) && width(45.0) < width(90.0) && width(90.0) < width(300.0));
        let (low, high) = line.band(200.0);
        assert!(low < line.at(200.0) && line.at(200.0) < high);
    }
}
