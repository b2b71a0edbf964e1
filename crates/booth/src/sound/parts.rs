//! The rotating parts of a machine type as suspects of a line, and from a suspect to the care that follows.

use crate::due::{DueItem, DueState};
use ::sound::{
    FlutterLine, FlutterReport,
    trace::{Candidate, RateBand, Suspect},
};
use machine::{CareKind, CareTask, Hand, MachineType, Mains, Part, Rate, RotatingPart, Running, Trigger};
use units::{FramesPerSecond, Hertz};

/// The suspect that is no part of its own: perforations that pass the teeth of every sprocket.
pub const PERFORATIONS: &str = "perforations";
/// Its name.
const PERFORATIONS_NAME: &str = "Perforations on the teeth of every sprocket";
/// What a line at their rate tells (common practice, no source).
const PERFORATIONS_TELL: &str =
    "Worn or hooked teeth, a film that has shrunk, or a loop so short that the pull-down reaches the sound.";
/// What parts the claw from the teeth, which have the same rate where a frame has one perforation (common practice,
/// no source).
const CLAW_OR_TEETH: &str = "make the lower loop one frame longer, within its mark, and record again: the line \
                             changes if the pull-down causes it, and stays if the sprocket teeth do";
/// From here on the mains count as 60 Hz.
const SIXTY_FROM_HZ: f64 = 55.0;

/// The conditions in which a machine of this type turns: acetate film, and the mains that the type is built for
/// unless others are named.
pub fn running(kind: &MachineType, speed: FramesPerSecond, mains: Option<Mains>) -> Running {
    let built_for =
        if kind.features.mains_frequency.hertz() < SIXTY_FROM_HZ { Mains::Fifty } else { Mains::Sixty };
    Running {
        speed,
        film_thickness: film::Base::Acetate.thickness().thickness,
        mains: mains.unwrap_or(built_for),
    }
}

/// Returns everything in a machine that turns at a known rate, and the perforations, as the tracing wants it.
///
/// Rates are those at `running.speed`; the tracing moves what follows the film to the speed that it measured.
pub fn candidates(kind: &MachineType, running: Running) -> Vec<Candidate> {
    let mut all: Vec<Candidate> =
        kind.rotating.iter().filter_map(|part| candidate(kind, part, running)).collect();
    all.extend(kind.rotating.iter().flat_map(|part| balls(kind, part, running)));
    let rate = running.speed.fps() * f64::from(kind.gauge.perforations_per_frame());
    all.push(Candidate {
        part: PERFORATIONS.to_owned(),
        name: PERFORATIONS_NAME.to_owned(),
        rate: RateBand::steady(Hertz::new(rate)),
        film_locked: true,
        slips: false,
        harmonics: vec![2],
    });
    all
}

fn candidate(kind: &MachineType, part: &RotatingPart, running: Running) -> Option<Candidate> {
    let rate = band(part.turn_rate(kind, running)?);
    let mut harmonics = part.harmonics.clone();
    harmonics.extend(part.passes_per_turn.filter(|passes| *passes > 1));
    Some(Candidate {
        part: part.id.to_string(),
        name: part.name.clone(),
        rate,
        film_locked: part.follows_film(kind),
        slips: part.slips,
        harmonics,
    })
}

/// The lines of a ball bearing: each ball ring is a suspect of its own that names the same part.
fn balls(kind: &MachineType, part: &RotatingPart, running: Running) -> Vec<Candidate> {
    let (Some(bearing), Some(turns)) = (part.bearing, part.turn_rate(kind, running)) else {
        return Vec::new();
    };
    let rings = [
        ("cage of the bearing", bearing.cage_per_turn()),
        ("outer ring of the bearing", bearing.outer_per_turn()),
        ("inner ring of the bearing", bearing.inner_per_turn()),
    ];
    let one = |(ring, per_turn): (&str, f64)| Candidate {
        part: part.id.to_string(),
        name: format!("{}, {ring}", part.name),
        rate: RateBand::steady(turns.middle() * per_turn),
        film_locked: part.follows_film(kind),
        // Balls roll with some slip.
        slips: true,
        harmonics: Vec::new(),
    };
    rings.map(one).into()
}

fn band(rate: Rate) -> RateBand {
    match rate {
        Rate::Steady(rate) => RateBand::steady(rate),
        Rate::Drifting { from, to } if from < to => RateBand { low: from, high: to },
        Rate::Drifting { from, to } => RateBand { low: to, high: from },
    }
}

