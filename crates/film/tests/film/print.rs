//! What may be shown: stop rules first, conditions after, and nothing taken as good that nobody looked at.

use film::{
    Base, Gauge,
    print::{
        Decision, EdgePrint, Finding, Inspected, PerforationGrade, PrintSort, Puller, Safeguard,
        ScratchDepth, Side, SpliceKind, Verdict, What, decide, pass_hazards, rows_of_findings,
    },
};
use proptest::prelude::*;
use units::{Frames, Metres, Percent};

use crate::assert_near;

const ONE_TOOTH: Puller = Puller::Claw { teeth: 1 };
const THREE_TEETH: Puller = Puller::Claw { teeth: 3 };

fn good() -> Inspected {
    Inspected {
        gauge: Gauge::Mm16,
        length: Frames::new(64_000),
        base: Some(Base::Acetate),
        edge: EdgePrint::Safety,
        made_year: Some(1968),
        shrinkage: Some(Percent::new(0.2)),
        acid_level: Some(0.0),
        findings: Vec::new(),
        has_leader: true,
    }
}

fn at(frame: i64, what: What) -> Finding {
    Finding { from: Frames::new(frame), to: Frames::new(frame + 3), what }
}

fn shrunk(percent: f64) -> Inspected {
    Inspected { shrinkage: Some(Percent::new(percent)), ..good() }
}

