//! What to believe in a case: against the whole network, against every history, and when a case is not in order.

#![allow(clippy::unwrap_used)]

mod common;

use common::{
    Size, cause, chance, check, first_symptom, invented, nine_faults, remedy, setting, symptom, work,
};
use faults::{
    advise::advise,
    case::{Answer, Aside, Case, ContextFactor, Reply, Tried, Why, beliefs, what_changed},
    exact::posteriors_of,
    learn::{Figure, Lesson, Strength, learn},
    model::{
        Cause, CauseKind, CheckKind, Level, MachineState, ModelError, ModelParts, Odds, Preparation,
        RatedSymptom, TroubleModel, from_rates,
    },
    network::Evidence,
};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use units::{Hours, Probability};

/// Two ways of summing the same few thousand terms.
const ROUNDING: f64 = 1e-10;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn beliefs_agree_with_the_whole_network(seed in 0u64..100_000, answered in 0usize..6) {
        let size = Size { causes: 14, symptoms: 4, checks: 8, links: 6, technician: 0.3 };
        let model = invented(&size, seed);
        let network = model.to_network().unwrap();
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        let mut case = Case::of(first_symptom(&model));
        let mut evidence = Evidence::new();
        evidence.seen(&network, "symptom:s0", "yes").unwrap();
        let there = dice.random_bool(0.5);
        evidence.seen(&network, "symptom:s1", if there { "yes" } else { "no" }).unwrap();
        case.answers.push(Answer::Noticed { symptom: "s1".into(), there });
        for k in 0..answered {
            let (reply, state) = if dice.random_bool(0.5) { (Reply::Yes, "yes") } else { (Reply::No, "no") };
            evidence.seen(&network, &format!("check:k{k}"), state).unwrap();
            case.answers.push(Answer::Checked { check: format!("k{k}").as_str().into(), reply });
        }
        let found = beliefs(&model, &case, Probability::NEVER);
        for belief in &found.causes {
            let id = network.find(&format!("cause:{}", belief.cause)).unwrap();
            let expected = posteriors_of(&network, &evidence, &[id]).unwrap()[0][1];
            prop_assert!((belief.now.value() - expected).abs() < ROUNDING, "{belief:?} and {expected}");
        }
    }

    /// Every history of three causes, two remedies and checks between them, weighed one by one.
    #[test]
    fn beliefs_after_remedies_agree_with_every_history(seed in 0u64..100_000) {
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        let mut roll = || dice.random_range(0.05..0.95);
        let (priors, strengths) = ([roll(), roll(), roll()], [roll(), roll(), roll()]);
        let (first, second) = ([roll(), roll()], [roll(), roll()]);
        let (sees, otherwise, leak) = ([roll(), roll()], roll(), roll());
        let yes_before = roll() < 0.5;
        let yes_after = roll() < 0.5;
        let names = ["a", "b", "c"];
        let work = || work(1.0, MachineState::Running, None);
        let model = TroubleModel::new(ModelParts {
            causes: (0..3).map(|n| cause(names[n], priors[n], Level::Operator, &[])).collect(),
            symptoms: vec![symptom("s", leak, &[("a", strengths[0]), ("b", strengths[1]), ("c", strengths[2])])],
            checks: vec![check("k", otherwise, &[("a", sees[0]), ("b", sees[1])], work())],
            remedies: vec![
                remedy("r1", &[("a", first[0]), ("b", first[1])], work()),
                remedy("r2", &[("b", second[0]), ("c", second[1])], work()),
            ],
            preparation: Preparation::default(),
        }).unwrap();
        let reply = |yes| Answer::Checked { check: "k".into(), reply: if yes { Reply::Yes } else { Reply::No } };
        let tried = |remedy: &str| Answer::Tried { remedy: remedy.into(), result: Tried::NotFixed };
        let case = Case {
            answers: vec![reply(yes_before), tried("r1"), reply(yes_after), tried("r2")],
            ..Case::of("s".into())
        };
        let answer = |there: [bool; 3], yes: bool| {
            let (mut quiet, mut kept) = (1.0 - otherwise, 1.0);
            for n in 0..2 {
                if there[n] && sees[n] > otherwise {
                    quiet *= (1.0 - sees[n]) / (1.0 - otherwise);
                } else if there[n] {
                    kept *= sees[n] / otherwise;
                }
            }
            let p = (1.0 - quiet) * kept;
            if yes { p } else { 1.0 - p }
        };
        let (mut now, mut total) = ([0.0; 3], 0.0);
        // Bits: there at first 0-2, shows 3-5, cured by the first 6-7, by the second 8-9, unlisted 10.
        for bits in 0..2048u32 {
            let bit = |n: u32| bits >> n & 1 == 1;
            let of = |n: u32, p: f64| if bit(n) { p } else { 1.0 - p };
            let mut p = of(10, leak);
            for n in 0..3 {
                p *= of(n as u32, priors[n]) * of(3 + n as u32, strengths[n]);
            }
            for n in 0..2 {
                p *= of(6 + n as u32, first[n]) * of(8 + n as u32, second[n]);
            }
            let at_first = [bit(0), bit(1), bit(2)];
            let between = [at_first[0] && !bit(6), at_first[1] && !bit(7), at_first[2]];
            let at_last = [between[0], between[1] && !bit(8), between[2] && !bit(9)];
            if !(bit(10) || (0..3).any(|n| at_last[n] && bit(3 + n as u32))) {
                continue;
            }
            // Both looks at the check are separate looks.
            p *= answer(at_first, yes_before) * answer(between, yes_after);
            total += p;
            for n in 0..3 {
                now[n] += if at_last[n] { p } else { 0.0 };
            }
        }
        let found = beliefs(&model, &case, Probability::NEVER);
        prop_assert!(!found.approximate);
        for n in 0..3 {
            let (ours, expected) = (found.now(&names[n].into()).value(), now[n] / total);
            prop_assert!((ours - expected).abs() < ROUNDING, "{}: {ours} and {expected}", names[n]);
        }
    }
}

