//! Closed lists of words that a type file may use, each word with its meaning.

/// Makes an enum whose variants are spelt in exactly one way in files, in JSON and on pages' class names.
macro_rules! vocabulary {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $word)] $variant,)+
        }

        impl $name {
            /// Every word of the list, in the order of the reference.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The word as files and JSON spell it.
            pub const fn as_str(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.as_str())
            }
        }

        impl $crate::vocabulary::Vocabulary for $name {
            const ALL: &'static [Self] = Self::ALL;

            fn word(self) -> &'static str {
                self.as_str()
            }
        }
    };
}
pub(crate) use vocabulary;

/// What the reader needs to know of a closed list of words.
pub(crate) trait Vocabulary: Copy + 'static {
    /// Every value, in the order in which a message lists them.
    const ALL: &'static [Self];

    /// The word for this value.
    fn word(self) -> &'static str;
}
