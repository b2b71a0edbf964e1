//! The course of a programme: which reel runs on which machine, from when to when, and what comes between.

use super::{Item, ProgrammeError, Reel, Takeover, checked, takeover};
use crate::{Gauge, time_of};
use units::{Frames, Hours, Metres, Seconds};

/// A machine as it stands in the booth for a showing.
#[derive(Debug, Clone, PartialEq)]
pub struct Stand {
    /// The gauge it takes.
    pub gauge: Gauge,
    /// How long it needs to reach speed.
    pub run_up: Seconds,
    /// The longest reel its arms take; none: not known.
    pub longest_reel: Option<Metres>,
}

/// How this booth goes about a showing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Customs {
    /// How long it takes to lace the next reel on the same machine.
    pub relace: Seconds,
    /// A planned pause between one item and the next; zero: none.
    pub between_items: Seconds,
    /// By how much the operator is slower on the motor than on the changeover.
    pub lag: Seconds,
}

impl Default for Customs {
    /// A practised hand laces a reel in 90 seconds (common practice, no source); no pause between items; no lag.
    fn default() -> Self {
        Self { relace: Seconds::new(90.0), between_items: Seconds::ZERO, lag: Seconds::ZERO }
    }
}

/// Why the screen is dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PauseWhy {
    /// The next reel is laced on the same machine.
    Relace,
    /// A pause between two items was planned.
    Interval,
}

/// What follows a reel.
#[derive(Debug, Clone, PartialEq)]
pub enum Joint {
    /// Another machine takes over without a gap.
    Takeover(Box<Takeover>),
    /// The screen is dark for a while.
    Pause {
        /// The reason.
        why: PauseWhy,
        /// For how long.
        lasts: Seconds,
    },
    /// The programme is over.
    End,
}

/// One reel on one machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// The item's place in the programme.
    pub item: usize,
    /// The reel's place in the item.
    pub reel: usize,
    /// The machine's place in the list.
    pub machine: usize,
    /// From the programme's first picture to this reel's.
    pub starts: Seconds,
    /// From the programme's first picture to the end of this reel's picture.
    pub ends: Seconds,
    /// What follows.
    pub then: Joint,
}

/// Something to look at before the showing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doubt {
    /// A reel is longer than the machine's arms take.
    ReelTooLong {
        /// The stretch.
        stretch: usize,
        /// What is on the reel, leaders included.
        length: Metres,
        /// What the machine takes.
        takes: Metres,
    },
    /// The incoming machine has its picture in the gate before it is at speed.
    NotAtSpeed {
        /// The stretch at whose end that happens.
        stretch: usize,
    },
    /// The incoming reel has less leader than the hand-over needs.
    LeaderTooShort {
        /// The incoming stretch.
        stretch: usize,
        /// What it has.
        has: Frames,
        /// What is needed.
        needs: Frames,
    },
    /// The machine that comes next has hardly time to be laced again.
    HastyRelace {
        /// The stretch that runs in the meantime.
        stretch: usize,
        /// How long that is.
        time: Seconds,
    },
}

/// The course of a programme.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// The reels in order.
    pub stretches: Vec<Stretch>,
    /// From the first picture to the last, pauses included.
    pub lasts: Seconds,
    /// Time with a picture on the screen.
    pub screen: Seconds,
    /// Running hours for each machine: threaded leader, picture and run-out.
    pub running: Vec<Hours>,
    /// What to look at.
    pub doubts: Vec<Doubt>,
}

/// Lays a programme over the machines: every reel on a machine of its gauge, on another than the reel before wherever
/// there is one, so that a showing with two machines runs without a gap.
pub fn course(items: &[Item], stands: &[Stand], customs: &Customs) -> Result<Course, ProgrammeError> {
    items.iter().try_for_each(checked)?;
    let reels: Vec<(usize, usize)> = items
        .iter()
        .enumerate()
        .flat_map(|(at, item)| (0..item.reels.len()).map(move |reel| (at, reel)))
        .collect();
    let machines = deal(items, &reels, stands)?;
    let mut laid =
        Laying { items, stands, customs, reels: &reels, machines: &machines, clock: Seconds::ZERO };
    let stretches = (0..reels.len()).map(|at| laid.stretch(at)).collect::<Result<Vec<_>, _>>()?;
    let screen =
        items.iter().map(Item::runs).try_fold(Seconds::ZERO, |sum, runs| runs.map(|runs| sum + runs))?;
    let running = running(items, stands.len(), &stretches)?;
    let doubts = doubts(items, stands, customs, &stretches);
    Ok(Course {
        lasts: stretches.last().map_or(Seconds::ZERO, |last| last.ends),
        stretches,
        screen,
        running,
        doubts,
    })
}

