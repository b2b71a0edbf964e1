//! What the demo knows and its logbook does not: for tests, and for judging what the tool recovers.

use jiff::civil::Date;
use logbook::fact::Ending;
use logbook::{EntryId, FaultId, MachineId, PartId, ShowingId, When};
use units::{Hours, Seconds};

/// The hidden side of the invented booth.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// Showings that were held.
    pub showings_held: usize,
    /// Hours that all machines ran in showings, rehearsals and tests.
    pub running_hours: Hours,
    /// How often the screen went dark.
    pub stoppages: usize,
    /// For how long in all.
    pub dark: Seconds,
    /// The projection lamps with the lives that chance gave them.
    pub lamps: Vec<LampTruth>,
    /// What Dunlin's pitted holder leaves of a lamp's life.
    pub holder_factor: f64,
    /// When the holder was renewed.
    pub holder_renewed: Date,
    /// Trends behind the readings.
    pub trends: Vec<Trend>,
    /// How much each exciter lamp loses in an hour, in decibels.
    pub exciter_db_per_hour: f64,
    /// Since when Turnstone's drum bearing is marked: it crossed with the flywheel unlocked.
    pub crossing: Date,
    /// From when Dunlin's claw loses the loop more often.
    pub claw_change: Date,
    /// First and last day on which Phalarope is kept out of use for danger.
    pub quarantine: (Date, Date),
    /// First and last day on which Phalarope waits for belts.
    pub idle: (Date, Date),
    /// The entries that are wrong on purpose.
    pub dirt: Dirt,
    /// The fault that is open now.
    pub open_fault: FaultId,
    /// Tonight's showing.
    pub tonight: ShowingId,
    /// What the lamps of tonight's machines have burnt.
    pub lamp_hours_now: Vec<(MachineId, Hours)>,
}

/// One projection lamp.
#[derive(Debug, Clone, PartialEq)]
pub struct LampTruth {
    /// The machine it burnt in.
    pub machine: MachineId,
    /// The lamp.
    pub part: PartId,
    /// At how many hours it fails, as chance gave it.
    pub hidden_life: Hours,
    /// Hours it burnt until it came out, and why it did; absent: it is in.
    pub ended: Option<(Hours, Ending)>,
    /// It went dark during a showing.
    pub on_screen: bool,
}

/// A trend: one level until a day, a straight way to another level until a second day.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// The machine.
    pub machine: MachineId,
    /// The quantity, as its type names it.
    pub quantity: String,
    /// The day on which it begins to move.
    pub from: Date,
    /// The day on which it is at its second level.
    pub to: Date,
    /// The first level.
    pub first: f64,
    /// The second level.
    pub last: f64,
    /// Standard deviation of a reading.
    pub sd: f64,
    /// The level after it was mended on the second day.
    pub mended: Option<f64>,
}

/// The entries that are wrong on purpose.
#[derive(Debug, Clone, PartialEq)]
pub struct Dirt {
    /// Runs that were written twice; these are the second ones.
    pub duplicates: Vec<EntryId>,
    /// Entries whose day and month changed places, with the right moment.
    pub transposed: Vec<(EntryId, When)>,
    /// A reading in foot-lamberts in the field for candelas per square metre, with the right value.
    pub wrong_unit: (EntryId, f64),
    /// A run on the wrong machine, and its correction.
    pub wrong_machine: (EntryId, EntryId),
    /// A run that never was, and its withdrawal.
    pub withdrawn: (EntryId, EntryId),
}

impl Dirt {
    /// Everything that an acceptance gate may rightly stumble over.
    pub fn all(&self) -> Vec<EntryId> {
        let mut all = self.duplicates.clone();
        all.extend(self.transposed.iter().map(|(entry, _)| *entry));
        all.extend([self.wrong_unit.0, self.wrong_machine.0, self.withdrawn.0]);
        all
    }
}
