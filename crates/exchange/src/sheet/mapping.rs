//! What the columns of a sheet mean.

use jiff::civil;
use logbook::{
    MachineId, PersonId, PlaceId,
    fact::MeterChange,
    ids::{QuantityId, SlotId, TaskId, TypeId},
};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Declares a closed list of words that mapping files spell in kebab-case.
macro_rules! words {
    ($($(#[$doc:meta])* enum $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal,)* })*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum $name { $($(#[$vdoc])* $variant,)* }

        impl $name {
            /// All of them, in the order of the documentation.
            pub const ALL: &[Self] = &[$(Self::$variant,)*];

            /// Returns the word that mapping files use.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)* }
            }

            /// Reads the word that mapping files use.
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|one| one.word() == word)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    )*};
}

words! {
    /// What a column holds.
    enum Field {
        /// The day, perhaps with the time of day.
        Date = "date",
        /// When a showing or other work began.
        Start = "start",
        /// When it ended.
        End = "end",
        /// How long a showing lasted.
        Length = "length",
        /// Hours run.
        Hours = "hours",
        /// Hours for which the lamp was lit.
        Lit = "lit",
        /// What the hour meter showed.
        Meter = "meter",
        /// The machine.
        Machine = "machine",
        /// What was shown.
        Title = "title",
        /// Where.
        Place = "place",
        /// Who did it.
        Person = "person",
        /// Work done, in words.
        Work = "work",
        /// The part that was changed, or a tick that one was.
        Part = "part",
        /// Why the old part came out.
        Why = "why",
        /// How many came.
        Audience = "audience",
        /// Anything else.
        Note = "note",
        /// What the row is.
        What = "what",
    }
    /// What a row is.
    enum Sort {
        /// A showing.
        Showing = "showing",
        /// Hours run in showings that are not told one by one.
        Run = "run",
        /// A rehearsal.
        Rehearsal = "rehearsal",
        /// A test or warm-up.
        Test = "test",
        /// Rewinding on the machine.
        Rewind = "rewind",
        /// A reading of the hour meter.
        Meter = "meter",
        /// Work done.
        Care = "care",
        /// A part changed.
        Part = "part",
        /// Something measured.
        Reading = "reading",
        /// A note.
        Note = "note",
    }
    /// Which way round a date in figures is written.
    enum DateOrder {
        /// 25/12/2026.
        DayMonthYear = "day-month-year",
        /// 12/25/2026.
        MonthDayYear = "month-day-year",
        /// 26/12/25.
        YearMonthDay = "year-month-day",
    }
    /// What a bare number in the column of lengths counts.
    enum LengthUnit {
        /// Minutes.
        Minutes = "minutes",
        /// Hours.
        Hours = "hours",
    }
    /// The mark before decimals.
    enum Decimal {
        /// 1.5
        Point = ".",
        /// 1,5
        Comma = ",",
    }
}

/// What words about work stand for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Task {
    /// The care task of the machine's type.
    pub task: TaskId,
    /// The slot, for a task that is kept slot by slot.
    pub slot: Option<SlotId>,
}

/// A column of measured values.
#[derive(Clone, PartialEq, Debug)]
pub struct ReadingColumn {
    /// The quantity, as the machine's type names it.
    pub quantity: QuantityId,
    /// The unit of the values.
    pub unit: String,
    /// Values outside this band are asked about.
    pub plausible: Option<(f64, f64)>,
}

/// A machine that the sheet names and the booth is to gain.
#[derive(Clone, PartialEq, Debug)]
pub struct NewMachine {
    /// Its id in the booth.
    pub id: MachineId,
    /// What people call it.
    pub name: String,
    /// Its kind.
    pub machine_type: TypeId,
    /// Serial or asset number.
    pub serial: String,
    /// Hours run before the first row, if known.
    pub hours_before: Option<units::Hours>,
}

/// What the columns and words of a sheet mean. See `docs/import.md` for the file that says it.
#[derive(Clone, PartialEq, Debug, Default)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of its own in the file, by name")]
pub struct Mapping {
    /// Which column holds what, by its heading.
    pub columns: BTreeMap<Field, String>,
    /// What every row is; absent: told by the column `what` or by what is filled in.
    pub what: Option<Sort>,
    /// Which way round dates in figures are; absent: told by the column itself.
    pub date_order: Option<DateOrder>,
    /// The mark before decimals; absent: told by the numbers themselves.
    pub decimal: Option<Decimal>,
    /// What bare numbers in the column of lengths count; absent: told by their size.
    pub length_unit: Option<LengthUnit>,
    /// IANA time zone; absent: the booth's.
    pub zone: Option<String>,
    /// The machine of every row that names none.
    pub machine: Option<String>,
    /// When showings start whose row gives no time.
    pub usual_start: Option<civil::Time>,
    /// An empty date means that of the row above.
    pub repeat_date: bool,
    /// Showings after today go into the diary; otherwise they are errors.
    pub plan_future: bool,
    /// People that the booth does not have may be added.
    pub add_people: bool,
    /// Places that the booth does not have may be added.
    pub add_places: bool,
    /// Machines by what the sheet calls them.
    pub machines: BTreeMap<String, MachineId>,
    /// People by what the sheet calls them.
    pub people: BTreeMap<String, PersonId>,
    /// Places by what the sheet calls them.
    pub places: BTreeMap<String, PlaceId>,
    /// What a row is by the words in the column `what`.
    pub sorts: BTreeMap<String, Sort>,
    /// Care tasks by the words in the column `work`.
    pub tasks: BTreeMap<String, Task>,
    /// Slots by the words in the column `part`.
    pub parts: BTreeMap<String, SlotId>,
    /// Columns of measured values, by heading.
    pub readings: BTreeMap<String, ReadingColumn>,
    /// Machines that may be added, by what the sheet calls them.
    pub add_machines: BTreeMap<String, NewMachine>,
    /// Why a meter went backwards, by machine and day (`turnstone 2026-03-04`).
    pub meter_changes: BTreeMap<String, MeterChange>,
}
