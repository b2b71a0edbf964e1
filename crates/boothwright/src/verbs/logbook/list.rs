//! `logbook list`: entries, the latest first.

use crate::{
    cli::{self, Common},
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use jiff::civil::Date;
use logbook::{MachineId, PersonId, When, fact, wire};
use serde::Serialize;
use serde_json::value::RawValue;
use std::fmt::Write;
use store::{EntryStore, Filter, Stored};

/// List entries, the latest first
#[derive(Debug, Args)]
pub struct List {
    /// Words that must stand in it
    #[arg(default_value = "")]
    words: Vec<String>,
    /// Only entries about this machine
    #[arg(long)]
    machine: Option<String>,
    /// Only entries of these kinds
    #[arg(long = "kind")]
    kinds: Vec<String>,
    /// Only entries that this person wrote
    #[arg(long)]
    by: Option<String>,
    /// Only what happened on this day or later
    #[arg(long, value_name = "DATE", value_parser = cli::day)]
    from: Option<Date>,
    /// Only what happened before this day
    #[arg(long, value_name = "DATE", value_parser = cli::day)]
    until: Option<Date>,
    /// At most so many
    #[arg(long, default_value_t = 50)]
    limit: usize,
}

/// One entry of the list.
#[derive(Serialize)]
struct Listed {
    entry: String,
    device: String,
    number: u64,
    happened: String,
    recorded: String,
    by: String,
    kind: String,
    fields: Box<RawValue>,
}

impl List {
    /// Lists.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let day = |day: Option<Date>| {
            day.and_then(|day| day.to_zoned_datetime(desk.now.time_zone().clone()).ok())
                .map(|moment| When::from_zoned(&moment))
        };
        let filter = Filter {
            kinds: self.kinds.clone(),
            machine: desk.machine_if(self.machine.as_ref())?,
            by: self.by.as_ref().map(PersonId::new),
            from: day(self.from),
            until: day(self.until),
            words: self.words.join(" "),
        };
        let page = desk.store.page(None, self.limit, &filter)?;
        if page.entries.is_empty() {
            self.know_all_names(&desk)?;
        }
        let more = page.older_before.is_some();
        if common.json {
            return print::json(&page.entries.iter().map(listed).collect::<Vec<_>>());
        }
        print::text(&in_words(&page.entries, &desk, more))
    }
}

impl List {
    /// Refuses names that nothing goes by: nothing was found, and a slip of the pen should not look like an answer.
    fn know_all_names(&self, desk: &Desk) -> Outcome {
        for kind in &self.kinds {
            known("kind", kind, fact::KINDS.iter().copied().chain(["corrects"]))?;
        }
        if let Some(machine) = &self.machine {
            known("machine", machine, desk.booth.machines.keys().map(MachineId::as_str))?;
        }
        if let Some(by) = &self.by {
            known("by", by, desk.booth.people.keys().map(PersonId::as_str))?;
        }
        Ok(())
    }
}

fn known<'n>(option: &str, name: &str, names: impl Iterator<Item = &'n str>) -> Outcome {
    let mut names: Vec<_> = names.collect();
    if names.contains(&name) {
        return Ok(());
    }
    names.sort_unstable();
    let there = if names.is_empty() {
        "there are none yet".to_owned()
    } else {
        format!("known: {}", names.join(", "))
    };
    Err(Failure::new(Kind::Usage, format!("--{option} `{name}` is not known here")).hinted(there))
}

fn listed(stored: &Stored) -> Listed {
    let entry = &stored.chained.entry;
    let record = wire::encode(entry);
    // What an older or newer program wrote may not be JSON at all; it is shown as a text then.
    let fields = RawValue::from_string(record.body.to_string())
        .or_else(|_| serde_json::value::to_raw_value(&record.body))
        .expect("a text is always JSON");
    Listed {
        entry: entry.id.to_string(),
        device: entry.device.to_string(),
        number: stored.chained.number,
        happened: moment(entry.happened),
        recorded: moment(entry.recorded),
        by: entry.by.to_string(),
        kind: record.kind.to_string(),
        fields,
    }
}

fn moment(when: When) -> String {
    let offset = jiff::tz::Offset::from_seconds(when.offset_s).unwrap_or(jiff::tz::Offset::UTC);
    when.timestamp()
        .to_zoned_datetime(jiff::tz::TimeZone::fixed(offset))
        .strftime("%Y-%m-%dT%H:%M:%S%:z")
        .to_string()
}

fn in_words(entries: &[Stored], desk: &Desk, more: bool) -> String {
    let names = views::entry::Names { booth: &desk.booth, library: &desk.library };
    let mut text = String::new();
    for entry in entries.iter().map(|stored| &stored.chained.entry) {
        let happened = moment(entry.happened);
        let at = happened.get(..16).unwrap_or(&happened).replace('T', " ");
        let kind = views::entry::kind_name(entry.fact.kind());
        let by = desk.booth.people.get(&entry.by).map_or(entry.by.as_str(), |person| person.name.as_str());
        let _ = writeln!(text, "{at}  {kind}: {} ({by})", views::entry::in_words(&entry.fact, names));
    }
    if entries.is_empty() {
        text.push_str("No entry fits.\n");
    } else if more {
        text.push_str("There are older ones; --limit shows more.\n");
    }
    text
}
