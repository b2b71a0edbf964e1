//! The files that a fact names: photos and recordings, by the SHA-256 of their bytes in hex.

use super::Fact;

impl Fact {
    /// Returns the photos that it names; those of what a correction says.
    pub fn photos(&self) -> &[String] {
        match self {
            Self::CareDone(done) => &done.photos,
            Self::FaultNoted(noted) => &noted.photos,
            Self::Noted(noted) => &noted.photos,
            Self::PrintInspected(inspected) => &inspected.photos,
            Self::Corrects(corrects) => corrects.with.photos(),
            _ => &[],
        }
    }

    /// Returns the list to which photos are added; none where it takes no photos.
    pub const fn photos_mut(&mut self) -> Option<&mut Vec<String>> {
        match self {
            Self::CareDone(done) => Some(&mut done.photos),
            Self::FaultNoted(noted) => Some(&mut noted.photos),
            Self::Noted(noted) => Some(&mut noted.photos),
            Self::PrintInspected(inspected) => Some(&mut inspected.photos),
            _ => None,
        }
    }

    /// Returns all files that it names: its photos, or its recording.
    pub fn files(&self) -> &[String] {
        match self {
            Self::Reading(reading) => reading.recording.as_slice(),
            Self::Corrects(corrects) => corrects.with.files(),
            _ => self.photos(),
        }
    }
}
