//! A machine type: everything a booth knows about a kind of machine before it has met one.

use crate::care::{CareTask, Trigger};
use crate::id::{ConsumableId, SlotId, SourceTag, SpareId, TaskId, TypeId};
use crate::limit::ReadingLimit;
use crate::part::Part;
use crate::stock::{Consumable, PriorLife, Spare};
use crate::trouble::Trouble;
use crate::turning::RotatingPart;
use crate::vocabulary::vocabulary;
use indexmap::IndexMap;
use rustc_hash::FxHashMap;
use serde::Serialize;
use units::{FramesPerSecond, Hertz, Metres, Volts};

vocabulary! {
    /// How film is laced.
    Threading {
        /// By hand, round every part.
        Manual = "manual",
        /// Into an open channel.
        Channel = "channel",
        /// The machine draws the leader in by itself.
        SelfThreading = "self-threading",
    }
}

vocabulary! {
    /// What pulls one frame down.
    Intermittent {
        /// A claw.
        Claw = "claw",
        /// A star wheel and a sprocket (maltese cross).
        Geneva = "geneva",
    }
}

vocabulary! {
    /// On which edges the sprockets have teeth; film perforated on one edge must not meet teeth on both.
    TeethEdges {
        /// One edge.
        One = "one",
        /// Both edges.
        Both = "both",
    }
}

vocabulary! {
    /// What drives it.
    MotorKind {
        /// Locked to the mains.
        Synchronous = "synchronous",
        /// Nearly locked to the mains, with slip.
        Induction = "induction",
        /// Brushes and a governor.
        Universal = "universal",
        /// Direct current, electronically held.
        Regulated = "regulated",
    }
}

vocabulary! {
    /// What makes its light.
    LampKind {
        /// Low-voltage tungsten-halogen.
        Halogen = "halogen",
        /// Tungsten on mains volts.
        Tungsten = "tungsten",
        /// Xenon short arc.
        Xenon = "xenon",
        /// Another discharge lamp.
        Discharge = "discharge",
        /// Light-emitting diodes.
        Led = "led",
    }
}

vocabulary! {
    /// Which curve the loudspeakers of its hall are set to.
    RoomCurve {
        /// The curve of rooms with wide-range loudspeakers (ISO 2969, SMPTE ST 202).
        X = "x",
        /// The older curve for prints with a single track of narrow range.
        N = "n",
    }
}

/// What the machine can do and how it is built.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Features {
    /// How film is laced.
    pub threading: Threading,
    /// What pulls a frame down.
    pub intermittent: Intermittent,
    /// Teeth of the claw, where there is a claw.
    pub claw_teeth: Option<u32>,
    /// Which sound it reads.
    pub sound: Vec<film::SoundKind>,
    /// The curve of the room in which its sound is heard; none where nothing is agreed on.
    pub room_curve: Option<RoomCurve>,
    /// On which edges its sprockets have teeth.
    pub teeth: TeethEdges,
    /// What drives it.
    pub motor: MotorKind,
    /// What makes its light.
    pub lamp: LampKind,
    /// Blades of the shutter.
    pub shutter_blades: u32,
    /// Speeds it can run at.
    pub speeds: Vec<FramesPerSecond>,
    /// Can hold one frame on screen.
    pub still_frame: bool,
    /// Can run backwards.
    pub reverse: bool,
    /// Changes over to a second machine.
    pub changeover: bool,
    /// The greatest length of film that its spools take.
    pub max_spool: Metres,
    /// The mains it is built for.
    pub mains: Volts,
    /// The mains frequency it is built for.
    pub mains_frequency: Hertz,
    /// Where these come from.
    pub source: SourceTag,
}

vocabulary! {
    /// What sort of source a tag stands for.
    SourceKind {
        /// A published standard, named.
        Standard = "standard",
        /// A published handbook, named.
        Handbook = "handbook",
        /// What the trade does, with no paper to point at.
        CommonPractice = "common practice, no source",
        /// Recalled, not looked up.
        FromMemory = "from memory",
        /// Made up for the demonstration.
        Invented = "invented for the demo",
        /// Worked out by a formula that is given.
        Computed = "computed",
    }
}

/// Where a figure comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Source {
    /// Its sort.
    pub kind: SourceKind,
    /// The words as the file has them, the sort included.
    pub words: String,
}

/// A kind of machine.
#[derive(Debug, Clone, Serialize)]
pub struct MachineType {
    /// Its name in logbooks.
    pub id: TypeId,
    /// Its name in plain words.
    pub name: String,
    /// Counts up when the file changes.
    pub edition: u32,
    /// The film it runs.
    pub gauge: film::Gauge,
    /// What it is, and what it is not, in a few sentences.
    pub words: String,
    /// What it can do.
    pub features: Features,
    /// Its parts, in the order in which film meets them, then light, drive, electrical, case.
    pub parts: Vec<Part>,
    /// Its care, in the order of the parts.
    pub care: Vec<CareTask>,
    /// What turns in it.
    pub rotating: Vec<RotatingPart>,
    /// What is read, with limits.
    pub limits: Vec<ReadingLimit>,
    /// What care uses up.
    pub consumables: Vec<Consumable>,
    /// What is kept to be fitted.
    pub spares: Vec<Spare>,
    /// How long parts are thought to last.
    pub lives: Vec<PriorLife>,
    /// What may go wrong, how to tell, and what cures.
    pub trouble: Trouble,
    /// What each source tag stands for.
    pub sources: IndexMap<SourceTag, Source>,
    #[serde(skip)]
    index: Index,
}