fn rated() -> Vec<RatedSymptom> {
    let of = |id: &str, rate: f64, odds: &[(&str, f64)], unlisted: f64| RatedSymptom {
        id: id.into(),
        per_thousand_hours: rate,
        odds: odds.iter().map(|&(cause, share)| Odds { cause: cause.into(), share }).collect(),
        unlisted: chance(unlisted),
    };
    vec![
        of("no-sound", 4.0, &[("plug", 25.0), ("exciter", 25.0), ("selector", 20.0), ("fuse", 8.0)], 0.02),
        of("weak-sound", 2.0, &[("exciter", 30.0), ("oil", 25.0), ("drum", 12.0)], 0.05),
        of("dull-sound", 1.0, &[("oil", 25.0), ("tone", 10.0)], 0.0),
    ]
}

fn from_table(window: Hours) -> TroubleModel {
    let rated = from_rates(&rated(), window);
    let causes = rated
        .priors
        .iter()
        .map(|(id, &prior)| Cause {
            id: id.clone(),
            prior,
            level: Level::Operator,
            kind: CauseKind::Machine,
            hazards: [].into(),
        })
        .collect();
    TroubleModel::new(ModelParts { causes, symptoms: rated.symptoms, ..ModelParts::default() }).unwrap()
}

#[test]
fn one_symptom_gives_back_the_odds_of_the_table() {
    let model = from_table(Hours::new(20.0));
    for symptom in rated() {
        let all: f64 = symptom.odds.iter().map(|odds| odds.share).sum();
        let found = beliefs(&model, &Case::of(symptom.id.clone()), Probability::NEVER);
        for odds in &symptom.odds {
            let expected = odds.share / all * symptom.unlisted.complement().value();
            let ours = found.now(&odds.cause).value();
            // Within 20 hours hardly any two causes come together; those that do move the odds by less than this.
            assert!((ours - expected).abs() < 0.02, "{}: {ours}, not {expected}", odds.cause);
        }
        assert!((found.unlisted.value() - symptom.unlisted.value()).abs() < 0.01);
    }
    // The rarer the faults, the closer.
    let model = from_table(Hours::new(0.001));
    let found = beliefs(&model, &Case::of("no-sound".into()), Probability::NEVER);
    assert!((found.now(&"exciter".into()).value() - 25.0 / 78.0 * 0.98).abs() < 1e-5);
}

