//! The booth at a moment: what a page that asks several questions at once works out only once.

use crate::{
    answer::Answer,
    due::Desk,
    lived::KeptBeliefs,
    outlook::{self, Outlook},
    register::Register,
    stores::{self, Packing},
    tonight::{self, Tonight},
};
use jiff::ZonedDateTime;
use logbook::Booth;
use machine::Library;
use std::sync::Arc;

/// The booth at a moment: its coming showings, and what is read off from them for several questions.
pub struct Present<'a> {
    desk: Desk<'a>,
    library: &'a Library,
}

impl<'a> Present<'a> {
    /// Looks at the diary.
    pub fn new(booth: &'a Booth, library: &'a Library, now: &ZonedDateTime) -> Self {
        Self::with(booth, Arc::default(), library, now)
    }

    /// The same, with what was found in this booth before.
    pub fn with(
        booth: &'a Booth,
        register: Arc<Register>,
        library: &'a Library,
        now: &ZonedDateTime,
    ) -> Self {
        Self { desk: Desk::with(booth, register, library, now), library }
    }

    /// As [`crate::tonight()`].
    pub fn tonight(&self) -> Answer<Tonight<'a>> {
        tonight::of(&self.desk, self.library)
    }

    /// As [`crate::outlooks_tonight`].
    pub fn outlooks(&self, kept: &'a KeptBeliefs, minutes: Option<f64>) -> Vec<Answer<Outlook<'a>>> {
        outlook::of_evening(&self.desk, kept, minutes)
    }

    /// As [`crate::stores::case_of_next_evening`].
    pub fn case(&self) -> Vec<Packing<'a>> {
        stores::case_of(&self.desk)
    }
}
