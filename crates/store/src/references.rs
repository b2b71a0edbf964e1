//! Which attachments an entry names.

use crate::AttachmentId;
use logbook::{Fact, fact::Corrects};

/// Returns the attachments that a fact names; names that are not SHA-256 in hex are left out.
pub(crate) fn attachments_of(fact: &Fact) -> Vec<AttachmentId> {
    names_of(fact).iter().filter_map(|name| name.parse().ok()).collect()
}

fn names_of(fact: &Fact) -> &[String] {
    match fact {
        Fact::CareDone(done) => &done.photos,
        Fact::FaultNoted(noted) => &noted.photos,
        Fact::Noted(noted) => &noted.photos,
        Fact::Reading(reading) => reading.recording.as_slice(),
        Fact::Corrects(Corrects { with, .. }) => names_of(with),
        _ => &[],
    }
}
