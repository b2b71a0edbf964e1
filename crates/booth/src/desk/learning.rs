//! What closed faults taught: rates of causes, how checks answer, how surely remedies cure.
//!
//! The type file is the prior of all machines of a type, and what all of them taught is the prior of one.

use super::{case::reckoned, error::NotAtDesk, model::SINCE_IT_RAN_WELL};
use crate::known::{NotKnown, find_machine, find_type, known_names};
use faults::{
    learn::{Count, Figure, Learnt, Lesson, Strength, learn},
    model::{ModelError, TroubleModel},
};
use logbook::{
    Booth, FaultId, MachineId,
    booth::{Fault, FaultDeed},
    fact::{Asked, FaultReply, RemedyResult},
};
use machine::{Library, MachineType, Trouble};
use serde::Serialize;
use units::{Hours, Probability};

/// The figures of a type file weigh as much as so many hours and cases (common practice, no source).
const WEIGHT: Strength = Strength { hours: Hours::new(1000.0), cases: 10.0 };

/// One figure that moved, in words.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct LearntFigure {
    /// What it is the figure of, in words.
    pub words: String,
    /// Which figure.
    pub figure: Figure,
    /// As the type file has it.
    pub before: Probability,
    /// As it is now.
    pub after: Probability,
    /// What was counted.
    pub count: Count,
}

/// What was learnt, and from how much.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct LearntHere {
    /// How many closed faults with a confirmed cause were read.
    pub cases: usize,
    /// Over how many hours of running.
    pub hours_run: f64,
    /// The figures that moved.
    pub figures: Vec<LearntFigure>,
}

/// Returns what the booth has learnt of a machine type (by its id), or of one machine (by its own).
pub fn learnt<'l>(
    booth: &Booth,
    library: &'l Library,
    about: &str,
) -> Result<(&'l MachineType, TroubleModel, LearntHere), NotAtDesk> {
    if let Ok((_, id, machine)) = find_machine(booth, about) {
        let kind = find_type(library, id, machine)?;
        let (model, learnt) = reckoned(booth, library, kind, id, None)?;
        return Ok((kind, model, learnt));
    }
    let kind = library.get(about).ok_or_else(|| NotKnown::Machine {
        asked: about.to_owned(),
        known: known_names(
            about,
            library.iter().map(|kind| kind.id.as_str()).chain(booth.machines.keys().map(MachineId::as_str)),
        ),
    })?;
    let unsound = |errors: Vec<ModelError>| NotAtDesk::Unsound {
        machine_type: kind.id.to_string(),
        why: errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "),
    };
    let model = super::trouble_model(&kind.trouble, SINCE_IT_RAN_WELL).map_err(unsound)?;
    let (model, learnt) = learn_from_cases(booth, library, kind, None, None, model).map_err(unsound)?;
    Ok((kind, model, learnt))
}

/// Brings a type's model up to date: first with the faults of its other machines, then with those of this one.
pub(super) fn learn_from_cases(
    booth: &Booth,
    library: &Library,
    kind: &MachineType,
    machine: Option<&MachineId>,
    but_for: Option<&FaultId>,
    model: TroubleModel,
) -> Result<(TroubleModel, LearntHere), Vec<ModelError>> {
    let of_type = |id: &MachineId| {
        let known = booth.machines.get(id).and_then(|machine| library.get(machine.machine_type.as_str()));
        known.is_some_and(|known| known.id == kind.id)
    };
    let closed: Vec<&Fault> = booth
        .faults
        .iter()
        .filter(|(id, fault)| {
            Some(*id) != but_for && fault.confirmed.cause.is_some() && of_type(&fault.machine)
        })
        .map(|(_, fault)| fault)
        .collect();
    // Only from the first case on does the logbook tell of every fault with its cause.
    let Some(since) = closed.iter().map(|fault| fault.opened.0.unix_ms).min() else {
        return Ok((model, LearntHere::default()));
    };
    let ran = |own: &dyn Fn(&MachineId) -> bool| -> f64 {
        let machines = booth.machines.iter().filter(|(id, _)| of_type(id) && own(id));
        let runs = machines.flat_map(|(_, machine)| &machine.runs).filter(|run| run.at.unix_ms >= since);
        runs.map(|run| run.hours.hours()).sum()
    };
    let own = |id: &MachineId| Some(id) == machine;
    let stages: [&dyn Fn(&MachineId) -> bool; 2] = [&|id| !own(id), &own];
    let mut model = model;
    let mut here = LearntHere { cases: closed.len(), hours_run: 0.0, figures: Vec::new() };
    for stage in stages {
        let lessons: Vec<Lesson> =
            closed.iter().filter(|fault| stage(&fault.machine)).flat_map(|fault| lessons(fault)).collect();
        let hours = ran(stage);
        here.hours_run += hours;
        if lessons.is_empty() {
            continue;
        }
        let (next, figures) = learn(&model, &lessons, Hours::new(hours), SINCE_IT_RAN_WELL, WEIGHT)?;
        model = next;
        for figure in figures {
            note(&mut here.figures, &kind.trouble, figure);
        }
    }
    Ok((model, here))
}

