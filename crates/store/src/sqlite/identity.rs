//! Which file a name stands for: a logbook that was moved away or replaced under the program is another one.

use std::path::Path;

/// What the system tells files apart by: the device and the number on it.
pub(super) type Identity = (u64, u64);

/// Returns which file stands under a name; none where there is none, or the system does not tell.
#[cfg(unix)]
pub(super) fn of(file: &Path) -> Option<Identity> {
    use std::os::unix::fs::MetadataExt;
    let there = std::fs::metadata(file).ok()?;
    Some((there.dev(), there.ino()))
}

/// Returns whether a file stands under the name; which one it is, this system does not tell.
#[cfg(not(unix))]
pub(super) fn of(file: &Path) -> Option<Identity> {
    file.exists().then_some((0, 0))
}
