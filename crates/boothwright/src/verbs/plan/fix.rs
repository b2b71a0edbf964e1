//! `plan pin` and `plan unpin`: what a person fixes, and lets loose again.

use crate::{
    cli::{Common, day},
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use jiff::civil::Date;
use logbook::{
    EntryId,
    booth::Pinned,
    fact::{PlanPinned, Withdraws},
};
use serde_json::json;

/// Fix a choice: a machine for a showing, or a day for care
#[derive(Debug, Args)]
pub struct Fix {
    /// The machine
    machine: String,
    /// The showing at which it runs
    #[arg(long, value_name = "SHOWING", conflicts_with_all = ["task", "on"], required_unless_present = "task")]
    showing: Option<String>,
    /// The care task
    #[arg(long, value_name = "TASK", requires = "on")]
    task: Option<String>,
    /// The day on which the care is done
    #[arg(long, value_name = "DATE", value_parser = day, requires = "task")]
    on: Option<Date>,
    /// Why
    #[arg(long, default_value = "")]
    note: String,
}

impl Fix {
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, true)?;
        let fact = PlanPinned {
            machine: desk.machine(&self.machine)?,
            showing: self.showing.as_deref().map(Into::into),
            task: self.task.as_deref().map(Into::into),
            on: self.on,
            note: self.note.clone(),
        };
        let entry = desk.write(desk.who(common)?, desk.when(), fact.into())?;
        if common.json {
            return print::json(&json!({ "entry": entry.id }));
        }
        print::text(&format!("Pinned; `boothwright plan unpin {}` lets the plan choose again.\n", entry.id))
    }
}

/// Let the plan choose again what was fixed
#[derive(Debug, Args)]
pub struct Loosen {
    /// The entry that pinned it (left out: says which pins there are)
    #[arg(value_parser = id_of_pin)]
    entry: Option<EntryId>,
    /// Why
    #[arg(long, default_value = "the plan may choose again")]
    why: String,
}

impl Loosen {
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, self.entry.is_some())?;
        let Some(entry) = self.entry else { return list(&desk, common.json) };
        if !desk.booth.pins.iter().any(|pin| pin.entry == entry) {
            return Err(Failure::new(Kind::Refused, format!("no pin of the plan stands under {entry}"))
                .hinted("`boothwright plan unpin` lists the pins"));
        }
        let fact = Withdraws { entry, why: self.why.clone() };
        let written = desk.write(desk.who(common)?, desk.when(), fact.into())?;
        if common.json {
            return print::json(&json!({ "entry": written.id, "unpinned": entry }));
        }
        print::text("Unpinned.\n")
    }
}

/// Reads the id of an entry, and says where one is found where that cannot be done.
fn id_of_pin(text: &str) -> Result<EntryId, String> {
    text.parse()
        .map_err(|_| "a pin goes by the id of its entry; `boothwright plan unpin` lists them".to_owned())
}

fn list(desk: &Desk, as_json: bool) -> Outcome {
    if as_json {
        let pins = desk.booth.pins.iter().map(|pin| match &pin.what {
            Pinned::At(showing) => json!({ "entry": pin.entry, "machine": pin.machine, "showing": showing }),
            Pinned::Care { task, on } => {
                json!({ "entry": pin.entry, "machine": pin.machine, "task": task, "on": on })
            }
        });
        return print::json(&pins.collect::<Vec<_>>());
    }
    if desk.booth.pins.is_empty() {
        return print::text("Nothing is pinned.\n");
    }
    let line = |pin: &logbook::booth::PlanPin| match &pin.what {
        Pinned::At(showing) => format!("{}  {} at {showing}\n", pin.entry, pin.machine),
        Pinned::Care { task, on } => format!("{}  {}: {task} on {on}\n", pin.entry, pin.machine),
    };
    print::text(&desk.booth.pins.iter().map(line).collect::<String>())
}
