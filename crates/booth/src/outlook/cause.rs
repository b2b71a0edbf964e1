//! What may stop a showing, and what can be done: the names behind the sums.

use crate::words;
use logbook::{Booth, FaultId, ItemId, MachineId, PartId, PrintId, booth::ReadingRecord};
use machine::{CareTask, MachineType, PriorLife, SlotId, unit_as_read};
use units::Probability;

/// How old a part is, in words' reach: on its clock.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Age {
    /// So old.
    Known(f64),
    /// Between these.
    Within(f64, f64),
}

/// What a chance rests on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Rests {
    /// Failures that were seen in machines of the type.
    pub failures: u64,
    /// Lives that were watched.
    pub lives: u64,
    /// Share of the doubt about the life that the booth's own record removed.
    pub from_data: f64,
}

impl Rests {
    /// True where hardly anything but the type file speaks.
    pub fn on_prior(self) -> bool {
        self.from_data < 0.1
    }
}

/// What may stop a showing.
#[derive(Clone, Debug)]
pub enum Cause<'a> {
    /// A part comes to its end.
    Part {
        /// The machine.
        machine: &'a MachineId,
        /// Its type.
        kind: &'a MachineType,
        /// The life that ends.
        life: &'a PriorLife,
        /// The part, if the logbook knows one there.
        part: Option<&'a PartId>,
        /// How old it will be when the showing starts.
        age: Age,
        /// Spares of it in stock; none: it takes none.
        spares: Option<i64>,
        /// What the chance rests on.
        rests: Rests,
    },
    /// A fault that stands open.
    Fault {
        /// The machine.
        machine: &'a MachineId,
        /// The fault.
        fault: &'a FaultId,
        /// What is likeliest behind it, by the fault desk, with its chance.
        likeliest: Option<(String, Probability)>,
        /// Showings of the machine since it was opened.
        showings: usize,
        /// Stoppages of the machine in them.
        stoppages: usize,
    },
    /// A reading that may be past the limit beyond which no film is to run.
    Reading {
        /// The machine.
        machine: &'a MachineId,
        /// What is read, and at which part.
        name: String,
        /// The last reading.
        last: &'a ReadingRecord,
        /// The chance that it is past the limit by the end of the showing.
        past: Probability,
        /// The parts that it tells of.
        parts: Vec<&'a SlotId>,
        /// Showings of the machine since it is past it.
        showings: usize,
        /// Stoppages of the machine in them.
        stoppages: usize,
    },
    /// Something that the last work may have left loose.
    LooseWork {
        /// The machine.
        machine: &'a MachineId,
        /// Parts that were fitted or moved since it last ran.
        parts: usize,
        /// Parts that were fitted or moved in all the record.
        worked: usize,
    },
    /// Places on a reel that may part or lose a loop.
    Reel {
        /// The print.
        print: &'a PrintId,
        /// Its title.
        title: &'a str,
        /// The reel.
        reel: u32,
        /// How many places.
        places: usize,
    },
    /// A machine that may not be used is assigned.
    NotForUse {
        /// The machine.
        machine: &'a MachineId,
    },
    /// What no part explains: a misthreaded loop, a splice, a cable kicked out.
    Unexplained {
        /// Stoppages of this sort in the record.
        seen: usize,
        /// Showings in the record.
        showings: usize,
    },
}

impl<'a> Cause<'a> {
    /// The machine, where it is one machine's.
    pub fn machine(&self) -> Option<&'a MachineId> {
        match self {
            Self::Part { machine, .. }
            | Self::Fault { machine, .. }
            | Self::Reading { machine, .. }
            | Self::LooseWork { machine, .. }
            | Self::NotForUse { machine } => Some(machine),
            Self::Reel { .. } | Self::Unexplained { .. } => None,
        }
    }

    /// What a part's chance rests on.
    pub fn rests(&self) -> Option<Rests> {
        match self {
            Self::Part { rests, .. } => Some(*rests),
            _ => None,
        }
    }

    /// The cause as people say it.
    pub fn words(&self, booth: &Booth) -> String {
        match self {
            Self::Part { machine, kind, life, .. } => {
                format!("{} of {}", thing(kind, life), booth.machine_name(machine))
            }
            Self::Fault { machine, fault, .. } => {
                format!("an open fault of {} (\"{}\")", booth.machine_name(machine), in_short(booth, fault))
            }
            Self::Reading { machine, name, past, .. } => {
                let (name, of) = (in_a_sentence(name), booth.machine_name(machine));
                let how = if past.value() > 0.5 { "past" } else { "that may pass" };
                format!("a reading of {of} (\"{name}\") {how} the limit for any film")
            }
            Self::LooseWork { machine, parts, .. } => {
                let parts = words::many(*parts, "part");
                format!(
                    "work on {} that nobody has tried yet ({parts} fitted or moved)",
                    booth.machine_name(machine)
                )
            }
            Self::Reel { title, reel, places, .. } => {
                let places = words::many(*places, "doubtful place");
                format!("{places} on {title}, reel {reel}")
            }
            Self::NotForUse { machine } => format!("{}, which may not be used", booth.machine_name(machine)),
            Self::Unexplained { .. } => "whatever no part explains (threading, splices, cables)".to_owned(),
        }
    }
}

