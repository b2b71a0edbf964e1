#![doc = include_str!("../README.md")]

mod care;
mod id;
mod library;
mod limit;
mod machine_type;
mod part;
mod read;
mod report;
mod shipped;
mod stock;
mod trouble;
mod turning;
mod vocabulary;

pub use care::{CareKind, CareTask, Clock, Every, MachineState, OnceAfterFitting, Trigger};
pub use id::{
    AccessId, CauseId, CheckId, ConditionId, ConsumableId, DrillId, LONGEST_ID, QuantityId, RemedyId,
    RotatingId, SlotId, SourceTag, SpareId, SymptomId, TaskId, TypeId, is_well_formed,
};
pub use library::{BrokenType, Library};
pub use limit::{Basis, Better, Bounds, Judgement, ReadingLimit, ReadingUnit, Repeats, unit_as_read};
pub use machine_type::{
    Features, Intermittent, LampKind, MachineType, MotorKind, RoomCurve, Source, SourceKind, TeethEdges,
    Threading,
};
pub use part::{
    Caution, DRAWING_HEIGHT, DRAWING_WIDTH, Danger, DrawnPlace, FilmSide, Hand, Part, PartGroup, Shape,
    WhenBad, Who,
};
pub use read::{LARGEST_FILE, MOST_LINES, read, read_bytes};
pub use report::{Finding, MOST_SHOWN, Report};
pub use shipped::{SHIPPED, shipped};
pub use stock::{Consumable, Cost, Lead, LifeClock, Loss, PriorLife, Spare, Stops};
pub use trouble::{
    Access, Answers, Cause, CauseChance, CauseKind, Check, Condition, ConditionChance, Drill, During,
    ForPrint, Noticed, Preparing, PrintSort, Refer, ReferTo, Remedy, RemedyKind, RunOn, StopSign, Swap,
    Symptom, Trouble,
};
pub use turning::{BallBearing, Mains, Rate, RotatingPart, Running, SpoolEnd, Turning};
