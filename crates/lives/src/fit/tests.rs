#![allow(clippy::unwrap_used)]
use super::*;
use crate::record::LifeRecord;

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found / wanted - 1.0).abs() < within, "{found} is not {wanted}");
}

fn lives(failed: &[f64], censored: &[(f64, u64)]) -> Lives {
    let failed = failed.iter().map(|&age| LifeRecord::failed(age));
    let censored = censored.iter().map(|&(age, count)| LifeRecord::censored(age).times(count));
    Lives::new(failed.chain(censored).collect()).unwrap()
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: ten failures, ten units taken off at 500.
fn handbook() -> Lives {
    lives(&[54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0], &[(500.0, 10)])
}

#[test]
fn weibull_agrees_with_nist_handbook_8_4_1_3() {
    let fit = fit(Model::Weibull, &handbook(), 0.95).unwrap();
    near(fit.life.scale(), 606.5280, 2e-6);
    near(fit.life.shape(), 1.7208, 1e-5);
    near(fit.ln_likelihood, -75.135, 1e-5);
    near(2.0 * 2.0 - 2.0 * fit.ln_likelihood, 154.27, 1e-5);
    near(fit.life.mean(), 540.737, 2e-6);
    near(fit.life.standard_deviation(), 323.806, 2e-6);
    near(ln_likelihood(&fit.life, &handbook()), fit.ln_likelihood, 1e-13);
}

/// Meeker and Escobar, Statistical Methods for Reliability Data, table C.5: bearing cages, 1703 units, 6 failures.
/// Estimates as the book's text and later handbooks print them (2.035, 11792, B10 near 3903).
#[test]
fn weibull_agrees_with_meeker_and_escobar_table_c5() {
    let taken_off = [
        (50.0, 288),
        (150.0, 148),
        (250.0, 124),
        (350.0, 111),
        (450.0, 106),
        (550.0, 99),
        (650.0, 110),
        (750.0, 114),
        (850.0, 119),
        (950.0, 127),
        (1050.0, 123),
        (1150.0, 93),
        (1250.0, 47),
        (1350.0, 41),
        (1450.0, 27),
        (1550.0, 11),
        (1650.0, 6),
        (1850.0, 1),
        (2050.0, 2),
    ];
    let cages = lives(&[230.0, 334.0, 423.0, 990.0, 1009.0, 1510.0], &taken_off);
    assert_eq!((cages.n(), cages.failures()), (1703, 6));
    let fit = fit(Model::Weibull, &cages, 0.95).unwrap();
    near(fit.life.shape(), 2.035, 3e-4);
    near(fit.life.scale(), 11792.0, 3e-5);
    near(fit.ln_likelihood, -76.436_896, 1e-7);
    near(fit.life.quantile(0.1), 3903.13, 1e-5);
}

/// W. Nelson, Applied Life Data Analysis: fans of diesel generators, 12 failures in 344,440 hours (from memory).
#[test]
fn exponential_is_time_over_failures() {
    let fans = lives(&[28_703.0; 12], &[(4.0, 1)]);
    let fit = fit(Model::Exponential, &fans, 0.9).unwrap();
    near(fit.life.mean(), 344_440.0 / 12.0, 1e-12);
    // The curvature of an exponential likelihood is the number of failures.
    near(fit.wald.scale.unwrap().high / fit.life.mean(), (1.644_853_627 / 12.0_f64.sqrt()).exp(), 1e-5);
}

/// Brute force: no law in the neighbourhood does better, and the slope is nothing.
fn is_summit(fit: &Fit, lives: &Lives) {
    let at = |shape: f64, scale: f64, location: f64| {
        ln_likelihood(
            &made(
                fit.model,
                fit.life.shape() * shape,
                fit.life.scale() * scale,
                fit.life.location() + location,
            ),
            lives,
        )
    };
    let best = at(1.0, 1.0, 0.0);
    near(best, fit.ln_likelihood, 1e-11);
    let step = 1e-4;
    let free = if fit.life.location() > 0.0 { 3 } else { 2 };
    for which in 0..free {
        let moved = |by: f64| match which {
            0 => at(1.0 + by, 1.0, 0.0),
            1 => at(1.0, 1.0 + by, 0.0),
            _ => at(1.0, 1.0, by * fit.life.scale()),
        };
        let (up, down) = (moved(step), moved(-step));
        if fit.model == Model::Exponential && which == 0 {
            continue;
        }
        assert!(up <= best && down <= best, "{:?} {which}: {up} {best} {down}", fit.model);
        let curve = (2.0 * best - up - down) / (step * step);
        let off = (up - down) / (2.0 * step) / curve;
        assert!(off.abs() < 1e-6, "{:?} {which}: the summit lies {off:e} away", fit.model);
    }
}

fn mixed() -> Lives {
    Lives::new(vec![
        LifeRecord::failed(61.0),
        LifeRecord::failed(88.0).entered_at(20.0),
        LifeRecord::failed(35.0).times(2),
        LifeRecord::failed(120.0).entered_at(70.0),
        LifeRecord::failed(47.0),
        LifeRecord::censored(140.0).entered_at(30.0).times(2),
        LifeRecord::censored(90.0),
        LifeRecord::between(50.0, 75.0),
        LifeRecord::between(90.0, 150.0).entered_at(40.0).times(3),
        LifeRecord::failed_before(60.0),
        LifeRecord::failed_before(80.0).entered_at(25.0),
    ])
    .unwrap()
}

#[test]
fn every_law_finds_its_summit_on_every_kind_of_record() {
    for data in [handbook(), mixed()] {
        for model in Model::ALL {
            let Ok(fit) = fit(model, &data, 0.9) else {
                // The mixed lives give the location no summit: the likelihood rises all the way to the first failure.
                assert!(
                    model == Model::ShiftedWeibull
                        && data.n() > 5
                        && data.records()[0] == LifeRecord::failed(61.0)
                );
                continue;
            };
            is_summit(&fit, &data);
            for intervals in [fit.wald, fit.likelihood_ratio, fit.corrected] {
                assert!(intervals.scale.unwrap().holds(fit.life.scale()));
                assert!(intervals.shape.is_none_or(|shape| shape.holds(fit.life.shape())));
            }
        }
    }
}

#[test]
fn a_likelihood_ratio_interval_ends_where_the_likelihood_has_fallen() {
    for (model, data) in [
        (Model::Weibull, mixed()),
        (Model::Weibull, handbook()),
        (Model::Gamma, mixed()),
        (Model::Lognormal, handbook()),
    ] {
        let fit = fit(model, &data, 0.95).unwrap();
        for shape in [fit.likelihood_ratio.shape.unwrap().low, fit.likelihood_ratio.shape.unwrap().high] {
            let of = |scale: f64| ln_likelihood(&made(model, shape, scale.exp(), 0.0), &data);
            let (_, best) =
                crate::root::summit(of, fit.life.scale().ln() - 6.0, fit.life.scale().ln() + 6.0, 80);
            near(2.0 * (fit.ln_likelihood - best), 3.841_458_820_694, 1e-6);
        }
        for scale in [fit.likelihood_ratio.scale.unwrap().low, fit.likelihood_ratio.scale.unwrap().high] {
            let of = |shape: f64| ln_likelihood(&made(model, shape.exp(), scale, 0.0), &data);
            let (_, best) =
                crate::root::summit(of, fit.life.shape().ln() - 4.0, fit.life.shape().ln() + 4.0, 80);
            near(2.0 * (fit.ln_likelihood - best), 3.841_458_820_694, 1e-6);
        }
    }
}

#[test]
fn what_cannot_be_fitted_is_said_plainly() {
    assert_eq!(fit(Model::Weibull, &Lives::default(), 0.9).unwrap_err(), FitError::NoLives);
    let survivors = lives(&[], &[(50.0, 7)]);
    assert_eq!(fit(Model::Gamma, &survivors, 0.9).unwrap_err(), FitError::NoFailures { lives: 7 });
    for model in [Model::Weibull, Model::Lognormal, Model::Gamma] {
        let alike = lives(&[40.0, 40.0, 40.0], &[(30.0, 2)]);
        assert_eq!(
            fit(model, &alike, 0.9).unwrap_err(),
            FitError::NoSpread { age: 40.000_000_000_000_014_f64.min(40.0) }
        );
    }
    // Windows that share an age: a law that fails exactly there fits perfectly.
    let windows = vec![
        LifeRecord::between(10.0, 30.0),
        LifeRecord::between(20.0, 40.0),
        LifeRecord::between(15.0, 25.0),
    ];
    let error = fit(Model::Weibull, &Lives::new(windows).unwrap(), 0.9).unwrap_err();
    assert!(matches!(error, FitError::NoSummit { parameter: "shape", towards: "infinity", .. }), "{error:?}");
    // All found failed at the first look: they may have failed at once.
    let dead = vec![LifeRecord::failed_before(10.0), LifeRecord::failed_before(20.0)];
    assert!(fit(Model::Weibull, &Lives::new(dead).unwrap(), 0.9).is_err());
}

#[test]
fn one_failure_among_survivors_can_be_fitted_and_is_said_to_be_one() {
    let fit = fit(Model::Weibull, &lives(&[40.0], &[(90.0, 3), (20.0, 2)]), 0.95).unwrap();
    assert!(fit.caveats[0].contains("1 failure only"), "{:?}", fit.caveats);
    let shape = fit.likelihood_ratio.shape.unwrap();
    assert!(shape.high / shape.low > 8.0);
}

#[test]
fn a_location_is_found_where_there_is_one_and_not_where_there_is_none() {
    let later: Vec<f64> = (0..60)
        .map(|at| 200.0 + Life::Weibull { shape: 1.7, scale: 80.0 }.quantile((f64::from(at) + 0.5) / 60.0))
        .collect();
    let data = lives(&later, &[]);
    let found = fit(Model::ShiftedWeibull, &data, 0.95).unwrap();
    assert!(
        found.likelihood_ratio.location.unwrap().holds(200.0) && found.life.location() > 180.0,
        "{found:?}"
    );
    let new: Vec<f64> = (0..60)
        .map(|at| Life::Weibull { shape: 3.5, scale: 80.0 }.quantile((f64::from(at) + 0.5) / 60.0))
        .collect();
    let found = fit(Model::ShiftedWeibull, &lives(&new, &[]), 0.95).unwrap();
    assert!(found.likelihood_ratio.location.unwrap().low == 0.0);
}

#[test]
fn counts_are_the_same_as_rows() {
    let counted = fit(Model::Weibull, &handbook(), 0.9).unwrap();
    let rows =
        lives(&[54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0], &[(500.0, 1); 10]);
    let rows = fit(Model::Weibull, &rows, 0.9).unwrap();
    near(rows.life.shape(), counted.life.shape(), 1e-12);
    near(rows.ln_likelihood, counted.ln_likelihood, 1e-13);
}

#[test]
fn the_interval_of_a_derived_number_is_that_of_the_number_itself() {
    let fit = fit(Model::Weibull, &handbook(), 0.95).unwrap();
    let scale = fit.interval_of(Life::scale);
    near(scale.low, fit.wald.scale.unwrap().low, 1e-6);
    assert!(fit.interval_of(|life| life.quantile(0.1)).holds(fit.life.quantile(0.1)));
}