/// A part as people say it, with the piece of it that has this life.
pub(crate) fn thing(kind: &MachineType, life: &PriorLife) -> String {
    let part = kind.part(life.slot.as_str()).map_or(life.slot.as_str(), |part| part.name.as_str());
    let lower = in_a_sentence(part);
    let several = kind.lives_of(life.slot.as_str()).filter(|other| !other.alternative).count() > 1;
    if several && !life.variant.is_empty() { format!("{lower} ({})", life.variant) } else { lower }
}

/// A fault in the words in which it was first put.
fn in_short<'b>(booth: &'b Booth, fault: &FaultId) -> &'b str {
    booth.faults.get(fault).map_or("", |fault| words::first_sentence(&fault.words))
}

/// What is no stoppage, or stands before all weighing.
#[derive(Clone, Debug)]
pub enum Aside<'a> {
    /// The machine must not run before a fault is settled.
    MustNotRun {
        /// The machine.
        machine: &'a MachineId,
        /// The fault.
        fault: &'a FaultId,
        /// Why.
        why: String,
    },
    /// A reading of the machine is past the limit beyond which no film is to run.
    PastLimit {
        /// The machine.
        machine: &'a MachineId,
        /// What is read, and at which part.
        name: String,
        /// The reading.
        last: &'a ReadingRecord,
    },
    /// A reel that must not run on the machines of the showing.
    Barred {
        /// The print.
        print: &'a PrintId,
        /// Its title.
        title: &'a str,
        /// The reel.
        reel: u32,
    },
    /// An open fault that is seen or heard, for which nobody would stop.
    Spoils {
        /// The machine.
        machine: &'a MachineId,
        /// The fault.
        fault: &'a FaultId,
        /// What was noticed, in the words of the type.
        noticed: Vec<String>,
    },
}

impl Aside<'_> {
    /// It must be settled before the showing.
    pub const fn is_grave(&self) -> bool {
        !matches!(self, Self::Spoils { .. })
    }

    /// In a sentence.
    pub fn words(&self, booth: &Booth) -> String {
        match self {
            Self::MustNotRun { machine, fault, why } => {
                let name = booth.machine_name(machine);
                format!(
                    "{name} must not run before its fault is settled (\"{}\"). {why}",
                    in_short(booth, fault)
                )
            }
            Self::PastLimit { machine, name, last } => {
                let (name, of) = (in_a_sentence(name), booth.machine_name(machine));
                let (value, unit) = (last.value, unit_as_read(&last.unit));
                let day = last.at.date().strftime("%-d %b");
                format!(
                    "{of}: {name}, was read as {value} {unit} on {day}. No film is to run on it so: read it again, or have it put right."
                )
            }
            Self::Barred { title, reel, .. } => format!(
                "{title}, reel {reel}, must not run on the machines of this showing; what is said here is without it."
            ),
            Self::Spoils { machine, fault, noticed } => {
                let name = booth.machine_name(machine);
                let noticed =
                    if noticed.is_empty() { in_short(booth, fault).to_owned() } else { noticed.join("; ") };
                format!("{name} has an open fault for which one does not stop: {}.", noticed.to_lowercase())
            }
        }
    }

    /// The word that JSON uses.
    pub const fn as_str(&self) -> &'static str {
        match self {
            Self::MustNotRun { .. } => "must-not-run",
            Self::PastLimit { .. } => "past-limit",
            Self::Barred { .. } => "barred-reel",
            Self::Spoils { .. } => "spoils",
        }
    }
}

