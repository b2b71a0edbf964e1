#![allow(clippy::unwrap_used)]
use super::*;
use crate::record::LifeRecord;

const PRIOR: Prior = Prior::around(3.0, 130.0);
const FINE: Fineness = Fineness { shapes: 160, scales: 240, family: 96, ..Fineness::USUAL };

fn known(records: &[LifeRecord]) -> Known {
    Lives::new(records.to_vec()).unwrap().into()
}

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found / wanted - 1.0).abs() < within, "{found} is not {wanted}");
}

fn cases() -> Vec<Known> {
    let many: Vec<LifeRecord> = (0..400)
        .map(|at| {
            let u = (f64::from(at) * 0.618_033_988_749_895 + 0.3).fract();
            let life = Life::Weibull { shape: 2.2, scale: 95.0 }.fails_at(0.0, u);
            if life > 120.0 { LifeRecord::censored(120.0) } else { LifeRecord::failed(life) }
        })
        .collect();
    vec![
        Known::nothing(),
        known(&[LifeRecord::censored(40.0).times(3)]),
        known(&[LifeRecord::censored(800.0)]),
        known(&[LifeRecord::failed(31.0), LifeRecord::failed(75.0), LifeRecord::censored(60.0)]),
        known(&[
            LifeRecord::failed(500.0),
            LifeRecord::between(90.0, 130.0),
            LifeRecord::failed_before(70.0),
        ]),
        known(&[LifeRecord::failed(160.0).entered_at(120.0), LifeRecord::censored(150.0).entered_at(90.0)]),
        Known {
            banded: vec![BandedLife { entered: (0.0, 100.0), watched: 30.0, failed: true }],
            ..Known::nothing()
        },
        known(&many),
    ]
}

#[test]
fn the_usual_grid_agrees_with_one_sixteen_times_as_fine() {
    for known in cases() {
        let (usual, fine) = (Posterior::new(PRIOR, &known), Posterior::with(PRIOR, &known, FINE));
        near(usual.laws().iter().map(|law| law.weight).sum(), 1.0, 1e-12);
        near(usual.mean_life(0.9).mean, fine.mean_life(0.9).mean, 1e-6);
        near(usual.shape(0.9).mean, fine.shape(0.9).mean, 1e-6);
        for (age, span) in [(0.0_f64, 2.0_f64), (60.0, 2.0), (110.0, 2.0), (110.0, 50.0)] {
            let (found, wanted) = (usual.failure_chance(age, span, 0.9), fine.failure_chance(age, span, 0.9));
            near(found.chance.value(), wanted.chance.value(), 1e-6);
            // The ends of an interval within 2 % of its width, on the scale of ln.
            let width = (wanted.high.value() / wanted.low.value()).ln();
            near(found.low.value(), wanted.low.value(), 0.02 * width);
            near(found.high.value(), wanted.high.value(), 0.02 * width);
            near(usual.mean_failure_chance(age, span).value(), wanted.chance.value(), 1e-6);
        }
    }
}

#[test]
fn without_lives_the_belief_is_the_prior() {
    let belief = Posterior::of_prior(PRIOR);
    near(belief.scale(0.95).median, 130.0, 2e-3);
    near(belief.scale(0.95).high, 130.0 * (1.959_964 * SCALE_LOG_SD).exp(), 5e-3);
    near(belief.shape(0.95).low, 3.0 * (-1.959_964 * SHAPE_LOG_SD).exp(), 5e-3);
    assert!(belief.share_from_data() < 1e-6 && belief.failures() == 0);
}

/// With the shape all but known the scale to the power −shape has, for a flat prior, a gamma law; a wide prior is flat
/// enough to see its mean.
#[test]
fn a_known_shape_gives_the_gamma_law_of_textbooks() {
    let prior = Prior::around(2.0, 50.0).doubted(1e-4, 40.0);
    let ages = [20.0_f64, 35.0, 61.0, 44.0, 52.0, 30.0];
    let records: Vec<LifeRecord> = ages.iter().map(|&age| LifeRecord::failed(age)).collect();
    let belief = Posterior::new(prior, &known(&records));
    let gathered: f64 = ages.iter().map(|age| age * age).sum();
    near(belief.expect(|law| law.scale.powi(-2)), 6.0 / gathered, 2e-3);
    let wanted = (gathered / (0.5 * crate::special::chi_squared_quantile(0.95, 12.0))).sqrt();
    near(belief.scale(0.9).low, wanted, 5e-3);
}

#[test]
fn survivors_raise_and_early_failures_lower_the_expected_life() {
    let life = |records: &[LifeRecord]| Posterior::new(PRIOR, &known(records)).mean_life(0.9);
    let before = life(&[]);
    let survived = life(&[LifeRecord::censored(300.0)]);
    let failed = life(&[LifeRecord::failed(20.0), LifeRecord::failed(30.0)]);
    assert!(survived.median > 1.3 * before.median && failed.median < 0.7 * before.median);
    assert!(failed.high / failed.low > 1.8, "two failures leave much open");
    // A life that has only just begun says next to nothing.
    near(life(&[LifeRecord::censored(1.0)]).median, before.median, 1e-3);
}

