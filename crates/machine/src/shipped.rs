//! The types that come with the program.

use crate::library::Library;
use crate::read::read;
use std::sync::OnceLock;

/// File name and text of each shipped type; a booth can copy one and change it.
pub const SHIPPED: &[(&str, &str)] = &[
    ("portable-16mm-halogen.toml", include_str!("../../../types/portable-16mm-halogen.toml")),
    ("booth-35mm-xenon.toml", include_str!("../../../types/booth-35mm-xenon.toml")),
    ("super8-sound.toml", include_str!("../../../types/super8-sound.toml")),
];

/// The shipped types, read once in the life of a program.
pub fn shipped() -> Library {
    static READ: OnceLock<Library> = OnceLock::new();
    READ.get_or_init(|| {
        let types = SHIPPED.iter().map(|(file, text)| match read(file, text) {
            Ok(kind) => kind,
            // The crate's tests read every shipped file, so a broken one is never built into a release.
            Err(report) => panic!("a shipped machine type is broken: {report}"),
        });
        Library::of(types)
    })
    .clone()
}
