//! Booth-years that the proving ground plays in a second on one core, by policy.

use prove::{PolicyKind, Setting, prove};
use std::time::Instant;

/// Booths of ten years each: enough that what is made once does not show.
const BOOTHS: usize = 200;
/// The simulator itself plays at least so many.
const PROMISED: f64 = 1000.0;

fn main() {
    let library = machine::shipped();
    let scenario = booth::proving::scenario(library.iter());
    for policy in PolicyKind::ALL {
        let setting = Setting { booths: BOOTHS, policies: vec![policy], ..Setting::default() };
        let best = (0..3).map(|_| seconds(&scenario, &setting)).fold(f64::INFINITY, f64::min);
        let rate = BOOTHS as f64 * setting.years / best;
        println!("{}: {rate:.0} booth-years in a second on one core", policy.as_str());
        if matches!(policy, PolicyKind::Handbook | PolicyKind::ToFailure) {
            assert!(rate >= PROMISED, "promised: {PROMISED}");
        }
    }
}

fn seconds(scenario: &prove::Scenario, setting: &Setting) -> f64 {
    let before = Instant::now();
    let report = prove(scenario, setting).expect("the shipped types can be played");
    assert!(report.policies[0].showings > 0.0);
    before.elapsed().as_secs_f64()
}
