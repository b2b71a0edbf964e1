//! What all requests share: the logbook, the booth that it adds up to, the machine types, and the clock.

use crate::{pages::sound_bench::Found, recent::Recent};
use booth::{KeptBeliefs, Register};
use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};
use logbook::{Booth, DeviceId, Entry, EntryId};
use machine::Library;
use std::sync::{Arc, Mutex, PoisonError};
use store::{Attachments, EntryStore, Head, StoreError};
use uuid::Uuid;

/// Tells the time. The program that serves gives it; tests give a clock that stands still.
pub type Clock = Arc<dyn Fn() -> Timestamp + Send + Sync>;

/// What the server works with.
pub struct Desk {
    store: Arc<dyn EntryStore>,
    attachments: Attachments,
    library: Arc<Library>,
    clock: Clock,
    hosts: Vec<String>,
    folded: Mutex<Arc<Folded>>,
    measured: Recent<Found>,
    beliefs: KeptBeliefs,
}

/// The booth as it stood when the logbook went so far.
#[derive(Debug, Default)]
pub struct Folded {
    head: Head,
    /// The booth.
    pub booth: Booth,
    /// What was found in it by looking through all of it.
    pub register: Arc<Register>,
}

impl Desk {
    /// Sets up the desk over a logbook; the booth is folded at the first request.
    pub fn new(
        store: Arc<dyn EntryStore>,
        attachments: Attachments,
        library: Arc<Library>,
        clock: Clock,
    ) -> Self {
        Self {
            store,
            attachments,
            library,
            clock,
            hosts: Vec::new(),
            folded: Mutex::default(),
            measured: Recent::default(),
            beliefs: KeptBeliefs::default(),
        }
    }

    /// Also accepts requests that name one of these hosts, beside the loopback names.
    ///
    /// A request that names any other is refused, so that a foreign page cannot reach this server under a name of its
    /// own (DNS rebinding).
    #[must_use]
    pub fn with_hosts(mut self, hosts: impl IntoIterator<Item = String>) -> Self {
        self.hosts.extend(hosts);
        self
    }

    /// Returns the further hosts under which this server may be reached.
    pub fn hosts(&self) -> &[String] {
        &self.hosts
    }

    /// Returns the machine types.
    pub fn library(&self) -> &Library {
        &self.library
    }

    /// Returns the device as which this server writes.
    pub fn device(&self) -> DeviceId {
        self.store.device()
    }

    /// Returns the logbook itself, for searching.
    pub fn store(&self) -> &dyn EntryStore {
        &*self.store
    }

    /// Returns where photos and recordings are kept.
    pub fn attachments(&self) -> &Attachments {
        &self.attachments
    }

    /// Returns what recordings said of late.
    pub(crate) fn measured(&self) -> &Recent<Found> {
        &self.measured
    }

    /// Returns the beliefs about parts that were worked out so far.
    pub(crate) fn beliefs(&self) -> &KeptBeliefs {
        &self.beliefs
    }

    /// Returns the time on the booth's clock.
    pub fn now(&self, booth: &Booth) -> ZonedDateTime {
        let zone = TimeZone::get(&booth.settings.zone).unwrap_or(TimeZone::UTC);
        (self.clock)().to_zoned_datetime(zone)
    }

    /// Makes a new id for an entry: a UUIDv7 whose time is the desk's clock.
    pub fn new_id(&self) -> EntryId {
        let now = (self.clock)();
        let seconds = u64::try_from(now.as_second()).unwrap_or(0);
        let nanoseconds = u32::try_from(now.subsec_nanosecond()).unwrap_or(0);
        EntryId(Uuid::new_v7(uuid::Timestamp::from_unix(uuid::NoContext, seconds, nanoseconds)))
    }

    /// Returns the booth as it stands, folded anew if anybody wrote since: this server or another program.
    pub fn folded(&self) -> Result<Arc<Folded>, StoreError> {
        let mut folded = self.folded.lock().unwrap_or_else(PoisonError::into_inner);
        let head = self.store.head()?;
        if folded.head != head || head.count == 0 {
            let booth = self.store.folded()?.booth;
            *folded = Arc::new(Folded { head, booth, register: Arc::default() });
        }
        Ok(Arc::clone(&folded))
    }

    /// Writes what is made of the booth as it stands, all or none; when this returns it is on disk.
    ///
    /// Where anybody wrote meanwhile, a thread of this server or another program, it is made again: of two people who
    /// write in the same moment the second is held to what the first wrote.
    pub(crate) fn write<E: From<StoreError>>(
        &self,
        mut make: impl FnMut(&Booth) -> Result<Vec<Entry>, E>,
    ) -> Result<Vec<Entry>, E> {
        let stands = || self.folded().map(|folded| (folded.head, folded)).map_err(E::from);
        store::write_as_it_stands(self.store(), stands, |folded: &Arc<Folded>| make(&folded.booth))
    }
}
