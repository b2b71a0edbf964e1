//! The booth itself: its customs, people and places, and how halls were set up.

use super::is_default;
use crate::ids::{PersonId, PlaceId};
use jiff::civil;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

wire_words! {
    /// What a person may decide.
    enum Role {
        /// Keeps the machines and runs the show.
        Keeper,
        /// Runs the show from the keeper's card.
        Operator,
        /// Qualified to open, set and release machines.
        Technician,
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
}