fn conditions(verdict: &Verdict) -> &[Safeguard] {
    match &verdict.decision {
        Decision::ShowIf(safeguards) | Decision::OtherMachine(safeguards) => safeguards,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_print_in_order_is_shown_without_a_word() {
    let verdict = decide(&good(), PrintSort::Unique, ONE_TOOTH);
    assert_eq!(verdict, Verdict { decision: Decision::Show, reasons: Vec::new() });
}

#[test]
fn shrinkage_decides_as_the_trade_does() {
    // Common practice, no source: under 0.5 % normal; to 0.8 % on several teeth; to 1.0 % once and never a unique print;
    // beyond that not at all.
    let on = |percent, sort, puller| decide(&shrunk(percent), sort, puller).decision;
    assert_eq!(on(0.4, PrintSort::Unique, ONE_TOOTH), Decision::Show);
    assert!(matches!(on(0.6, PrintSort::Lent, THREE_TEETH), Decision::ShowIf(_)));
    assert!(matches!(on(0.6, PrintSort::Lent, ONE_TOOTH), Decision::OtherMachine(_)));
    assert!(matches!(on(0.9, PrintSort::Lent, THREE_TEETH), Decision::ShowIf(_)));
    assert_eq!(on(0.9, PrintSort::Unique, THREE_TEETH), Decision::DoNotShow);
    assert_eq!(on(1.2, PrintSort::Replaceable, THREE_TEETH), Decision::DoNotShow);
    assert_eq!(on(2.0, PrintSort::Replaceable, Puller::Sprocket), Decision::DoNotShow);
    let once = decide(&shrunk(0.9), PrintSort::Lent, THREE_TEETH);
    assert!(
        conditions(&once).contains(&Safeguard::OnePass)
            && conditions(&once).contains(&Safeguard::SupervisorsYes)
    );
}

#[test]
fn what_may_be_nitrate_is_set_apart_whatever_else_is_found() {
    let old =
        Inspected { gauge: Gauge::Mm35, made_year: Some(1938), edge: EdgePrint::NotSeen, ..shrunk(2.0) };
    let verdict = decide(&old, PrintSort::Replaceable, Puller::Sprocket);
    assert_eq!(verdict.decision, Decision::SetApart);
    assert!(verdict.reasons[0].words.contains("1938"), "{:?}", verdict.reasons);
    assert!(verdict.decision.to_string().contains("call an archive or the fire authority"));
    let unknown_age = Inspected { made_year: None, ..old.clone() };
    assert_eq!(decide(&unknown_age, PrintSort::Replaceable, Puller::Sprocket).decision, Decision::SetApart);
    for harmless in [
        Inspected { edge: EdgePrint::Safety, shrinkage: Some(Percent::new(0.1)), ..old.clone() },
        Inspected { base: Some(Base::Polyester), shrinkage: Some(Percent::new(0.1)), ..old.clone() },
        Inspected { gauge: Gauge::Mm16, shrinkage: Some(Percent::new(0.1)), ..old.clone() },
        Inspected { made_year: Some(1960), shrinkage: Some(Percent::new(0.1)), ..old.clone() },
    ] {
        assert_eq!(decide(&harmless, PrintSort::Replaceable, Puller::Sprocket).decision, Decision::Show);
    }
    let marked = Inspected { edge: EdgePrint::Nitrate, gauge: Gauge::Mm16, ..good() };
    assert_eq!(decide(&marked, PrintSort::Replaceable, ONE_TOOTH).decision, Decision::SetApart);
}

#[test]
fn torn_perforations_depend_on_the_teeth_that_bridge_them() {
    let torn = |grade| Inspected { findings: vec![at(12_000, What::Perforations(grade))], ..good() };
    let row = torn(PerforationGrade::TornInARow);
    assert_eq!(decide(&row, PrintSort::Unique, THREE_TEETH).decision, Decision::DoNotShow);
    assert!(matches!(decide(&row, PrintSort::Lent, ONE_TOOTH).decision, Decision::OtherMachine(_)));
    let verdict = decide(&row, PrintSort::Lent, THREE_TEETH);
    assert!(conditions(&verdict).contains(&Safeguard::MendPerforations));
    assert_eq!(verdict.reasons[0].at, Some(Frames::new(12_000)), "the reason names the place");
    assert_eq!(decide(&torn(PerforationGrade::Worn), PrintSort::Unique, ONE_TOOTH).decision, Decision::Show);
}

#[test]
fn decaying_acetate_is_not_shown() {
    // User's guide of acid-indicator paper, from memory: 0 good, 1.5 feeds itself, 2 actively decaying, 3 critical.
    let acid = |level| {
        decide(&Inspected { acid_level: Some(level), ..good() }, PrintSort::Lent, THREE_TEETH).decision
    };
    assert_eq!(acid(1.0), Decision::Show);
    assert!(matches!(acid(1.5), Decision::ShowIf(_)));
    assert_eq!(acid(2.0), Decision::DoNotShow);
    assert_eq!(acid(3.0), Decision::DoNotShow);
}

#[test]
fn cement_does_not_hold_polyester() {
    let splice = What::Splice { kind: SpliceKind::Cement, holds: true };
    let on = |base| {
        decide(
            &Inspected { base: Some(base), findings: vec![at(9, splice)], ..good() },
            PrintSort::Lent,
            ONE_TOOTH,
        )
    };
    assert_eq!(on(Base::Acetate).decision, Decision::Show);
    assert_eq!(conditions(&on(Base::Polyester)), [Safeguard::RemakeSplices]);
}

#[test]
fn what_nobody_looked_at_is_not_taken_as_good() {
    let unseen = Inspected { shrinkage: None, acid_level: None, ..good() };
    let verdict = decide(&unseen, PrintSort::Lent, THREE_TEETH);
    assert_eq!(conditions(&verdict), [Safeguard::FinishTheInspection]);
    assert_eq!(verdict.reasons[0].words, "nobody has looked at its shrinkage and its acidity");
    assert_eq!(decide(&unseen, PrintSort::Replaceable, THREE_TEETH).decision, Decision::Show);
}

#[test]
fn chances_in_a_pass_follow_what_was_found() {
    // Common practice, no source: 1 in 5000 for a splice that holds, 1 in 60 for a doubtful one, 1 in 8 for a lost loop
    // at three torn perforations on one tooth; times e^(4 x (shrinkage - 0.5 %)) above 0.5 %.
    let findings = vec![
        at(1, What::Splice { kind: SpliceKind::Tape, holds: true }),
        at(2, What::Splice { kind: SpliceKind::Tape, holds: false }),
        at(3, What::Perforations(PerforationGrade::TornInARow)),
        at(
            4,
            What::Scratch {
                side: Side::Base,
                depth: ScratchDepth::Light,
                from_edge: Some(Metres::new(0.004)),
            },
        ),
    ];
    let reel = Inspected { findings, ..good() };
    let chances = |reel: &Inspected, puller| -> Vec<f64> {
        pass_hazards(reel, puller).iter().map(|hazard| hazard.chance.value()).collect()
    };
    assert_eq!(chances(&reel, ONE_TOOTH), [1.0 / 5000.0, 1.0 / 60.0, 1.0 / 8.0]);
    assert_near(chances(&reel, THREE_TEETH)[2], 1.0 / 60.0, 1e-12);
    let shrunk = Inspected { shrinkage: Some(Percent::new(0.75)), ..reel };
    assert_near(chances(&shrunk, ONE_TOOTH)[1], 1.0_f64.exp() / 60.0, 1e-12);
}

#[test]
fn findings_that_overlap_stand_in_rows() {
    let finding = |from, to| Finding { from: Frames::new(from), to: Frames::new(to), what: What::Oil };
    let rows = rows_of_findings(&[finding(50, 60), finding(0, 10), finding(5, 20), finding(11, 30)]);
    assert_eq!(rows, [vec![finding(0, 10), finding(11, 30), finding(50, 60)], vec![finding(5, 20)]]);
}

fn rank(decision: &Decision) -> u8 {
    match decision {
        Decision::Show => 0,
        Decision::ShowIf(_) => 1,
        Decision::OtherMachine(_) => 2,
        Decision::DoNotShow => 3,
        Decision::SetApart => 4,
    }
}

proptest! {
    #[test]
    fn a_worse_print_is_never_shown_sooner(a in 0.0..2.5_f64, b in 0.0..2.5_f64, acid in 0.0..3.0_f64, more in 0.0..3.0_f64, teeth in 1_u8..4) {
        let on = |shrinkage: f64, acid: f64| {
            let reel = Inspected { acid_level: Some(acid), ..shrunk(shrinkage) };
            rank(&decide(&reel, PrintSort::Lent, Puller::Claw { teeth }).decision)
        };
        prop_assert!(on(a.max(b), acid) >= on(a.min(b), acid));
        prop_assert!(on(a, acid + more) >= on(a, acid));
    }

    #[test]
    fn the_only_print_is_never_shown_sooner_than_a_replaceable_one(shrinkage in 0.0..2.0_f64, teeth in 1_u8..4) {
        let on = |sort| rank(&decide(&shrunk(shrinkage), sort, Puller::Claw { teeth }).decision);
        prop_assert!(on(PrintSort::Unique) >= on(PrintSort::Replaceable));
    }
}
