//! From a machine type's trouble table to the model that the fault desk reckons with.

use faults::{
    advise::{Costs, Setting},
    model::{
        Access, AccessId, Answers, Cause, CauseId, CauseKind, Check, CheckKind, Cure, Hazard, Level, Link,
        MachineState, ModelError, ModelParts, Odds, Preparation, RatedSymptom, Remedy, Symptom, TroubleModel,
        Work, from_rates,
    },
};
use machine::{CauseChance, Caution, Danger, Hand, Trouble};
use std::collections::BTreeSet;
use units::{Hours, Probability, Seconds};

/// How long ago a machine last ran well, where nothing is known of it: one reel (common practice, no source).
pub const SINCE_IT_RAN_WELL: Hours = Hours::new(0.5);

/// Reads the model out of a trouble table. Fails with all that is wrong where two questions share a name, or the type
/// knows no troubles that hang together; the types that are shipped never do.
///
/// Rates become chances over the hours since the machine last ran well. A condition becomes a question, a check by
/// swapping a swap, a check that takes a reading a measurement, every other a look. What an authorised hand may do is
/// a technician's here: the desk cannot see who is authorised.
pub fn trouble_model(trouble: &Trouble, since_it_ran_well: Hours) -> Result<TroubleModel, Vec<ModelError>> {
    let table: Vec<RatedSymptom> = trouble.symptoms.iter().map(rated).collect();
    let rated = from_rates(&table, since_it_ran_well);
    let causes: Vec<Cause> = trouble
        .causes
        .iter()
        .filter_map(|cause| Some(cause_of(cause, *rated.priors.get(&cause_id(&cause.id))?)))
        .collect();
    let symptoms = rated.symptoms.into_iter().zip(&trouble.symptoms);
    let symptoms = symptoms.map(|(symptom, known)| stopping(symptom, known, &causes)).collect();
    let checks = trouble.conditions.iter().map(|condition| question(trouble, condition));
    TroubleModel::new(ModelParts {
        checks: checks.chain(trouble.checks.iter().map(|check| check_of(trouble, check))).collect(),
        remedies: trouble.remedies.iter().map(|remedy| remedy_of(trouble, remedy)).collect(),
        preparation: preparation(trouble),
        causes,
        symptoms,
    })
}

/// How the desk weighs once the audience has gone; passing the fault on costs what the table says.
pub fn after_show(trouble: &Trouble) -> Setting {
    let setting = Setting::after_show();
    let referral = trouble.preparing.referral.seconds() / 60.0;
    let give_up = if referral > 0.0 { referral } else { setting.costs.give_up };
    Setting { costs: Costs { give_up, ..setting.costs }, ..setting }
}

/// How it weighs while an audience waits.
pub fn show_running(trouble: &Trouble) -> Setting {
    let Setting { clock, start, costs, .. } = Setting::show_running();
    Setting { clock, start, costs, ..after_show(trouble) }
}

fn rated(symptom: &machine::Symptom) -> RatedSymptom {
    let odds = |entry: &CauseChance| Odds { cause: cause_id(&entry.cause), share: entry.chance.value() };
    RatedSymptom {
        id: symptom.id.as_str().into(),
        per_thousand_hours: symptom.per_1000_hours,
        odds: symptom.causes.iter().map(odds).collect(),
        unlisted: symptom.unexplained,
    }
}

fn cause_id(id: &machine::CauseId) -> CauseId {
    CauseId::new(id.as_str())
}

fn level(hand: Hand) -> Level {
    match hand {
        Hand::Operator => Level::Operator,
        Hand::Authorised | Hand::Technician => Level::Technician,
    }
}

fn state(state: machine::MachineState) -> MachineState {
    match state {
        machine::MachineState::Running => MachineState::Running,
        machine::MachineState::Stopped => MachineState::Stopped,
        machine::MachineState::Unplugged => MachineState::Unplugged,
        machine::MachineState::Cooled => MachineState::Cooled,
    }
}

fn cause_of(cause: &machine::Cause, prior: Probability) -> Cause {
    let kind = match cause.kind {
        machine::CauseKind::Machine => CauseKind::Machine,
        machine::CauseKind::Print => CauseKind::Print,
        machine::CauseKind::Room => CauseKind::Room,
        machine::CauseKind::People => CauseKind::People,
    };
    let hazards = cause.cautions.iter().filter_map(|caution| hazard(caution.danger, kind)).collect();
    Cause { id: cause_id(&cause.id), prior, level: level(cause.who), kind, hazards }
}

/// What a danger is to the desk; none for what hurts without being the desk's affair (a sharp edge, a heavy case).
fn hazard(danger: Danger, kind: CauseKind) -> Option<Hazard> {
    match danger {
        Danger::Live => Some(Hazard::Electrical),
        Danger::Hot => Some(Hazard::Hot),
        Danger::Moving => Some(Hazard::Moving),
        Danger::Pressure => Some(Hazard::Xenon),
        // A print that may burn by itself is nitrate; a machine that may burn endangers the film that is in it.
        Danger::Fire if kind == CauseKind::Print => Some(Hazard::Nitrate),
        Danger::Fire => Some(Hazard::Film),
        Danger::Sharp | Danger::Heavy | Danger::Trip | Danger::Light | Danger::Fumes | Danger::Delicate => {
            None
        }
    }
}

