//! The booth: everything the logbook adds up to, as plain data.
//!
//! ```text
//! Booth ─┬─ settings, people, places
//!        ├─ machines ─┬─ clocks (hours run, lit, rewinding, strikes)
//!        │            ├─ runs, meter, fitness, events
//!        │            ├─ care: last done, deferred
//!        │            ├─ fitted: slot → parts
//!        │            └─ readings
//!        ├─ parts: one life each, in stints (machine, slot, from, until, why)
//!        ├─ showings, prints, faults, stock, notes
//!        └─ queries to settle
//! ```
//!
//! No caches inside and no machine types: an old logbook folds the same whatever edition of the types is there.
//!
//! All of it can be serialised, for a snapshot that saves folding again. That is no written form and no promise: a
//! snapshot is read only by the very code that wrote it ([`crate::CODE_KEY`]), so any field here may change freely.

use crate::{
    When,
    fact::{About, Ending, Fitness, MeterChange, Outcome, PreferredUnits, Role, RunKind},
    ids::{
        CarePointId, EntryId, FaultId, ItemId, MachineId, PartId, PersonId, PlaceId, PrintId, ProgrammeId,
        QuantityId, ShowingId, SlotId, TaskId, TypeId,
    },
};
use indexmap::IndexMap;
use jiff::civil;
use rustc_hash::FxBuildHasher;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use units::Hours;

mod diary;
mod faults;
mod plan;
mod prints;
mod show;
mod stores;

pub use crate::lookups::PartAge;
pub use diary::{Showing, ShowingState, StoppageRecord};
pub use faults::{Confirmed, Fault, FaultDeed, FaultReading, FaultStep, RepairRequest};
pub use plan::{Pinned, PlanPin};
pub use prints::{Handling, Inspection, Print, PrintRun};
pub use show::{Programme, ShowMarkRecord};
pub use stores::{OrderLineId, StockChange, StockDeed, StockItem, StockOrder};

/// A map that keeps the order in which things entered and compares regardless of it.
pub type Map<K, V> = IndexMap<K, V, FxBuildHasher>;

/// The state of a booth after all entries that were folded.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct Booth {
    /// Name and customs.
    pub settings: Settings,
    /// Who writes here.
    pub people: Map<PersonId, Person>,
    /// Halls, booths, depots.
    pub places: Map<PlaceId, Place>,
    /// How each hall was last set up.
    pub setups: Map<PlaceId, Setup>,
    /// The machines, also retired ones.
    pub machines: Map<MachineId, Machine>,
    /// Every part with an identity of its own, also those that ended.
    pub parts: Map<PartId, PartLife>,
    /// The diary: coming, held and cancelled showings.
    pub showings: Map<ShowingId, Showing>,
    /// Programmes of reels, as each was last kept.
    pub programmes: Map<ProgrammeId, Programme>,
    /// What was marked in each running show, in order of time.
    pub shows: Map<ShowingId, Vec<ShowMarkRecord>>,
    /// What people fixed in the service plan, in order of time.
    pub pins: Vec<PlanPin>,
    /// The prints.
    pub prints: Map<PrintId, Print>,
    /// Faults, open and closed.
    pub faults: Map<FaultId, Fault>,
    /// Stock items.
    pub stock: Map<ItemId, StockItem>,
    /// What was ordered, item by item, also what has come.
    pub orders: Map<OrderLineId, StockOrder>,
    /// Stoppages, in order of time.
    pub stoppages: Vec<StoppageRecord>,
    /// Notes, in order of time.
    pub notes: Vec<Note>,
    /// What does not add up and somebody should settle, in order of time.
    pub queries: Vec<Query>,
    /// Entries that not everybody may correct or withdraw.
    pub guarded: BTreeMap<EntryId, Guard>,
    /// The role last given to each person, in the order of writing: by it somebody may give roles.
    pub roles_given: BTreeMap<PersonId, Role>,
}

/// Why not everybody may correct or withdraw an entry.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum Guard {
    /// On it hangs whether a machine is dangerous: a technician's to settle.
    Danger,
    /// By it somebody has a role: for those in charge to settle, and only by a correction about a person.
    Person,
    /// It takes back something about a person: for those in charge to take back in turn.
    PersonTakenBack,
}

