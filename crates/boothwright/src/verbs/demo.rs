//! `demo`: an invented booth, made and served; real data is left alone.

use super::{
    recordings,
    serve::{self, Listen},
};
use crate::{
    cli::Common,
    clock, desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use jiff::{civil::Date, tz::TimeZone};
use std::{
    fs,
    path::{Path, PathBuf},
};
use store::{EntryStore, SqliteStore};

/// The seed of the demo that everybody sees.
const SEED: u64 = 16;
/// The file that marks a folder as a demo, which may be thrown away, and says of which day.
const MARK: &str = "this-is-an-invented-demo.txt";

/// Make an invented booth and serve it; your own data is left alone
#[derive(Debug, Args)]
pub struct Demo {
    /// Make it anew, even if today's demo is there
    #[arg(long)]
    fresh: bool,
    /// Make it and stop
    #[arg(long)]
    no_serve: bool,
    /// Another invented booth
    #[arg(long, default_value_t = SEED)]
    seed: u64,
    #[command(flatten)]
    listen: Listen,
}

impl Demo {
    /// Makes and serves it.
    pub fn run(&self, common: &Common) -> Outcome {
        let data = match &common.data {
            Some(data) => data.clone(),
            None => desk::own_folder("boothwright-demo")?,
        };
        let zone = TimeZone::get(demo::ZONE).map_err(|error| Failure::new(Kind::World, error))?;
        let today = clock::now(&zone).date();
        let mark = format!("invented for {today} with seed {}\n", self.seed);
        if self.fresh || fs::read_to_string(data.join(MARK)).ok().as_deref() != Some(mark.as_str()) {
            clear(&data)?;
            let entries = make(&data, today, self.seed, &mark)?;
            print::text(&format!("Invented {entries} entries in {}.\n", data.display()))?;
        }
        if self.no_serve {
            return Ok(());
        }
        serve::serve(&data, &self.listen, "The invented booth")
    }
}

/// Removes an older demo; anything else is never touched.
fn clear(data: &Path) -> Outcome {
    let cannot = |error: std::io::Error| {
        Failure::new(Kind::Data, format!("cannot clear the old demo in {}: {error}", data.display()))
    };
    let empty = match fs::read_dir(data) {
        Ok(mut files) => files.next().is_none(),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => true,
        Err(error) => return Err(cannot(error)),
    };
    if empty {
        return Ok(());
    }
    if !data.join(MARK).exists() {
        return Err(Failure::new(Kind::Data, format!("{} is not empty and no demo", data.display())).hinted(
            "the demo is made in a folder of its own; name an empty one with --data, or leave it out",
        ));
    }
    fs::remove_dir_all(data).map_err(cannot)
}

/// Makes the demo beside its place and moves it there when it is whole, so that half a demo is never served.
fn make(data: &Path, today: Date, seed: u64, mark: &str) -> Result<usize, Failure> {
    let cannot =
        |error: std::io::Error| Failure::new(Kind::Data, format!("cannot make {}: {error}", data.display()));
    let aside: PathBuf = data.with_extension("unfinished");
    if aside.join(MARK).exists() {
        fs::remove_dir_all(&aside).map_err(cannot)?;
    }
    fs::create_dir_all(&aside).map_err(cannot)?;
    fs::write(aside.join(MARK), mark).map_err(cannot)?;
    let log = demo::booth(today, seed);
    let mut entries = log.entries;
    {
        let store = SqliteStore::open(&aside)?;
        entries.extend(recordings::keep(&log.recordings, &store.attachments())?);
        entries.sort_by_key(|entry| entry.recorded.unix_ms);
        store.append(&entries)?;
    }
    if data.exists() {
        // It is empty: `clear` saw to that.
        fs::remove_dir(data).map_err(cannot)?;
    }
    fs::rename(&aside, data).map_err(cannot)?;
    Ok(entries.len())
}