/// Where everything stops at once, what is in danger: what its causes may do to people, else the film.
fn stopping(symptom: Symptom, known: &machine::Symptom, causes: &[Cause]) -> Symptom {
    if known.stop_now.is_none() {
        return symptom;
    }
    let of = |link: &Link| causes.iter().find(|cause| cause.id == link.cause);
    let hazards = symptom.links.iter().filter_map(of).flat_map(|cause| cause.hazards.iter().copied());
    let mut stop_now: BTreeSet<Hazard> = hazards.filter(|hazard| hazard.stops_an_operator()).collect();
    if stop_now.is_empty() {
        stop_now.insert(Hazard::Film);
    }
    Symptom { stop_now, ..symptom }
}

/// A circumstance, asked without touching anything.
fn question(trouble: &Trouble, condition: &machine::Condition) -> Check {
    let chance = |cause: &machine::Cause| {
        let yes = cause.chance_with(condition.id.as_str())?;
        Some(Answers { cause: cause_id(&cause.id), yes })
    };
    Check {
        id: condition.id.as_str().into(),
        kind: CheckKind::Question,
        answers: trouble.causes.iter().filter_map(chance).collect(),
        otherwise: condition.otherwise,
        work: Work {
            time: condition.takes,
            state: MachineState::Running,
            access: None,
            level: Level::Operator,
            during_show: true,
            cautions: Vec::new(),
            hazards: BTreeSet::new(),
        },
        about: Vec::new(),
    }
}

fn check_of(trouble: &Trouble, check: &machine::Check) -> Check {
    let kind = match (check.swap, &check.reading) {
        (Some(_), _) => CheckKind::Swap,
        (None, Some(_)) => CheckKind::Measure,
        (None, None) => CheckKind::Look,
    };
    let mut work = work(trouble, check.takes, check.state, check.access.as_ref(), check.who, &check.cautions);
    // While the audience waits nobody withdraws the plug for a look, or takes a tool to a cover.
    work.during_show = work.level == Level::Operator
        && work.state <= MachineState::Stopped
        && !access_of(trouble, check.access.as_ref()).is_some_and(|access| access.needs_tool);
    Check {
        id: check.id.as_str().into(),
        kind,
        answers: check.points_to().map(answers).collect(),
        otherwise: check.false_alarm,
        work,
        about: Vec::new(),
    }
}

fn remedy_of(trouble: &Trouble, remedy: &machine::Remedy) -> Remedy {
    let (access, cautions) = (remedy.access.as_ref(), &remedy.cautions);
    let work = work(trouble, remedy.takes, remedy.state, access, remedy.who, cautions);
    Remedy {
        id: remedy.id.as_str().into(),
        cures: chances(&remedy.cures).map(|(cause, success)| Cure { cause, success }).collect(),
        work: Work { during_show: remedy.during_show, ..work },
        spare: remedy.spare.as_ref().map(|spare| spare.as_str().to_owned()),
    }
}

/// How often the first answer comes with a cause, to whichever answer it points.
fn answers((tell, by_first): (&CauseChance, bool)) -> Answers {
    let yes = if by_first { tell.chance } else { tell.chance.complement() };
    Answers { cause: cause_id(&tell.cause), yes }
}

fn chances(list: &[CauseChance]) -> impl Iterator<Item = (CauseId, Probability)> {
    list.iter().map(|entry| (cause_id(&entry.cause), entry.chance))
}

fn access_of<'t>(trouble: &'t Trouble, id: Option<&machine::AccessId>) -> Option<&'t machine::Access> {
    trouble.access(id?.as_str())
}

/// What some work asks for: its own needs and those of what must stand open. The words of its cautions stay in the
/// table.
fn work(
    trouble: &Trouble,
    time: Seconds,
    own: machine::MachineState,
    access: Option<&machine::AccessId>,
    who: Hand,
    cautions: &[Caution],
) -> Work {
    let at_the_opening = access_of(trouble, access).map_or(&[][..], |open| &open.cautions);
    let cautions = cautions.iter().chain(at_the_opening);
    let open = access_of(trouble, access);
    Work {
        time,
        state: open.map_or(state(own), |open| state(open.state).max(state(own))),
        access: open.map(|open| AccessId::new(open.id.as_str())),
        level: open.map_or(level(who), |open| level(open.who).max(level(who))),
        during_show: false,
        cautions: Vec::new(),
        hazards: cautions.filter_map(|caution| hazard(caution.danger, CauseKind::Machine)).collect(),
    }
}

/// The table has each state's cost from running; the desk goes from state to state.
fn preparation(trouble: &Trouble) -> Preparation {
    let to = &trouble.preparing;
    let further = |from: Seconds, to: Seconds| Seconds::new((to.seconds() - from.seconds()).max(0.0));
    let unplug = further(to.stopped, to.unplugged);
    let half = |takes: Seconds| Seconds::new(takes.seconds() / 2.0);
    let access = |access: &machine::Access| Access {
        id: AccessId::new(access.id.as_str()),
        open: half(access.takes),
        close: half(access.takes),
    };
    Preparation {
        stop: to.stopped,
        unplug,
        cool: further(to.unplugged, to.cooled),
        // The plug goes in as it came out.
        plug_in: unplug,
        start: to.running,
        access: trouble.accesses.iter().map(access).collect(),
    }
}
