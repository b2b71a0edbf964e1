//! `logbook add`: one entry through the gate.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::{Args, Subcommand, ValueEnum};
use jiff::civil::DateTime;
use logbook::{
    Entry, Fact, FaultId, MachineId, PartId, PlaceId, ShowingId,
    fact::{
        Assigned, CareDone, Ending, FaultOpened, FitnessSet, MachineAdded, MeterRead, Noted,
        Outcome as Found, PartFitted, Ran, Reading, Replaced, RunKind, ShowingPlanned, Stoppage,
    },
    ids::{QuantityId, SlotId, TaskId, TypeId},
    wire,
};
use serde::{Serialize, de::DeserializeOwned};
use units::{Hours, Seconds};

/// Write an entry
#[derive(Debug, Args)]
pub struct Add {
    /// When it happened, on the booth's clock (`2026-11-20T19:30`); left out: now
    #[arg(long, global = true, value_name = "MOMENT")]
    at: Option<DateTime>,
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// A machine enters the booth
    Machine {
        /// Its short name in entries (`turnstone`)
        machine: String,
        /// Its kind, as `types list` gives it
        kind: String,
        /// What people call it; left out: as its short name
        #[arg(long)]
        name: Option<String>,
        /// What its hour meter shows; left out: it has none
        #[arg(long)]
        meter: Option<String>,
        /// Hours that it had run before; left out: unknown
        #[arg(long)]
        hours_before: Option<String>,
    },
    /// A machine ran
    Ran {
        /// The machine
        machine: String,
        /// For how long (`1.9`, `1h 54m`)
        hours: String,
        /// What for (showing, rehearsal, test, rewind)
        #[arg(long = "for", default_value = "showing")]
        run: Run,
        /// The showing it belongs to
        #[arg(long)]
        showing: Option<String>,
        /// The hours are inferred, not read
        #[arg(long)]
        estimated: bool,
    },
    /// The hour meter was read
    Meter {
        /// The machine
        machine: String,
        /// What it shows, in hours
        reading: String,
    },
    /// A care task was done
    Care {
        /// The machine
        machine: String,
        /// The task, as `types show` names it
        task: String,
        /// The slot, for a task that is kept slot by slot
        #[arg(long)]
        slot: Option<String>,
        /// What was found (fine, done, attention, cannot-tell, skipped)
        #[arg(long, default_value = "done")]
        found: String,
        /// In words
        #[arg(long, default_value = "")]
        note: String,
    },
    /// A part went in
    Fitted {
        /// The machine
        machine: String,
        /// The slot, as `types show` names it
        slot: String,
        /// The part, by a name of its own
        part: String,
        /// Hours it had run already (0: new); left out: unknown
        #[arg(long)]
        age: Option<String>,
        /// Why the part before it came out (failed, worn, planned, borrowed, damaged, unknown)
        #[arg(long)]
        replaces: Option<String>,
        /// Its batch
        #[arg(long, default_value = "")]
        lot: String,
    },
    /// A quantity was read
    Reading {
        /// The machine
        machine: String,
        /// The quantity, as `types show` names it
        quantity: String,
        /// The value
        #[arg(allow_negative_numbers = true)]
        value: f64,
        /// Its unit
        unit: String,
    },
    /// A fault is open
    Fault {
        /// The machine
        machine: String,
        /// What was seen, heard or smelt
        words: String,
        /// Where, if that is known
        #[arg(long)]
        slot: Option<String>,
    },
    /// May the machine be used?
    Fitness {
        /// The machine
        machine: String,
        /// fit, limited, unfit or danger; only a technician lifts danger
        fitness: String,
        /// Why, and within which limits
        why: String,
    },
    /// A showing stands in the diary
    Showing {
        /// The showing, by a short name of its own
        showing: String,
        /// When it starts, on the booth's clock
        starts: DateTime,
        /// How long it runs (`1h 34m`, `94 min`)
        length: String,
        /// What is shown
        title: String,
        /// On which machines
        #[arg(long = "machine")]
        machines: Vec<String>,
        /// Where
        #[arg(long)]
        place: Option<String>,
    },
    /// The screen went dark or the sound silent
    Stoppage {
        /// For how long (`45 s`, `1:30`)
        dark: String,
        /// What happened
        words: String,
        /// The machine
        #[arg(long)]
        machine: Option<String>,
        /// The showing
        #[arg(long)]
        showing: Option<String>,
    },
    /// A note in plain words
    Note {
        /// The words
        words: String,
        /// The machine it is about
        #[arg(long)]
        machine: Option<String>,
    },
    /// Any kind, by the JSON of its fields (docs/logbook-format.md lists them)
    Entry {
        /// The kind (`machine-event`)
        kind: String,
        /// Its fields as JSON
        fields: String,
    },
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Run {
    Showing,
    Rehearsal,
    Test,
    Rewind,
}

impl Add {
    /// Writes it.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let by = desk.who(common)?;
        let fact = self.what.fact(&desk)?;
        let happened = match self.at {
            Some(at) => desk.moment(at)?,
            None => desk.when(),
        };
        let entry = desk.write(by.clone(), happened, fact)?;
        super::super::show::follow_entry(common, &desk, &by, &entry)?;
        said(common.json, &entry)
    }
}

