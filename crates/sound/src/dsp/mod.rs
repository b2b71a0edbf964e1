//! The signal kernels that the measurements share.

pub(crate) mod biquad;
pub(crate) mod fir;
pub(crate) mod spectrum;
pub(crate) mod statistics;
