//! The exponential function, plain enough for the compiler to work out several at once.

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
    fn it_is_the_exponential_function() {
        for step in -700_000..700_000 {
            let x = f64::from(step) * 1e-3 + 1e-4;
            let (ours, theirs) = (quick_exp(x), x.exp());
            assert!((ours / theirs - 1.0).abs() < 1e-14, "{x}: {ours} and {theirs}");
        }
        assert_eq!(quick_exp(0.0), 1.0);
        assert_eq!((quick_exp(-701.0), quick_exp(f64::NEG_INFINITY)), (0.0, 0.0));
    }
}
