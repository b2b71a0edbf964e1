//! The exponential function and the natural logarithm, plain enough for the compiler to work out several at once.

/// Adding and taking away 3·2^51 rounds a number of at most 2^51 to a whole one, which then stands in the lowest bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0;
/// ln 2 in two parts, the first one short enough that a whole number of them is exact.
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// Below it e^x is nothing to a sum of weights near one.
const LEAST: f64 = -700.0;

/// e^x for x up to 700, within 1e-14 of itself; nothing below −700.
///
/// x = k ln 2 + r with |r| at most half of ln 2, e^r by its Taylor series to the eleventh power (what is left out is
/// less than 7e-15), and k into the exponent's bits.
#[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
#[inline(always)]
pub(crate) fn quick_exp(x: f64) -> f64 {
    let bounded = x.max(LEAST);
    let shifted = bounded * std::f64::consts::LOG2_E + ROUNDER;
    let k = shifted - ROUNDER;
    let r = (bounded - k * LN_2_HIGH) - k * LN_2_LOW;
    let mut sum = SERIES[0];
    for coefficient in &SERIES[1..] {
        sum = sum * r + coefficient;
    }
    // The lowest bits of the shifted number are k; moved to the place of the exponent they multiply by 2^k.
    let scale = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1.0_f64.to_bits()));
    if x < LEAST { 0.0 } else { sum * scale }
}

/// ln x for x from the least normal number up, within 1e-15, or 1e-15 of itself where that is more.
///
/// x = 2^k m with m between 1/√2 and √2; ln m = 2 artanh s with s = (m − 1) / (m + 1), by its series to the 21st power
/// (what is left out is less than 3e-19).
#[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
#[inline(always)]
pub(crate) fn quick_ln(x: f64) -> f64 {
    // Beside the bits of 1/√2, the exponent's bits are k.
    let beside = x.to_bits().wrapping_sub(std::f64::consts::FRAC_1_SQRT_2.to_bits());
    // Put into the lowest bits of 3·2^51 and that taken away, a whole number of either sign is a number; 2^11 keeps the
    // bits that are moved from being negative.
    let k = f64::from_bits((beside.wrapping_add(1 << 63) >> 52) + ROUNDER.to_bits()) - ROUNDER - 2048.0;
    let m = f64::from_bits(x.to_bits().wrapping_sub(beside & (0xfff << 52)));
    let s = (m - 1.0) / (m + 1.0);
    let square = s * s;
    let mut sum = ODD[0];
    for coefficient in &ODD[1..] {
        sum = sum * square + coefficient;
    }
    2.0 * s * sum + k * LN_2_LOW + k * LN_2_HIGH
}

/// 1 / n for odd n from 21 down to 1.
const ODD: [f64; 11] = [
    1.0 / 21.0,
    1.0 / 19.0,
    1.0 / 17.0,
    1.0 / 15.0,
    1.0 / 13.0,
    1.0 / 11.0,
    1.0 / 9.0,
    1.0 / 7.0,
    0.2,
    1.0 / 3.0,
    1.0,
];

/// 1 / n! from n = 11 down to 0.
const SERIES: [f64; 12] = [
    1.0 / 39_916_800.0,
    1.0 / 3_628_800.0,
    1.0 / 362_880.0,
    1.0 / 40_320.0,
    1.0 / 5_040.0,
    1.0 / 720.0,
    1.0 / 120.0,
    1.0 / 24.0,
    1.0 / 6.0,
    0.5,
    1.0,
    1.0,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library's own.
    #[test]
    fn they_are_the_exponential_function_and_the_logarithm() {
        for step in -700_000..700_000 {
            let x = f64::from(step) * 1e-3 + 1e-4;
            let (ours, theirs) = (quick_exp(x), x.exp());
            assert!((ours / theirs - 1.0).abs() < 1e-14, "{x}: {ours} and {theirs}");
        }
        for step in -300_000..300_000 {
            let x = 10.0_f64.powf(f64::from(step) * 1e-3 + 1e-4);
            let (ours, theirs) = (quick_ln(x), x.ln());
            assert!((ours - theirs).abs() < 1e-15 * theirs.abs().max(1.0), "{x}: {ours} and {theirs}");
        }
        assert_eq!(quick_ln(1.0), 0.0);
        assert_eq!(quick_exp(0.0), 1.0);
        assert_eq!((quick_exp(-701.0), quick_exp(f64::NEG_INFINITY)), (0.0, 0.0));
    }
}
