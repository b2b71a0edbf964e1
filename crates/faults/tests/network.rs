//! Exact posteriors against sums over all joint states, and against published values.

#![allow(clippy::unwrap_used)]

use faults::{
    bif,
    exact::{ExactError, JunctionTree, conflicting, posteriors_of},
    network::{Cause, Evidence, Network, NetworkBuilder, NetworkError, VariableId, noisy_or},
};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Two orders of summing 64-bit floats differ by some units in the last place of each of a few hundred terms.
const ROUNDING: f64 = 1e-12;

fn random(n: usize, seed: u64) -> Network {
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let mut network = NetworkBuilder::new();
    let mut ids: Vec<VariableId> = Vec::new();
    for v in 0..n {
        let states = dice.random_range(1..4);
        let id = network.variable(format!("v{v}"), (0..states).map(|s| format!("s{s}"))).unwrap();
        let mut parents: Vec<VariableId> =
            ids.iter().copied().filter(|_| dice.random_bool(2.0 / (v as f64 + 1.0).max(2.0))).collect();
        parents.truncate(3);
        let rows: usize = parents.iter().map(|&p| network.get(p).states().len()).product();
        let mut table = Vec::new();
        for _ in 0..rows {
            // Some chances are 0 and some are 1.
            let row: Vec<f64> = (0..states)
                .map(|_| if dice.random_bool(0.2) { 0.0 } else { dice.random_range(0.01..1.0) })
                .collect();
            let sum: f64 = row.iter().sum();
            let filled = if sum > 0.0 { row } else { vec![1.0; states] };
            let sum: f64 = filled.iter().sum();
            table.extend(filled.into_iter().map(|value| value / sum));
        }
        network.table(id, &parents, table).unwrap();
        ids.push(id);
    }
    network.build().unwrap()
}

/// All posteriors by going through every joint state; none where the evidence cannot be.
fn brute(network: &Network, evidence: &Evidence) -> Option<(Vec<Vec<f64>>, f64)> {
    let sizes: Vec<usize> = network.variables().iter().map(|v| v.states().len()).collect();
    let mut found: Vec<Vec<f64>> = sizes.iter().map(|&n| vec![0.0; n]).collect();
    let mut total = 0.0;
    for joint in 0..sizes.iter().product::<usize>() {
        let mut left = joint;
        let states: Vec<usize> = sizes.iter().map(|&n| (left % n, left /= n).0).collect();
        let mut p = 1.0;
        for (v, variable) in network.variables().iter().enumerate() {
            let row = variable.parents().iter().fold(0, |row, q| row * sizes[q.index()] + states[q.index()]);
            p *= variable.table()[row * sizes[v] + states[v]];
        }
        for piece in evidence.pieces() {
            p *= piece.likelihood[states[piece.variable.index()]];
        }
        total += p;
        for (v, &state) in states.iter().enumerate() {
            found[v][state] += p;
        }
    }
    found.iter_mut().flatten().for_each(|p| *p /= total);
    (total > 0.0).then_some((found, total))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn all_posteriors_agree_with_the_sum_over_all_joint_states(
        n in 1usize..10, seed in 0u64..1_000_000, hard in 0usize..4, soft in 0usize..3,
    ) {
        let network = random(n, seed);
        let mut dice = ChaCha8Rng::seed_from_u64(seed.wrapping_add(99));
        let mut evidence = Evidence::new();
        for _ in 0..hard {
            let variable = &network.variables()[dice.random_range(0..n)];
            let state = variable.states()[dice.random_range(0..variable.states().len())].clone();
            evidence.seen(&network, variable.name(), &state).unwrap();
        }
        for _ in 0..soft {
            let id = network.ids().nth(dice.random_range(0..n)).unwrap();
            let likelihood: Vec<f64> =
                network.variable(id).states().iter().map(|_| dice.random_range(0.1..3.0)).collect();
            evidence.likely(&network, id, &likelihood).unwrap();
        }
        let tree = JunctionTree::new(&network).unwrap();
        match (brute(&network, &evidence), tree.posteriors(&network, &evidence)) {
            (Some((expected, total)), Ok(found)) => {
                prop_assert!((found.evidence() / total - 1.0).abs() < ROUNDING);
                for id in network.ids() {
                    for (a, b) in expected[id.index()].iter().zip(found.of(id)) {
                        prop_assert!((a - b).abs() < ROUNDING, "{a} and {b}");
                    }
                    let alone = posteriors_of(&network, &evidence, &[id]).unwrap();
                    for (a, b) in alone[0].iter().zip(found.of(id)) {
                        prop_assert!((a - b).abs() < ROUNDING, "without the barren: {a} and {b}");
                    }
                }
            }
            (None, Err(impossible)) => {
                let only = |keep: &[usize]| evidence.keep(|place| keep.contains(&place));
                prop_assert!(brute(&network, &only(&impossible.pieces)).is_none());
                for left_out in &impossible.pieces {
                    let rest: Vec<usize> =
                        impossible.pieces.iter().copied().filter(|place| place != left_out).collect();
                    prop_assert!(brute(&network, &only(&rest)).is_some(), "one piece too many is named");
                }
            }
            (expected, found) => prop_assert!(false, "{expected:?} and {found:?}"),
        }
    }

    #[test]
    fn a_written_network_reads_back_the_same(n in 1usize..10, seed in 0u64..1_000_000) {
        let network = random(n, seed);
        let again = bif::read(&bif::write(&network, "made here")).unwrap();
        for (a, b) in network.variables().iter().zip(again.variables()) {
            prop_assert_eq!(a.name(), b.name());
            prop_assert_eq!(a.states(), b.states());
            prop_assert_eq!(a.parents(), b.parents());
            for (a, b) in a.table().iter().zip(b.table()) {
                // A row is scaled to 1 when read: one unit in the last place.
                prop_assert!((a - b).abs() <= f64::EPSILON, "{} and {}", a, b);
            }
        }
    }
}