/// Where each id stands in its list, so that looking up does not search.
#[derive(Debug, Clone, Default)]
struct Index {
    parts: FxHashMap<SlotId, usize>,
    tasks: FxHashMap<TaskId, usize>,
    care_of: FxHashMap<SlotId, Vec<usize>>,
    limits: FxHashMap<crate::id::QuantityId, usize>,
    rotating: FxHashMap<crate::id::RotatingId, usize>,
    consumables: FxHashMap<ConsumableId, usize>,
    spares: FxHashMap<SpareId, usize>,
}

/// The lists of a machine type as a reader gathers them.
pub(crate) struct Contents {
    pub id: TypeId,
    pub name: String,
    pub edition: u32,
    pub gauge: film::Gauge,
    pub words: String,
    pub features: Features,
    pub parts: Vec<Part>,
    pub care: Vec<CareTask>,
    pub rotating: Vec<RotatingPart>,
    pub limits: Vec<ReadingLimit>,
    pub consumables: Vec<Consumable>,
    pub spares: Vec<Spare>,
    pub lives: Vec<PriorLife>,
    pub trouble: Trouble,
    pub sources: IndexMap<SourceTag, Source>,
}

impl MachineType {
    /// Puts care into the order of the parts and builds the indexes.
    pub(crate) fn assemble(contents: Contents) -> Self {
        let Contents { id, name, edition, gauge, words, features, parts, mut care, rotating, .. } = contents;
        let Contents { limits, consumables, spares, lives, trouble, sources, .. } = contents;
        let at: FxHashMap<SlotId, usize> = places(&parts, |part| part.id.clone());
        care.sort_by_key(|task| task.stands_at().and_then(|slot| at.get(slot).copied()));
        let mut care_of: FxHashMap<SlotId, Vec<usize>> = FxHashMap::default();
        for (position, task) in care.iter().enumerate() {
            for slot in &task.parts {
                care_of.entry(slot.clone()).or_default().push(position);
            }
        }
        let index = Index {
            parts: at,
            tasks: places(&care, |task| task.id.clone()),
            care_of,
            limits: places(&limits, |limit| limit.quantity.clone()),
            rotating: places(&rotating, |part| part.id.clone()),
            consumables: places(&consumables, |thing| thing.id.clone()),
            spares: places(&spares, |spare| spare.id.clone()),
        };
        Self {
            id,
            name,
            edition,
            gauge,
            words,
            features,
            parts,
            care,
            rotating,
            limits,
            consumables,
            spares,
            lives,
            trouble: trouble.indexed(),
            sources,
            index,
        }
    }

    /// The part in a slot.
    pub fn part(&self, slot: &str) -> Option<&Part> {
        self.index.parts.get(slot).map(|at| &self.parts[*at])
    }

    /// Where a slot stands in the order of the parts.
    pub fn part_position(&self, slot: &str) -> Option<usize> {
        self.index.parts.get(slot).copied()
    }

    /// A care task.
    pub fn task(&self, id: &str) -> Option<&CareTask> {
        self.index.tasks.get(id).map(|at| &self.care[*at])
    }

    /// Where a task stands in the list of care.
    pub fn task_position(&self, id: &str) -> Option<usize> {
        self.index.tasks.get(id).copied()
    }

    /// The care in which a part has a share, in film-path order.
    pub fn care_for(&self, slot: &str) -> impl Iterator<Item = &CareTask> {
        self.index.care_of.get(slot).into_iter().flatten().map(|at| &self.care[*at])
    }

    /// The care that an event calls for, in film-path order.
    pub fn walk_tasks(&self, event: Trigger) -> impl Iterator<Item = &CareTask> {
        self.care.iter().filter(move |task| task.answers(event))
    }

    /// The parts that film touches, in its order.
    pub fn film_path(&self) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(|part| part.place.on_film)
    }

    /// The limits of a quantity.
    pub fn limit(&self, quantity: &str) -> Option<&ReadingLimit> {
        self.index.limits.get(quantity).map(|at| &self.limits[*at])
    }

    /// A rotating part by its own name.
    pub fn rotating_part(&self, id: &str) -> Option<&RotatingPart> {
        self.index.rotating.get(id).map(|at| &self.rotating[*at])
    }

    /// A consumable.
    pub fn consumable(&self, id: &str) -> Option<&Consumable> {
        self.index.consumables.get(id).map(|at| &self.consumables[*at])
    }

    /// A spare.
    pub fn spare(&self, id: &str) -> Option<&Spare> {
        self.index.spares.get(id).map(|at| &self.spares[*at])
    }

    /// The spares that fit a slot.
    pub fn spares_for(&self, slot: &str) -> impl Iterator<Item = &Spare> {
        self.spares.iter().filter(move |spare| spare.fits.iter().any(|fits| fits.as_str() == slot))
    }

    /// The prior lives of a part.
    pub fn lives_of(&self, slot: &str) -> impl Iterator<Item = &PriorLife> {
        self.lives.iter().filter(move |life| life.slot.as_str() == slot)
    }

    /// What a source tag stands for.
    pub fn source(&self, tag: &str) -> Option<&Source> {
        self.sources.get(tag)
    }
}

/// Where each id stands in a list; the first of two equals wins.
pub(crate) fn places<T, I: std::hash::Hash + Eq>(list: &[T], id: impl Fn(&T) -> I) -> FxHashMap<I, usize> {
    let mut at = FxHashMap::default();
    for (position, item) in list.iter().enumerate() {
        at.entry(id(item)).or_insert(position);
    }
    at
}