/// A line with the parts that may have made it.
#[derive(Clone, Debug)]
pub struct NamedLine<'a> {
    /// The line as measured.
    pub line: &'a FlutterLine,
    /// The suspects, likeliest first.
    pub suspects: Vec<NamedSuspect<'a>>,
}

/// A suspect with what the machine type knows of it.
#[derive(Clone, Debug)]
pub struct NamedSuspect<'a> {
    /// The suspect as traced.
    pub suspect: &'a Suspect,
    /// The part in its slot; none for the perforations.
    pub part: Option<&'a Part>,
    /// What a line at its rate tells.
    pub tells: &'a str,
    /// The care and checks that follow, those of an operator first: what is due, then what comes round, then what only
    /// a rare event calls for.
    pub care: Vec<Follow<'a>>,
}

/// A task that follows from a line.
#[derive(Clone, Copy, Debug)]
pub struct Follow<'a> {
    /// The task.
    pub task: &'a CareTask,
    /// Where it stands, if the machine is known.
    pub state: Option<DueState>,
}

/// Returns the lines of a report with parts and care of a machine type; `due` is what is due of the machine, if one is
/// known.
pub fn named_lines<'a>(
    report: &'a FlutterReport,
    kind: &'a MachineType,
    due: &[DueItem<'_>],
) -> Vec<NamedLine<'a>> {
    let named = |line: &'a FlutterLine| NamedLine {
        line,
        suspects: line.parts.iter().map(|suspect| named_suspect(suspect, kind, due)).collect(),
    };
    report.lines.iter().map(named).collect()
}

fn named_suspect<'a>(suspect: &'a Suspect, kind: &'a MachineType, due: &[DueItem<'_>]) -> NamedSuspect<'a> {
    let rotating = kind.rotating_part(&suspect.part);
    let part = rotating.and_then(|turning| kind.part(turning.slot.as_str()));
    NamedSuspect {
        suspect,
        part,
        tells: rotating.map_or(PERFORATIONS_TELL, |turning| turning.tells.as_str()),
        care: part.map(|part| care_of(kind, part, due)).unwrap_or_default(),
    }
}

/// What is due comes first, then what the part has of its own; looking and testing before cleaning and oiling, and those
/// before fitting another part.
fn care_of<'a>(kind: &'a MachineType, part: &Part, due: &[DueItem<'_>]) -> Vec<Follow<'a>> {
    let state = |task: &CareTask| due.iter().find(|item| item.task.id == task.id).map(|item| item.state);
    let mut care: Vec<Follow<'a>> = kind
        .care_for(part.id.as_str())
        .filter(|task| task.kind != CareKind::Record)
        .map(|task| Follow { task, state: state(task) })
        .collect();
    let shared = |task: &CareTask| task.stands_at() != Some(&part.id);
    care.sort_by_key(|Follow { task, state }| {
        let pressing = state.filter(|state| *state <= DueState::Soon).unwrap_or(DueState::Ok);
        (task.who == Hand::Technician, pressing, is_rare(task), shared(task), rank(task.kind))
    });
    care
}

/// Only something out of the common calls for it: a journey, a dirty print, a long rest.
fn is_rare(task: &CareTask) -> bool {
    let common = |trigger: &Trigger| {
        matches!(
            trigger,
            Trigger::EveryReel | Trigger::BeforeShowing | Trigger::AfterShowing | Trigger::Repair
        )
    };
    task.every.is_none() && !task.triggers.iter().any(common)
}

const fn rank(kind: CareKind) -> u8 {
    match kind {
        CareKind::Test | CareKind::Look => 0,
        CareKind::Measure => 1,
        CareKind::Clean => 2,
        CareKind::Oil => 3,
        CareKind::Replace | CareKind::Record => 4,
    }
}

/// Says what parts the pull-down from the sprocket teeth, which a count of turns cannot.
pub(super) fn say_how_to_separate(report: &mut FlutterReport) {
    for line in &mut report.lines {
        let leading = line.parts.iter().take(2);
        if line.ambiguous && leading.clone().any(|suspect| suspect.part == PERFORATIONS) {
            line.to_separate = Some(CLAW_OR_TEETH.to_owned());
        }
    }
}
