//! The desk that a verb works at: the data folder, its logbook, the booth folded from it, and the machine types.

use crate::{
    cli::Common,
    clock,
    failure::{Failure, Kind},
    own_types, print,
};
use jiff::{
    ZonedDateTime,
    civil::{Date, DateTime},
    tz::TimeZone,
};
use logbook::{Booth, Draft, Entry, Fact, Folded, MachineId, PersonId, Precision, When};
use machine::Library;
use std::{
    borrow::Cow,
    fs,
    path::{Path, PathBuf},
    sync::Once,
};
use store::{EntryStore, Filter, Head, SqliteStore, StoreError};
use units::civil::Evening;

/// The largest type file that is read at all; the reader has its own, smaller limit with a better message.
pub const LARGEST_TYPE_FILE_BYTES: u64 = 64 << 20;

/// Returns the folder of the logbook.
pub fn data_folder(common: &Common) -> Result<PathBuf, Failure> {
    match &common.data {
        Some(folder) => Ok(folder.clone()),
        None => own_folder("boothwright"),
    }
}

/// Returns this user's data folder of a program.
pub fn own_folder(program: &str) -> Result<PathBuf, Failure> {
    directories::ProjectDirs::from("", "", program).map(|folders| folders.data_dir().to_owned()).ok_or_else(
        || {
            Failure::new(Kind::Data, "this user has no home folder in which to keep the logbook")
                .hinted("name a folder with --data DIR")
        },
    )
}

/// Reads a file of text, up to a size.
pub fn read_text(path: &Path, largest_bytes: u64) -> Result<String, Failure> {
    as_text(path, read_bytes(path, largest_bytes)?)
}

/// Takes the bytes of a file as text.
pub fn as_text(path: &Path, bytes: Vec<u8>) -> Result<String, Failure> {
    String::from_utf8(bytes).map_err(|error| {
        let before = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let line = before.split(|byte| *byte == b'\n').count();
        Failure::new(Kind::Refused, format!("{}:{}: this is not UTF-8 text", path.display(), line))
            .hinted("save the file as UTF-8 text")
    })
}

/// Reads a file, up to a size.
pub fn read_bytes(path: &Path, largest_bytes: u64) -> Result<Vec<u8>, Failure> {
    let size = fs::metadata(path).map_err(|error| cannot_read(path, error))?.len();
    if size > largest_bytes {
        return Err(Failure::new(
            Kind::Refused,
            format!("{} has {size} bytes; at most {largest_bytes} are read", path.display()),
        ));
    }
    read_whole(path)
}

/// Reads a file of any size.
pub fn read_whole(path: &Path) -> Result<Vec<u8>, Failure> {
    fs::read(path).map_err(|error| cannot_read(path, error))
}

/// A file that was named cannot be read: it is refused like one that is not what it should be.
pub fn cannot_read(path: &Path, why: impl std::fmt::Display) -> Failure {
    Failure::new(Kind::Refused, format!("cannot read {}: {why}", path.display()))
}

/// An open logbook with everything folded from it.
pub struct Desk {
    /// The logbook.
    pub store: SqliteStore,
    /// The booth.
    pub booth: Booth,
    /// The machine types.
    pub library: Library,
    /// The present moment, or the end of the day asked for.
    pub now: ZonedDateTime,
    /// How far the logbook went when the booth was folded.
    head: Head,
}

impl Desk {
    /// Opens the logbook and folds it; makes a new one only if told.
    pub fn open(common: &Common, make: bool) -> Result<Self, Failure> {
        let data = data_folder(common)?;
        let library = own_types::library(&data);
        let store = if make { SqliteStore::open(&data)? } else { to_read(&data)? };
        let head = store.head()?;
        let (booth, now) = Self::as_asked(common, &store)?;
        Ok(Self { store, booth, library, now, head })
    }

    fn as_asked(common: &Common, store: &SqliteStore) -> Result<(Booth, ZonedDateTime), Failure> {
        let Some(day) = common.as_of else {
            let Folded { booth, .. } = store.folded()?;
            let now = clock::now(&zone_of(&booth));
            return Ok((booth, now));
        };
        // The booth's zone may itself have been written later; the whole log's zone is the one people mean.
        let zone = zone_of(&store.folded()?.booth);
        let end =
            day.at(23, 59, 59, 0).to_zoned_datetime(zone).unwrap_or_else(|_| clock::now(&TimeZone::UTC));
        let Folded { booth, .. } = logbook::fold_as_of(store.entries()?, When::from_zoned(&end));
        Ok((booth, end))
    }

    /// Returns the date of the evening that it is, as the pages do: before the night ends it is still the day before.
    pub fn today(&self) -> Date {
        Evening::of(self.now.datetime(), self.booth.settings.night_ends).date()
    }

    /// Returns the moment as the logbook writes it.
    pub fn when(&self) -> When {
        When::from_zoned(&self.now)
    }

    /// Puts a clock time into the booth's zone, known to the minute.
    pub fn moment(&self, at: DateTime) -> Result<When, Failure> {
        Ok(When::from_zoned(&self.on_the_clock("--at", at)?).known_to(Precision::Minute))
    }

    /// Puts a clock time into the booth's zone, and says so if the clocks skip it or show it twice that night.
    pub fn on_the_clock(&self, field: &str, at: DateTime) -> Result<ZonedDateTime, Failure> {
        let zone = self.now.time_zone();
        let zoned = at.to_zoned_datetime(zone.clone()).map_err(|error| {
            Failure::new(Kind::Usage, format!("{field} {at} is not a time on the booth's clock: {error}"))
        })?;
        if zone.to_ambiguous_timestamp(at).is_ambiguous() {
            print::aside(&format!("boothwright: the clocks change then: {at} is taken as {zoned}"));
        }
        Ok(zoned)
    }

