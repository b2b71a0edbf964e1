//! Showings and what stopped them.

use super::is_default;
use crate::ids::{MachineId, PlaceId, PrintId, ShowingId};
use jiff::ZonedDateTime;
use serde::{Deserialize, Serialize};
use units::{Hours, Seconds};

wire_structs! {
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
}
