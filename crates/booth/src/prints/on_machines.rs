//! On which machine a reel may be shown, how fast, and what a showing that wants it must know.

use super::{bridge, print_sheet};
use crate::answer::COMMON_PRACTICE;
use film::{
    SoundKind,
    print::{Decision, Inspected, Puller, Reason, Safeguard, Verdict, any_of, decide, pass_hazards},
};
use logbook::{
    Booth, MachineId, PrintId,
    booth::{Print, Showing},
    fact::ProgrammeItem,
};
use machine::{Intermittent, Library, MachineType};
use serde::Serialize;
use units::{FramesPerSecond, Probability};

/// How grave a decision is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gravity {
    /// It may be shown.
    Fine,
    /// It may be shown under conditions.
    Conditions,
    /// It must not be shown on this machine.
    NotHere,
    /// It must not be shown.
    MustNot,
    /// It must be set apart.
    SetApart,
}

/// How grave a verdict is.
pub const fn gravity(verdict: &Verdict) -> Gravity {
    match verdict.decision {
        Decision::Show => Gravity::Fine,
        Decision::ShowIf(_) => Gravity::Conditions,
        Decision::OtherMachine(_) => Gravity::NotHere,
        Decision::DoNotShow => Gravity::MustNot,
        Decision::SetApart => Gravity::SetApart,
    }
}

/// What is decided for one machine.
#[derive(Clone, Debug)]
pub struct OnMachine<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// What people call it.
    pub name: &'a str,
    /// What pulls the film down in it.
    pub puller: Puller,
    /// What is decided, and why.
    pub verdict: Verdict,
    /// At which speed, if it may be shown at all.
    pub speed: Option<Speed>,
    /// The chance that what was found stops the show in one pass.
    pub stops: Probability,
}

/// At which speed.
#[derive(Clone, Debug, PartialEq)]
pub struct Speed {
    /// The speed; absent: nobody wrote down what it was made for.
    pub fps: Option<FramesPerSecond>,
    /// Why, in a sentence.
    pub words: &'static str,
}

/// Sound film runs at the speed at which it was recorded; silent film may run slower, which is kinder.
fn speed(item: Option<&ProgrammeItem>, kind: &MachineType, gravity: Gravity) -> Option<Speed> {
    if gravity > Gravity::Conditions {
        return None;
    }
    let Some(item) = item else {
        return Some(Speed { fps: None, words: "The speed it was made for; sound film runs at no other." });
    };
    let silent = item.sound.parse() == Ok(SoundKind::Silent);
    if silent && gravity == Gravity::Conditions {
        let slowest =
            kind.features.speeds.iter().copied().reduce(|a, b| if b.fps() < a.fps() { b } else { a });
        return Some(Speed {
            fps: slowest,
            words: "The slowest this machine has: it is silent, and slower is kinder.",
        });
    }
    Some(Speed { fps: Some(item.speed_fps), words: "As its programme has it." })
}

/// What pulls the film in this type; a claw of which nobody counted the teeth is taken to have one.
fn puller(kind: &MachineType) -> Puller {
    match kind.features.intermittent {
        Intermittent::Claw => Puller::Claw {
            teeth: kind.features.claw_teeth.and_then(|teeth| u8::try_from(teeth).ok()).unwrap_or(1),
        },
        Intermittent::Geneva => Puller::Sprocket,
    }
}

/// The verdict; a reel that nobody has inspected is never passed as good.
fn judged(print: &Print, reel: &Inspected, puller: Puller, was_inspected: bool) -> Verdict {
    let mut verdict = decide(reel, bridge::sort(print).0, puller);
    if !was_inspected {
        let mut safeguards = match verdict.decision {
            Decision::Show => Vec::new(),
            Decision::ShowIf(safeguards) => safeguards,
            grave => return Verdict { decision: grave, ..verdict },
        };
        safeguards.push(Safeguard::FinishTheInspection);
        safeguards.sort_unstable();
        safeguards.dedup();
        verdict.decision = Decision::ShowIf(safeguards);
        let words = "nobody has inspected this reel in this booth".to_owned();
        verdict.reasons = vec![Reason { words, at: None, source: COMMON_PRACTICE }];
    }
    verdict
}

