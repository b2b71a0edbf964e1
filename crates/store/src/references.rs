//! Which attachments an entry names, and that they are here before it is written.

use crate::{AttachmentId, Attachments, EntryStore, StoreError};
use logbook::{Fact, Refusal};

/// Returns the attachments that a fact names; names that are not SHA-256 in hex are left out.
pub(crate) fn attachments_of(fact: &Fact) -> Vec<AttachmentId> {
    fact.files().iter().filter_map(|name| name.parse().ok()).collect()
}

/// Checks what the gate, which holds no files, cannot: that the photos and the recording that a fact names are here. What
/// the entry that it corrects names already may be missing, as in a logbook that came without its files. The inner error
/// is a refusal as the gate's.
pub fn check_files(
    store: &dyn EntryStore,
    attachments: &Attachments,
    fact: &Fact,
) -> Result<Result<(), Refusal>, StoreError> {
    let mut missing = Vec::new();
    for name in fact.files() {
        let Ok(id) = name.parse::<AttachmentId>() else { continue };
        match attachments.open(id) {
            Ok(_) => {}
            Err(StoreError::NoAttachment { .. }) => missing.push(name),
            // That it cannot be read does not say that it is not there.
            Err(other) => return Err(other),
        }
    }
    if missing.is_empty() {
        return Ok(Ok(()));
    }
    let corrected = fact.settles().map(|entry| store.get(entry)).transpose()?.flatten();
    let named_before = corrected.as_ref().map_or(&[][..], |stored| stored.chained.entry.fact.files());
    let Some(name) = missing.into_iter().find(|name| !named_before.contains(name)) else { return Ok(Ok(())) };
    let field = if fact.photos().is_empty() { "recording" } else { "photos" };
    Ok(Err(Refusal {
        field,
        what: format!("there is no file {name} in this logbook"),
        would_be_right: "keep the photo or recording first; its name is the SHA-256 of its bytes".to_owned(),
    }))
}
