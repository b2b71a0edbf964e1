//! Care: what is done to keep a machine fit, how often, and what sets it off.

use crate::id::{ConsumableId, QuantityId, SlotId, SourceTag, TaskId};
use crate::part::{Caution, Danger, Hand};
use crate::vocabulary::vocabulary;
use serde::Serialize;
use units::{Hours, Seconds};

vocabulary! {
    /// What the hand does.
    CareKind {
        /// Look, listen, smell, feel; leaves a tick or a note.
        Look = "look",
        /// Clean.
        Clean = "clean",
        /// Oil or grease, sparingly.
        Oil = "oil",
        /// Take a reading.
        Measure = "measure",
        /// Make it work and watch.
        Test = "test",
        /// Fit another part.
        Replace = "replace",
        /// Write something down.
        Record = "record",
    }
}

impl CareKind {
    /// True where fingers come near the part.
    pub const fn is_hands_on(self) -> bool {
        !matches!(self, Self::Look | Self::Record)
    }
}

vocabulary! {
    /// The state in which the machine must be; each state includes those before it, but for running.
    MachineState {
        /// Running, guards closed.
        Running = "running",
        /// Standing still, may be plugged in and warm.
        Stopped = "stopped",
        /// Standing still with the mains plug withdrawn.
        Unplugged = "unplugged",
        /// Unplugged and cooled down.
        Cooled = "cooled",
    }
}

impl MachineState {
    /// What to do to bring the machine into this state, in a sentence.
    pub const fn preparation(self) -> &'static str {
        match self {
            Self::Running => "Run the machine with its guards closed; keep hands, hair and ties clear.",
            Self::Stopped => "Stop the machine and let every part come to rest.",
            Self::Unplugged => "Stop the machine and withdraw the mains plug; keep the plug in sight.",
            Self::Cooled => {
                "Stop the machine, let the fan run on, withdraw the mains plug and wait until it is cold."
            }
        }
    }

    /// True where a danger of this kind is still there in this state.
    pub const fn leaves(self, danger: Danger) -> bool {
        match danger {
            Danger::Moving => matches!(self, Self::Running),
            Danger::Live => matches!(self, Self::Running | Self::Stopped),
            _ => true,
        }
    }
}

vocabulary! {
    /// Which counter an interval or a life is read from.
    Clock {
        /// Hours of running with film.
        Running = "running",
        /// Hours of the motor: running, rewinding and tests.
        Motor = "motor",
        /// Hours of the projection lamp.
        Lamp = "lamp",
        /// Starts of the projection lamp.
        Strikes = "strikes",
    }
}

/// How often: by hours, strikes or days, whichever comes first; at least one of them is given.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Every {
    /// Every so many hours of the clock.
    pub hours: Option<Hours>,
    /// Every so many strikes of the lamp; then the clock is `Strikes`.
    pub strikes: Option<u32>,
    /// Every so many days.
    pub days: Option<u32>,
    /// The counter for hours.
    pub clock: Clock,
}

/// An event that calls for care at once, whatever the hours say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Trigger {
    /// At every reel.
    EveryReel,
    /// Before every showing.
    BeforeShowing,
    /// After every showing.
    AfterShowing,
    /// After a transport: more than 100 km, a boat, a flight.
    AfterTransport,
    /// At a new site or on a generator.
    NewSite,
    /// A lamp died before half its life.
    LampDiedEarly,
    /// The projection lamp was changed.
    LampChanged,
    /// A technician repaired it.
    Repair,
    /// The loop was lost twice in one showing.
    LostLoopTwice,
    /// It became wet, or stood in salt air.
    WetOrSalt,
    /// A dirty print ran: adhesive, oil, vinegar.
    DirtyPrint,
    /// Somebody felt a shock or a tingle.
    Shock,
    /// It was knocked or dropped.
    Knock,
    /// It stood idle for so many days.
    IdleDays(u32),
}