#[test]
fn circumstances_move_the_odds_and_what_they_moved_is_told() {
    let model = from_table(Hours::new(1.0));
    let context = |cause: &str, factor: f64| ContextFactor {
        cause: cause.into(),
        factor,
        reason: "just-fitted".to_owned(),
    };
    let plain = Case::of("no-sound".into());
    let case = Case { context: vec![context("fuse", 10.0), context("nobody", 3.0)], ..plain.clone() };
    let slip = setting().slip;
    let (before, after) = (beliefs(&model, &plain, slip), beliefs(&model, &case, slip));
    let odds = |chance: Probability| chance.value() / (1.0 - chance.value());
    let ratio = odds(after.now(&"fuse".into())) / odds(before.now(&"fuse".into()));
    assert!((ratio / 10.0 - 1.0).abs() < 0.02, "{ratio}");
    assert_eq!(after.set_aside[0].what, Aside::Context(1));
    let told = what_changed(&model, &case, slip);
    assert_eq!(told[0].what, Aside::Context(0));
    assert_eq!(told[0].shifts[0].cause, "fuse".into());
    assert!(told[1].shifts.is_empty());
}

#[test]
fn an_answer_says_what_it_ruled_out() {
    let model = nine_faults();
    let case = Case::of("dark".into()).with(Answer::Checked { check: "group0".into(), reply: Reply::No });
    let told = what_changed(&model, &case, Probability::NEVER);
    let mut out: Vec<&str> = told[0].ruled_out.iter().map(faults::model::CauseId::as_str).collect();
    out.sort_unstable();
    assert_eq!(out, ["c0", "c1", "c2"]);
}

/// Two checks that never err: one says it must be this cause, the other that it cannot be.
fn certain() -> TroubleModel {
    let mut parts = nine_faults().parts().clone();
    let mut asked = check("asked", 0.0, &[("c0", 1.0)], work(0.1, MachineState::Running, None));
    asked.kind = CheckKind::Question;
    let mut measured = check("measured", 1.0, &[("c0", 0.0)], work(0.1, MachineState::Running, None));
    measured.kind = CheckKind::Measure;
    parts.checks.extend([asked, measured]);
    TroubleModel::new(parts).unwrap()
}

#[test]
fn of_answers_that_cannot_both_be_the_least_trusted_is_set_aside() {
    let model = certain();
    let yes = |check: &str| Answer::Checked { check: check.into(), reply: Reply::Yes };
    let case = Case::of("dark".into()).with(yes("measured")).with(yes("asked"));
    let found = beliefs(&model, &case, Probability::NEVER);
    assert_eq!(found.set_aside.len(), 1);
    assert_eq!(found.set_aside[0].what, Aside::Answer(1));
    assert_eq!(found.set_aside[0].why, Why::Contradicts { with: vec![Aside::Answer(0)] });
    assert!(found.now(&"c0".into()).value() < 1e-12);
    // With people who now and then err, both count, and there is a next step either way.
    let soft = beliefs(&model, &case, chance(0.01));
    assert!(soft.set_aside.is_empty());
    for slip in [0.0, 0.01] {
        let setting = faults::advise::Setting { slip: chance(slip), ..setting() };
        assert!(advise(&model, &case, &setting).next().is_some());
    }
}

#[test]
fn a_symptom_that_is_said_to_be_gone_is_a_contradiction_not_a_crash() {
    let model = nine_faults();
    let mut parts = model.parts().clone();
    parts.symptoms.push(symptom("dim", 0.0, &[("c0", 1.0), ("c1", 1.0)]));
    let model = TroubleModel::new(parts).unwrap();
    let denied = Answer::Noticed { symptom: "dim".into(), there: false };
    let case = Case { symptoms: vec!["dim".into()], answers: vec![denied], ..Case::default() };
    let found = beliefs(&model, &case, Probability::NEVER);
    assert_eq!(found.set_aside[0].what, Aside::Answer(0));
    assert!((found.causes.iter().map(|belief| belief.now.value()).sum::<f64>() - 1.0).abs() < 1e-3);
}

#[test]
fn what_an_edited_model_no_longer_knows_is_set_aside_and_the_case_goes_on() {
    let model = nine_faults();
    let case = Case::of("dark".into())
        .with(Answer::Checked { check: "group0".into(), reply: Reply::No })
        .with(Answer::Tried { remedy: "mend-c4".into(), result: Tried::NotFixed });
    let mut edited = model.parts().clone();
    edited.checks.remove(0);
    edited.remedies.remove(4);
    let edited = TroubleModel::new(edited).unwrap();
    let advice = advise(&edited, &case, &setting());
    let set_aside: Vec<&Aside> = advice.set_aside().iter().map(|one| &one.what).collect();
    assert_eq!(set_aside, [&Aside::Answer(0), &Aside::Answer(1)]);
    assert!(matches!(&advice.set_aside()[0].why, Why::NotKnown { id } if id == "group0"));
    assert!(advice.next().is_some());
    assert_eq!(case.answer_of(&Aside::Answer(0)), case.answers.first());
}