/// The chest clinic of Lauritzen and Spiegelhalter, JRSS B 50, 1988, with its tables.
const CLINIC: &str = r#"network "chest clinic" { property author someone; }
variable asia { type discrete [ 2 ] { yes, no }; }
variable tub { type discrete [ 2 ] { yes, no }; }
variable smoke { type discrete [ 2 ] { yes, no }; }
variable lung { type discrete [ 2 ] { yes, no }; }
variable bronc { type discrete [ 2 ] { yes, no }; }
variable either { type discrete[2] { "yes" "no" }; property position = (1, 2) ; }
variable xray { type discrete [ 2 ] { yes, no }; }
variable dysp { type discrete [ 2 ] { yes, no }; }
probability ( asia ) { table 0.01, 0.99; }
probability ( tub | asia ) { (yes) 0.05, 0.95; (no) 0.01, 0.99; }
probability ( smoke ) { table 0.5 0.5; } // half of them
probability ( lung | smoke ) { table 0.1, 0.01, 0.9, 0.99; }
probability ( bronc | smoke ) { (no) 0.3, 0.7; (yes) 0.6, 0.4; }
probability ( either | lung, tub ) { default 1.0, 0.0; (no, no) 0.0, 1.0; }
probability ( xray either ) { (yes) 0.98, 0.02; (no) 5e-2, 0.95; }
/* shortness
   of breath */
probability ( dysp | bronc, either ) {
  (yes, yes) 0.9, 0.1; (no, yes) 0.7, 0.3; (yes, no) 0.8, 0.2; (no, no) 0.1, 0.9;
}
"#;

fn yes(network: &Network, evidence: &[(&str, &str)], of: &str) -> f64 {
    let mut all = Evidence::new();
    for (name, state) in evidence {
        all.seen(network, name, state).unwrap();
    }
    let found = JunctionTree::new(network).unwrap().posteriors(network, &all).unwrap();
    found.of(network.find(of).unwrap())[0]
}

