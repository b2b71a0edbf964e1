//! Prints and their reels.

use super::is_default;
use crate::ids::PrintId;
use serde::{Deserialize, Serialize};
use units::Metres;

wire_structs! {
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
}
