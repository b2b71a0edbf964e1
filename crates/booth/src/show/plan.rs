//! The plan: which reel runs on which machine, when the cues come, and what the hand does at each.

use super::say::{Following, Say, cues_in_words, doubt_in_words, say};
use crate::{
    answer::{Answer, COMMON_PRACTICE, Caveat, CaveatKind, Ground},
    join,
};
use film::{
    Gauge, SoundKind,
    leader::{CueMarks, SMPTE_55, SMPTE_301},
    programme::{Customs, Item, Joint, PauseWhy, Reel, Stand, Stretch, Takeover, course},
    time_of,
};
use logbook::{
    Booth, MachineId, PrintId, ShowingId,
    booth::{Programme, Showing},
};
use machine::Library;
use serde::Serialize;
use units::{Frames, FramesPerSecond, Hours, Seconds};

/// How long a machine needs to reach speed where nobody has timed it (common practice, no source).
pub const RUN_UP: Seconds = Seconds::new(4.0);

/// What follows a reel.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Next {
    /// Another machine takes over.
    Changeover,
    /// The next reel is laced on the same machine.
    Relace,
    /// A planned pause.
    Interval,
    /// The programme is over.
    End,
}

/// One reel of the plan.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct PlannedReel {
    /// Its place in the programme, from 1.
    pub place: u32,
    /// What it belongs to.
    pub title: String,
    /// Its number in the print.
    pub reel: u32,
    /// The print, if it is one of the booth's.
    pub print: Option<PrintId>,
    /// The machine that runs it.
    pub machine: MachineId,
    /// What people call that machine.
    pub machine_name: String,
    /// The gauge.
    pub gauge: Gauge,
    /// The speed.
    pub fps: FramesPerSecond,
    /// How it carries its sound.
    pub sound: SoundKind,
    /// All that is on the reel, leaders included.
    pub length_m: units::Metres,
    /// From the programme's first picture to this reel's.
    pub starts_seconds: Seconds,
    /// How long its picture runs.
    pub picture_seconds: Seconds,
    /// How long the leader runs that is threaded.
    pub head_seconds: Seconds,
    /// How long its run-out runs.
    pub tail_seconds: Seconds,
    /// What follows.
    pub next: Next,
    /// Seconds of picture before the motor cue, where another machine takes over.
    pub motor_seconds: Option<Seconds>,
    /// Seconds of picture before the changeover cue.
    pub changeover_seconds: Option<Seconds>,
    /// How long the screen is dark after it, by the plan.
    pub pause_seconds: Seconds,
    /// The cues on the bench counter, in words.
    pub cues: Option<String>,
    /// What to do before it, at each cue, and at its end.
    pub say: Say,
}

/// A programme laid over machines.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ShowPlan {
    /// What it is called.
    pub title: String,
    /// The reels in order.
    pub reels: Vec<PlannedReel>,
    /// From the first picture to the last, pauses included.
    pub lasts_seconds: Seconds,
    /// Time with a picture on the screen.
    pub screen_seconds: Seconds,
    /// What each machine will run, leaders included.
    pub machines: Vec<PlannedMachine>,
}

/// A machine of the plan.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct PlannedMachine {
    /// The machine.
    pub machine: MachineId,
    /// What people call it.
    pub name: String,
    /// What it will run, leaders included.
    pub running_hours: Hours,
}

/// Why there is no plan.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum NoPlan {
    /// No programme names the showing, and its prints have no reels from which one could be made.
    #[error(
        "no programme is kept for \"{title}\", and its prints have no reels with a length; make a programme"
    )]
    NoProgramme {
        /// The showing's title.
        title: String,
    },
    /// A word of the programme that film does not have.
    #[error("\"{title}\": {trouble}")]
    Word {
        /// The item.
        title: String,
        /// What is wrong, and what would be right.
        trouble: String,
    },
    /// Nothing to run it on.
    #[error("no machine with a known type is given for it; name one in the programme or in the diary")]
    NoMachine,
    /// It cannot be laid over these machines.
    #[error(transparent)]
    Programme(#[from] film::programme::ProgrammeError),
}

/// Reads the items of a kept programme as film has them.
pub fn film_items(programme: &Programme) -> Result<Vec<Item>, NoPlan> {
    programme.items.iter().map(film_item).collect()
}

fn film_item(item: &logbook::fact::ProgrammeItem) -> Result<Item, NoPlan> {
    let word =
        |error: film::FilmError| NoPlan::Word { title: item.title.clone(), trouble: error.to_string() };
    let reel = |reel: &logbook::fact::ProgrammeReel| Reel {
        number: reel.number,
        head: reel.head_frames,
        picture: reel.picture_frames,
        tail: reel.tail_frames,
    };
    Ok(Item {
        title: item.title.clone(),
        gauge: item.gauge.parse().map_err(word)?,
        speed: item.speed_fps,
        sound: item.sound.parse().map_err(word)?,
        reels: item.reels.iter().map(reel).collect(),
        cues: cues(&item.cues, &item.title)?,
        kept_apart: item.kept_apart,
    })
}

