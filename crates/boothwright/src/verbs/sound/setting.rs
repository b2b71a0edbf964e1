//! What is known of the machine and the film before a recording is measured.

use crate::{
    cli::Common,
    desk::{self, Desk},
    failure::{Failure, Kind},
};
use booth::{DueItem, sound::Bench};
use clap::{Args, ValueEnum};
use logbook::{MachineId, booth::Machine};
use machine::{Library, MachineType, Mains};
use units::{FramesPerSecond, Hertz};

/// Options that say which machine and which film.
#[derive(Debug, Args)]
pub struct About {
    /// The machine, by its name in the logbook: lines get the names of its parts, readings its limits
    #[arg(long, conflicts_with = "kind")]
    pub machine: Option<String>,
    /// The kind of machine, as `types list` gives it, where there is no logbook
    #[arg(long = "type", value_name = "TYPE")]
    kind: Option<String>,
    /// Speed at which the film carries its tone, in frames a second
    #[arg(long, default_value_t = 24.0)]
    fps: f64,
    /// Mains that feed the machine, in Hz; left out: as the kind is built
    #[arg(long)]
    mains: Option<MainsHz>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum MainsHz {
    #[value(name = "50")]
    Fifty,
    #[value(name = "60")]
    Sixty,
}

/// The options with the logbook and the machine types behind them.
pub struct Setting {
    /// The logbook, if a machine was named.
    pub desk: Option<Desk>,
    /// The machine.
    pub machine: Option<MachineId>,
    library: Library,
    kind: Option<String>,
    speed: FramesPerSecond,
    mains: Option<Mains>,
}

/// Speeds at which film runs with sound: from slow silent speed to twice sound speed.
const SPEEDS: std::ops::RangeInclusive<f64> = 8.0..=50.0;

impl About {
    /// Opens the logbook if a machine is named, and finds its kind.
    pub fn open(&self, common: &Common) -> Result<Setting, Failure> {
        if !SPEEDS.contains(&self.fps) {
            let (low, high) = SPEEDS.into_inner();
            return Err(Failure::new(Kind::Usage, format!("--fps {} is no speed of film", self.fps))
                .hinted(format!("give {low:.0} to {high:.0} frames a second; sound films run at 24")));
        }
        let desk = self.machine.as_ref().map(|_| Desk::open(common, false)).transpose()?;
        let (library, kind) = match (&desk, &self.machine, &self.kind) {
            (Some(desk), Some(machine), _) => (desk.library.clone(), Some(kind_of(desk, machine)?)),
            (_, _, Some(kind)) => {
                (crate::own_types::library(&desk::data_folder(common)?), Some(kind.clone()))
            }
            _ => (Library::default(), None),
        };
        if let Some(kind) = kind.as_ref().filter(|kind| library.get(kind).is_none()) {
            let known: Vec<&str> = library.iter().map(|kind| kind.id.as_str()).collect();
            return Err(Failure::new(Kind::Usage, format!("there is no kind of machine `{kind}`"))
                .hinted(format!("known are: {}", known.join(", "))));
        }
        let mains = self.mains.map(|mains| match mains {
            MainsHz::Fifty => Mains::Fifty,
            MainsHz::Sixty => Mains::Sixty,
        });
        let named = desk.as_ref().zip(self.machine.as_ref());
        let machine = named.map(|(desk, machine)| desk.machine(machine)).transpose()?;
        Ok(Setting { desk, machine, library, kind, speed: FramesPerSecond::new(self.fps), mains })
    }
}

fn kind_of(desk: &Desk, machine: &str) -> Result<String, Failure> {
    let sheet =
        booth::machine_sheet(&desk.booth, &desk.library, machine, &desk.now).map_err(Failure::not_known)?;
    Ok(sheet.value.machine.machine_type.to_string())
}

impl Setting {
    /// The kind of machine, if one is known.
    pub fn kind(&self) -> Option<&MachineType> {
        self.library.get(self.kind.as_deref()?)
    }

    /// What the logbook knows of the machine.
    pub fn about(&self) -> Option<&Machine> {
        self.desk.as_ref()?.booth.machines.get(self.machine.as_ref()?)
    }

    /// What care of the machine is due.
    pub fn due(&self) -> Vec<DueItem<'_>> {
        let Some((desk, machine)) = self.desk.as_ref().zip(self.machine.as_ref()) else {
            return Vec::new();
        };
        let due = booth::due_for(&desk.booth, &desk.library, machine.as_str(), &desk.now);
        due.map_or_else(|_| Vec::new(), |answer| answer.value)
    }

    /// The bench, with a tone if one is named.
    pub fn bench(&self, tone: Option<f64>) -> Bench<'_> {
        Bench { kind: self.kind(), speed: self.speed, tone: tone.map(Hertz::new), mains: self.mains }
    }
}
