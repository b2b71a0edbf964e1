//! Invented models for the tests; nothing here is a fact about any machine.

#![allow(clippy::unwrap_used, dead_code, reason = "each test file uses a part of this")]

use faults::{
    advise::Setting,
    model::{
        Access, Answers, Cause, CauseKind, Check, CheckKind, Cure, Hazard, Level, Link, MachineState,
        ModelParts, Preparation, Remedy, Symptom, SymptomId, TroubleModel, Work,
    },
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeSet;
use units::{Probability, Seconds};

pub fn chance(value: f64) -> Probability {
    Probability::new(value).unwrap()
}

pub fn cause(id: &str, prior: f64, level: Level, hazards: &[Hazard]) -> Cause {
    Cause {
        id: id.into(),
        prior: chance(prior),
        level,
        kind: CauseKind::Machine,
        hazards: hazards.iter().copied().collect(),
    }
}

pub fn symptom(id: &str, leak: f64, links: &[(&str, f64)]) -> Symptom {
    let link = |&(cause, strength): &(&str, f64)| Link { cause: cause.into(), strength: chance(strength) };
    Symptom {
        id: id.into(),
        leak: chance(leak),
        links: links.iter().map(link).collect(),
        stop_now: BTreeSet::new(),
    }
}

pub fn work(minutes: f64, state: MachineState, access: Option<&str>) -> Work {
    Work {
        time: Seconds::from_minutes(minutes),
        state,
        access: access.map(Into::into),
        level: Level::Operator,
        during_show: state == MachineState::Running,
        cautions: Vec::new(),
        hazards: BTreeSet::new(),
    }
}

pub fn check(id: &str, otherwise: f64, yes: &[(&str, f64)], work: Work) -> Check {
    let answers = |&(cause, yes): &(&str, f64)| Answers { cause: cause.into(), yes: chance(yes) };
    Check {
        id: id.into(),
        kind: CheckKind::Look,
        answers: yes.iter().map(answers).collect(),
        otherwise: chance(otherwise),
        work,
        about: Vec::new(),
    }
}

pub fn remedy(id: &str, cures: &[(&str, f64)], work: Work) -> Remedy {
    let cure = |&(cause, success): &(&str, f64)| Cure { cause: cause.into(), success: chance(success) };
    Remedy { id: id.into(), cures: cures.iter().map(cure).collect(), work, spare: None }
}

/// Bringing the machine down and up costs nothing.
pub fn free_preparation() -> Preparation {
    Preparation {
        stop: Seconds::ZERO,
        unplug: Seconds::ZERO,
        cool: Seconds::ZERO,
        plug_in: Seconds::ZERO,
        start: Seconds::ZERO,
        access: Vec::new(),
    }
}

/// One fault at a time, each with its own certain repair: chances and costs are all there is.
pub fn repairs_only(chances: &[f64], minutes: &[f64]) -> TroubleModel {
    let names: Vec<String> = (0..chances.len()).map(|n| format!("c{n}")).collect();
    // So rare that two at once never matter.
    let causes =
        names.iter().zip(chances).map(|(name, p)| cause(name, p * 1e-9, Level::Operator, &[])).collect();
    let links: Vec<(&str, f64)> = names.iter().map(|name| (name.as_str(), 1.0)).collect();
    let remedies = names.iter().zip(minutes).map(|(name, &minutes)| {
        remedy(&format!("mend-{name}"), &[(name, 1.0)], work(minutes, MachineState::Running, None))
    });
    TroubleModel::new(ModelParts {
        causes,
        symptoms: vec![symptom("dead", 0.0, &links)],
        checks: Vec::new(),
        remedies: remedies.collect(),
        preparation: free_preparation(),
    })
    .unwrap()
}

/// Nine faults in three groups; one question tells each group from the rest, and the dear repairs lie in a lamphouse.
pub fn nine_faults() -> TroubleModel {
    let names: Vec<String> = (0..9).map(|n| format!("c{n}")).collect();
    let priors = [0.14, 0.13, 0.12, 0.12, 0.11, 0.11, 0.1, 0.09, 0.08];
    let minutes = [12.0, 9.0, 14.0, 10.0, 8.0, 11.0, 13.0, 9.0, 10.0];
    let causes: Vec<Cause> =
        names.iter().zip(priors).map(|(name, p)| cause(name, p * 1e-3, Level::Operator, &[])).collect();
    let links: Vec<(&str, f64)> = names.iter().map(|name| (name.as_str(), 1.0)).collect();
    let mut checks = Vec::new();
    for (group, members) in names.chunks(3).take(2).enumerate() {
        let yes: Vec<(&str, f64)> = members.iter().map(|name| (name.as_str(), 0.97)).collect();
        let work = work(1.0 + group as f64, MachineState::Running, None);
        checks.push(check(&format!("group{group}"), 0.03, &yes, work));
    }
    for name in ["c2", "c6"] {
        let work = work(2.0, MachineState::Running, None);
        checks.push(check(&format!("look-{name}"), 0.05, &[(name, 0.95)], work));
    }
    let remedies = names.iter().zip(minutes).enumerate().map(|(n, (name, minutes))| {
        let (state, access) =
            if n >= 6 { (MachineState::Cooled, Some("lamphouse")) } else { (MachineState::Running, None) };
        remedy(&format!("mend-{name}"), &[(name, 1.0)], work(minutes, state, access))
    });
    let open = Access {
        id: "lamphouse".into(),
        open: Seconds::from_minutes(1.0),
        close: Seconds::from_minutes(1.0),
    };
    TroubleModel::new(ModelParts {
        causes,
        symptoms: vec![symptom("dark", 0.0, &links)],
        checks,
        remedies: remedies.collect(),
        preparation: Preparation { access: vec![open], ..Preparation::default() },
    })
    .unwrap()
}

/// How large an invented model is.
pub struct Size {
    pub causes: usize,
    pub symptoms: usize,
    pub checks: usize,
    /// Causes of one symptom.
    pub links: usize,
    /// The share of causes for a technician.
    pub technician: f64,
}

/// An invented model of this size; the same seed gives the same.
pub fn invented(size: &Size, seed: u64) -> TroubleModel {
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let names: Vec<String> = (0..size.causes).map(|n| format!("c{n}")).collect();
    let states =
        [MachineState::Running, MachineState::Stopped, MachineState::Unplugged, MachineState::Cooled];
    let technician: Vec<bool> = names.iter().map(|_| dice.random::<f64>() < size.technician).collect();
    let causes = names
        .iter()
        .zip(&technician)
        .map(|(name, &technician)| {
            let level = if technician { Level::Technician } else { Level::Operator };
            cause(name, dice.random_range(0.0005..0.01), level, &[])
        })
        .collect();
    let symptoms = (0..size.symptoms)
        .map(|s| {
            // Neighbouring symptoms share causes, and together they reach all.
            let first = s * size.causes / size.symptoms;
            let links: Vec<(&str, f64)> = (0..size.links)
                .map(|n| (names[(first + n) % size.causes].as_str(), dice.random_range(0.3..1.0)))
                .collect();
            symptom(&format!("s{s}"), 0.0001, &links)
        })
        .collect();
    let checks = (0..size.checks)
        .map(|k| {
            let first = k * size.causes / size.checks;
            let several = dice.random_range(1..4);
            let yes: Vec<(&str, f64)> = (0..several)
                .map(|n| (names[(first + n * 2) % size.causes].as_str(), dice.random_range(0.85..0.99)))
                .collect();
            let work = work(
                dice.random_range(0.1..2.0),
                states[dice.random_range(0..3)],
                dice.random_bool(0.2).then_some("cover"),
            );
            check(&format!("k{k}"), dice.random_range(0.01..0.08), &yes, work)
        })
        .collect();
    let remedies = names
        .iter()
        .zip(&technician)
        .map(|(name, &technician)| {
            let mut work = work(
                dice.random_range(0.5..12.0),
                states[dice.random_range(0..4)],
                dice.random_bool(0.3).then_some("lamphouse"),
            );
            if technician {
                work.level = Level::Technician;
            }
            remedy(&format!("mend-{name}"), &[(name, dice.random_range(0.85..1.0))], work)
        })
        .collect();
    let open = |id: &str| Access {
        id: id.into(),
        open: Seconds::from_minutes(0.5),
        close: Seconds::from_minutes(0.5),
    };
    TroubleModel::new(ModelParts {
        causes,
        symptoms,
        checks,
        remedies,
        preparation: Preparation { access: vec![open("lamphouse"), open("cover")], ..Preparation::default() },
    })
    .unwrap()
}

/// After the show, with the machine running at first.
pub fn setting() -> Setting {
    Setting { start: MachineState::Running, ..Setting::after_show() }
}

pub fn first_symptom(model: &TroubleModel) -> SymptomId {
    model.symptoms()[0].id.clone()
}
