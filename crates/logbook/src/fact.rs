//! What an entry can say: one struct for each kind, in the projectionist's words.
//!
//! **These structs are wire version 1 of their kinds.** Field names and meanings are frozen by the samples in
//! `tests/wire/`; a field may be added if it is optional, but none may be renamed, removed or given another
//! meaning. A kind that must change its meaning gets a new version and a reader for the old one in [`crate::wire`].

use crate::ids::{
    EntryId, FaultId, ItemId, MachineId, PartId, PersonId, PlaceId, PrintId, QuantityId, ShowingId, SlotId,
    TaskId, TypeId,
};
use jiff::{ZonedDateTime, civil};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use units::{Hours, Metres, Seconds};

/// Returns whether a value is its type's default, so that the wire leaves it out.
fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

/// Declares a fact struct with the derives that every wire struct has.
macro_rules! wire_structs {
    ($($(#[$doc:meta])* struct $name:ident { $($(#[$fdoc:meta])* $field:ident: $ty:ty,)* })*) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
        pub struct $name { $($(#[$fdoc])* pub $field: $ty,)* }
    )*};
}

/// Declares a closed list of words that the wire spells in kebab-case.
macro_rules! wire_words {
    ($($(#[$doc:meta])* enum $name:ident { $($(#[$vdoc:meta])* $variant:ident,)* })*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum $name { $($(#[$vdoc])* $variant,)* }
    )*};
}

wire_words! {
    /// What a machine ran for; each is counted by itself.
    enum RunKind {
        /// A showing before an audience.
        Showing,
        /// A rehearsal with film and light.
        Rehearsal,
        /// A test or warm-up, with or without film.
        Test,
        /// Rewinding on the machine: motor and belts run, the film path does not.
        Rewind,
    }
    /// How the life of a part in its slot ended.
    enum Ending {
        /// It failed.
        Failed,
        /// It was found worn past use.
        Worn,
        /// It was changed while still good, as planned: a censored life, never a failure.
        Planned,
        /// It was taken for another machine or use: a censored life.
        Borrowed,
        /// It was broken by something else (a drop, a wrong voltage).
        Damaged,
        /// Nobody wrote down why.
        Unknown,
    }
    /// What a care step found.
    enum Outcome {
        /// Looked at and in order.
        Fine,
        /// Done: cleaned, oiled, changed, measured.
        Done,
        /// Done or looked at, and something wants attention.
        Attention,
        /// Could not tell; does not count as done.
        CannotTell,
        /// Left out; does not count as done.
        Skipped,
    }
    /// May the machine be used?
    enum Fitness {
        /// Fit for any showing.
        Fit,
        /// Fit within stated limits.
        Limited,
        /// Not to be used until mended.
        Unfit,
        /// Dangerous: quarantined until a qualified technician releases it.
        Danger,
    }
    /// What a person may decide.
    enum Role {
        /// Keeps the machines and runs the show.
        Keeper,
        /// Runs the show from the keeper's card.
        Operator,
        /// Qualified to open, set and release machines.
        Technician,
    }
    /// Why a meter's count jumped.
    enum MeterChange {
        /// Another meter was fitted.
        Replaced,
        /// The meter passed its last figure and began again.
        RolledOver,
        /// The meter was set back by hand.
        Reset,
    }
    /// Which units people of this booth read first.
    enum PreferredUnits {
        /// Metres and millimetres first.
        Metric,
        /// Feet and inches first.
        Us,
    }
}

wire_structs! {
    /// Names the booth and its customs; the latest one holds.
    struct BoothNamed {
        /// What the booth is called.
        name: String,
        /// IANA time zone of the booth (`Europe/Lisbon`).
        zone: String,
        /// Until when a night belongs to the evening before, local time.
        night_ends: civil::Time,
        /// Which units come first.
        units: PreferredUnits,
        /// Everything in this logbook is invented (the demo).
        #[serde(default, skip_serializing_if = "is_default")]
        invented: bool,
    }
    /// Adds or renames a person.
    struct PersonAdded {
        /// The short name used in entries.
        person: PersonId,
        /// The full name.
        name: String,
        /// What the person may decide.
        role: Role,
    }
    /// Adds or renames a hall, booth or depot.
    struct PlaceAdded {
        /// The place's id.
        place: PlaceId,
        /// What people call it.
        name: String,
        /// What to know before going there.
        #[serde(default, skip_serializing_if = "is_default")]
        notes: String,
    }
    /// A machine enters the booth.
    struct MachineAdded {
        /// The machine's id.
        machine: MachineId,
        /// What people call it.
        name: String,
        /// The kind of machine, by its type file.
        machine_type: TypeId,
        /// Serial or asset number.
        #[serde(default, skip_serializing_if = "is_default")]
        serial: String,
        /// Where it lives.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        place: Option<PlaceId>,
        /// The hour meter's figure at entry; absent: it has no hour meter.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        meter_hours: Option<Hours>,
        /// Hours it had run before; absent: unknown.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hours_before: Option<Hours>,
        /// The hours before are a guess.
        #[serde(default, skip_serializing_if = "is_default")]
        hours_estimated: bool,
        /// Year of making, if known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        made_year: Option<i16>,
        /// What this one has that others of its type do not, in words (`lens` → `50 mm`).
        #[serde(default, skip_serializing_if = "is_default")]
        settings: BTreeMap<String, String>,
    }
    /// Changes what is known of a machine; absent fields stay as they were.
    struct MachineChanged {
        /// The machine.
        machine: MachineId,
        /// Its new name.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// Its new type.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        machine_type: Option<TypeId>,
        /// Its new serial or asset number.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        serial: Option<String>,
        /// Where it lives now.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        place: Option<PlaceId>,
    }
    /// A machine leaves the booth for good.
    struct MachineRetired {
        /// The machine.
        machine: MachineId,
        /// Why.
        why: String,
    }
    /// A machine ran. `happened` is when running began.
    struct Ran {
        /// The machine.
        machine: MachineId,
        /// What for.
        run: RunKind,
        /// How long, in hours.
        hours: Hours,
        /// How long the lamp was lit; absent: the whole of a showing or rehearsal, none of a test or rewind.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lit_hours: Option<Hours>,
        /// How often the lamp was struck; absent: once for a showing or rehearsal, else never.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        strikes: Option<u32>,
        /// The showing it belongs to.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        showing: Option<ShowingId>,
        /// The print that ran.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        print: Option<PrintId>,
        /// How often the print passed; absent: once if a print is named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        passes: Option<u32>,
        /// The hours are inferred (from reel lengths, say), not read.
        #[serde(default, skip_serializing_if = "is_default")]
        estimated: bool,
    }
    /// Somebody read the hour meter.
    struct MeterRead {
        /// The machine.
        machine: MachineId,
        /// What the meter showed, in hours.
        reading_hours: Hours,
    }
    /// The meter's count jumped for a known reason.
    struct MeterReplaced {
        /// The machine.
        machine: MachineId,
        /// The reason.
        why: MeterChange,
        /// The last figure before, if somebody read it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        old_reading_hours: Option<Hours>,
        /// The first figure after.
        new_reading_hours: Hours,
    }
    /// What became of the part that was in the slot before.
    struct Replaced {
        /// The part that came out; absent: whatever was fitted there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        part: Option<PartId>,
        /// How its life there ended.
        why: Ending,
    }
    /// A part with an identity of its own goes into a slot. Ends the life of the one it replaces.
    struct PartFitted {
        /// The part.
        part: PartId,
        /// The slot.
        slot: SlotId,
        /// The machine.
        machine: MachineId,
        /// Hours it had run when this logbook first met it; 0 for a new part; absent: unknown.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        age_hours: Option<Hours>,
        /// The band in which an unknown age is guessed to lie, in hours.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        age_band_hours: Option<(Hours, Hours)>,
        /// Days since it was made or first fitted; absent: unknown.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        age_days: Option<u32>,
        /// Strikes it had had already.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        strikes: Option<u32>,
        /// Its batch.
        #[serde(default, skip_serializing_if = "is_default")]
        lot: String,
        /// What came out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        replaces: Option<Replaced>,
        /// The stock item from which it was drawn.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        item: Option<ItemId>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// A part that this logbook knows goes from where it is into another slot.
    struct PartMoved {
        /// The part.
        part: PartId,
        /// The machine it goes to.
        machine: MachineId,
        /// The slot it goes to.
        slot: SlotId,
        /// Why it left where it was.
        why: Ending,
        /// What it replaces there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        replaces: Option<Replaced>,
    }
    /// A part comes out of its slot.
    struct PartRemoved {
        /// The part.
        part: PartId,
        /// How its life there ended.
        why: Ending,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// So many of a stock item were used.
    struct Used {
        /// The stock item.
        item: ItemId,
        /// How many.
        count: u32,
    }
    /// A care step was done (or looked at, or left out).
    struct CareDone {
        /// The machine.
        machine: MachineId,
        /// The care task.
        task: TaskId,
        /// The slot, for a task that is kept slot by slot.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// What was found.
        outcome: Outcome,
        /// In words.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
        /// How long it took, in minutes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes: Option<f64>,
        /// Tasks that this one contains and that count as done with it.
        #[serde(default, skip_serializing_if = "is_default")]
        includes: Vec<TaskId>,
        /// Stock that was used.
        #[serde(default, skip_serializing_if = "is_default")]
        used: Vec<Used>,
        /// Photos, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "is_default")]
        photos: Vec<String>,
        /// The walk along the film path it belongs to.
        #[serde(default, skip_serializing_if = "is_default")]
        walk: String,
    }
    /// A care task is put off, for a reason and up to a limit. Never a safety task.
    struct CareDeferred {
        /// The machine.
        machine: MachineId,
        /// The task.
        task: TaskId,
        /// The slot, for a task that is kept slot by slot.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// Why.
        why: String,
        /// Until the machine has run so many hours in all.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until_hours_run: Option<Hours>,
        /// Until this day.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until_date: Option<civil::Date>,
    }
    /// A quantity was read.
    struct Reading {
        /// The machine.
        machine: MachineId,
        /// The quantity, as the machine type names it.
        quantity: QuantityId,
        /// The value, in `unit`.
        value: f64,
        /// The unit, as written.
        unit: String,
        /// Standard uncertainty in the same unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        uncertainty: Option<f64>,
        /// The slot it speaks of.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// How it was measured.
        #[serde(default, skip_serializing_if = "is_default")]
        method: String,
        /// What matters to compare it (lens, lamp hours, volts).
        #[serde(default, skip_serializing_if = "is_default")]
        conditions: BTreeMap<String, String>,
        /// The recording or photo behind it, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        recording: Option<String>,
        /// It is the machine's baseline from here on.
        #[serde(default, skip_serializing_if = "is_default")]
        baseline: bool,
    }
    /// A machine's part in a showing.
    struct Assigned {
        /// The machine.
        machine: MachineId,
        /// Hours it will run; absent: an equal share of the programme.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        running_hours: Option<Hours>,
    }
    /// A showing stands in the diary; written again with the same id it is a change of plan.
    struct ShowingPlanned {
        /// The showing.
        showing: ShowingId,
        /// What is shown.
        title: String,
        /// When it starts, with its time zone (RFC 9557).
        starts: ZonedDateTime,
        /// How long the programme runs, in minutes.
        length_minutes: f64,
        /// Where.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        place: Option<PlaceId>,
        /// On which machines.
        #[serde(default, skip_serializing_if = "is_default")]
        machines: Vec<Assigned>,
        /// Which prints.
        #[serde(default, skip_serializing_if = "is_default")]
        prints: Vec<PrintId>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// A showing took place. `happened` is when it started.
    struct ShowingHeld {
        /// The showing.
        showing: ShowingId,
        /// How long it lasted from start to end, in minutes.
        lasted_minutes: f64,
        /// How many came.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        audience: Option<u32>,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// A showing will not take place.
    struct ShowingCancelled {
        /// The showing.
        showing: ShowingId,
        /// Why.
        why: String,
    }
    /// The screen went dark or the sound silent in a showing.
    struct Stoppage {
        /// The showing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        showing: Option<ShowingId>,
        /// The machine.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        machine: Option<MachineId>,
        /// For how long, in seconds.
        dark_seconds: Seconds,
        /// What happened, in words.
        what: String,
    }
    /// A fault is open from here on.
    struct FaultOpened {
        /// The fault.
        fault: FaultId,
        /// The machine.
        machine: MachineId,
        /// Where, if that is known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// What was seen, heard or smelt, in words.
        words: String,
        /// The showing in which it was met.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        showing: Option<ShowingId>,
    }
    /// Something was learnt about an open fault.
    struct FaultNoted {
        /// The fault.
        fault: FaultId,
        /// What was tried or seen.
        words: String,
        /// Photos, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "is_default")]
        photos: Vec<String>,
    }
    /// A fault is dealt with.
    struct FaultClosed {
        /// The fault.
        fault: FaultId,
        /// What it was.
        #[serde(default, skip_serializing_if = "is_default")]
        cause: String,
        /// What mended it.
        #[serde(default, skip_serializing_if = "is_default")]
        cure: String,
    }
    /// Somebody decided whether the machine may be used. Only a technician lifts `danger`.
    struct FitnessSet {
        /// The machine.
        machine: MachineId,
        /// The decision.
        fitness: Fitness,
        /// Why, and within which limits.
        why: String,
    }
    /// Something happened to a machine that calls for care (`transport`, `new-site`, `repair`, `wet-or-salt` …).
    struct MachineEvent {
        /// The machine.
        machine: MachineId,
        /// The event, as machine types name it.
        event: String,
        /// In words.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// One reel of a print.
    struct Reel {
        /// Its number in the print, from 1.
        reel: u32,
        /// Its length in metres.
        length_m: Metres,
    }
    /// A print enters the booth, or what is known of it changes.
    struct PrintAdded {
        /// The print.
        print: PrintId,
        /// Its title.
        title: String,
        /// Its gauge (`16mm`).
        gauge: String,
        /// Its reels.
        #[serde(default, skip_serializing_if = "is_default")]
        reels: Vec<Reel>,
        /// Whose it is.
        #[serde(default, skip_serializing_if = "is_default")]
        lender: String,
        /// Anything else.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// How a hall was set up, kept for the next visit; the latest one for a place holds.
    struct SetupKept {
        /// The hall.
        place: PlaceId,
        /// What was given, as it was written, by field (`throw` → `12 m`).
        values: BTreeMap<String, String>,
        /// What else to know (sockets, dimmer, keys).
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
    }
    /// Somebody counted a stock item.
    struct StockCounted {
        /// The stock item.
        item: ItemId,
        /// How many there are.
        count: u32,
        /// What it is; absent: as before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// The slot it fits; absent: as before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// The case, shelf or van it is in; absent: as before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kept_in: Option<String>,
        /// How many should be there at least; absent: as before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minimum: Option<u32>,
    }
    /// A note in plain words.
    struct Noted {
        /// What about.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        about: Option<About>,
        /// The words.
        words: String,
        /// Photos, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "is_default")]
        photos: Vec<String>,
    }
    /// Takes an entry back: from here on it counts as never written, but stays readable.
    struct Withdraws {
        /// The entry.
        entry: EntryId,
        /// Why.
        why: String,
    }
}

/// What a note is about.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum About {
    /// A machine.
    Machine(MachineId),
    /// A part.
    Part(PartId),
    /// A print.
    Print(PrintId),
    /// A place.
    Place(PlaceId),
    /// A showing.
    Showing(ShowingId),
}

/// Puts another fact in the place of an earlier entry's.
#[derive(Clone, PartialEq, Debug)]
pub struct Corrects {
    /// The entry that was wrong (or an earlier correction of it).
    pub entry: EntryId,
    /// What it should have said.
    pub with: Box<Fact>,
    /// When it really happened; absent: as the first entry said.
    pub happened: Option<crate::When>,
    /// Why it is corrected.
    pub why: String,
}

/// A kind or version that this program does not know: kept, shown, never dropped.
#[derive(Clone, PartialEq, Debug)]
pub struct Unknown {
    /// The kind as written.
    pub kind: String,
    /// The version as written.
    pub version: u16,
    /// The body as written.
    pub body: Box<str>,
    /// Why it could not be read, if the kind is known but the body is not as it should be.
    pub trouble: Option<String>,
}

/// Declares the fact enum and the kind name of each variant in one place.
macro_rules! facts {
    ($($variant:ident = $kind:literal,)*) => {
        /// Everything an entry can say.
        ///
        /// A correction's effect on the booth is that of its new fact at the old entry's place in time.
        #[derive(Clone, PartialEq, Debug)]
        #[non_exhaustive]
        pub enum Fact {
            $(#[doc = concat!("See [`", stringify!($variant), "`]; kind `", $kind, "`.")] $variant($variant),)*
            /// Kind `corrects`.
            Corrects(Corrects),
            /// A kind from a newer program.
            Unknown(Box<Unknown>),
        }

        impl Fact {
            /// Returns the kind as the wire spells it.
            pub fn kind(&self) -> &str {
                match self {
                    $(Self::$variant(_) => $kind,)*
                    Self::Corrects(_) => "corrects",
                    Self::Unknown(unknown) => &unknown.kind,
                }
            }

            /// Reads the body of a plain kind (all but `corrects`), version 1.
            ///
            /// Returns `None` if the kind is not one of them.
            pub(crate) fn read_plain(kind: &str, body: &str) -> Option<Result<Self, serde_json::Error>> {
                match kind {
                    $($kind => Some(serde_json::from_str(body).map(Self::$variant)),)*
                    _ => None,
                }
            }

            /// Returns the fields of a plain kind's body that it does not have, wherever they stand in it.
            ///
            /// The list is empty for a body that cannot be read at all: reading says why.
            pub(crate) fn not_read(kind: &str, body: &str) -> Vec<String> {
                let mut fields = Vec::new();
                let mut json = serde_json::Deserializer::from_str(body);
                let mut note = |path: serde_ignored::Path<'_>| fields.push(path.to_string());
                let read = match kind {
                    $($kind => serde_ignored::deserialize::<_, _, $variant>(&mut json, &mut note).map(drop),)*
                    _ => return fields,
                };
                if read.is_err() {
                    fields.clear();
                }
                fields
            }

            /// Writes the body of a plain kind; `None` for `corrects` and unknown kinds.
            pub(crate) fn write_plain(&self) -> Option<Result<String, serde_json::Error>> {
                match self {
                    $(Self::$variant(fact) => Some(serde_json::to_string(fact)),)*
                    Self::Corrects(_) | Self::Unknown(_) => None,
                }
            }
        }

        $(impl From<$variant> for Fact {
            fn from(fact: $variant) -> Self {
                Self::$variant(fact)
            }
        })*

        /// Every plain kind, in the order of the logbook's glossary.
        pub const KINDS: &[&str] = &[$($kind,)*];
    };
}

facts! {
    BoothNamed = "booth-named",
    PersonAdded = "person-added",
    PlaceAdded = "place-added",
    MachineAdded = "machine-added",
    MachineChanged = "machine-changed",
    MachineRetired = "machine-retired",
    Ran = "ran",
    MeterRead = "meter-read",
    MeterReplaced = "meter-replaced",
    PartFitted = "part-fitted",
    PartMoved = "part-moved",
    PartRemoved = "part-removed",
    CareDone = "care-done",
    CareDeferred = "care-deferred",
    Reading = "reading",
    ShowingPlanned = "showing-planned",
    ShowingHeld = "showing-held",
    ShowingCancelled = "showing-cancelled",
    Stoppage = "stoppage",
    FaultOpened = "fault-opened",
    FaultNoted = "fault-noted",
    FaultClosed = "fault-closed",
    FitnessSet = "fitness-set",
    MachineEvent = "machine-event",
    PrintAdded = "print-added",
    SetupKept = "setup-kept",
    StockCounted = "stock-counted",
    Noted = "noted",
    Withdraws = "withdraws",
}

impl Fact {
    /// Returns the entry that a correction or withdrawal names.
    pub fn settles(&self) -> Option<EntryId> {
        match self {
            Self::Corrects(corrects) => Some(corrects.entry),
            Self::Withdraws(withdraws) => Some(withdraws.entry),
            _ => None,
        }
    }

    /// Returns the machine that the fact is about, if it names one (a showing's machines are in its list).
    pub fn machine(&self) -> Option<&MachineId> {
        match self {
            Self::MachineAdded(fact) => Some(&fact.machine),
            Self::MachineChanged(fact) => Some(&fact.machine),
            Self::MachineRetired(fact) => Some(&fact.machine),
            Self::Ran(fact) => Some(&fact.machine),
            Self::MeterRead(fact) => Some(&fact.machine),
            Self::MeterReplaced(fact) => Some(&fact.machine),
            Self::PartFitted(fact) => Some(&fact.machine),
            Self::PartMoved(fact) => Some(&fact.machine),
            Self::CareDone(fact) => Some(&fact.machine),
            Self::CareDeferred(fact) => Some(&fact.machine),
            Self::Reading(fact) => Some(&fact.machine),
            Self::Stoppage(fact) => fact.machine.as_ref(),
            Self::FaultOpened(fact) => Some(&fact.machine),
            Self::FitnessSet(fact) => Some(&fact.machine),
            Self::MachineEvent(fact) => Some(&fact.machine),
            Self::Noted(Noted { about: Some(About::Machine(machine)), .. }) => Some(machine),
            Self::Corrects(fact) => fact.with.machine(),
            _ => None,
        }
    }
}
