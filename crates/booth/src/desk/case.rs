//! A fault of the logbook as a case that can be reckoned with.

use super::{
    circumstances::{Circumstance, circumstances},
    error::NotAtDesk,
    learning::{LearntHere, learn_from_cases},
    model::{SINCE_IT_RAN_WELL, after_show, show_running, trouble_model},
    names::find_fault,
};
use crate::known::{find_machine, find_type};
use faults::{
    advise::{Advice, Setting, advise},
    case::{Answer, Beliefs, Case, ContextFactor, Reply, Told, Tried, beliefs, what_changed},
    model::TroubleModel,
};
use jiff::ZonedDateTime;
use logbook::{
    Booth, FaultId, MachineId,
    booth::{Fault, FaultDeed, FaultStep, Machine, ShowingState},
    fact::{Asked, FaultMark, FaultReply, RemedyResult, ShowMark},
    ids::EntryId,
};
use machine::{BrokenType, Library, MachineType};
use serde::Serialize;

/// Which clock runs.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ShowClock {
    /// An audience waits.
    ShowRunning,
    /// The house is empty.
    AfterShow,
}

/// A fault on the desk: the case, the model to reckon it with, and where each answer stands in the logbook.
#[derive(Clone, Debug)]
pub struct OpenFault<'a> {
    /// The booth.
    pub booth: &'a Booth,
    /// The fault's name.
    pub id: &'a FaultId,
    /// The fault.
    pub fault: &'a Fault,
    /// The machine's name.
    pub machine: &'a MachineId,
    /// The machine.
    pub about: &'a Machine,
    /// Its type.
    pub kind: &'a MachineType,
    /// What the type knows of its troubles, with what was learnt.
    pub model: TroubleModel,
    /// The case.
    pub case: Case,
    /// The steps of the fault behind the case's answers, in their order.
    pub answered_in: Vec<&'a FaultStep>,
    /// What the logbook tells that bears on the odds, in the order of the case's context.
    pub circumstances: Vec<Circumstance>,
    /// What was learnt from closed faults.
    pub learnt: LearntHere,
    /// Which clock runs.
    pub clock: ShowClock,
    /// How steps are weighed.
    pub setting: Setting,
    /// The type's own file, where that could not be read and an earlier edition stands in.
    pub broken_type: Option<&'a BrokenType>,
}

/// Puts a fault on the desk as it stands at `now`.
pub fn open<'a>(
    booth: &'a Booth,
    library: &'a Library,
    fault: &str,
    now: &ZonedDateTime,
) -> Result<OpenFault<'a>, NotAtDesk> {
    let (id, fault) = find_fault(booth, fault)?;
    let (_, machine, about) = find_machine(booth, fault.machine.as_str())?;
    let kind = find_type(library, machine, about)?;
    let (model, learnt) = reckoned(booth, library, kind, machine, Some(id))?;
    let (answers, answered_in) = answers(fault);
    let symptoms = fault.symptoms.iter().map(|symptom| symptom.as_str().into()).collect();
    let circumstances = circumstances(booth, library, id, fault, kind, now);
    let context = circumstances.iter().map(factor).collect();
    let clock = clock(booth, fault);
    let setting = match clock {
        ShowClock::ShowRunning => show_running(&kind.trouble),
        ShowClock::AfterShow => after_show(&kind.trouble),
    };
    let case = Case { symptoms, context, answers };
    Ok(OpenFault {
        booth,
        id,
        fault,
        machine,
        about,
        kind,
        model,
        case,
        answered_in,
        circumstances,
        learnt,
        clock,
        setting,
        broken_type: library.stands_in_for(kind.id.as_str()),
    })
}

impl OpenFault<'_> {
    /// Returns what to do next, in the desk's own terms; [`OpenFault::sheet`] says it in words.
    pub fn advice(&self) -> Advice {
        advise(&self.model, &self.case, &self.setting)
    }

    /// Returns what to believe of each cause, without working out what to do.
    pub fn beliefs(&self) -> Beliefs {
        beliefs(&self.model, &self.case, self.setting.slip)
    }

    /// Returns what each circumstance and answer changed.
    pub fn changes(&self) -> Vec<Told> {
        what_changed(&self.model, &self.case, self.setting.slip)
    }

    /// Returns whether something was marked.
    pub fn is_marked(&self, wanted: FaultMark) -> bool {
        marks(self.fault).any(|mark| mark == wanted)
    }
}