/// What is fitted anew, as the box of spares calls it.
fn spare(kind: &MachineType, life: &PriorLife) -> String {
    let boxed = kind.spares_for(life.slot.as_str()).next().map(|spare| spare.name.as_str());
    // What follows a comma tells one box from another; in a sentence the first words do.
    boxed.map_or_else(|| thing(kind, life), |name| in_a_sentence(name.split(',').next().unwrap_or(name)))
}

/// "Sound drum" inside a sentence, but "DC supply" as it is.
fn in_a_sentence(name: &str) -> String {
    let mut letters = name.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().collect::<String>() + letters.as_str()
        }
        _ => name.to_owned(),
    }
}

/// What can be done before the doors open.
#[derive(Clone, Debug)]
pub enum Doing<'a> {
    /// Fit a new part.
    Change {
        /// The machine.
        machine: &'a MachineId,
        /// Its type.
        kind: &'a MachineType,
        /// The life that begins anew.
        life: &'a PriorLife,
        /// The item of the stores that is fitted.
        item: Option<&'a ItemId>,
    },
    /// Run once without an audience: the lamp is struck with time to change it, and what the last work left loose shows.
    Rehearse {
        /// The machine.
        machine: &'a MachineId,
        /// Something was worked on since it last ran.
        after_work: bool,
    },
    /// Mend the doubtful places of a reel.
    MendReel {
        /// The print.
        print: &'a PrintId,
        /// Its title.
        title: &'a str,
        /// The reel.
        reel: u32,
    },
    /// Work an open fault through at the fault desk.
    WorkFault {
        /// The machine.
        machine: &'a MachineId,
        /// The fault.
        fault: &'a FaultId,
    },
    /// Fetch a spare from a machine that stays at home.
    Fetch {
        /// The machine for which it is.
        machine: &'a MachineId,
        /// The machine from which it comes.
        from: &'a MachineId,
        /// The type of the first.
        kind: &'a MachineType,
        /// The life it covers.
        life: &'a PriorLife,
    },
    /// Do care that is overdue.
    Care {
        /// The machine.
        machine: &'a MachineId,
        /// The task.
        task: &'a CareTask,
    },
    /// Set up and thread another machine.
    Standby {
        /// The machine that stands by.
        machine: &'a MachineId,
        /// For whom.
        of: &'a MachineId,
    },
}

impl Doing<'_> {
    /// The deed as an instruction.
    pub fn words(&self, booth: &Booth) -> String {
        match self {
            Self::Change { machine, kind, life, .. } => {
                format!("Fit a new {} in {}", spare(kind, life), booth.machine_name(machine))
            }
            Self::Rehearse { machine, after_work: false } => {
                format!("Strike the lamp of {} once in a rehearsal", booth.machine_name(machine))
            }
            Self::Rehearse { machine, after_work: true } => {
                let name = booth.machine_name(machine);
                format!("Run {name} once in a rehearsal, with film, light and sound")
            }
            Self::MendReel { title, reel, .. } => format!("Mend the doubtful places of {title}, reel {reel}"),
            Self::WorkFault { machine, fault } => {
                let name = booth.machine_name(machine);
                format!("Go on with the fault of {name} (\"{}\")", in_short(booth, fault))
            }
            Self::Fetch { machine, from, kind, life } => format!(
                "Take the {} out of {} and lay it ready for {}",
                spare(kind, life),
                booth.machine_name(from),
                booth.machine_name(machine)
            ),
            Self::Care { machine, task } => format!("{} ({})", task.name, booth.machine_name(machine)),
            Self::Standby { machine, of } => {
                format!("Set up {} threaded beside {}", booth.machine_name(machine), booth.machine_name(of))
            }
        }
    }

    /// The word that JSON uses.
    pub const fn as_str(&self) -> &'static str {
        match self {
            Self::Change { .. } => "change",
            Self::Rehearse { .. } => "rehearse",
            Self::MendReel { .. } => "mend-reel",
            Self::WorkFault { .. } => "work-fault",
            Self::Fetch { .. } => "fetch",
            Self::Care { .. } => "care",
            Self::Standby { .. } => "standby",
        }
    }

    /// The machine at which it is done, where it is done at one.
    pub const fn machine(&self) -> Option<&MachineId> {
        match self {
            Self::Change { machine, .. }
            | Self::Rehearse { machine, .. }
            | Self::WorkFault { machine, .. }
            | Self::Fetch { machine, .. }
            | Self::Care { machine, .. }
            | Self::Standby { machine, .. } => Some(machine),
            Self::MendReel { .. } => None,
        }
    }
}
