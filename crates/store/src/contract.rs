//! What a place that keeps entries can do.

use crate::{Filter, Hash, StoreError, Verification};
use logbook::{
    Booth, Chained, DeviceId, Entry, EntryId, Fact, Folded, PersonId, Refusal, ShowingId, must_be_known,
    must_keep_its_machine, wire::ChainedRecord,
};
use std::ops::ControlFlow;

/// A place that keeps entries: small, so that another database can keep them one day.
///
/// Entries have an arrival number (`seq`) here, rising and never used twice; it says nothing about when something
/// happened and differs from store to store.
pub trait EntryStore: Send + Sync {
    /// Returns the device as which this store writes.
    fn device(&self) -> DeviceId;

    /// Writes entries down, all or none, and returns their places once they are on disk.
    ///
    /// An id that is already there and says the same (when it happened, who, what) is acknowledged with the place it
    /// has; one that says something else is an error, and nothing is written.
    fn append(&self, entries: &[Entry]) -> Result<Vec<Receipt>, StoreError>;

    /// Writes entries down like [`EntryStore::append`] if the logbook still goes just as far as `head`; else writes
    /// nothing and returns none.
    ///
    /// Looking and writing are one: nobody, also no other program, can write in between.
    fn append_at(&self, head: Head, entries: &[Entry]) -> Result<Option<Vec<Receipt>>, StoreError>;

    /// Takes in what another logbook wrote, with its devices, numbers and hashes: the union of both, all or nothing.
    ///
    /// Each device's records must be sound and go on where its chain ends here; their order does not matter.
    fn append_records(&self, records: &[ChainedRecord<'_>]) -> Result<Merged, StoreError>;

    /// Returns the entries that arrived after `seq`, in order of arrival; 0 for all.
    fn entries_since(&self, seq: u64) -> Result<Vec<Entry>, StoreError>;

    /// Returns all entries in order of arrival.
    fn entries(&self) -> Result<Vec<Entry>, StoreError> {
        self.entries_since(0)
    }

    /// Returns what all entries add up to.
    ///
    /// A store may keep a snapshot to answer sooner; the answer is always that of folding [`EntryStore::entries`].
    fn folded(&self) -> Result<Folded, StoreError> {
        Ok(logbook::fold(self.entries()?))
    }

    /// Shows every record as it is written, in order of arrival, until `visit` breaks off.
    fn each_record(
        &self,
        visit: &mut dyn FnMut(&ChainedRecord<'_>) -> ControlFlow<()>,
    ) -> Result<(), StoreError>;

    /// Returns one entry with its place.
    fn get(&self, id: EntryId) -> Result<Option<Stored>, StoreError>;

    /// Returns up to `limit` entries that arrived before `before_seq` (absent: the latest) and fit the filter, the
    /// latest first.
    fn page(&self, before_seq: Option<u64>, limit: usize, filter: &Filter) -> Result<Page, StoreError>;

    /// Returns the entries that correct this one or take it back, the latest first.
    fn settlements(&self, id: EntryId) -> Result<Vec<Entry>, StoreError> {
        let kinds = ["corrects", "withdraws"].map(str::to_owned).to_vec();
        let filter = Filter { kinds, words: id.to_string(), ..Filter::default() };
        let page = self.page(None, MOST_SETTLEMENTS, &filter)?;
        let named = page.entries.into_iter().map(|stored| stored.chained.entry);
        Ok(named.filter(|entry| settled_by(&entry.fact) == Some(id)).collect())
    }

    /// Returns the entry that a settlement of this one is about in the end: itself, or what the corrections name one after
    /// the other; none where one of them is not here.
    fn root(&self, id: EntryId) -> Result<Option<EntryId>, StoreError> {
        let mut at = id;
        for _ in 0..MOST_SETTLEMENTS {
            let Some(stored) = self.get(at)? else { return Ok(None) };
            match settled_by(&stored.chained.entry.fact) {
                Some(next) => at = next,
                None => return Ok(Some(at)),
            }
        }
        // Longer chains, and circles, are nobody's honest work.
        Ok(None)
    }

    /// Returns how far the logbook goes: cheap enough to ask on every request, so that a server notices what another
    /// process wrote.
    fn head(&self) -> Result<Head, StoreError>;

    /// Recomputes every chain and says what is wrong.
    fn verify(&self) -> Result<Verification, StoreError>;
}

/// More corrections of one entry than anybody writes.
const MOST_SETTLEMENTS: usize = 100;

/// Returns the entry that a fact corrects or takes back.
pub fn settled_by(fact: &Fact) -> Option<EntryId> {
    match fact {
        Fact::Corrects(corrects) => Some(corrects.entry),
        Fact::Withdraws(withdraws) => Some(withdraws.entry),
        _ => None,
    }
}

/// Checks what the gate, which holds no entries, cannot: that the entry that a correction or withdrawal names is here, and
/// that no machine is lost to the booth by what it is about in the end. The inner error is the gate's refusal.
pub fn check_named(
    store: &dyn EntryStore,
    by: &PersonId,
    fact: &Fact,
    booth: &Booth,
) -> Result<Result<(), Refusal>, StoreError> {
    let Some(target) = fact.settles() else { return Ok(Ok(())) };
    let root = store.root(target)?;
    Ok(must_be_known(fact, &|_| root.is_some())
        .and_then(|()| must_keep_its_machine(by, fact, root.unwrap_or(target), booth)))
}

/// More marks than a show has.
const MOST_MARKS: usize = 1000;

/// Returns every mark that was ever made in a show, also those that were taken back or corrected.
pub fn marks_of(store: &dyn EntryStore, showing: &ShowingId) -> Result<Vec<EntryId>, StoreError> {
    let filter =
        Filter { kinds: vec!["show-marked".to_owned()], words: showing.to_string(), ..Filter::default() };
    let page = store.page(None, MOST_MARKS, &filter)?;
    let of_show = |entry: &Entry| match &entry.fact {
        Fact::ShowMarked(marked) => marked.showing == *showing,
        _ => false,
    };
    let marks = page.entries.into_iter().map(|stored| stored.chained.entry);
    Ok(marks.filter(of_show).map(|entry| entry.id).collect())
}

/// Where an entry stands, once it is on disk.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Receipt {
    /// Its arrival number in this store.
    pub seq: u64,
    /// The entry.
    pub id: EntryId,
    /// The device in whose chain it stands.
    pub device: DeviceId,
    /// Its number there, from 1.
    pub number: u64,
    /// Its hash.
    pub hash: Hash,
    /// It had been there before.
    pub already_there: bool,
}

/// An entry and its places.
#[derive(Clone, PartialEq, Debug)]
pub struct Stored {
    /// Its arrival number in this store.
    pub seq: u64,
    /// The entry and its place in its device's chain.
    pub chained: Chained,
}

/// How far a logbook goes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Head {
    /// The latest arrival number; 0 while empty.
    pub seq: u64,
    /// How many entries there are.
    pub count: u64,
}

/// What taking in another logbook did.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Merged {
    /// Entries that were new here.
    pub added: usize,
    /// Entries that were here already.
    pub already_there: usize,
}

/// Some entries, the latest first.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Page {
    /// The entries.
    pub entries: Vec<Stored>,
    /// Where the next, older page begins; absent: there is none.
    pub older_before: Option<u64>,
}