fn cues(word: &str, title: &str) -> Result<Option<CueMarks>, NoPlan> {
    match word {
        "" => Ok(None),
        "smpte-301" => Ok(Some(SMPTE_301)),
        "smpte-55" => Ok(Some(SMPTE_55)),
        other => Err(NoPlan::Word {
            title: title.to_owned(),
            trouble: format!("there are no cue marks \"{other}\"; write smpte-301, smpte-55, or nothing"),
        }),
    }
}

/// Makes items out of the prints of a showing, whose reels are known by their lengths: all of it taken as picture.
fn items_of_prints(booth: &Booth, showing: &Showing) -> Vec<(Item, Option<PrintId>)> {
    let prints = showing.prints.iter().filter_map(|id| Some((id, booth.prints.get(id)?)));
    prints
        .filter_map(|(id, print)| {
            let gauge: Gauge = print.gauge.parse().ok()?;
            let reel = |reel: &logbook::fact::Reel| {
                let picture = gauge.frames_in(reel.length_m).ok()?;
                Some(Reel { number: reel.reel, head: Frames::ZERO, picture, tail: Frames::ZERO })
            };
            let reels: Vec<Reel> = print.reels.iter().filter_map(reel).collect();
            let item = Item {
                title: print.title.clone(),
                gauge,
                speed: FramesPerSecond::new(24.0),
                sound: SoundKind::Optical,
                reels,
                cues: None,
                kept_apart: false,
            };
            (!item.reels.is_empty()).then(|| (item, Some(id.clone())))
        })
        .collect()
}

/// The plan of a showing: of its programme, or made out of its prints where none is kept.
pub fn plan_of(
    booth: &Booth,
    library: &Library,
    (id, showing): (&ShowingId, &Showing),
) -> Result<Answer<ShowPlan>, NoPlan> {
    let assigned: Vec<MachineId> = showing.machines.iter().map(|(machine, _)| machine.clone()).collect();
    if let Some((_, programme)) = super::programme_of(booth, id) {
        return plan_of_programme(booth, library, programme, &assigned);
    }
    let items = items_of_prints(booth, showing);
    if items.is_empty() {
        return Err(NoPlan::NoProgramme { title: showing.title.clone() });
    }
    let mut answer = lay(booth, library, &showing.title, items, &assigned, &Wishes::default())?;
    answer.caveats.insert(
        0,
        Caveat::new(
            CaveatKind::PriorOnly,
            "No programme is kept for this showing: the reels are those of its prints, taken as picture from end to end at 24 frames a second, without cue marks.",
        ),
    );
    Ok(answer)
}

/// The plan of a programme on its own machines, or on `otherwise` where it names none.
pub fn plan_of_programme(
    booth: &Booth,
    library: &Library,
    programme: &Programme,
    otherwise: &[MachineId],
) -> Result<Answer<ShowPlan>, NoPlan> {
    let prints = programme.items.iter().map(|item| item.print.clone());
    let items = film_items(programme)?.into_iter().zip(prints).collect();
    let machines = if programme.machines.is_empty() { otherwise } else { &programme.machines };
    let wishes = Wishes { run_up: programme.run_up, relace: programme.relace, interval: programme.interval };
    let mut answer = lay(booth, library, &programme.title, items, machines, &wishes)?;
    answer.because.insert(
        0,
        Ground::Entry {
            entry: programme.kept.1,
            words: format!("{} as it was kept", programme.title).into(),
        },
    );
    Ok(answer)
}

/// What a programme says of times; what is absent is the usual.
#[derive(Default)]
struct Wishes {
    run_up: Option<Seconds>,
    relace: Option<Seconds>,
    interval: Option<Seconds>,
}

/// A machine of the booth as film sees it.
struct Standing<'a> {
    id: &'a MachineId,
    name: String,
    stand: Stand,
}

fn lay(
    booth: &Booth,
    library: &Library,
    title: &str,
    items: Vec<(Item, Option<PrintId>)>,
    machines: &[MachineId],
    wishes: &Wishes,
) -> Result<Answer<ShowPlan>, NoPlan> {
    let mut caveats = Vec::new();
    let standing: Vec<Standing<'_>> =
        machines.iter().filter_map(|id| stand(booth, library, id, wishes, &mut caveats)).collect();
    if standing.is_empty() {
        return Err(NoPlan::NoMachine);
    }
    let customs = Customs {
        relace: wishes.relace.unwrap_or(Customs::default().relace),
        between_items: wishes.interval.unwrap_or(Seconds::ZERO),
        lag: Seconds::ZERO,
    };
    let (items, prints): (Vec<Item>, Vec<Option<PrintId>>) = items.into_iter().unzip();
    let stands: Vec<Stand> = standing.iter().map(|one| one.stand.clone()).collect();
    let laid = course(&items, &stands, &customs)?;
    let mut reels = Vec::with_capacity(laid.stretches.len());
    for at in 0..laid.stretches.len() {
        reels.push(planned_reel(&items, &prints, &standing, &laid.stretches, at)?);
    }
    caveats.extend(laid.doubts.iter().map(|doubt| doubt_in_words(doubt, &reels)));
    let value = ShowPlan {
        title: title.to_owned(),
        lasts_seconds: laid.lasts,
        screen_seconds: laid.screen,
        machines: standing
            .iter()
            .zip(laid.running)
            .map(|(one, running_hours)| PlannedMachine {
                machine: one.id.clone(),
                name: one.name.clone(),
                running_hours,
            })
            .collect(),
        reels,
    };
    Ok(Answer { value, because: grounds(&items, &laid.stretches), caveats })
}