#[test]
fn the_chest_clinic_agrees_with_lauritzen_and_spiegelhalter() {
    let network = bif::read(CLINIC).unwrap();
    let priors = [
        ("tub", 0.0104),
        ("lung", 0.055),
        ("bronc", 0.45),
        ("either", 0.0648),
        ("xray", 0.1103),
        ("dysp", 0.436),
    ];
    for (of, expected) in priors {
        assert!((yes(&network, &[], of) - expected).abs() < 5e-5, "{of}");
    }
    let seen = [("asia", "yes"), ("dysp", "yes")];
    let then = [("tub", 0.0878), ("lung", 0.0995), ("bronc", 0.8114), ("smoke", 0.6259), ("xray", 0.2195)];
    for (of, expected) in then {
        assert!((yes(&network, &seen, of) - expected).abs() < 5e-5, "{of}");
    }
    let seen = [("asia", "yes"), ("dysp", "yes"), ("xray", "yes"), ("smoke", "yes")];
    assert!((yes(&network, &seen, "tub") - 0.2896).abs() < 5e-5);
    assert!((yes(&network, &seen, "lung") - 0.5792).abs() < 5e-5);
}

#[test]
fn a_noisy_or_of_many_causes_is_its_formula_and_stays_small() {
    let strengths: Vec<f64> = (0..24).map(|n| 0.2 + 0.03 * f64::from(n)).collect();
    let mut builder = NetworkBuilder::new();
    let mut causes = Vec::new();
    for (n, &strength) in strengths.iter().enumerate() {
        let id = builder.variable(format!("c{n}"), ["absent", "there"]).unwrap();
        builder.table(id, &[], vec![0.9, 0.1]).unwrap();
        causes.push(Cause { variable: id, strengths: vec![0.0, strength] });
    }
    let effect = noisy_or(&mut builder, "effect", 0.02, &causes).unwrap();
    let network = builder.build().unwrap();
    let tree = JunctionTree::new(&network).unwrap();
    assert!(tree.entries() < 24 * 8, "{} numbers, where the plain table has 2^25", tree.entries());
    let mut evidence = Evidence::new();
    for (n, there) in (0..24).map(|n| (n, n % 3 == 0)) {
        evidence.seen(&network, &format!("c{n}"), if there { "there" } else { "absent" }).unwrap();
    }
    let quiet: f64 = strengths.iter().step_by(3).map(|strength| 1.0 - strength).product::<f64>() * 0.98;
    let found = tree.posteriors(&network, &evidence).unwrap();
    assert!((found.of(effect)[0] - quiet).abs() < ROUNDING);
    // The other way: which cause was it?
    let mut evidence = Evidence::new();
    evidence.seen(&network, "effect", "yes").unwrap();
    let found = tree.posteriors(&network, &evidence).unwrap();
    let quiet: f64 = strengths.iter().map(|strength| 1.0 - 0.1 * strength).product::<f64>() * 0.98;
    for (n, strength) in strengths.iter().enumerate() {
        let quiet_with = quiet / (1.0 - 0.1 * strength) * (1.0 - strength);
        let expected = 0.1 * (1.0 - quiet_with) / (1.0 - quiet);
        assert!((found.of(network.find(&format!("c{n}")).unwrap())[1] - expected).abs() < ROUNDING);
    }
}

#[test]
fn contradictions_are_named_in_words() {
    let network = bif::read(CLINIC).unwrap();
    let mut evidence = Evidence::new();
    for (name, state) in [("smoke", "yes"), ("tub", "yes"), ("xray", "yes"), ("either", "no")] {
        evidence.seen(&network, name, state).unwrap();
    }
    let tree = JunctionTree::new(&network).unwrap();
    let impossible = tree.posteriors(&network, &evidence).unwrap_err();
    assert_eq!(impossible.said, ["tub = yes", "either = no"]);
    assert_eq!(impossible.to_string(), "this cannot all be so: tub = yes; either = no");
    assert_eq!(conflicting(&network, &evidence).unwrap(), Some(vec![1, 3]));
    let found = posteriors_of(&network, &evidence, &[network.find("lung").unwrap()]);
    assert!(matches!(found, Err(ExactError::Impossible(_))));
}