/// Name and customs of the booth.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Settings {
    /// What the booth is called; empty until it is set up.
    pub name: String,
    /// IANA time zone.
    pub zone: String,
    /// Until when a night belongs to the evening before.
    pub night_ends: civil::Time,
    /// Which units come first.
    pub units: PreferredUnits,
    /// Everything here is invented.
    pub invented: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            name: String::new(),
            zone: "UTC".to_owned(),
            // Common practice, no source: the last people leave a late showing well before five.
            night_ends: civil::time(5, 0, 0, 0),
            units: PreferredUnits::Metric,
            invented: false,
        }
    }
}

/// Somebody who writes entries.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Person {
    /// Full name.
    pub name: String,
    /// What the person may decide.
    pub role: Role,
}

/// A hall, booth or depot.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Place {
    /// What people call it.
    pub name: String,
    /// What to know before going there.
    pub notes: String,
}

/// How a hall was set up.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Setup {
    /// What was given, as it was written, by field.
    pub values: BTreeMap<String, String>,
    /// What else to know.
    pub note: String,
    /// When it was kept, and the entry.
    pub kept: (When, EntryId),
}

/// The counters of a machine or the share of them that a part has seen. Each is a clock of its own.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct Clocks {
    /// Running in showings.
    pub showing: Hours,
    /// Running in rehearsals and tests.
    pub testing: Hours,
    /// Rewinding.
    pub rewinding: Hours,
    /// Lamp lit.
    pub lit: Hours,
    /// Lamp strikes.
    pub strikes: u32,
    /// How much of `showing + testing` is inferred rather than read.
    pub estimated: Hours,
}

impl Clocks {
    /// Returns the hours run: film path turning, in showings, rehearsals and tests.
    pub fn hours_run(&self) -> Hours {
        self.showing + self.testing
    }

    /// Returns the motor hours: hours run and rewinding.
    pub fn motor(&self) -> Hours {
        self.hours_run() + self.rewinding
    }
}

/// One machine.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Machine {
    /// What people call it.
    pub name: String,
    /// Its kind.
    pub machine_type: TypeId,
    /// Serial or asset number.
    pub serial: String,
    /// Where it lives.
    pub place: Option<PlaceId>,
    /// Year of making.
    pub made_year: Option<i16>,
    /// What is particular to it.
    pub settings: BTreeMap<String, String>,
    /// When it entered, and by which entry.
    pub added: (When, EntryId),
    /// When and why it left for good.
    pub retired: Option<(When, String)>,
    /// All counters, including the hours before entry (counted as `showing`).
    pub clocks: Clocks,
    /// Hours before entry are unknown: ages of what was never changed are at least what is counted.
    pub hours_before_unknown: bool,
    /// The hour meter, if it has one.
    pub meter: Option<Meter>,
    /// May it be used?
    pub fitness: FitnessState,
    /// Each run, in order of time, with hours as settled by the meter.
    pub runs: Vec<Run>,
    /// Last time each care point was done, and what was put off.
    pub care: Map<CarePointId, CareRecord>,
    /// Deferrals in force, by care point; a later deed ends a deferral.
    pub deferred: Map<CarePointId, Deferral>,
    /// Care that was left out or could not be judged since it was last done; a later deed ends it.
    pub left_out: Map<CarePointId, LeftOut>,
    /// What is fitted now.
    pub fitted: Map<SlotId, PartId>,
    /// When something last came out of or went into each slot.
    pub disturbed: Map<SlotId, (When, EntryId)>,
    /// Readings, in order of time.
    pub readings: Vec<ReadingRecord>,
    /// Transport, repairs and other events, in order of time.
    pub events: Vec<EventRecord>,
}

/// The hour meter's last word.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Meter {
    /// Last figure read.
    pub reading: Hours,
    /// When.
    pub at: When,
    /// The entry.
    pub entry: EntryId,
    /// Jumps for known reasons, in order of time.
    pub changes: Vec<(When, MeterChange)>,
    /// Every figure that was taken as right, in order of time.
    pub marks: Vec<MeterMark>,
}

/// One figure of a meter that was taken as right.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct MeterMark {
    /// When.
    pub at: When,
    /// The figure from here on.
    pub reading: Hours,
    /// The figure up to here: `reading`, or the old figure where the count jumped (absent: nobody read it).
    pub closing: Option<Hours>,
    /// The entry.
    pub entry: EntryId,
}

/// May the machine be used, and who says so.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct FitnessState {
    /// The decision.
    pub fitness: Fitness,
    /// Why.
    pub why: String,
    /// Since when; absent: nobody ever decided, so it is taken as fit.
    pub since: Option<(When, EntryId)>,
}

