//! The names by which a type file calls things: short, typed, cheap to copy.

use serde::{Deserialize, Serialize};
use smol_str::SmolStr;
use std::fmt;

/// The longest id that a type file may use, in bytes; labels, spreadsheets and logbooks carry ids.
pub const LONGEST_ID: usize = 64;

macro_rules! text_ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(SmolStr);

        impl $name {
            /// Names a thing; the text is kept as it is.
            pub fn new(text: impl AsRef<str>) -> Self {
                Self(SmolStr::new(text))
            }

            /// Returns the id as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self::new(text)
            }
        }

        impl std::borrow::Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }

        impl AsRef<str> for $name {
            fn as_ref(&self) -> &str {
                &self.0
            }
        }

        impl std::ops::Deref for $name {
            type Target = str;
            fn deref(&self) -> &str {
                &self.0
            }
        }
    )*};
}

text_ids! {
    /// A kind of machine (`portable-16mm-halogen`); the stem of its file.
    TypeId;
    /// The place in a machine where a part sits (`exciter-lamp`).
    SlotId;
    /// A care task (`gate-brush`).
    TaskId;
    /// A quantity that is read (`flutter-weighted`).
    QuantityId;
    /// Something that turns and can leave a line in the sound (`drum`).
    RotatingId;
    /// Something used up in care (`light-oil`).
    ConsumableId;
    /// Something kept in stock to be fitted (`exciter-lamp-prefocus`).
    SpareId;
    /// Something that may be noticed (`no-sound`).
    SymptomId;
    /// Something that may be wrong (`exciter-lamp-dead`).
    CauseId;
    /// A circumstance with which a cause goes (`one-print`).
    ConditionId;
    /// A check that tells causes apart (`card-in-sound-beam`).
    CheckId;
    /// Something that cures a cause (`change-exciter-lamp`).
    RemedyId;
    /// Something that must stand open (`lamphouse`).
    AccessId;
    /// What is done at once in an emergency (`film-break`).
    DrillId;
    /// A short mark that stands for where a figure comes from (`cp`).
    SourceTag;
}

/// Says whether a text may be an id: small letters, digits and single hyphens, a letter or digit at each end.
pub fn is_well_formed(text: &str) -> bool {
    !text.is_empty()
        && text.len() <= LONGEST_ID
        && text.split('-').all(|word| {
            !word.is_empty() && word.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit())
        })
}
