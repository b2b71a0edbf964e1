//! Names of causes, symptoms, checks, remedies and groups of access, each a type of its own.

use serde::{Deserialize, Serialize};

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(String);

        impl $name {
            /// Takes a name.
            pub fn new(name: impl Into<String>) -> Self {
                Self(name.into())
            }

            /// The name as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl From<&str> for $name {
            fn from(name: &str) -> Self {
                Self(name.to_owned())
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

id! {
    /// Something that can be wrong.
    CauseId
}
id! {
    /// Something that is noticed.
    SymptomId
}
id! {
    /// A question or check.
    CheckId
}
id! {
    /// Something that may cure.
    RemedyId
}
id! {
    /// A place that is opened once for several checks and remedies, such as the lamphouse.
    AccessId
}
