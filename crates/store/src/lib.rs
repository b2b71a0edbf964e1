#![doc = include_str!("../README.md")]

mod attachments;
mod backup;
mod chain;
mod contract;
mod error;
mod judged;
mod ledger;
mod media;
mod memory;
mod references;
mod search;
mod snapshot;
mod sqlite;
mod verify;

pub use attachments::{Attachment, AttachmentFault, AttachmentId, Attachments, Draft, LARGEST_ATTACHMENT};
pub use backup::{BackupReport, Progress, RestoreReport, Stage, restore};
pub use chain::{DeviceHead, Hash, hex};
pub use contract::{EntryStore, Head, Merged, Page, Receipt, Stored, check_named, marks_of, settled_by};
pub use error::StoreError;
pub use judged::write_as_it_stands;
pub use media::MediaType;
pub use memory::MemoryStore;
pub use references::check_files;
pub use search::Filter;
pub use sqlite::SqliteStore;
pub use verify::{Finding, Trouble, Verification};
