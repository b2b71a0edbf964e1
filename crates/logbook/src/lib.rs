#![doc = include_str!("../README.md")]

pub mod accept;
pub mod booth;
pub mod entry;
pub mod fact;
pub mod fold;
pub mod ids;
mod lookups;
pub mod rules;
pub mod unseen;
pub mod when;
pub mod wire;

pub use accept::{Draft, Refusal, accept, must_be_known, must_keep_its_machine};
pub use booth::Booth;
pub use entry::{Chained, Entry};
pub use fact::Fact;
pub use fold::{Folded, fold, fold_as_of};
pub use ids::{
    CarePointId, DeviceId, EntryId, FaultId, ItemId, MachineId, PartId, PersonId, PlaceId, PrintId,
    ProgrammeId, ShowingId,
};
pub use when::{Precision, When};

/// Names the code that folds: other sources here or in `units`, or other versions of the libraries that the booth is
/// made of or written with, and it is another key. `build.rs` makes it.
pub const CODE_KEY: &str = env!("LOGBOOK_CODE_KEY");