#[test]
fn the_later_of_two_answers_counts_unless_something_was_done_between() {
    let model = nine_faults();
    let answer = |reply| Answer::Checked { check: "group0".into(), reply };
    let twice = Case::of("dark".into()).with(answer(Reply::Yes)).with(answer(Reply::No));
    let once = Case::of("dark".into()).with(answer(Reply::No));
    let slip = setting().slip;
    let (twice, once) = (beliefs(&model, &twice, slip), beliefs(&model, &once, slip));
    assert_eq!(twice.causes, once.causes);
    assert_eq!(twice.set_aside[0].why, Why::AnsweredAgain);
}

#[test]
fn everything_that_is_wrong_with_a_model_is_said_at_once() {
    let mut parts = nine_faults().parts().clone();
    parts.causes.push(cause("lonely", 0.1, Level::Operator, &[]));
    parts.causes[0].prior = Probability::NEVER;
    parts.checks[0].otherwise = chance(0.97);
    parts.checks[1].work.access = Some("attic".into());
    parts.remedies[0].cures[0].cause = "nobody".into();
    parts.symptoms.push(parts.symptoms[0].clone());
    let errors = TroubleModel::new(parts).unwrap_err();
    let has = |wanted: fn(&ModelError) -> bool| errors.iter().any(wanted);
    assert!(has(|error| matches!(error, ModelError::Unreachable { id } if id == "lonely")));
    assert!(has(|error| matches!(error, ModelError::Prior { .. })));
    assert!(has(|error| matches!(error, ModelError::TellsNothing { .. })));
    assert!(has(|error| matches!(error, ModelError::Unknown { what: "access", .. })));
    assert!(has(|error| matches!(error, ModelError::Unknown { what: "cause", .. })));
    assert!(has(|error| matches!(error, ModelError::Twice { what: "symptoms", .. })));
}

#[test]
fn what_was_confirmed_moves_the_figures_by_the_counts() {
    let model = nine_faults();
    let yes = |cause: &str, yes| Lesson::Checked { check: "look-c2".into(), cause: cause.into(), yes };
    let mut lessons = vec![Lesson::Confirmed { cause: "c2".into() }; 3];
    lessons.extend([yes("c2", true), yes("c2", false), yes("c5", false)]);
    lessons.push(Lesson::Tried { remedy: "mend-c2".into(), cause: "c2".into(), cured: false });
    let strength = Strength { hours: Hours::new(1000.0), cases: 10.0 };
    let (learnt, evidence) = learn(&model, &lessons, Hours::new(500.0), Hours::new(10.0), strength).unwrap();
    let figure = |figure: Figure| evidence.iter().find(|one| one.figure == figure).unwrap();
    // Beta: (0.95·10 + 1) / 12; (0.05·10 + 0) / 11; (1·10 + 0) / 11.
    let near = |a: Probability, b: f64| assert!((a.value() - b).abs() < 1e-12, "{a:?} and {b}");
    near(figure(Figure::Yes("look-c2".into(), "c2".into())).after, 10.5 / 12.0);
    near(figure(Figure::Otherwise("look-c2".into())).after, 0.5 / 11.0);
    near(figure(Figure::Success("mend-c2".into(), "c2".into())).after, 10.0 / 11.0);
    // Gamma: a prior of 0.00012 in 10 hours, worth 1000 hours, and three more in 500.
    let rate = (-(-0.00012f64).ln_1p() / 10.0 * 1000.0 + 3.0) / 1500.0;
    near(figure(Figure::Prior("c2".into())).after, -(-rate * 10.0).exp_m1());
    // Hours without a fault speak, too.
    let quiet = learnt.cause(&"c0".into()).unwrap().prior;
    assert!(quiet < model.cause(&"c0".into()).unwrap().prior);
    let (same, none) = learn(&model, &[], Hours::ZERO, Hours::new(10.0), strength).unwrap();
    assert_eq!((same, none), (model, Vec::new()));
}
