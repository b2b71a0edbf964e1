//! The trouble tables: what a small file says comes out as it was written.
#![allow(clippy::unwrap_used)]

use machine::{
    Danger, Hand, MachineState, MachineType, Noticed, PrintSort, ReferTo, RunOn, Swap, Trouble, read,
};

fn small() -> MachineType {
    read("trouble.toml", include_str!("valid/trouble.toml")).unwrap()
}

fn near(found: f64, right: f64) -> bool {
    (found - right).abs() < 1e-12
}

#[test]
fn odds_of_a_symptom_and_what_is_left_make_one_whole() {
    let kind = small();
    let dark = kind.trouble.symptom("dark").unwrap();
    assert!(near(dark.odds_of("lamp-dead").value(), 0.8) && near(dark.unexplained.value(), 0.05));
    // 97 per cent and nothing said of the rest: the rest is what is missing.
    let scratch = kind.trouble.symptom("scratch").unwrap();
    assert!(near(scratch.odds_of("roller-stuck").value(), 0.97) && near(scratch.unexplained.value(), 0.03));
    assert!(near(scratch.odds_of("lamp-dead").value(), 0.0));
    assert_eq!(scratch.for_print.of(PrintSort::Disposable), RunOn::Stop);
    assert!(!dark.for_print.endangers_film());
}

#[test]
fn a_cause_comes_as_often_as_its_commonest_symptom() {
    let trouble = small().trouble;
    assert!(near(trouble.rate_of("lamp-dead"), 16.0));
    assert!(near(trouble.rate_of("nothing"), 0.0));
    assert!(near(trouble.strength("dark", "lamp-dead").value(), 1.0));
    assert!(near(trouble.strength("scratch", "lamp-dead").value(), 0.0));
}

#[test]
fn cautions_of_parts_stand_at_the_step() {
    let trouble = small().trouble;
    let dangers = |cautions: &[machine::Caution]| -> Vec<Danger> {
        cautions.iter().map(|caution| caution.danger).collect()
    };
    // Cold and unplugged, the lamp is still glass that was hot; it is no longer live.
    assert_eq!(dangers(&trouble.check("lamp-look").unwrap().cautions), [Danger::Hot]);
    assert_eq!(dangers(&trouble.remedy("lamp-change").unwrap().cautions), [Danger::Hot]);
    assert_eq!(dangers(&trouble.cause("lamp-supply").unwrap().cautions), [Danger::Hot, Danger::Live]);
    assert!(trouble.remedy("roller-free").unwrap().cautions.is_empty());
}

#[test]
fn everything_is_found_by_its_name() {
    let kind = small();
    let trouble: &Trouble = &kind.trouble;
    assert!(!trouble.is_empty());
    let supply = trouble.cause("lamp-supply").unwrap();
    assert_eq!((supply.who, supply.refer.as_ref().unwrap().to), (Hand::Technician, ReferTo::Technician));
    assert!(near(supply.chance_with("when-warm").unwrap().value(), 0.6));
    assert!(near(trouble.condition("when-warm").unwrap().otherwise.value(), 0.1));
    assert_eq!(trouble.checks_of("roller-stuck").count(), 1);
    assert_eq!(trouble.remedies_of("lamp-dead").count(), 1);
    assert_eq!(trouble.symptoms_of("lamp-supply").count(), 1);
    assert_eq!(trouble.symptoms_noticed(Noticed::Light).count(), 1);
    assert_eq!(trouble.symptoms_at(&"roller".into()).count(), 1);
    assert_eq!(trouble.access("lamphouse").unwrap().state, MachineState::Unplugged);
    assert_eq!(trouble.drill("stop").unwrap().steps.len(), 3);
    assert_eq!(trouble.stop_signs[0].prints.len(), PrintSort::ALL.len());
    assert!(near(trouble.preparing.to_reach(MachineState::Cooled).seconds(), 600.0));
    assert_eq!(trouble.check("lamp-look").unwrap().swap, None::<Swap>);
    assert!(trouble.cause_position("roller-stuck").is_some());
}

#[test]
fn a_file_without_trouble_tables_knows_no_troubles() {
    let kind = read("smallest.toml", include_str!("valid/smallest.toml")).unwrap();
    assert!(kind.trouble.is_empty());
}
