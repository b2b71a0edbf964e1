//! Power: load, cable, voltage drop, lamp, fuse, circuits, generator.

mod answer;
mod conductor;
mod lamp;

pub use answer::{CAUTION, Circuits, FuseAdvice, Generator, PowerAnswer, SizeRow};
pub use conductor::{Conductor, conductors, loop_resistance, voltage_drop};
pub use lamp::{LampEffect, lamp_effect};

pub(crate) use answer::answer;

crate::screen::words! {
    /// How the lamp is fed.
    LampSupply {
        /// From the mains, through a transformer or straight: its voltage follows the mains.
        Transformer = "transformer", "transformer or straight from the mains";
        /// From an electronic supply or rectifier that holds its output.
        Regulated = "regulated", "regulated supply";
    }
}