fn grounds(items: &[Item], stretches: &[Stretch]) -> Vec<Ground> {
    let mut because = Vec::new();
    let takeover = stretches.iter().find_map(|stretch| match &stretch.then {
        Joint::Takeover(takeover) => Some(takeover),
        _ => None,
    });
    if let Some(takeover) = takeover {
        because.push(Ground::Rule { words: "where the cue marks stand".into(), source: takeover.source });
    }
    if items.iter().any(|item| !item.reels.is_empty()) {
        because.push(Ground::Rule {
            words: "a practised hand laces the next reel in 90 s and a machine is at speed in 4 s, where nothing else is said".into(),
            source: COMMON_PRACTICE,
        });
    }
    because
}

/// A machine's gauge, run-up and arms. One of a type that is not known here is left out, with a caveat.
fn stand<'a>(
    booth: &'a Booth,
    library: &'a Library,
    id: &MachineId,
    wishes: &Wishes,
    caveats: &mut Vec<Caveat>,
) -> Option<Standing<'a>> {
    let Some((id, machine, kind)) = join::machine_and_type(booth, library, id.as_str()) else {
        let words = format!("Nothing is known of the type of \"{id}\": it is left out of the plan.");
        caveats.push(Caveat::new(CaveatKind::UnknownType, words));
        return None;
    };
    let name = if machine.name.is_empty() { id.to_string() } else { machine.name.clone() };
    if !machine.is_available() {
        let words = format!("{name} may not be used: give the showing another machine.");
        caveats.push(Caveat::new(CaveatKind::NotForUse, words));
    }
    let timed = machine.readings.iter().rev().find(|reading| {
        reading.quantity.as_str() == "run-up-time"
            && reading.unit == "s"
            && (0.0..60.0).contains(&reading.value)
    });
    let run_up = wishes.run_up.or(timed.map(|reading| Seconds::new(reading.value))).unwrap_or(RUN_UP);
    let stand = Stand { gauge: kind.gauge, run_up, longest_reel: Some(kind.features.max_spool) };
    Some(Standing { id, name, stand })
}

fn planned_reel(
    items: &[Item],
    prints: &[Option<PrintId>],
    standing: &[Standing<'_>],
    stretches: &[Stretch],
    at: usize,
) -> Result<PlannedReel, NoPlan> {
    let stretch = &stretches[at];
    let (item, machine) = (&items[stretch.item], &standing[stretch.machine]);
    let reel = &item.reels[stretch.reel];
    let threaded = at.checked_sub(1).and_then(|before| takeover_of(&stretches[before]));
    let head = threaded.map_or(reel.head, |takeover| takeover.thread.min(reel.head));
    let takeover = takeover_of(stretch);
    let film = |error| NoPlan::Programme(film::programme::ProgrammeError::Film(error));
    let (next, pause) = match &stretch.then {
        Joint::Takeover(_) => (Next::Changeover, Seconds::ZERO),
        Joint::Pause { why: PauseWhy::Relace, lasts } => (Next::Relace, *lasts),
        Joint::Pause { why: PauseWhy::Interval, lasts } => (Next::Interval, *lasts),
        Joint::End => (Next::End, Seconds::ZERO),
    };
    let following = stretches.get(at + 1).map(|next| Following {
        place: at + 2,
        machine: &standing[next.machine].name,
        seconds: pause,
    });
    Ok(PlannedReel {
        place: u32::try_from(at + 1).unwrap_or(u32::MAX),
        title: item.title.clone(),
        reel: reel.number,
        print: prints[stretch.item].clone(),
        machine: machine.id.clone(),
        machine_name: machine.name.clone(),
        gauge: item.gauge,
        fps: item.speed,
        sound: item.sound,
        length_m: item.gauge.length_of(reel.total()),
        starts_seconds: stretch.starts,
        picture_seconds: stretch.ends - stretch.starts,
        head_seconds: time_of(head, item.speed).map_err(film)?,
        tail_seconds: time_of(reel.tail, item.speed).map_err(film)?,
        next,
        motor_seconds: takeover.map(|takeover| takeover.motor.at),
        changeover_seconds: takeover.map(|takeover| takeover.changeover.at),
        pause_seconds: pause,
        cues: takeover.map(cues_in_words),
        say: say(at + 1, &machine.name, next, takeover, following.as_ref()),
    })
}

fn takeover_of(stretch: &Stretch) -> Option<&Takeover> {
    match &stretch.then {
        Joint::Takeover(takeover) => Some(takeover),
        Joint::Pause { .. } | Joint::End => None,
    }
}