#[test]
fn what_is_wrong_with_a_network_is_said() {
    let mut builder = NetworkBuilder::new();
    let a = builder.variable("a", ["x", "y"]).unwrap();
    let b = builder.variable("b", ["x", "y"]).unwrap();
    assert!(matches!(builder.variable("a", ["x"]), Err(NetworkError::TwiceNamed { .. })));
    assert!(matches!(builder.variable("c", ["x", "x"]), Err(NetworkError::States { .. })));
    assert!(matches!(builder.table(a, &[a], vec![1.0; 4]), Err(NetworkError::Parent { .. })));
    assert!(matches!(builder.table(a, &[], vec![1.0]), Err(NetworkError::TableSize { needed: 2, .. })));
    assert!(matches!(builder.table(a, &[], vec![0.4, 0.5]), Err(NetworkError::RowSum { .. })));
    assert!(matches!(builder.table(a, &[], vec![-0.1, 1.1]), Err(NetworkError::NotAChance { .. })));
    assert!(matches!(builder.clone().build(), Err(NetworkError::NoTable { .. })));
    builder.table(a, &[b], vec![0.5; 4]).unwrap();
    builder.table(b, &[a], vec![0.5; 4]).unwrap();
    let error = builder.build().unwrap_err();
    assert!(error.to_string().contains("a ← b ← a"), "{error}");
}

#[test]
fn what_is_wrong_with_a_text_is_said_with_its_place() {
    let cases = [
        (
            "network n {}\nvariable a { type discrete [ 3 ] { yes, no }; }",
            "line 2, column 30: `a` is said to have 3 states and lists 2",
        ),
        ("variable a { type discrete [ 2 ] { yes, no } }", "line 1, column 46: expected `;`, found `}`"),
        ("variable a { type discrete [ 2 ] { yes, no }; }", "line 1, column 48: `a` has no table of chances"),
        (
            "variable a { type continuous; }",
            "line 1, column 19: `continuous` variables are not read; only `discrete` ones are",
        ),
        ("something", "line 1, column 1: expected `network`, `variable` or `probability`, found `something`"),
        (
            "variable a { type discrete [ 2 ] { y, n }; }\nprobability ( a ) { table 0.5, half; }",
            "line 2, column 32: `half` is not a number",
        ),
        (
            "variable a { type discrete [ 2 ] { y, n }; }\nprobability ( a ) { table 0.5; }",
            "line 2, column 21: a row of `a` needs 2 numbers, and this one has 1",
        ),
        (
            "variable a { type discrete [ 2 ] { y, n }; }\nprobability ( a | b ) { }",
            "line 2, column 19: there is no variable named `b`",
        ),
        ("network n { /* open", "line 1, column 13: this comment is never closed"),
        ("network \"n", "line 1, column 9: this quoted name is never closed"),
    ];
    for (text, expected) in cases {
        assert_eq!(bif::read(text).unwrap_err().to_string(), expected, "{text}");
    }
    let pair = "variable a { type discrete [ 2 ] { y, n }; }\nvariable b { type discrete [ 2 ] { y, n }; }\nprobability ( b ) { table 0.5, 0.5; }\n";
    let row =
        |rows: &str| bif::read(&format!("{pair}probability ( a | b ) {{ {rows} }}")).unwrap_err().to_string();
    assert!(row("(y) 0.5, 0.5;").ends_with("1 of the 2 rows of `a` are missing, and there is no `default`"));
    assert!(row("(y) 0.5, 0.5; (y) 0.5, 0.5;").ends_with("this row of `a` was given before"));
    assert!(row("(z) 0.5, 0.5;").ends_with("`b` has no state `z`; it has y, n"));
}