impl Trigger {
    /// Every trigger that is a plain word; `IdleDays` carries a number and is written `idle-90-days`.
    pub const PLAIN: &'static [Self] = &[
        Self::EveryReel,
        Self::BeforeShowing,
        Self::AfterShowing,
        Self::AfterTransport,
        Self::NewSite,
        Self::LampDiedEarly,
        Self::LampChanged,
        Self::Repair,
        Self::LostLoopTwice,
        Self::WetOrSalt,
        Self::DirtyPrint,
        Self::Shock,
        Self::Knock,
    ];

    /// The word of a file for it.
    pub const fn plain_word(self) -> Option<&'static str> {
        Some(match self {
            Self::EveryReel => "every-reel",
            Self::BeforeShowing => "before-showing",
            Self::AfterShowing => "after-showing",
            Self::AfterTransport => "after-transport",
            Self::NewSite => "new-site",
            Self::LampDiedEarly => "lamp-died-early",
            Self::LampChanged => "lamp-changed",
            Self::Repair => "repair",
            Self::LostLoopTwice => "lost-loop-twice",
            Self::WetOrSalt => "wet-or-salt",
            Self::DirtyPrint => "dirty-print",
            Self::Shock => "shock",
            Self::Knock => "knock",
            Self::IdleDays(_) => return None,
        })
    }

    /// When it calls, in plain words.
    pub fn in_words(self) -> String {
        match self {
            Self::EveryReel => "at every reel".into(),
            Self::BeforeShowing => "before every showing".into(),
            Self::AfterShowing => "after every showing".into(),
            Self::AfterTransport => "after a transport".into(),
            Self::NewSite => "at a new site".into(),
            Self::LampDiedEarly => "after a lamp that died early".into(),
            Self::LampChanged => "when the lamp is changed".into(),
            Self::Repair => "after a repair".into(),
            Self::LostLoopTwice => "after two lost loops in one showing".into(),
            Self::WetOrSalt => "after wet or salt".into(),
            Self::DirtyPrint => "after a dirty print".into(),
            Self::Shock => "after a shock or tingle".into(),
            Self::Knock => "after a knock or fall".into(),
            Self::IdleDays(days) => format!("after {days} days idle"),
        }
    }

    /// Reads the word of a file or of a request.
    pub fn from_word(word: &str) -> Option<Self> {
        if let Some(trigger) = Self::PLAIN.iter().find(|t| t.plain_word() == Some(word)) {
            return Some(*trigger);
        }
        let days = word.strip_prefix("idle-")?.strip_suffix("-days")?;
        days.parse().ok().filter(|days| (1..=3650).contains(days)).map(Self::IdleDays)
    }
}

impl std::fmt::Display for Trigger {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::IdleDays(days) => write!(f, "idle-{days}-days"),
            plain => f.pad(plain.plain_word().unwrap_or_default()),
        }
    }
}

impl Serialize for Trigger {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Trigger {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let word = <std::borrow::Cow<'de, str>>::deserialize(from)?;
        Self::from_word(&word).ok_or_else(|| serde::de::Error::custom(format!("`{word}` is not a trigger")))
    }
}

/// Once, so many hours after a part was fitted: the first oil change of a new intermittent, for one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OnceAfterFitting {
    /// The slot whose new part sets the count to nought.
    pub slot: SlotId,
    /// Hours of running since it was fitted.
    pub hours: Hours,
}

/// One care task.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CareTask {
    /// Its name in the logbook.
    pub id: TaskId,
    /// Its name in plain words.
    pub name: String,
    /// The parts it cares for; the walk stands at the first.
    pub parts: Vec<SlotId>,
    /// What the hand does.
    pub kind: CareKind,
    /// How it is done, in sentences.
    pub steps: String,
    /// How long a practised hand takes.
    pub takes: Seconds,
    /// How often by the clocks, if by clocks at all.
    pub every: Option<Every>,
    /// The events that call for it.
    pub triggers: Vec<Trigger>,
    /// Once, some hours after a part was fitted.
    pub once_after_fitting: Option<OnceAfterFitting>,
    /// Cautions to show at the step: the task's own first, then those of its parts that hold in its state.
    pub cautions: Vec<Caution>,
    /// The state in which the machine must be.
    pub state: MachineState,
    /// Who may do it.
    pub who: Hand,
    /// What is used up.
    pub uses: Vec<ConsumableId>,
    /// True for a task on which safety hangs: it is never deferred.
    pub safety: bool,
    /// The quantity that is read, if it is a reading.
    pub reading: Option<QuantityId>,
    /// The tasks that are done with it when this bigger one is done.
    pub includes: Vec<TaskId>,
    /// What is written down as evidence.
    pub evidence: String,
    /// Where its figures come from.
    pub source: SourceTag,
}

impl CareTask {
    /// How long a practised hand takes, in minutes.
    pub fn minutes(&self) -> f64 {
        self.takes.seconds() / 60.0
    }

    /// The part at which the walk stands.
    pub fn stands_at(&self) -> Option<&SlotId> {
        self.parts.first()
    }

    /// True if the event calls for the task; an idle time calls for every shorter idle task too.
    pub fn answers(&self, event: Trigger) -> bool {
        self.triggers.iter().any(|own| match (own, event) {
            (Trigger::IdleDays(limit), Trigger::IdleDays(idle)) => idle >= *limit,
            (own, event) => *own == event,
        })
    }
}
