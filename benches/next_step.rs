//! The next step of the fault desk on the shipped tables: the slowest of many cases, then that one with care.

use benches::core_time;
use booth::desk::{SINCE_IT_RAN_WELL, after_show, trouble_model};
use criterion::Criterion;
use faults::{
    advise::{Do, Outcome, Setting, advise},
    case::{Answer, Case, Reply, Tried},
    model::TroubleModel,
};
use std::{hint::black_box, time::Duration};

/// A case is followed so far, every answer a no and no remedy of help: the longest cases there are.
const STEPS: usize = 6;

struct Slowest {
    took: Duration,
    model: TroubleModel,
    setting: Setting,
    case: Case,
    name: String,
}

fn main() {
    let (slowest, mut all) = slowest();
    all.sort_unstable();
    println!(
        "{} next steps, in core time: half take under {:?}, nine in ten under {:?}, all but one in a hundred under {:?}; the \
         slowest, {}: {:?}",
        all.len(),
        all[all.len() / 2],
        all[all.len() * 9 / 10],
        all[all.len() * 99 / 100],
        slowest.name,
        slowest.took
    );
    let mut criterion = Criterion::default().sample_size(20).configure_from_args();
    criterion.bench_function("the slowest next step", |bencher| {
        bencher.iter(|| black_box(advise(&slowest.model, &slowest.case, &slowest.setting)));
    });
    criterion.final_summary();
}

fn slowest() -> (Slowest, Vec<Duration>) {
    let mut slowest: Option<Slowest> = None;
    let mut all = Vec::new();
    for kind in machine::shipped().iter() {
        let model = trouble_model(&kind.trouble, SINCE_IT_RAN_WELL).expect("a shipped table is sound");
        let setting = after_show(&kind.trouble);
        for symptom in model.symptoms() {
            let mut case = Case::of(symptom.id.clone());
            for step in 0..STEPS {
                let start = core_time();
                let advice = black_box(advise(&model, &case, &setting));
                let took = core_time().saturating_sub(start);
                all.push(took);
                if slowest.as_ref().is_none_or(|slowest| took > slowest.took) {
                    let name = format!("step {} of {} on {}", step + 1, symptom.id, kind.id);
                    let (model, case) = (model.clone(), case.clone());
                    slowest = Some(Slowest { took, model, setting, case, name });
                }
                let answer = match advice.outcome {
                    Outcome::Next(step) => match step.act {
                        Do::Check(check) => Answer::Checked { check, reply: Reply::No },
                        Do::Remedy(remedy) => Answer::Tried { remedy, result: Tried::NotFixed },
                    },
                    Outcome::MakeSafe { .. } => Answer::MadeSafe,
                    _ => break,
                };
                case.answers.push(answer);
            }
        }
    }
    (slowest.expect("the shipped types have symptoms"), all)
}
