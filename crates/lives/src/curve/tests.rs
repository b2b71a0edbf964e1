#![allow(clippy::unwrap_used)]
use super::*;
use crate::LifeRecord;

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
}

/// Freireich et al. 1963, weeks in remission under 6-MP and under placebo, as survival-analysis texts print them.
fn remission() -> Lives {
    let failed = [6.0, 6.0, 6.0, 7.0, 10.0, 13.0, 16.0, 22.0, 23.0].map(LifeRecord::failed);
    let censored =
        [6.0, 9.0, 10.0, 11.0, 17.0, 19.0, 20.0, 25.0, 32.0, 32.0, 34.0, 35.0].map(LifeRecord::censored);
    Lives::new(failed.into_iter().chain(censored).collect()).unwrap()
}

#[test]
fn kaplan_meier_agrees_with_the_textbooks_6_mp_example() {
    let curve = kaplan_meier(&remission(), 0.95).unwrap();
    let wanted = [
        (6.0, 0.8571),
        (7.0, 0.8067),
        (10.0, 0.7529),
        (13.0, 0.6902),
        (16.0, 0.6275),
        (22.0, 0.5378),
        (23.0, 0.4482),
    ];
    assert_eq!(curve.steps.len(), wanted.len());
    for (step, (age, survival)) in curve.steps.iter().zip(wanted) {
        near(step.age, age, 0.0);
        near(step.value, survival, 5e-5);
        assert!(step.low < step.value && step.value < step.high);
    }
    assert_eq!(curve.median(), Some(23.0));
}

/// The same texts' placebo group: S(10) = 8/21 with Greenwood's standard error 0.106.
#[test]
fn greenwood_agrees_with_the_textbooks_placebo_example() {
    let weeks = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23];
    let lives = Lives::new(weeks.iter().map(|&week| LifeRecord::failed(f64::from(week))).collect()).unwrap();
    let curve = kaplan_meier(&lives, 0.95).unwrap();
    near(curve.survival(10.0), 8.0 / 21.0, 1e-12);
    let step = curve.steps.iter().rfind(|step| step.age <= 10.0).unwrap();
    // Back from the ln(−ln) band to the standard error.
    let factor = (step.low.ln() / step.value.ln()).ln() / 1.959_963_985;
    near(factor * step.value * step.value.ln().abs(), 0.106, 5e-4);
}

#[test]
fn nelson_aalen_is_near_minus_the_logarithm_of_kaplan_meier() {
    let hazard = nelson_aalen(&remission(), 0.95).unwrap();
    near(hazard.steps[0].value, 3.0 / 21.0, 1e-12);
    near(hazard.steps[1].value, 3.0 / 21.0 + 1.0 / 17.0, 1e-12);
    let survival = kaplan_meier(&remission(), 0.95).unwrap();
    for (hazard, survival) in hazard.steps.iter().zip(&survival.steps) {
        assert!(hazard.value <= -survival.value.ln() && hazard.value > -0.8 * survival.value.ln());
    }
}

#[test]
fn late_entry_counts_only_while_under_watch() {
    let lives = Lives::new(vec![
        LifeRecord::failed(5.0),
        LifeRecord::failed(8.0).entered_at(6.0),
        LifeRecord::censored(9.0),
        LifeRecord::censored(9.0).entered_at(5.0),
    ])
    .unwrap();
    let curve = kaplan_meier(&lives, 0.9).unwrap();
    near(curve.steps[0].value, 0.5, 1e-12);
    near(curve.steps[1].value, 0.5 * 2.0 / 3.0, 1e-12);
}

#[test]
fn adding_a_survivor_never_lowers_the_curve() {
    let mut records: Vec<LifeRecord> = remission().records().to_vec();
    let before = kaplan_meier(&remission(), 0.9).unwrap();
    records.push(LifeRecord::censored(14.5));
    let after = kaplan_meier(&Lives::new(records).unwrap(), 0.9).unwrap();
    for week in 0..40 {
        assert!(after.survival(f64::from(week)) >= before.survival(f64::from(week)) - 1e-15);
    }
}

#[test]
fn turnbull_is_kaplan_meier_where_all_was_seen() {
    let (turnbull, wanted) = (turnbull(&remission(), 0.9, 40, 1), kaplan_meier(&remission(), 0.9).unwrap());
    for week in 1..24 {
        near(turnbull.survival(f64::from(week)), wanted.survival(f64::from(week)), 1e-6);
    }
}

/// Self-consistency can be checked by hand: two windows that overlap and one that overlaps the second.
#[test]
fn turnbull_puts_all_weight_where_windows_overlap() {
    let lives = Lives::new(vec![
        LifeRecord::between(0.0, 10.0),
        LifeRecord::between(5.0, 15.0),
        LifeRecord::between(20.0, 30.0),
        LifeRecord::censored(12.0),
    ])
    .unwrap();
    let curve = turnbull(&lives, 0.9, 60, 3);
    assert!(kaplan_meier(&lives, 0.9).is_err());
    // (5, 10] holds two of four; the survivor of 12 must be in (20, 30].
    // The last places come in slowly: 1/rounds where two answers are nearly as good.
    near(curve.survival(12.0), 0.5, 1e-4);
    near(curve.survival(30.0), 0.0, 1e-4);
    assert!(curve.steps.iter().all(|step| step.low <= step.value && step.value <= step.high));
}