/// One run of a machine.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Run {
    /// When it began.
    pub at: When,
    /// What for.
    pub run: RunKind,
    /// Hours, as settled by the meter.
    pub hours: Hours,
    /// Hours, as written.
    pub written: Hours,
    /// The hours are inferred: from reel lengths, or from a meter reading where no runs were written.
    pub estimated: bool,
    /// Its entry.
    pub entry: EntryId,
}

/// A care point's last deed.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct CareRecord {
    /// When.
    pub at: When,
    /// The machine's counters then.
    pub clocks: Clocks,
    /// What was found.
    pub outcome: Outcome,
    /// The entry.
    pub entry: EntryId,
    /// Who.
    pub by: PersonId,
    /// The bigger task it was part of.
    pub within: Option<TaskId>,
    /// How often it was done in all.
    pub times: u32,
    /// In words.
    pub note: String,
}

/// A care point that was put off.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Deferral {
    /// When that was decided.
    pub at: When,
    /// Why.
    pub why: String,
    /// Until the machine has run so many hours.
    pub until_hours_run: Option<Hours>,
    /// Until this day.
    pub until_date: Option<civil::Date>,
    /// The entry.
    pub entry: EntryId,
    /// Who.
    pub by: PersonId,
}

/// Care that was left out, or whose finding nobody could tell.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct LeftOut {
    /// When.
    pub at: When,
    /// `Skipped` or `CannotTell`.
    pub outcome: Outcome,
    /// In words.
    pub note: String,
    /// The entry.
    pub entry: EntryId,
    /// Who.
    pub by: PersonId,
}

/// A reading.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct ReadingRecord {
    /// When.
    pub at: When,
    /// The machine's counters then.
    pub clocks: Clocks,
    /// The quantity.
    pub quantity: QuantityId,
    /// The value, in `unit`.
    pub value: f64,
    /// The unit as written.
    pub unit: String,
    /// Standard uncertainty in the same unit.
    pub uncertainty: Option<f64>,
    /// The slot it speaks of.
    pub slot: Option<SlotId>,
    /// How it was measured.
    pub method: String,
    /// What matters to compare it.
    pub conditions: BTreeMap<String, String>,
    /// The recording or photo behind it (SHA-256, hex).
    pub recording: Option<String>,
    /// It is a baseline.
    pub baseline: bool,
    /// The entry.
    pub entry: EntryId,
}

/// An event that calls for care.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct EventRecord {
    /// When.
    pub at: When,
    /// The event's name, as machine types know it.
    pub event: String,
    /// In words.
    pub note: String,
    /// The entry.
    pub entry: EntryId,
}

/// The life of one part.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct PartLife {
    /// The kind of slot it was made for (that of its first stint).
    pub slot: SlotId,
    /// Its batch.
    pub lot: String,
    /// The stock item from which it was drawn, if somebody said so.
    pub item: Option<ItemId>,
    /// Its age when this logbook first met it; absent: unknown (left-truncated).
    pub age_hours: Option<Hours>,
    /// The band of a guessed age.
    pub age_band_hours: Option<(Hours, Hours)>,
    /// Days of age when first met.
    pub age_days: Option<u32>,
    /// Strikes when first met.
    pub strikes: Option<u32>,
    /// Where it has lived, in order of time; the last one is open while it is fitted.
    pub stints: Vec<Stint>,
}

/// A part's time in one slot of one machine.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Stint {
    /// The machine.
    pub machine: MachineId,
    /// The slot.
    pub slot: SlotId,
    /// When it went in.
    pub fitted: When,
    /// The machine's counters then.
    pub clocks_at_fitting: Clocks,
    /// The entry that fitted it.
    pub entry: EntryId,
    /// How it ended, if it has.
    pub ended: Option<StintEnd>,
}

/// The end of a stint.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct StintEnd {
    /// When.
    pub at: When,
    /// The machine's counters then.
    pub clocks: Clocks,
    /// Why.
    pub why: Ending,
    /// The entry.
    pub entry: EntryId,
}

/// A note.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Note {
    /// When.
    pub at: When,
    /// What about.
    pub about: Option<About>,
    /// The words.
    pub words: String,
    /// Photos (SHA-256, hex).
    pub photos: Vec<String>,
    /// The entry.
    pub entry: EntryId,
}

/// Something in the logbook that does not add up; the fold goes on and asks.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Query {
    /// The entry that raised it.
    pub entry: EntryId,
    /// When that happened.
    pub at: When,
    /// The machine it concerns.
    pub machine: Option<MachineId>,
    /// What does not add up and how the fold took it.
    pub what: String,
    /// What would settle it.
    pub settle: String,
}