/// Adds a figure to those that moved; of one that moved twice, the first before and the last after.
fn note(figures: &mut Vec<LearntFigure>, trouble: &Trouble, learnt: Learnt) {
    if let Some(known) = figures.iter_mut().find(|known| known.figure == learnt.figure) {
        known.after = learnt.after;
        known.count.yes += learnt.count.yes;
        known.count.no += learnt.count.no;
        return;
    }
    let words = in_words(trouble, &learnt.figure);
    let Learnt { figure, before, after, count, .. } = learnt;
    figures.push(LearntFigure { words, figure, before, after, count });
}

fn in_words(trouble: &Trouble, figure: &Figure) -> String {
    let cause = |id: &str| trouble.cause(id).map_or_else(|| id.to_owned(), |cause| cause.name.clone());
    let check = |id: &str| {
        let check = trouble.check(id).map(|check| check.name.clone());
        check
            .or_else(|| trouble.condition(id).map(|known| known.asks.clone()))
            .unwrap_or_else(|| id.to_owned())
    };
    let remedy = |id: &str| trouble.remedy(id).map_or_else(|| id.to_owned(), |remedy| remedy.name.clone());
    match figure {
        Figure::Prior(id) => format!("{}: how often it comes up", cause(id.as_str())),
        Figure::Yes(of, id) => format!("{}: how often yes with “{}”", check(of.as_str()), cause(id.as_str())),
        Figure::Otherwise(of) => format!("{}: how often yes with other causes", check(of.as_str())),
        Figure::Success(of, id) => {
            format!("{}: how often it cures “{}”", remedy(of.as_str()), cause(id.as_str()))
        }
    }
}

/// What one closed fault taught. What was answered after the cure tells nothing of the cause.
fn lessons(fault: &Fault) -> Vec<Lesson> {
    let Some(cause) = &fault.confirmed.cause else { return Vec::new() };
    let cause = || cause.as_str().into();
    let mut lessons = vec![Lesson::Confirmed { cause: cause() }];
    for step in &fault.steps {
        match &step.deed {
            FaultDeed::Answered { asked: Asked::Check | Asked::Condition, which, answer, .. } => {
                let yes = match answer {
                    FaultReply::Yes => true,
                    FaultReply::No => false,
                    FaultReply::CannotTell | FaultReply::Skipped => continue,
                };
                lessons.push(Lesson::Checked { check: which.as_str().into(), cause: cause(), yes });
            }
            FaultDeed::Tried { remedy, result: RemedyResult::DidNotHelp, .. } => {
                lessons.push(Lesson::Tried { remedy: remedy.as_str().into(), cause: cause(), cured: false });
            }
            FaultDeed::Tried { remedy, result: RemedyResult::Helped, .. } => {
                lessons.push(Lesson::Tried { remedy: remedy.as_str().into(), cause: cause(), cured: true });
                break;
            }
            _ => {}
        }
    }
    lessons
}

impl super::case::OpenFault<'_> {
    /// Why the odds rest on the machine type alone, and what would change that.
    pub(super) fn nothing_learnt(&self) -> String {
        let of_type = |fault: &&Fault| {
            let machine = self.booth.machines.get(&fault.machine);
            machine.is_some_and(|machine| machine.machine_type == self.about.machine_type)
        };
        let in_words = self.booth.faults.values().filter(of_type).filter(|fault| {
            fault.confirmed.cause.is_none()
                && fault.closed.as_ref().is_some_and(|(_, cause, ..)| !cause.is_empty())
        });
        match in_words.count() {
            0 => "The odds rest on the machine type alone: no fault was closed here with its cause yet.".to_owned(),
            1 => "The odds rest on the machine type alone: the one closed fault has its cause in words only. Pick its \
                  name when closing, and the odds learn from it."
                .to_owned(),
            many => format!(
                "The odds rest on the machine type alone: {many} closed faults have their cause in words only. Pick \
                 its name when closing, and the odds learn from it."
            ),
        }
    }
}
