//! Booth-years that the proving ground plays in a second of one core's time, by policy.

use benches::race::{asked, processor_seconds};
use prove::{PolicyKind, Setting, prove};

/// Booths of ten years each: enough that what is made once does not show.
const BOOTHS: usize = 200;
/// Every policy plays at least so many.
const PROMISED: f64 = 1000.0;

fn main() {
    if !asked() {
        return;
    }
    let library = machine::shipped();
    let scenario = booth::proving::scenario(library.iter());
    for policy in PolicyKind::ALL {
        let setting = Setting { booths: BOOTHS, policies: vec![policy], ..Setting::default() };
        let best = (0..3).map(|_| seconds(&scenario, &setting)).fold(f64::INFINITY, f64::min);
        let rate = BOOTHS as f64 * setting.years / best;
        let ratio = rate / PROMISED;
        println!(
            "{}: {rate:.0} booth-years in a second of one core, {ratio:.1} times what is promised",
            policy.as_str()
        );
        assert!(rate >= PROMISED, "promised: {PROMISED}");
    }
}

/// The processor's time, so that others on the same cores make little difference.
fn seconds(scenario: &prove::Scenario, setting: &Setting) -> f64 {
    let before = processor_seconds();
    let report = prove(scenario, setting).expect("the shipped types can be played");
    assert!(report.policies[0].showings > 0.0);
    processor_seconds() - before
}