/// The model of a type, brought up to date with the closed faults of the booth; one fault may be left out of them.
pub(super) fn reckoned(
    booth: &Booth,
    library: &Library,
    kind: &MachineType,
    machine: &MachineId,
    but_for: Option<&FaultId>,
) -> Result<(TroubleModel, LearntHere), NotAtDesk> {
    let machine_type = kind.id.to_string();
    if kind.trouble.is_empty() {
        return Err(NotAtDesk::NoTroubles { machine_type });
    }
    let unsound = |errors: Vec<faults::model::ModelError>| NotAtDesk::Unsound {
        machine_type: kind.id.to_string(),
        why: errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "),
    };
    let model = trouble_model(&kind.trouble, SINCE_IT_RAN_WELL).map_err(unsound)?;
    learn_from_cases(booth, library, kind, Some(machine), but_for, model).map_err(unsound)
}

fn factor(circumstance: &Circumstance) -> ContextFactor {
    ContextFactor {
        cause: circumstance.cause.as_str().into(),
        factor: circumstance.factor,
        reason: circumstance.kind.as_str().to_owned(),
    }
}

fn marks(fault: &Fault) -> impl Iterator<Item = FaultMark> {
    fault.steps.iter().filter_map(|step| match &step.deed {
        FaultDeed::Marked { mark, .. } => Some(*mark),
        _ => None,
    })
}

/// An audience waits until somebody says that it has gone, or the showing ended.
fn clock(booth: &Booth, fault: &Fault) -> ShowClock {
    let mut running = fault.show_running;
    for mark in marks(fault) {
        match mark {
            FaultMark::ShowRuns => running = true,
            FaultMark::ShowOver => running = false,
            FaultMark::MadeSafe | FaultMark::DoneAtOnce | FaultMark::HandedOver => {}
        }
    }
    if running && !has_ended(booth, fault) { ShowClock::ShowRunning } else { ShowClock::AfterShow }
}

fn has_ended(booth: &Booth, fault: &Fault) -> bool {
    let Some(showing) = &fault.showing else { return false };
    let marked = booth.shows.get(showing).into_iter().flatten();
    let mut marked = marked.filter(|mark| mark.at.unix_ms >= fault.opened.0.unix_ms);
    let held = booth.showings.get(showing).is_some_and(|it| matches!(it.state, ShowingState::Held { .. }));
    held || marked.next_back().is_some_and(|mark| mark.mark == ShowMark::Ended)
}

/// The answers of a case, each with the step of the fault in which it was given.
fn answers(fault: &Fault) -> (Vec<Answer>, Vec<&FaultStep>) {
    fault.steps.iter().filter_map(|step| Some((answer(&step.deed)?, step))).unzip()
}

fn answer(deed: &FaultDeed) -> Option<Answer> {
    match deed {
        FaultDeed::Answered { asked: Asked::Symptom, which, answer, .. } => {
            let there = match answer {
                FaultReply::Yes => true,
                FaultReply::No => false,
                FaultReply::CannotTell | FaultReply::Skipped => return None,
            };
            Some(Answer::Noticed { symptom: which.as_str().into(), there })
        }
        FaultDeed::Answered { which, answer, .. } => {
            Some(Answer::Checked { check: which.as_str().into(), reply: reply(*answer) })
        }
        FaultDeed::Tried { remedy, result, .. } => {
            Some(Answer::Tried { remedy: remedy.as_str().into(), result: tried(*result) })
        }
        FaultDeed::Marked { mark: FaultMark::MadeSafe, .. } => Some(Answer::MadeSafe),
        FaultDeed::Marked { .. } => None,
    }
}

const fn reply(reply: FaultReply) -> Reply {
    match reply {
        FaultReply::Yes => Reply::Yes,
        FaultReply::No => Reply::No,
        FaultReply::CannotTell => Reply::CantTell,
        FaultReply::Skipped => Reply::Skip,
    }
}

const fn tried(result: RemedyResult) -> Tried {
    match result {
        RemedyResult::Helped => Tried::Fixed,
        RemedyResult::DidNotHelp => Tried::NotFixed,
        RemedyResult::CannotTell => Tried::CantTell,
        RemedyResult::Skipped => Tried::Skip,
    }
}

/// The entry in which an answer of the case was given.
pub(super) fn entry_of(desk: &OpenFault<'_>, answer: usize) -> Option<EntryId> {
    desk.answered_in.get(answer).map(|step| step.entry)
}