pub(super) fn on_machines<'a>(
    booth: &'a Booth,
    library: &'a Library,
    (id, print): (&PrintId, &Print),
    reel: &Inspected,
    was_inspected: bool,
) -> Vec<OnMachine<'a>> {
    let items = || booth.programmes.values().flat_map(|programme| &programme.items);
    let item = items().find(|item| item.print.as_ref() == Some(id));
    let machine = |(machine, known): (&'a MachineId, &'a logbook::booth::Machine)| {
        let kind = library.get(known.machine_type.as_str()).filter(|kind| kind.gauge == reel.gauge)?;
        let puller = puller(kind);
        let verdict = judged(print, reel, puller, was_inspected);
        Some(OnMachine {
            machine,
            name: booth.machine_name(machine),
            puller,
            speed: speed(item, kind, gravity(&verdict)),
            stops: any_of(&pass_hazards(reel, puller)),
            verdict,
        })
    };
    booth.available_machines().filter_map(machine).collect()
}

/// The mildest verdict of all machines here; without one, that of a machine as kind as any.
pub(super) fn at_best(on: &[OnMachine<'_>], print: &Print, reel: &Inspected, was_inspected: bool) -> Verdict {
    let mildest = on.iter().map(|on| &on.verdict).min_by_key(|verdict| gravity(verdict));
    mildest.cloned().unwrap_or_else(|| judged(print, reel, Puller::Sprocket, was_inspected))
}

/// What a showing must know of a reel that it wants.
#[derive(Clone, Debug)]
pub struct PrintWarning<'a> {
    /// The print.
    pub print: &'a PrintId,
    /// Its title.
    pub title: &'a str,
    /// The reel.
    pub reel: u32,
    /// How grave it is.
    pub gravity: Gravity,
    /// Its gauge, by which places on it are said.
    pub gauge: Option<film::Gauge>,
    /// The machine that it speaks of; absent: any.
    pub machine: Option<&'a str>,
    /// Somebody has inspected it.
    pub was_inspected: bool,
    /// What is decided, and why.
    pub verdict: Verdict,
}

impl PrintWarning<'_> {
    /// True if the reel must not run in the showing as it stands in the diary.
    pub fn is_barred(&self) -> bool {
        self.gravity >= Gravity::NotHere
    }
}

/// The reels that a showing wants and that must not run in it, the gravest first.
pub fn barred<'a>(booth: &'a Booth, library: &'a Library, showing: &Showing) -> Vec<PrintWarning<'a>> {
    let mut found = warnings(booth, library, showing);
    found.retain(PrintWarning::is_barred);
    found
}

/// What a showing must know of the reels that it wants, the gravest first. Reels that may be shown are not named.
pub fn warnings<'a>(booth: &'a Booth, library: &'a Library, showing: &Showing) -> Vec<PrintWarning<'a>> {
    let sheets = showing.prints.iter().filter_map(|id| print_sheet(booth, library, id));
    let mut found = Vec::new();
    for sheet in sheets {
        for reel in &sheet.reels {
            let warn = |machine: Option<&'a str>, verdict: &Verdict| PrintWarning {
                print: sheet.id,
                title: &sheet.print.title,
                reel: reel.reel.reel,
                gravity: gravity(verdict),
                gauge: sheet.gauge,
                machine,
                was_inspected: reel.last.is_some(),
                verdict: verdict.clone(),
            };
            let Some(best) = reel.at_best.as_ref() else { continue };
            let assigned =
                |on: &&OnMachine<'_>| showing.machines.iter().any(|(machine, _)| machine == on.machine);
            let barred = reel.on.iter().filter(assigned).filter(|on| gravity(&on.verdict) > gravity(best));
            let here: Vec<_> = barred.map(|on| warn(Some(on.name), &on.verdict)).collect();
            if here.is_empty() && gravity(best) > Gravity::Fine {
                found.push(warn(None, best));
            }
            found.extend(here);
        }
    }
    found.sort_by_key(|warning| (std::cmp::Reverse(warning.gravity), warning.reel));
    found
}
