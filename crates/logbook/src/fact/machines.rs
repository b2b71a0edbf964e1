//! Machines: how they come, run, count and go, and whether they may be used.

use super::is_default;
use crate::ids::{MachineId, PlaceId, PrintId, ShowingId, TypeId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use units::Hours;

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
    /// Why a meter's count jumped.
    enum MeterChange {
        /// Another meter was fitted.
        Replaced,
        /// The meter passed its last figure and began again.
        RolledOver,
        /// The meter was set back by hand.
        Reset,
    }
}

wire_structs! {
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
}
