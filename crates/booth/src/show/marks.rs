//! The course of a show: what its marks add up to.
//!
//! The page reckons in the same way while it has no server (`assets/show.js`); a browser test holds the two together.

use super::plan::ShowPlan;
use logbook::{EntryId, MachineId, booth::ShowMarkRecord, fact::ShowMark};
use serde::Serialize;
use units::Seconds;

/// Where a show stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    /// Not begun.
    #[default]
    Waiting,
    /// A picture is on the screen.
    Running,
    /// Halted on purpose.
    Paused,
    /// Dark or silent unasked.
    Stopped,
    /// One reel is over and the next has not begun.
    Between,
    /// The programme is over.
    Over,
}

/// What a reel is followed by: the time between two reels, dark by plan or not.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Between {
    /// The reel that ended.
    pub reel: u32,
    /// How long the screen was dark.
    pub dark_seconds: Seconds,
}

/// A picture on the screen without a break.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Ran {
    /// The reel's place in the programme.
    pub reel: u32,
    /// The machine, as the mark or the plan says.
    pub machine: Option<MachineId>,
    /// From when, in milliseconds since 1970.
    pub from_ms: i64,
    /// Until when; absent: it still runs.
    pub until_ms: Option<i64>,
    /// The reel's first picture was at its beginning.
    pub is_start: bool,
    /// The reel ran out or was changed over at its end.
    pub is_end: bool,
}

/// A time in which the screen was dark unasked.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Dark {
    /// The reel.
    pub reel: u32,
    /// The machine.
    pub machine: Option<MachineId>,
    /// From when.
    pub from_ms: i64,
    /// Until when; absent: it is still dark.
    pub until_ms: Option<i64>,
    /// The mark that began it.
    pub entry: EntryId,
}

/// The course of a show so far.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct Course {
    /// Where it stands.
    pub phase: Phase,
    /// The reel that stands on the screen or was there last, by its place from 1; 0: none yet.
    pub reel: u32,
    /// When this phase began.
    pub since_ms: i64,
    /// How much of the reel's picture had been shown when this phase began.
    pub shown_seconds: Seconds,
    /// When the first picture came.
    pub began_ms: Option<i64>,
    /// When the programme was over.
    pub over_ms: Option<i64>,
    /// Every stretch of picture.
    pub ran: Vec<Ran>,
    /// Every stoppage.
    pub dark: Vec<Dark>,
    /// The pauses between reels.
    pub between: Vec<Between>,
    /// The last mark that changed something: the one to take back.
    pub last: Option<LastMark>,
}

/// The last mark that changed something.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct LastMark {
    /// Its entry.
    pub entry: EntryId,
    /// What it said.
    pub mark: ShowMark,
    /// When, in milliseconds since 1970.
    pub at_ms: i64,
}

/// Adds up the marks of a show, in order of time. What is so already changes nothing: two hands may tap the same.
pub fn course_of<'m>(plan: Option<&ShowPlan>, marks: impl IntoIterator<Item = &'m ShowMarkRecord>) -> Course {
    let mut course = Course::default();
    for mark in marks {
        if course.take(plan, mark) {
            course.last = Some(LastMark { entry: mark.entry, mark: mark.mark, at_ms: mark.at.unix_ms });
        }
    }
    course
}

impl Course {
    /// How much of the reel's picture has been shown.
    pub fn shown_at(&self, now_ms: i64) -> Seconds {
        match self.phase {
            Phase::Running => self.shown_seconds + seconds(self.since_ms, now_ms),
            _ => self.shown_seconds,
        }
    }

    fn take(&mut self, plan: Option<&ShowPlan>, mark: &ShowMarkRecord) -> bool {
        let at = mark.at.unix_ms;
        let is_lit = matches!(self.phase, Phase::Running | Phase::Paused | Phase::Stopped);
        match mark.mark {
            ShowMark::Started | ShowMark::ChangedOver
                if mark.reel > self.reel && self.phase != Phase::Over =>
            {
                self.begin_reel(plan, mark, at);
            }
            ShowMark::ReelEnded if mark.reel == self.reel && is_lit => {
                self.halt(at, true);
                self.enter(Phase::Between, at);
            }
            ShowMark::Paused if self.phase == Phase::Running => {
                self.halt(at, false);
                self.enter(Phase::Paused, at);
            }
            ShowMark::Stopped if self.phase == Phase::Running => {
                self.halt(at, false);
                let machine = mark.machine.clone().or_else(|| self.machine());
                self.dark.push(Dark {
                    reel: self.reel,
                    machine,
                    from_ms: at,
                    until_ms: None,
                    entry: mark.entry,
                });
                self.enter(Phase::Stopped, at);
            }
            ShowMark::Resumed if matches!(self.phase, Phase::Paused | Phase::Stopped) => {
                self.light(at);
                let machine = mark.machine.clone().or_else(|| self.machine());
                self.run(machine, at, false);
            }
            ShowMark::Ended if !matches!(self.phase, Phase::Waiting | Phase::Over) => {
                self.halt(at, true);
                self.light(at);
                self.over_ms = Some(at);
                self.enter(Phase::Over, at);
            }
            _ => return false,
        }
        true
    }

    fn begin_reel(&mut self, plan: Option<&ShowPlan>, mark: &ShowMarkRecord, at: i64) {
        if self.phase == Phase::Between {
            let dark_seconds = seconds(self.since_ms, at);
            self.between.push(Between { reel: self.reel, dark_seconds });
        }
        self.halt(at, true);
        self.light(at);
        self.began_ms.get_or_insert(at);
        self.reel = mark.reel;
        self.shown_seconds = Seconds::ZERO;
        let planned = plan.and_then(|plan| plan.reels.get(mark.reel as usize - 1));
        let machine = mark.machine.clone().or_else(|| planned.map(|reel| reel.machine.clone()));
        self.run(machine, at, true);
    }

    /// The machine of the last stretch.
    fn machine(&self) -> Option<MachineId> {
        self.ran.last().and_then(|ran| ran.machine.clone())
    }

    fn run(&mut self, machine: Option<MachineId>, at: i64, is_start: bool) {
        self.ran.push(Ran { reel: self.reel, machine, from_ms: at, until_ms: None, is_start, is_end: false });
        self.enter(Phase::Running, at);
    }

    /// Ends the stretch that runs; at the reel's end also says so of a stretch that was halted before.
    fn halt(&mut self, at: i64, is_end: bool) {
        self.shown_seconds = self.shown_at(at);
        let is_running = self.phase == Phase::Running;
        if let Some(ran) = self.ran.last_mut() {
            if is_running {
                ran.until_ms = Some(at);
            }
            ran.is_end |= is_end;
        }
    }

    /// Ends a stoppage, if there is one.
    fn light(&mut self, at: i64) {
        if let Some(dark) = self.dark.last_mut() {
            dark.until_ms.get_or_insert(at);
        }
    }

    fn enter(&mut self, phase: Phase, at: i64) {
        (self.phase, self.since_ms) = (phase, at);
    }
}

/// Seconds from one moment to a later one; none if it comes first.
pub(super) fn seconds(from_ms: i64, to_ms: i64) -> Seconds {
    Seconds::new(to_ms.saturating_sub(from_ms).max(0) as f64 / 1000.0)
}
