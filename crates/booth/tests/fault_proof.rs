//! The advice on the trouble tables that are shipped: invented faults worked to their end, and small parts of the
//! tables against the exact optimum.

#![allow(clippy::unwrap_used)]

use booth::desk::{SINCE_IT_RAN_WELL, after_show, show_running, trouble_model};
use faults::{
    advise::{Do, Outcome, Setting, advise, bounds, exact_optimum, expected_cost},
    case::{Answer, Case, beliefs},
    model::{Level, ModelParts, Symptom, TroubleModel},
    prove::{Distribution, prove_symptom},
};
use machine::MachineType;
use std::collections::BTreeSet;

/// Faults for each symptom; `cargo bench -p benches --bench fault_proof` takes a thousand.
const FAULTS: usize = 20;

/// The cost that advice can change, of what a careful person spends down the printed list, for each type.
///
/// 0.6 is what is wanted. On the 16 mm type it holds. On the others no plan at all comes to 0.6 over all symptoms together
/// but for a few hundredths: docs/faults.md has the bound, symptom by symptom. Here twenty faults a symptom with the luck
/// of one seed, looked less far ahead, give 0.582, 0.603 and 0.663; what is allowed lies 0.02 above that and no more,
/// for a change of the tables draws other luck and twenty faults scatter by about so much.
const OF_THE_LIST: [(&str, f64); 3] =
    [("portable-16mm-halogen", 0.6), ("booth-35mm-xenon", 0.625), ("super8-sound", 0.685)];
/// All cost, of what no plan can do for less: 1.027, 1.008 and 1.045.
const OVER_THE_BOUND: f64 = 1.06;

fn types() -> Vec<MachineType> {
    machine::shipped().iter().cloned().collect()
}

fn model_of(kind: &MachineType) -> TroubleModel {
    trouble_model(&kind.trouble, SINCE_IT_RAN_WELL).unwrap()
}

/// Looks less far ahead than the desk does, to be quick.
fn quick(kind: &MachineType) -> Setting {
    Setting { look_ahead: 1.0, ..after_show(&kind.trouble) }
}

#[test]
fn every_shipped_table_gives_a_sound_model_that_gives_back_its_odds() {
    for kind in types() {
        let model = model_of(&kind);
        assert_eq!(model.symptoms().len(), kind.trouble.symptoms.len());
        assert_eq!(model.causes().len(), kind.trouble.causes.len(), "{}", kind.id);
        for symptom in &kind.trouble.symptoms {
            let case = Case::of(symptom.id.as_str().into());
            let found = beliefs(&model, &case, after_show(&kind.trouble).slip);
            for entry in &symptom.causes {
                let now = found.now(&entry.cause.as_str().into()).value();
                let odds = entry.chance.value();
                // Two faults within one reel are rare; a hair in the gate is the least rare of all.
                assert!((now - odds).abs() < 0.03, "{} {}: {odds} and {now}", symptom.id, entry.cause);
            }
        }
    }
}

#[test]
fn invented_faults_are_mended_or_rightly_passed_on_for_less_than_down_the_list() {
    for kind in types() {
        let (model, setting) = (model_of(&kind), quick(&kind));
        let prove = |symptom: &Symptom| prove_symptom(&model, &symptom.id, &setting, FAULTS, 7).unwrap();
        let found: Vec<Distribution> = model.symptoms().iter().map(prove).collect();
        let n: usize = found.iter().map(|one| one.n).sum();
        let wrong: usize = found.iter().map(|one| one.wrongly_passed_on).sum();
        assert!(wrong as f64 <= 0.02 * n as f64, "{}: {wrong} of {n} wrongly passed on", kind.id);
        let ours: f64 = found.iter().map(Distribution::mean_avoidable).sum();
        let printed: f64 = found.iter().map(Distribution::printed_mean_avoidable).sum();
        println!("{}: {wrong} of {n} wrongly passed on, cost {:.3} of the list's", kind.id, ours / printed);
        let (_, allowed) = OF_THE_LIST.iter().find(|(id, _)| kind.id.as_ref() == *id).unwrap();
        assert!(ours <= allowed * printed, "{}: {ours:.1} and {printed:.1}", kind.id);
        let costs: f64 = found.iter().step_by(5).map(Distribution::mean_cost_in_the_long_run).sum();
        let bound = |symptom: &Symptom| bounds(&model, &Case::of(symptom.id.clone()), &setting, 100).at_least;
        let at_least: f64 = model.symptoms().iter().step_by(5).map(bound).sum();
        println!("{}: {:.3} of what no plan can do for less", kind.id, costs / at_least);
        assert!(costs <= OVER_THE_BOUND * at_least, "{}: {costs:.1} and {at_least:.1}", kind.id);
    }
}

#[test]
fn what_may_kill_or_burn_is_made_safe_before_anything_else() {
    for kind in types() {
        let model = model_of(&kind);
        let stopping = kind.trouble.symptoms.iter().filter(|symptom| symptom.stop_now.is_some());
        for symptom in stopping {
            for setting in [after_show(&kind.trouble), show_running(&kind.trouble)] {
                let case = Case::of(symptom.id.as_str().into());
                let outcome = advise(&model, &case, &setting).outcome;
                assert!(matches!(outcome, Outcome::MakeSafe { .. }), "{}: {outcome:?}", symptom.id);
                let outcome = advise(&model, &case.with(Answer::MadeSafe), &setting).outcome;
                assert!(!matches!(outcome, Outcome::MakeSafe { .. }), "{}", symptom.id);
            }
        }
    }
}

