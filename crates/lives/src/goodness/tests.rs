#![allow(clippy::unwrap_used)]
use super::*;

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
}

fn lives(failed: &[f64], censored: &[f64]) -> Lives {
    let failed = failed.iter().map(|age| LifeRecord::failed(*age));
    let censored = censored.iter().map(|age| LifeRecord::censored(*age));
    Lives::new(failed.chain(censored).collect()).unwrap()
}

/// Revolutions to failure of 23 ball bearings, in millions (Lieblein and Zelen 1956, Journal of Research of the National
/// Bureau of Standards 57, 273); the likelihoods as reliability texts reprint them, from memory.
const BEARINGS: [f64; 23] = [
    17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.48, 51.84, 51.96, 54.12, 55.56, 67.80, 68.64, 68.64, 68.88,
    84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40,
];

fn fitted(model: Model, lives: &Lives) -> Fit {
    fit::fit(model, lives, 0.95).unwrap()
}

#[test]
fn the_bearings_of_lieblein_and_zelen_are_told_apart_as_reprinted_from_memory() {
    let lives = lives(&BEARINGS, &[]);
    let laws = [Model::Weibull, Model::Lognormal, Model::Gamma, Model::Exponential]
        .map(|model| fitted(model, &lives));
    let [weibull, lognormal, gamma, exponential] = &laws;
    near(weibull.life.shape(), 2.102, 1e-3);
    near(weibull.life.scale(), 81.88, 1e-2);
    near(weibull.ln_likelihood, -113.691, 1e-3);
    near(lognormal.ln_likelihood, -113.128, 1e-3);
    near(gamma.ln_likelihood, -113.029, 1e-3);
    let shares = fit::shares(&laws);
    near(shares.iter().sum(), 1.0, 1e-12);
    assert!(shares[2] > shares[1] && shares[1] > shares[0] && shares[3] < 0.01, "{shares:?}");
    near(shares[0] / shares[2], (weibull.ln_likelihood - gamma.ln_likelihood).exp(), 1e-9);
    near(weibull.criterion(), 4.0 - 2.0 * weibull.ln_likelihood, 1e-12);
    near(weibull.bayes_criterion(), 2.0 * 23_f64.ln() - 2.0 * weibull.ln_likelihood, 1e-12);
    let judged = judge(weibull, &lives, 199, 1).unwrap();
    assert!(judged.anderson_darling_p > 0.2 && judged.plot_correlation.unwrap() > 0.97, "{judged:?}");
    let judged = judge(exponential, &lives, 199, 1).unwrap();
    assert!(judged.anderson_darling_p < 0.02 && judged.kolmogorov_p < 0.05, "{judged:?}");
}

/// For complete lives: A² = −n − Σ (2i − 1)[ln uᵢ + ln(1 − uₙ₊₁₋ᵢ)]/n (Anderson and Darling 1954), D by its definition.
#[test]
fn for_complete_lives_the_distances_are_the_usual_ones() {
    let law = Life::Lognormal { median: 60.0, log_sd: 0.6 };
    let found = distances(&law, &lives(&BEARINGS, &[])).unwrap();
    let u = BEARINGS.map(|age| law.cdf(age));
    let n = u.len() as f64;
    let (mut sum, mut gap) = (0.0, 0.0_f64);
    for (i, at) in u.iter().enumerate() {
        sum += (2.0 * i as f64 + 1.0) * (at.ln() + (1.0 - u[u.len() - 1 - i]).ln());
        gap = gap.max((at - i as f64 / n).abs()).max(((i + 1) as f64 / n - at).abs());
    }
    near(found.anderson_darling, -n - sum / n, 1e-10);
    near(found.kolmogorov, gap, 1e-12);
}