/// Says what was written.
pub fn said(as_json: bool, entry: &Entry) -> Outcome {
    /// What writing answers.
    #[derive(Serialize)]
    struct Written {
        entry: String,
        kind: String,
        happened: String,
    }
    let happened = entry.happened.local().to_string();
    let written = Written { entry: entry.id.to_string(), kind: entry.fact.kind().to_owned(), happened };
    print::either(as_json, &written, |written| {
        let at = entry.happened.local().strftime("%Y-%m-%d %H:%M");
        format!("Written: {} at {at}, entry {}.\n", written.kind, written.entry)
    })
}

/// Reads a word of a closed list as the wire spells it.
pub fn word<T: DeserializeOwned>(field: &str, text: &str) -> Result<T, Failure> {
    serde_json::from_value(serde_json::Value::String(text.to_owned()))
        .map_err(|error| Failure::new(Kind::Usage, format!("{field} `{text}`: {error}")))
}

fn hours(field: &str, text: &str) -> Result<Hours, Failure> {
    text.parse().map_err(|error| Failure::new(Kind::Usage, format!("{field}: {error}")))
}

fn seconds(field: &str, text: &str) -> Result<Seconds, Failure> {
    text.parse().map_err(|error| Failure::new(Kind::Usage, format!("{field}: {error}")))
}

