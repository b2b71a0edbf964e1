//! `logbook begin`: a booth from nothing, as the first page does it.

use crate::{
    cli::Common,
    clock,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use logbook::{
    PersonId,
    booth::Settings,
    fact::{BoothNamed, PersonAdded, Role},
};
use serde::Serialize;

/// Begin a booth's logbook: its name, its time zone, its keeper
#[derive(Debug, Args)]
pub struct Begin {
    /// What the booth is called
    name: String,
    /// The keeper's name
    keeper: String,
    /// IANA time zone (`Europe/Lisbon`); left out: this computer's
    #[arg(long)]
    zone: Option<String>,
}

/// What beginning answers.
#[derive(Serialize)]
struct Begun {
    booth: String,
    zone: String,
    person: String,
    data: String,
}

impl Begin {
    /// Writes the first two entries.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, true)?;
        if !desk.booth.settings.name.is_empty() {
            let what = format!("this logbook has begun: it is that of {}", desk.booth.settings.name);
            return Err(Failure::new(Kind::Refused, what).hinted("--data DIR names another folder"));
        }
        let zone = match &self.zone {
            Some(zone) => zone.clone(),
            None => clock::system_zone().iana_name().unwrap_or("UTC").to_owned(),
        };
        let person = PersonId::new(short_name(&self.keeper));
        let now = desk.when();
        let Settings { night_ends, units, .. } = Settings::default();
        let named =
            BoothNamed { name: self.name.clone(), zone: zone.clone(), night_ends, units, invented: false };
        desk.write(person.clone(), now, named.into())?;
        desk.refresh()?;
        let keeper = PersonAdded { person: person.clone(), name: self.keeper.clone(), role: Role::Keeper };
        desk.write(person.clone(), now, keeper.into())?;
        let data = desk.store.folder().display().to_string();
        let begun = Begun { booth: self.name.clone(), zone, person: person.to_string(), data };
        print::either(common.json, &begun, |begun| {
            format!(
                "The logbook of {} has begun in {}; {} keeps it.\nNow add a machine: boothwright logbook add machine NAME TYPE\n",
                begun.booth, begun.data, begun.person
            )
        })
    }
}

/// Makes a short name of a full one: its first word in small letters.
fn short_name(full: &str) -> String {
    let first = full.split_whitespace().next().unwrap_or_default();
    let short: String = first.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
    if short.is_empty() { "keeper".to_owned() } else { short }
}