/// For lives all watched until the r-th failure: the statistic of Pettitt and Stephens (1976), as D'Agostino and Stephens
/// (1986, Goodness-of-Fit Techniques, section 4.7) print it, from memory.
#[test]
fn for_lives_watched_to_one_failure_the_distance_is_that_of_pettitt_and_stephens() {
    let law = Life::Weibull { shape: 2.0, scale: 80.0 };
    let (seen, r) = (&BEARINGS[..12], 12.0);
    let found = distances(&law, &lives(seen, &[BEARINGS[11]; 11])).unwrap();
    let u: Vec<f64> = seen.iter().map(|age| law.cdf(*age)).collect();
    let n = 23.0;
    let odds: f64 =
        u.iter().enumerate().map(|(i, u)| (2.0 * i as f64 + 1.0) * (u.ln() - (1.0 - u).ln())).sum();
    let left: f64 = u.iter().map(|u| (1.0 - u).ln()).sum();
    let last = u[11];
    let wanted =
        -odds / n - 2.0 * left - ((r - n).powi(2) * (1.0 - last).ln() - r * r * last.ln() + n * n * last) / n;
    near(found.anderson_darling, wanted, 1e-10);
}

/// Late-entered lives are held against the law from the youngest age at which one was watched.
#[test]
fn lives_that_were_all_met_at_one_age_are_held_against_the_rest_of_the_law() {
    let law = Life::Exponential { mean: 50.0 };
    let new = lives(&[10.0, 30.0, 55.0], &[70.0]);
    let later = new.records().iter().map(|record| match record.ending {
        crate::Ending::Failed(age) => LifeRecord::failed(age + 20.0).entered_at(20.0),
        _ => LifeRecord::censored(record.last_age() + 20.0).entered_at(20.0),
    });
    let later = Lives::new(later.collect()).unwrap();
    let (new, later) = (distances(&law, &new).unwrap(), distances(&law, &later).unwrap());
    near(new.anderson_darling, later.anderson_darling, 1e-12);
    near(new.kolmogorov, later.kolmogorov, 1e-12);
}

/// If the law is right, chances of 10 in 100 or less come in 10 of 100 sets.
#[test]
fn right_laws_are_doubted_as_often_as_they_should_and_wrong_ones_more_often() {
    use rand::RngExt;
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let doubted = |law: Life, rng: &mut ChaCha8Rng| {
        let records = (0..30).map(|_| {
            let (fails, end) = (law.fails_at(0.0, rng.random()), 20.0 + 130.0 * rng.random::<f64>());
            if fails <= end { LifeRecord::failed(fails) } else { LifeRecord::censored(end) }
        });
        let lives = Lives::new(records.collect()).unwrap();
        let fit = fitted(Model::Exponential, &lives);
        judge(&fit, &lives, 99, rng.random()).unwrap().anderson_darling_p <= 0.1
    };
    let right = (0..400).filter(|_| doubted(Life::Exponential { mean: 60.0 }, &mut rng)).count();
    // 40 are expected; four standard deviations of 6 about that.
    assert!((16..=64).contains(&right), "{right} of 400");
    let wrong = (0..100).filter(|_| doubted(Life::Weibull { shape: 3.0, scale: 60.0 }, &mut rng)).count();
    assert!(wrong > 90, "{wrong} of 100");
}

#[test]
fn what_cannot_be_judged_is_said() {
    let windows =
        Lives::new(vec![LifeRecord::between(10.0, 20.0), LifeRecord::failed(30.0), LifeRecord::failed(31.0)]);
    let windows = windows.unwrap();
    assert_eq!(
        judge(&fitted(Model::Exponential, &windows), &windows, 19, 1).unwrap_err(),
        NotJudged::NotSeen
    );
    let many =
        Lives::new(vec![LifeRecord::failed(10.0).times(MOST_LIVES), LifeRecord::failed(12.0)]).unwrap();
    let error = judge(&fitted(Model::Weibull, &many), &many, 19, 1).unwrap_err();
    assert_eq!(error, NotJudged::TooMany { lives: MOST_LIVES + 1 });
    let seldom = lives(&[40.0], &[41.0; 3]);
    let fit = fitted(Model::Weibull, &seldom);
    assert!(judge(&fit, &seldom, 99, 1).is_ok_and(|judged| judged.plot_correlation.is_none()));
}
