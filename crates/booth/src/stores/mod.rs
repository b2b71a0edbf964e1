//! The stores: what there is of each spare and consumable and where, what is on order, and what to order now.

mod named;

pub use named::{ItemKind, Named, named_by_types};
