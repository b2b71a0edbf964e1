//! Whole provings: the same from the same seed, chances that are right where the truth is known, and what advice gains.

#![allow(clippy::unwrap_used)]

use prove::{Care, Clock, Interval, Kind, Mode, Part, PolicyKind, Scenario, Setting, SettingError, prove};
use units::Seconds;

/// A portable of our own making: lamp, exciter lamp, belt, clutch, claw, brushes, fuse.
fn portable() -> Kind {
    let part = |name: &str, modes: &[(Clock, f64, f64)], mend: Option<f64>, bench: Option<f64>| Part {
        name: name.into(),
        modes: modes.iter().map(|&(clock, shape, scale)| Mode { clock, shape, scale }).collect(),
        mend: mend.map(Seconds::new),
        takes_spare: mend.is_some(),
        at_strike: 0.0,
        bench_minutes: bench,
        credits: 15.0,
        lead_days: 14.0,
        carried: u32::from(mend.is_some()),
        interval: None,
        cares: Vec::new(),
    };
    let every = |hours, years| Some(Interval { hours, years });
    let lamp = Part {
        at_strike: 0.6,
        carried: 2,
        interval: every(Some(35.0), None),
        ..part("lamp", &[(Clock::Hours, 4.0, 55.0)], Some(180.0), Some(5.0))
    };
    let exciter = Part {
        carried: 2,
        interval: every(Some(100.0), None),
        ..part("exciter lamp", &[(Clock::Hours, 3.0, 130.0)], Some(90.0), Some(3.0))
    };
    let belt = Part {
        interval: every(None, Some(5.0)),
        cares: vec![0],
        ..part("belt", &[(Clock::Years, 3.0, 9.0), (Clock::Hours, 2.5, 1400.0)], Some(1500.0), Some(20.0))
    };
    let claw = Part {
        interval: every(Some(2000.0), None),
        cares: vec![1],
        ..part("claw", &[(Clock::Hours, 3.0, 2200.0)], None, None)
    };
    let brushes = Part {
        interval: every(Some(500.0), None),
        ..part("brushes", &[(Clock::Hours, 3.0, 900.0)], Some(900.0), Some(15.0))
    };
    let fuse = part("fuse", &[(Clock::Showings, 1.0, 250.0)], Some(180.0), None);
    let care = |name: &str| Care { name: name.into(), hours: Some(50.0), days: Some(180.0), minutes: 8.0 };
    Kind {
        name: "portable".into(),
        pair: false,
        parts: vec![lamp, exciter, belt, claw, brushes, fuse],
        cares: vec![care("belts"), care("oil")],
    }
}

fn setting(booths: usize, policies: &[PolicyKind]) -> Setting {
    Setting { booths, policies: policies.to_vec(), ..Setting::default() }
}

#[test]
fn the_same_seed_gives_the_same_report_on_any_number_of_threads() {
    let scenario = Scenario::usual(vec![portable()]);
    let one = setting(8, &PolicyKind::ALL);
    let report = prove(&scenario, &one).unwrap();
    assert_eq!(report, prove(&scenario, &Setting { threads: 3, ..one.clone() }).unwrap());
    let other = prove(&scenario, &Setting { seed: 2, ..one.clone() }).unwrap();
    assert_ne!(report.policies, other.policies);
    // Luck does not depend on who else plays.
    let alone = prove(&scenario, &setting(8, &[PolicyKind::Advice])).unwrap();
    assert_eq!(alone.policies[0], report.policies[2]);
}

/// Where the advice is told the hidden lives and nothing beyond them happens, its chances must be right: the proof
/// that simulator and advice mean the same by a chance.
#[test]
fn chances_are_right_where_the_truth_is_known() {
    let mut scenario = Scenario::usual(vec![portable()]);
    scenario.nature.slip = 0.0;
    scenario.nature.drift_hours = 1e12;
    let report = prove(&scenario, &setting(100, &[PolicyKind::Told])).unwrap();
    let calibration = report.policies[0].calibration.as_ref().unwrap();
    assert!(calibration.showings > 100_000, "{}", calibration.showings);
    assert!(calibration.all_within_joint_band && calibration.steps_within >= 8, "{calibration:?}");
    assert!(calibration.brier.value < calibration.brier_of_mean);
    assert!(calibration.log_score.value < calibration.log_score_of_mean);
}

/// Where lives, and all else that the log must teach, stray as they will, what is learnt follows neither luck nor rumour.
#[test]
fn chances_that_are_learnt_keep_the_band_of_all_tenths_together() {
    let scenario = Scenario::usual(vec![portable()]);
    let report = prove(&scenario, &setting(100, &[PolicyKind::Advice, PolicyKind::Careful])).unwrap();
    for policy in &report.policies {
        let calibration = policy.calibration.as_ref().unwrap();
        assert!(calibration.showings > 100_000, "{}", calibration.showings);
        assert!(calibration.all_within_joint_band && calibration.steps_within >= 8, "{calibration:?}");
    }
}

#[test]
fn learning_from_the_log_beats_fixed_intervals_where_lives_stray() {
    let scenario = Scenario::usual(vec![portable()]);
    let policies = [PolicyKind::Handbook, PolicyKind::Advice, PolicyKind::Careful];
    let report = prove(&scenario, &setting(100, &policies)).unwrap();
    let [advice, careful] = &report.compared[..] else { panic!("two policies learn") };
    assert!(advice.part_stoppages.high < 1.0 && advice.cost.high < 1.0, "{advice:?}");
    assert!(careful.stoppages.value < advice.stoppages.value, "{careful:?}");
}

#[test]
fn what_cannot_be_played_is_refused_in_words() {
    let scenario = Scenario::usual(vec![portable()]);
    let refused = |scenario: &Scenario, setting: &Setting| prove(scenario, setting).unwrap_err();
    let usual = setting(8, &[PolicyKind::Advice]);
    assert_eq!(refused(&scenario, &Setting { booths: 1, ..usual.clone() }), SettingError::Booths(1));
    assert!(matches!(
        refused(&scenario, &Setting { years: f64::NAN, ..usual.clone() }),
        SettingError::Years(_)
    ));
    assert_eq!(refused(&scenario, &setting(8, &[])), SettingError::NoPolicy);
    let mut bad = scenario.clone();
    bad.kinds[0].parts[0].modes[0].scale = 0.0;
    assert_eq!(refused(&bad, &usual).to_string(), "scale of lamp must be a positive number, not 0");
    bad = scenario.clone();
    bad.kinds[0].parts[0].cares = vec![7];
    assert!(refused(&bad, &usual).to_string().contains("care 7"));
    assert!(prove(&Scenario::usual(Vec::new()), &usual).is_err());
}