    /// Returns who writes: the person named, or the only one there is.
    pub fn who(&self, common: &Common) -> Result<PersonId, Failure> {
        if let Some(who) = &common.who {
            return Ok(PersonId::new(who));
        }
        let mut people = self.booth.people.keys();
        match (people.next(), people.next()) {
            (Some(only), None) => Ok(only.clone()),
            (None, _) => Ok(PersonId::new("keeper")),
            _ => {
                let known: Vec<_> = self.booth.people.keys().map(PersonId::as_str).collect();
                Err(Failure::new(Kind::Usage, "who writes this?")
                    .hinted(format!("name the person with --who: {}", known.join(", "))))
            }
        }
    }

    /// Returns the machine that is named by its short name, or by what people call it.
    pub fn machine(&self, asked: &str) -> Result<MachineId, Failure> {
        booth::machine_called(&self.booth, asked).map_err(Failure::not_known)
    }

    /// The same for an option that may be left out.
    pub fn machine_if(&self, asked: Option<&String>) -> Result<Option<MachineId>, Failure> {
        asked.map(|asked| self.machine(asked)).transpose()
    }

    /// Says so where this computer's clock stands well before the entry that was written last.
    pub fn doubt_the_clock(&self) -> Result<(), Failure> {
        static SAID: Once = Once::new();
        let now = When::from_zoned(&clock::now(self.now.time_zone()));
        let last = self.store.page(None, 1, &Filter::default())?.entries.pop();
        let Some(written) = last.map(|stored| stored.chained.entry.recorded) else { return Ok(()) };
        if written.unix_ms.saturating_sub(now.unix_ms) > CLOCK_BEHIND_MS {
            let (now, written) = (now.date(), written.date());
            SAID.call_once(|| {
                print::aside(&format!(
                    "boothwright: this computer's clock says {now}, but the last entry was written on {written}: is it right?"
                ));
            });
        }
        Ok(())
    }

    /// Passes a fact through the gate and writes it down.
    pub fn write(&self, by: PersonId, happened: When, fact: Fact) -> Result<Entry, Failure> {
        let draft = Draft {
            id: logbook::EntryId(uuid::Uuid::now_v7()),
            device: self.store.device(),
            happened,
            by,
            fact,
        };
        self.doubt_the_clock()?;
        let written = self.write_all(|booth| {
            store::check_named(&self.store, &draft.by, &draft.fact, booth)??;
            store::check_files(&self.store, &self.store.attachments(), &draft.fact)??;
            Ok(vec![booth::gate::accept(draft.clone(), booth, &self.library, self.when())?])
        })?;
        Ok(written.into_iter().next().expect("one entry was made, and all that were made are returned"))
    }

    /// Writes what is made of the booth as it stands, all or none; made again where anybody wrote since it was folded.
    pub fn write_all(
        &self,
        mut make: impl FnMut(&Booth) -> Result<Vec<Entry>, Failure>,
    ) -> Result<Vec<Entry>, Failure> {
        let mut at_hand = Some((self.head, Cow::Borrowed(&self.booth)));
        let stands = || {
            if let Some(stands) = at_hand.take() {
                return Ok(stands);
            }
            let (head, booth) = self.as_it_stands()?;
            Ok((head, Cow::Owned(booth)))
        };
        store::write_as_it_stands(&self.store, stands, |booth: &Cow<'_, Booth>| make(booth))
    }

    /// Folds the logbook again, with what was written since.
    pub fn refresh(&mut self) -> Result<(), Failure> {
        (self.head, self.booth) = self.as_it_stands()?;
        Ok(())
    }

    /// Returns the booth by all that is written, and how far that goes at least.
    fn as_it_stands(&self) -> Result<(Head, Booth), Failure> {
        let head = self.store.head()?;
        Ok((head, self.store.folded()?.booth))
    }
}

/// Opens the logbook that must be there; where the folder may not be written, only to read.
pub fn to_read(data: &Path) -> Result<SqliteStore, Failure> {
    SqliteStore::open_to_read(data).map_err(not_opened)
}

/// Opens the logbook that must be there, or a backup, to verify it.
pub fn to_verify(data: &Path) -> Result<SqliteStore, Failure> {
    SqliteStore::open_to_verify(data).map_err(not_opened)
}

/// Adds what to do next, where the error does not say all of it.
fn not_opened(error: StoreError) -> Failure {
    let hint = match &error {
        StoreError::NoLogbook { .. } => Some(
            "`boothwright serve` sets a booth up, `boothwright demo` shows an invented one, --data DIR names another folder",
        ),
        StoreError::Empty { .. } | StoreError::Damaged { .. } => {
            Some("`boothwright logbook restore FOLDER --replace` puts a backup back and sets this file aside")
        }
        StoreError::IsABackup { .. } => Some(
            "`boothwright logbook restore FOLDER --data DIR` restores it; `logbook verify` reads a backup as it is",
        ),
        _ => None,
    };
    let failure = Failure::from(error);
    match hint {
        Some(hint) => failure.hinted(hint),
        None => failure,
    }
}

/// A clock this much earlier than the last entry was hardly meant.
const CLOCK_BEHIND_MS: i64 = 24 * 60 * 60 * 1000;

/// Returns the booth's zone.
pub fn zone_of(booth: &Booth) -> TimeZone {
    if booth.settings.name.is_empty() {
        return clock::system_zone();
    }
    TimeZone::get(&booth.settings.zone).unwrap_or(TimeZone::UTC)
}