#[test]
fn a_band_of_ages_lies_between_its_ends() {
    let banded = |low: f64, high: f64| {
        let life = BandedLife { entered: (low, high), watched: 40.0, failed: true };
        Posterior::new(PRIOR, &Known { banded: vec![life], ..Known::nothing() }).mean_life(0.9).mean
    };
    let sure = |age: f64| {
        Posterior::new(PRIOR, &known(&[LifeRecord::failed(age + 40.0).entered_at(age)])).mean_life(0.9).mean
    };
    near(banded(30.0, 30.0), sure(30.0), 1e-9);
    let between = banded(0.0, 100.0);
    assert!(between > sure(0.0).min(sure(100.0)) && between < sure(0.0).max(sure(100.0)), "{between}");
}

fn family() -> Family {
    let early = [LifeRecord::failed(40.0), LifeRecord::failed(55.0), LifeRecord::failed(48.0)];
    Family::new(PRIOR, vec![known(&early), known(&[LifeRecord::censored(30.0)]), Known::nothing()])
}

#[test]
fn a_family_shares_and_keeps_the_differences() {
    let family = family();
    let mean = |of: Option<usize>| family.posterior(of).mean_life(0.9).median;
    let prior = Posterior::of_prior(PRIOR).mean_life(0.9).median;
    let (own, other, fresh, stranger) = (mean(Some(0)), mean(Some(1)), mean(Some(2)), mean(None));
    assert!(own < other && other < prior, "{own} {other} {prior}");
    near(fresh, stranger, 1e-9);
    assert!(fresh < other, "thirty good hours count for the machine that ran them");
}

#[test]
fn a_family_of_one_is_a_part_with_a_wider_prior() {
    let records = known(&[LifeRecord::failed(40.0), LifeRecord::censored(90.0)]);
    let family = Family::new(PRIOR, vec![records.clone()]).posterior(Some(0));
    let alone = Posterior::new(PRIOR.doubted(SHAPE_LOG_SD, SCALE_LOG_SD.hypot(MACHINE_LOG_SD)), &records);
    near(family.mean_life(0.9).mean, alone.mean_life(0.9).mean, 1e-6);
    near(
        family.failure_chance(80.0, 2.0, 0.9).high.value(),
        alone.failure_chance(80.0, 2.0, 0.9).high.value(),
        0.02,
    );
}

/// Every machine's factor and the family's scale summed out by brute force on a plain grid.
#[test]
fn the_family_agrees_with_sums_over_a_plain_grid() {
    let family = family();
    let belief = family.posterior(Some(1));
    let (mut total, mut mean) = (0.0, 0.0);
    let normal = |x: f64, sd: f64| (-0.5 * (x / sd).powi(2)).exp();
    let steps =
        |from: f64, to: f64, n: i32| (0..=n).map(move |at| from + (to - from) * f64::from(at) / f64::from(n));
    for y in steps(-1.5, 1.5, 60) {
        let shape = 3.0 * y.exp();
        let likelihood: Vec<Vec<(f64, f64)>> = (0..2)
            .map(|at| {
                let terms = Terms::of(family.machines[at].lives.records());
                let column = Column::new(shape, 0.0, 1.0, &terms, &[]);
                steps(1.5, 9.0, 375).map(|v| (v, column.ln_likelihood(v).exp())).collect()
            })
            .collect();
        for u in steps(1.5, 8.5, 170) {
            let prior = normal(y, SHAPE_LOG_SD) * normal(u - 130.0_f64.ln(), SCALE_LOG_SD);
            let own: (f64, f64) = likelihood[1].iter().fold((0.0, 0.0), |(zeroth, first), (v, likely)| {
                let weight = likely * normal(v - u, MACHINE_LOG_SD);
                (zeroth + weight, first + weight * v)
            });
            let other: f64 =
                likelihood[0].iter().map(|(v, likely)| likely * normal(v - u, MACHINE_LOG_SD)).sum();
            total += prior * other * own.0;
            mean += prior * other * own.1;
        }
    }
    near(belief.expect(|law| law.scale.ln()), mean / total, 1e-5);
}

#[test]
fn the_quick_belief_of_a_family_gives_the_same_chances_to_a_hundredth() {
    let lives = |ages: &[f64]| {
        Known::from(Lives::new(ages.iter().map(|age| LifeRecord::failed(*age)).collect()).unwrap())
    };
    let families =
        [vec![], vec![lives(&[])], vec![lives(&[31.0, 44.0]), lives(&[52.0, 47.0, 60.0]), lives(&[20.0])]];
    for machines in families {
        let family = Family::new(Prior::around(4.0, 55.0), machines);
        let (full, quick) = (family.posterior(Some(0)), family.quick_posterior(Some(0)));
        for age in [0.0, 10.0, 30.0, 45.0, 70.0] {
            let (full, quick) =
                (full.mean_failure_chance(age, 2.0).value(), quick.mean_failure_chance(age, 2.0).value());
            assert!((quick / full - 1.0).abs() < 0.01, "{age}: {quick} {full}");
        }
    }
}
