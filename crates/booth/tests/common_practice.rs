//! The complaints that every booth knows: each cause that common practice names for them is found in the first steps.
//!
//! Which causes belong to a complaint: common practice, no source.

#![allow(clippy::unwrap_used)]

use booth::desk::{SINCE_IT_RAN_WELL, after_show, trouble_model};
use faults::{
    advise::{Do, Outcome, Setting, advise},
    case::{Answer, Case, Reply, Tried},
    model::{CauseId, TroubleModel},
};

/// A complaint, the symptom by which the 16 mm table knows it, and the causes of common practice.
const COMPLAINTS: [(&str, &str, &[&str]); 9] = [
    (
        "motor runs but no lamp",
        "no-light-at-start",
        &[
            "lamp-dead",
            "lamp-contacts-bad",
            "thermal-trip",
            "lamp-fuse",
            "lamp-supply-dead",
            "safety-shutter-shut",
        ],
    ),
    (
        "the lamp goes out in the show",
        "light-goes-out",
        &[
            "lamp-dead",
            "lamp-contacts-bad",
            "thermal-trip",
            "lamp-fuse",
            "lamp-supply-dead",
            "safety-shutter-shut",
        ],
    ),
    (
        "picture soft",
        "picture-soft",
        &["focus-off", "lens-dirty", "lens-dew", "lens-wrong", "emulsion-changed"],
    ),
    (
        "picture but no sound",
        "no-sound",
        &[
            "speaker-lead",
            "exciter-dead",
            "volume-or-selector",
            "amplifier-fuse",
            "cell-or-lead",
            "film-off-drum",
            "print-silent",
        ],
    ),
    (
        "sound weak",
        "sound-weak",
        &[
            "exciter-ageing",
            "sound-lens-dirty",
            "film-slack-on-drum",
            "wrong-input",
            "cell-weak",
            "track-faint",
            "amplifier-fault",
        ],
    ),
    (
        "sound distorted",
        "sound-distorted",
        &["speaker-damaged", "exciter-ageing", "amplifier-fault", "track-poor", "room-light-on-cell"],
    ),
    (
        "no take-up",
        "film-spills",
        &["take-up-belt-off", "spool-key-out", "clutch-weak", "spool-too-small", "film-off-flange"],
    ),
    ("no rewind", "no-rewind", &["rewind-belt-bad", "take-up-not-released", "rewind-not-engaged"]),
    (
        "dead machine",
        "machine-dead",
        &["socket-dead", "fuse-blown", "switch-faulty", "thermal-trip", "lead-faulty"],
    ),
];

/// A step or two for each cause that a complaint may have, and no more.
const STEPS_FOR_A_CAUSE: usize = 2;

#[test]
fn every_cause_of_common_practice_is_found_in_the_first_steps() {
    let library = machine::shipped();
    let kind = library.iter().find(|kind| kind.id.as_ref() == "portable-16mm-halogen").unwrap();
    let model = trouble_model(&kind.trouble, SINCE_IT_RAN_WELL).unwrap();
    let setting = after_show(&kind.trouble);
    for (complaint, symptom, causes) in COMPLAINTS {
        for cause in causes {
            let cause = CauseId::new(*cause);
            let (steps, found) = worked(&model, &setting, symptom, &cause);
            println!("{complaint}: {cause} after {steps} steps");
            assert_eq!(found.as_ref(), Some(&cause), "{complaint}");
            assert!(steps <= STEPS_FOR_A_CAUSE * causes.len(), "{complaint}: {cause} took {steps} steps");
        }
    }
}

/// Follows the advice with this one cause at work, every check answering as it mostly does and every remedy for it
/// curing; returns after how many steps it ended, and what was found.
fn worked(
    model: &TroubleModel,
    setting: &Setting,
    symptom: &str,
    cause: &CauseId,
) -> (usize, Option<CauseId>) {
    let mut case = Case::of(symptom.into());
    for steps in 0..40 {
        let advice = advise(model, &case, setting);
        let answer = match &advice.outcome {
            Outcome::Next(step) => truly(model, &step.act, cause),
            Outcome::MakeSafe { .. } => Answer::MadeSafe,
            Outcome::Closed { causes, .. } => return (steps, causes.first().map(|one| one.cause.clone())),
            Outcome::Refer(request) => return (steps, request.likely.first().map(|one| one.cause.clone())),
            other => panic!("{symptom}, {cause}: {other:?}"),
        };
        case.answers.push(answer);
    }
    (40, None)
}

fn truly(model: &TroubleModel, act: &Do, cause: &CauseId) -> Answer {
    match act {
        Do::Check(id) => {
            let check = model.check(id).unwrap();
            let known = check.answers.iter().find(|one| one.cause == *cause);
            let yes = known.map_or(check.otherwise, |one| one.yes);
            let reply = if yes.value() > 0.5 { Reply::Yes } else { Reply::No };
            Answer::Checked { check: id.clone(), reply }
        }
        Do::Remedy(id) => {
            let cures = model.remedy(id).unwrap().cures.iter().any(|cure| cure.cause == *cause);
            let result = if cures { Tried::Fixed } else { Tried::NotFixed };
            Answer::Tried { remedy: id.clone(), result }
        }
    }
}