impl What {
    fn fact(&self, desk: &Desk) -> Result<Fact, Failure> {
        Ok(match self {
            Self::Machine { machine, kind, name, meter, hours_before } => MachineAdded {
                machine: MachineId::new(machine),
                name: name.clone().unwrap_or_else(|| machine.clone()),
                machine_type: TypeId::new(kind),
                serial: String::new(),
                place: None,
                meter_hours: meter.as_ref().map(|text| hours("--meter", text)).transpose()?,
                hours_before: hours_before.as_ref().map(|text| hours("--hours-before", text)).transpose()?,
                hours_estimated: false,
                made_year: None,
                settings: std::collections::BTreeMap::default(),
            }
            .into(),
            Self::Ran { machine, hours: text, run, showing, estimated } => Ran {
                machine: desk.machine(machine)?,
                run: (*run).into(),
                hours: hours("the hours", text)?,
                lit_hours: None,
                strikes: None,
                showing: showing.as_ref().map(ShowingId::new),
                print: None,
                passes: None,
                estimated: *estimated,
            }
            .into(),
            Self::Meter { machine, reading } => {
                MeterRead { machine: desk.machine(machine)?, reading_hours: hours("the reading", reading)? }
                    .into()
            }
            Self::Care { machine, task, slot, found, note } => CareDone {
                machine: desk.machine(machine)?,
                task: TaskId::new(task),
                slot: slot.as_ref().map(SlotId::new),
                outcome: word::<Found>("--found", found)?,
                note: note.clone(),
                minutes: None,
                includes: Vec::new(),
                used: Vec::new(),
                photos: Vec::new(),
                walk: String::new(),
            }
            .into(),
            Self::Fitted { machine, slot, part, age, replaces, lot } => {
                fitted(desk.machine(machine)?, slot, part, age.as_deref(), replaces.as_deref(), lot)?
            }
            Self::Reading { machine, quantity, value, unit } => Reading {
                machine: desk.machine(machine)?,
                quantity: QuantityId::new(quantity),
                value: *value,
                unit: unit.clone(),
                uncertainty: None,
                slot: None,
                method: String::new(),
                conditions: std::collections::BTreeMap::default(),
                recording: None,
                baseline: false,
            }
            .into(),
            Self::Fault { machine, words, slot } => FaultOpened {
                fault: FaultId::new(format!("f-{}", uuid::Uuid::now_v7().simple())),
                machine: desk.machine(machine)?,
                slot: slot.as_ref().map(SlotId::new),
                words: words.clone(),
                showing: None,
                symptoms: Vec::new(),
                print_sort: None,
                print: None,
                show_running: false,
            }
            .into(),
            Self::Fitness { machine, fitness, why } => FitnessSet {
                machine: desk.machine(machine)?,
                fitness: word("the fitness", fitness)?,
                why: why.clone(),
            }
            .into(),
            Self::Showing { showing, starts, length, title, machines, place } => ShowingPlanned {
                showing: ShowingId::new(showing),
                title: title.clone(),
                starts: desk.on_the_clock("the start", *starts)?,
                length_minutes: seconds("the length", length)?.seconds() / 60.0,
                place: place.as_ref().map(PlaceId::new),
                machines: machines
                    .iter()
                    .map(|machine| Ok(Assigned { machine: desk.machine(machine)?, running_hours: None }))
                    .collect::<Result<_, Failure>>()?,
                prints: Vec::new(),
                note: String::new(),
            }
            .into(),
            Self::Stoppage { dark, words, machine, showing } => Stoppage {
                showing: showing.as_ref().map(ShowingId::new),
                machine: desk.machine_if(machine.as_ref())?,
                dark_seconds: seconds("how long", dark)?,
                what: words.clone(),
            }
            .into(),
            Self::Note { words, machine } => Noted {
                about: desk.machine_if(machine.as_ref())?.map(logbook::fact::About::Machine),
                words: words.clone(),
                photos: Vec::new(),
            }
            .into(),
            Self::Entry { kind, fields } => any(kind, fields)?,
        })
    }
}

fn fitted(
    machine: MachineId,
    slot: &str,
    part: &str,
    age: Option<&str>,
    replaces: Option<&str>,
    lot: &str,
) -> Result<Fact, Failure> {
    let why = replaces.map(|why| word::<Ending>("--replaces", why)).transpose()?;
    Ok(PartFitted {
        part: PartId::new(part),
        slot: SlotId::new(slot),
        machine,
        age_hours: age.map(|age| hours("--age", age)).transpose()?,
        age_band_hours: None,
        age_days: None,
        strikes: None,
        lot: lot.to_owned(),
        replaces: why.map(|why| Replaced { part: None, why }),
        item: None,
        note: String::new(),
    }
    .into())
}

/// Reads any kind by its JSON; a kind or field that is not known is refused here, though the store would keep it.
fn any(kind: &str, fields: &str) -> Result<Fact, Failure> {
    let unread = wire::fields_not_read(kind, fields);
    if !unread.is_empty() {
        return Err(Failure::new(Kind::Refused, format!("`{kind}` has no field `{}`", unread.join("`, `")))
            .hinted("docs/logbook-format.md lists the fields of every kind"));
    }
    match wire::decode_fact(kind, wire::VERSION, fields) {
        Fact::Unknown(unknown) => match unknown.trouble {
            Some(trouble) => Err(Failure::new(Kind::Refused, format!("the fields of `{kind}`: {trouble}"))
                .hinted("docs/logbook-format.md lists the fields of every kind")),
            None => Err(Failure::new(Kind::Refused, format!("there is no kind `{kind}`"))
                .hinted(format!("the kinds are: {}", logbook::fact::KINDS.join(", ")))),
        },
        fact => Ok(fact),
    }
}

impl From<Run> for RunKind {
    fn from(run: Run) -> Self {
        match run {
            Run::Showing => Self::Showing,
            Run::Rehearsal => Self::Rehearsal,
            Run::Test => Self::Test,
            Run::Rewind => Self::Rewind,
        }
    }
}
