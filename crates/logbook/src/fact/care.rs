//! Care and readings.

use super::is_default;
use crate::ids::{ItemId, MachineId, QuantityId, SlotId, TaskId};
use jiff::civil;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use units::Hours;

wire_words! {
    /// What a care step found.
    enum Outcome {
        /// Looked at and in order.
        Fine,
        /// Done: cleaned, oiled, changed, measured.
        Done,
        /// Done or looked at, and something wants attention.
        Attention,
        /// Could not tell; does not count as done.
        CannotTell,
        /// Left out; does not count as done.
        Skipped,
    }
}

wire_structs! {
    /// So many of a stock item were used.
    struct Used {
        /// The stock item.
        item: ItemId,
        /// How many.
        count: u32,
    }
    /// A care step was done (or looked at, or left out).
    struct CareDone {
        /// The machine.
        machine: MachineId,
        /// The care task.
        task: TaskId,
        /// The slot, for a task that is kept slot by slot.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// What was found.
        outcome: Outcome,
        /// In words.
        #[serde(default, skip_serializing_if = "is_default")]
        note: String,
        /// How long it took, in minutes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes: Option<f64>,
        /// Tasks that this one contains and that count as done with it.
        #[serde(default, skip_serializing_if = "is_default")]
        includes: Vec<TaskId>,
        /// Stock that was used.
        #[serde(default, skip_serializing_if = "is_default")]
        used: Vec<Used>,
        /// Photos, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "is_default")]
        photos: Vec<String>,
        /// The walk along the film path it belongs to.
        #[serde(default, skip_serializing_if = "is_default")]
        walk: String,
    }
    /// A care task is put off, for a reason and up to a limit. Never a safety task.
    struct CareDeferred {
        /// The machine.
        machine: MachineId,
        /// The task.
        task: TaskId,
        /// The slot, for a task that is kept slot by slot.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// Why.
        why: String,
        /// Until the machine has run so many hours in all.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until_hours_run: Option<Hours>,
        /// Until this day.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until_date: Option<civil::Date>,
    }
    /// A quantity was read.
    struct Reading {
        /// The machine.
        machine: MachineId,
        /// The quantity, as the machine type names it.
        quantity: QuantityId,
        /// The value, in `unit`.
        value: f64,
        /// The unit, as written.
        unit: String,
        /// Standard uncertainty in the same unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        uncertainty: Option<f64>,
        /// The slot it speaks of.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slot: Option<SlotId>,
        /// How it was measured.
        #[serde(default, skip_serializing_if = "is_default")]
        method: String,
        /// What matters to compare it (lens, lamp hours, volts).
        #[serde(default, skip_serializing_if = "is_default")]
        conditions: BTreeMap<String, String>,
        /// The recording or photo behind it, by SHA-256 in hex.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        recording: Option<String>,
        /// It is the machine's baseline from here on.
        #[serde(default, skip_serializing_if = "is_default")]
        baseline: bool,
    }
}
