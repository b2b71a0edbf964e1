//! A-weighting.

use units::{Decibels, Hertz};

/// The A-weighting at a frequency.
///
/// # Reference
/// IEC 61672-1, annex on analytical expressions for the weightings; corner frequencies from memory, checked against the
/// table of the same standard.
pub fn a_weighting(frequency: Hertz) -> Decibels {
    let f2 = frequency.hertz().powi(2);
    let response = |f2: f64| {
        let [a, b, c, d] = [20.598_997, 107.652_65, 737.862_23, 12_194.217].map(|f: f64| f * f);
        d * f2 * f2 / ((f2 + a) * ((f2 + b) * (f2 + c)).sqrt() * (f2 + d))
    };
    Decibels::new(20.0 * (response(f2).max(1e-12) / response(1e6)).log10())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weighting_agrees_with_the_table_of_iec_61672_1_from_memory() {
        let table = [
            (31.5, -39.4),
            (63.0, -26.2),
            (125.0, -16.1),
            (250.0, -8.6),
            (500.0, -3.2),
            (1000.0, 0.0),
            (2000.0, 1.2),
            (4000.0, 1.0),
            (8000.0, -1.1),
            (16_000.0, -6.6),
        ];
        for (hz, decibels) in table {
            // The table is printed at rounded frequencies and to 0.1 dB; its exact ones are powers of ten.
            let exact = 1000.0 * 10_f64.powf((10.0 * f64::log10(hz / 1000.0)).round() / 10.0);
            let found = a_weighting(Hertz::new(exact)).decibels();
            assert!((found - decibels).abs() <= 0.051, "{hz} Hz: {found:.2} dB, not {decibels}");
        }
    }
}
