//! The wire.