/// Gives each reel the machine of its gauge that was used longest ago.
fn deal(items: &[Item], reels: &[(usize, usize)], stands: &[Stand]) -> Result<Vec<usize>, ProgrammeError> {
    let mut used = vec![None; stands.len()];
    let mut dealt = Vec::with_capacity(reels.len());
    for (turn, &(at, _)) in reels.iter().enumerate() {
        let item = &items[at];
        let fits = (0..stands.len()).filter(|machine| stands[*machine].gauge == item.gauge);
        let machine = fits
            .min_by_key(|machine| used[*machine])
            .ok_or_else(|| ProgrammeError::NoMachine { title: item.title.clone(), gauge: item.gauge })?;
        used[machine] = Some(turn);
        dealt.push(machine);
    }
    Ok(dealt)
}

struct Laying<'a> {
    items: &'a [Item],
    stands: &'a [Stand],
    customs: &'a Customs,
    reels: &'a [(usize, usize)],
    machines: &'a [usize],
    clock: Seconds,
}

impl Laying<'_> {
    fn stretch(&mut self, at: usize) -> Result<Stretch, ProgrammeError> {
        let (item, reel) = self.reels[at];
        let shown = &self.items[item];
        let starts = self.clock;
        let ends = starts + time_of(shown.reels[reel].picture, shown.speed)?;
        let then = self.joint(at, &shown.reels[reel])?;
        self.clock = match &then {
            Joint::Pause { lasts, .. } => ends + *lasts,
            Joint::Takeover(_) | Joint::End => ends,
        };
        Ok(Stretch { item, reel, machine: self.machines[at], starts, ends, then })
    }

    fn joint(&self, at: usize, reel: &Reel) -> Result<Joint, ProgrammeError> {
        let Some(&(next, _)) = self.reels.get(at + 1) else { return Ok(Joint::End) };
        let here = self.reels[at].0;
        let same_machine = self.machines[at] == self.machines[at + 1];
        let interval = if next == here { Seconds::ZERO } else { self.customs.between_items };
        if same_machine && self.customs.relace >= interval {
            return Ok(Joint::Pause { why: PauseWhy::Relace, lasts: self.customs.relace });
        }
        if interval > Seconds::ZERO {
            return Ok(Joint::Pause { why: PauseWhy::Interval, lasts: interval });
        }
        let incoming = &self.stands[self.machines[at + 1]];
        let made =
            takeover(&self.items[here], reel, self.items[next].speed, incoming.run_up, self.customs.lag)?;
        Ok(Joint::Takeover(Box::new(made)))
    }
}

/// Each machine runs the leader that was threaded, the picture and the run-out.
fn running(items: &[Item], n_machines: usize, stretches: &[Stretch]) -> Result<Vec<Hours>, ProgrammeError> {
    let mut running = vec![Hours::ZERO; n_machines];
    for (at, stretch) in stretches.iter().enumerate() {
        let item = &items[stretch.item];
        let reel = &item.reels[stretch.reel];
        let threaded = at.checked_sub(1).and_then(|before| match &stretches[before].then {
            Joint::Takeover(takeover) => Some(takeover.thread.min(reel.head)),
            Joint::Pause { .. } | Joint::End => None,
        });
        let frames = threaded.unwrap_or(reel.head) + reel.picture + reel.tail;
        running[stretch.machine] += time_of(frames, item.speed)?.as_hours();
    }
    Ok(running)
}

fn doubts(items: &[Item], stands: &[Stand], customs: &Customs, stretches: &[Stretch]) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    for (at, stretch) in stretches.iter().enumerate() {
        let reel = &items[stretch.item].reels[stretch.reel];
        let length = items[stretch.item].gauge.length_of(reel.total());
        if let Some(takes) = stands[stretch.machine].longest_reel.filter(|takes| length > *takes) {
            doubts.push(Doubt::ReelTooLong { stretch: at, length, takes });
        }
        let Joint::Takeover(takeover) = &stretch.then else { continue };
        if !takeover.at_speed {
            doubts.push(Doubt::NotAtSpeed { stretch: at });
        }
        // A takeover is always followed by another stretch.
        let next = &stretches[at + 1];
        let has = items[next.item].reels[next.reel].head;
        if has < takeover.thread {
            doubts.push(Doubt::LeaderTooShort { stretch: at + 1, has, needs: takeover.thread });
        }
        let used_before = stretches[..at].iter().rev().find(|earlier| earlier.machine == next.machine);
        let time = used_before.map(|earlier| next.starts - earlier.ends);
        if let Some(time) = time.filter(|time| *time < customs.relace) {
            doubts.push(Doubt::HastyRelace { stretch: at, time });
        }
    }
    doubts
}
