//! The gate.
