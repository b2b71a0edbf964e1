//! A thousand invented faults on each symptom of each shipped type, worked to their end by the advice and down the
//! printed list.

use booth::desk::{SINCE_IT_RAN_WELL, after_show, trouble_model};
use faults::prove::{Distribution, prove_symptom};
use std::thread;

const FAULTS: usize = 1000;
const SEED: u64 = 1;
/// Mended or rightly passed on, of all faults of a symptom.
const RIGHT: f64 = 0.98;
/// The mean cost, of working down the printed list.
const OF_THE_LIST: f64 = 0.6;

fn main() {
    let only = std::env::args().skip(1).find(|argument| !argument.starts_with('-'));
    for kind in machine::shipped().iter() {
        let model = trouble_model(&kind.trouble, SINCE_IT_RAN_WELL).expect("a shipped table is sound");
        let setting = after_show(&kind.trouble);
        let wanted = |id: &str| only.as_ref().is_none_or(|only| id.contains(only.as_str()));
        let ids: Vec<_> =
            model.symptoms().iter().map(|one| one.id.clone()).filter(|id| wanted(id.as_str())).collect();
        let (front, back) = ids.split_at(ids.len() / 2);
        let prove = |ids: &[faults::model::SymptomId]| -> Vec<Distribution> {
            ids.iter()
                .map(|id| prove_symptom(&model, id, &setting, FAULTS, SEED).expect("the model's own symptom"))
                .collect()
        };
        let found: Vec<Distribution> = thread::scope(|scope| {
            let other = scope.spawn(|| prove(back));
            let mut found = prove(front);
            found.extend(other.join().expect("the proof never panics"));
            found
        });
        println!("{}", kind.id);
        for one in &found {
            tell(one);
        }
        if !found.is_empty() {
            tell_all(&found);
        }
    }
}

fn tell(one: &Distribution) {
    let quantile = |sorted: &[f64], share: f64| sorted[((sorted.len() - 1) as f64 * share) as usize];
    println!(
        "  {}: {} mended, {} rightly passed on, {} for safety, {} wrongly ({} beyond cure); work {:.1} min \
         (half under {:.1}, nine in ten under {:.1}), the list's {:.1}; cost {:.2} of the list's, {:.2} with all calls",
        one.symptom,
        one.fixed,
        one.rightly_passed_on,
        one.passed_on_for_safety,
        one.wrongly_passed_on,
        one.beyond_cure,
        one.mean_work(),
        quantile(&one.work, 0.5),
        quantile(&one.work, 0.9),
        one.printed_mean_work(),
        one.mean_avoidable() / one.printed_mean_avoidable(),
        one.mean_cost() / one.printed_mean_cost(),
    );
}

fn tell_all(found: &[Distribution]) {
    let sum = |of: fn(&Distribution) -> f64| found.iter().map(of).sum::<f64>();
    let n = found.len();
    let right = found.iter().filter(|one| one.right() >= RIGHT).count();
    let cheap =
        found.iter().filter(|one| one.mean_avoidable() <= OF_THE_LIST * one.printed_mean_avoidable()).count();
    let least = found.iter().map(Distribution::right).fold(1.0, f64::min);
    let cost = sum(Distribution::mean_avoidable) / sum(Distribution::printed_mean_avoidable);
    let with_calls = sum(Distribution::mean_cost) / sum(Distribution::printed_mean_cost);
    println!(
        "  all: right in {right} of {n} symptoms (least {least:.3}, mean {:.4}); cost {cost:.3} of the list's, at most \
         {OF_THE_LIST} in {cheap} of {n}; with all calls {with_calls:.3}",
        sum(Distribution::right) / n as f64
    );
}
