//! The fault desk: what a machine type knows of its troubles, as a model that can be reckoned with.

mod model;

pub use model::{SINCE_IT_RAN_WELL, after_show, show_running, trouble_model};