#[test]
fn with_an_audience_waiting_nobody_is_sent_to_a_cover_that_needs_a_tool() {
    for kind in types() {
        let (model, setting) = (model_of(&kind), show_running(&kind.trouble));
        for symptom in model.symptoms() {
            let advice = advise(&model, &Case::of(symptom.id.clone()), &setting);
            for step in advice.next().into_iter().chain(&advice.others) {
                let access = match &step.act {
                    Do::Check(check) => kind.trouble.check(check.as_str()).and_then(|c| c.access.clone()),
                    Do::Remedy(remedy) => kind.trouble.remedy(remedy.as_str()).unwrap().access.clone(),
                };
                let opened = access.and_then(|access| kind.trouble.access(&access).cloned());
                assert!(opened.is_none_or(|access| !access.needs_tool), "{}: {:?}", symptom.id, step.act);
            }
        }
    }
}

/// The part of a model that one symptom's three likeliest causes make: for each the two remedies that cure it best,
/// and the check that tells it best. Small enough for every plan to be tried.
fn part_of(model: &TroubleModel, symptom: &Symptom) -> Option<TroubleModel> {
    let mut links = symptom.links.clone();
    let prior = |link: &faults::model::Link| model.cause(&link.cause).unwrap().prior.value();
    links.sort_by(|a, b| (prior(b) * b.strength.value()).total_cmp(&(prior(a) * a.strength.value())));
    links.truncate(3);
    let causes: BTreeSet<_> = links.iter().map(|link| link.cause.clone()).collect();
    let parts = model.parts();
    let (mut checks, mut remedies) = (BTreeSet::new(), BTreeSet::new());
    for cause in &causes {
        let mut telling: Vec<_> = parts
            .checks
            .iter()
            .filter(|check| check.work.level == Level::Operator)
            .filter_map(|check| {
                let one = check.answers.iter().find(|one| one.cause == *cause)?;
                Some(((one.yes.value() - check.otherwise.value()).abs(), check.id.clone()))
            })
            .collect();
        telling.sort_by(|a, b| b.0.total_cmp(&a.0));
        checks.extend(telling.into_iter().take(1).map(|(_, id)| id));
        let mut curing: Vec<_> = parts
            .remedies
            .iter()
            .filter(|remedy| remedy.work.level == Level::Operator)
            .filter_map(|remedy| {
                let one = remedy.cures.iter().find(|one| one.cause == *cause)?;
                Some((one.success.value(), remedy.id.clone()))
            })
            .collect();
        curing.sort_by(|a, b| b.0.total_cmp(&a.0));
        remedies.extend(curing.into_iter().take(2).map(|(_, id)| id));
    }
    let mut kept = ModelParts {
        causes: parts.causes.iter().filter(|cause| causes.contains(&cause.id)).cloned().collect(),
        symptoms: vec![Symptom { links, stop_now: BTreeSet::new(), ..symptom.clone() }],
        checks: parts.checks.iter().filter(|check| checks.contains(&check.id)).cloned().collect(),
        remedies: parts.remedies.iter().filter(|remedy| remedies.contains(&remedy.id)).cloned().collect(),
        preparation: parts.preparation.clone(),
    };
    for check in &mut kept.checks {
        check.answers.retain(|one| causes.contains(&one.cause));
    }
    for remedy in &mut kept.remedies {
        remedy.cures.retain(|one| causes.contains(&one.cause));
    }
    (!kept.remedies.is_empty()).then(|| TroubleModel::new(kept).unwrap())
}

#[test]
fn small_parts_of_the_tables_cost_within_a_tenth_of_the_exact_optimum() {
    let mut ratios = Vec::new();
    for kind in types() {
        let model = model_of(&kind);
        let setting = after_show(&kind.trouble);
        // Every plan of every part would take a minute; every third symptom stands for its table.
        for symptom in model.symptoms().iter().step_by(3) {
            let Some(part) = part_of(&model, symptom) else { continue };
            let case = Case::of(symptom.id.clone());
            let Some(best) = exact_optimum(&part, &case, &setting) else { continue };
            let Some(ours) = expected_cost(&part, &case, &setting, 20_000) else { continue };
            let ratio = ours / best.expected;
            // The optimum holds fewer combinations of rare causes than the advice, which weighs them anew each time.
            assert!(ratio > 0.99, "{}: {ours} is less than the best, {}", symptom.id, best.expected);
            ratios.push((ratio, format!("{} {}", kind.id, symptom.id)));
        }
    }
    ratios.sort_by(|a, b| b.0.total_cmp(&a.0));
    println!("{} parts; the dearest: {:?}", ratios.len(), &ratios[..5]);
    assert!(ratios.len() >= 60, "only {} parts could be tried to the end", ratios.len());
    assert!(ratios[0].0 <= 1.1, "{:?}", ratios[0]);
}
