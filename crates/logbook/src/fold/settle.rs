//! The first pass: which entries stand, which were taken back, and what corrected ones say.
//!
//! Each settlement (a correction or a withdrawal) names one entry. Settlements can be settled in turn, so they are
//! worked from the outermost inwards; of several that name the same entry the one recorded last wins. Settlements
//! that name each other in a ring settle nothing and are asked about.

use super::{line::silence, queries::Queries};
use crate::{
    Entry, Fact, When,
    ids::{EntryId, PersonId},
};
use rustc_hash::FxHashMap;

/// Finds an entry by its id.
pub(super) enum Index {
    /// The entries stand in order of id.
    InOrder,
    /// Ids in order, each with its place.
    Sorted(Vec<(EntryId, u32)>),
}

impl Index {
    /// Makes an index and silences duplicates: an entry that was sent twice counts once.
    ///
    /// The places that were silenced are added to `changed`.
    pub fn of(
        entries: &mut [Entry],
        ids_rise: bool,
        changed: &mut Vec<usize>,
        queries: &mut Queries,
    ) -> Self {
        if ids_rise {
            return Self::InOrder;
        }
        let mut ids: Vec<(EntryId, u32)> =
            entries.iter().zip(0..).map(|(entry, place)| (entry.id, place)).collect();
        ids.sort_by_key(|(id, _)| *id);
        if ids.is_sorted_by(|a, b| a.0 < b.0) {
            return Self::Sorted(ids);
        }
        let mut kept = Vec::with_capacity(ids.len());
        for same in ids.chunk_by(|a, b| a.0 == b.0) {
            kept.push((same[0].0, keep_one(same, entries, changed, queries)));
        }
        Self::Sorted(kept)
    }

    /// Returns the place of an entry.
    pub fn place(&self, id: EntryId, entries: &[Entry]) -> Option<usize> {
        match self {
            Self::InOrder => entries.binary_search_by_key(&id, |entry| entry.id).ok(),
            Self::Sorted(ids) => {
                ids.binary_search_by_key(&id, |(id, _)| *id).ok().map(|at| ids[at].1 as usize)
            }
        }
    }

    /// Returns how many different ids there are.
    pub fn len(&self, entries: &[Entry]) -> usize {
        match self {
            Self::InOrder => entries.len(),
            Self::Sorted(ids) => ids.len(),
        }
    }
}

/// Keeps one of several entries with the same id and silences the others; asks if they differ.
fn keep_one(
    same: &[(EntryId, u32)],
    entries: &mut [Entry],
    changed: &mut Vec<usize>,
    queries: &mut Queries,
) -> u32 {
    // Whatever order they came in, the same one must be kept: the one written first, then by what it says.
    let rank = |place: &u32| {
        let entry = &entries[*place as usize];
        (entry.recorded, entry.happened, entry.device, format!("{:?} {:?}", entry.by, entry.fact))
    };
    let keep = same.iter().map(|(_, place)| *place).min_by_key(rank).unwrap_or(same[0].1);
    // Compared as text, for a value that is not a number differs from itself.
    let said = |place: u32| format!("{:?}", entries[place as usize]);
    if same.iter().any(|(_, place)| said(*place) != said(keep)) {
        let entry = &entries[keep as usize];
        queries.ask(
            entry.id,
            entry.happened,
            entry.fact.machine(),
            "two different entries carry the same id; the one written first counts",
            "compare the two logbooks this came from, and write what is missing as a new entry",
        );
    }
    for (_, place) in same.iter().filter(|(_, place)| *place != keep) {
        silence(&mut entries[*place as usize]);
        changed.push(*place as usize);
    }
    keep
}

/// Who says what stands in the place of a corrected entry, and when that was written.
pub(super) type Sayings = FxHashMap<EntryId, (PersonId, i64)>;

/// What a settlement that stands does to the entry it names.
#[derive(Clone, Copy)]
struct Effect {
    /// Orders the effects on one entry: recorded, then id.
    rank: (i64, EntryId),
    what: What,
}

#[derive(Clone, Copy)]
enum What {
    TakeBack,
    /// The fact of the correction at a place.
    Say {
        source: usize,
        happened: Option<When>,
    },
}

/// Settles all corrections and withdrawals in place; adds to `changed` the places that now say something else.
pub(super) fn settle(
    entries: &mut [Entry],
    places: &[usize],
    index: &Index,
    changed: &mut Vec<usize>,
    queries: &mut Queries,
) -> Sayings {
    let mut settling = Settling::new(entries, places, index);
    settling.work_inwards(entries);
    settling.ask_about_rings(entries, queries);
    settling.ask_about_lost(entries, queries);
    settling.ask_about_unfit(entries, queries);
    settling.carry_out(entries, changed)
}

/// Asks about withdrawals that name themselves.
pub(super) fn ask_about_selves(entries: &[Entry], settlements: &[usize], queries: &mut Queries) {
    for entry in settlements.iter().map(|place| &entries[*place]).filter(|entry| is_silenced(entry)) {
        queries.ask(entry.id, entry.happened, None, "it withdraws itself; nothing was changed", RING);
    }
}

/// What settles a ring.
const RING: &str = "write a new entry that says what holds";

/// The settlements and whom they name.
struct Settling {
    /// Place of the settlement → place of the entry that it names.
    target: FxHashMap<usize, usize>,
    /// How many settlements that name this place are still to be worked.
    waiting: FxHashMap<usize, usize>,
    /// The effect that wins so far, by place.
    effect: FxHashMap<usize, Effect>,
    /// Settlements in the order of their places.
    places: Vec<usize>,
    /// Settlements that name an entry which is not here.
    lost: Vec<(usize, EntryId)>,
}

impl Settling {
    fn new(entries: &[Entry], places: &[usize], index: &Index) -> Self {
        let mut new = Self {
            target: FxHashMap::default(),
            waiting: FxHashMap::default(),
            effect: FxHashMap::default(),
            places: places.to_vec(),
            lost: Vec::new(),
        };
        for &place in places {
            let Some(id) = entries[place].fact.settles() else { continue };
            if is_silenced(&entries[place]) {
                continue;
            }
            if let Some(target) = index.place(id, entries) {
                new.target.insert(place, target);
                *new.waiting.entry(target).or_default() += 1;
            } else {
                new.lost.push((place, id));
            }
        }
        new
    }

    /// Works every settlement that nobody settles any more, and hands its effect to the entry that it names.
    fn work_inwards(&mut self, entries: &[Entry]) {
        let mut ready: Vec<usize> =
            self.places.iter().copied().filter(|place| !self.waiting.contains_key(place)).collect();
        while let Some(place) = ready.pop() {
            let Some(target) = self.target.remove(&place) else { continue };
            if let Some(effect) = self.effect_of(place, entries) {
                let best = self.effect.entry(target).or_insert(effect);
                if effect.rank > best.rank {
                    *best = effect;
                }
            }
            if let Some(waiting) = self.waiting.get_mut(&target) {
                *waiting -= 1;
                if *waiting == 0 {
                    ready.push(target);
                }
            }
        }
    }

    /// Returns what a settlement does, once everything that settles it is known.
    fn effect_of(&self, place: usize, entries: &[Entry]) -> Option<Effect> {
        let entry = &entries[place];
        let rank = (entry.recorded.unix_ms, entry.id);
        match (&entry.fact, self.effect.get(&place).copied()) {
            (Fact::Withdraws(_), None) => Some(Effect { rank, what: What::TakeBack }),
            (Fact::Corrects(own), None) => is_plain(&own.with)
                .then_some(Effect { rank, what: What::Say { source: place, happened: own.happened } }),
            // A correction of a correction says the new thing in the place of the first entry.
            (Fact::Corrects(own), Some(Effect { rank, what: What::Say { source, happened } })) => {
                Some(Effect { rank, what: What::Say { source, happened: happened.or(own.happened) } })
            }
            // Taken back, or a withdrawal that was corrected into something else: it settles nothing any more.
            _ => None,
        }
    }

    fn ask_about_rings(&mut self, entries: &[Entry], queries: &mut Queries) {
        for place in &self.places {
            if self.target.contains_key(place) {
                let entry = &entries[*place];
                queries.ask(
                    entry.id,
                    entry.happened,
                    None,
                    "it settles an entry that in turn settles it; none of them changes anything",
                    RING,
                );
            }
        }
    }

    fn ask_about_lost(&self, entries: &[Entry], queries: &mut Queries) {
        for (place, id) in self.lost.iter().filter(|(place, _)| !self.is_taken_back(*place)) {
            let entry = &entries[*place];
            queries.ask(
                entry.id,
                entry.happened,
                None,
                format!("it settles entry {id}, which is not in this logbook; nothing was changed"),
                "bring in the logbook that holds that entry, or withdraw this one",
            );
        }
    }

    fn ask_about_unfit(&self, entries: &[Entry], queries: &mut Queries) {
        for &place in self.places.iter().filter(|place| !self.effect.contains_key(place)) {
            let entry = &entries[place];
            if let Fact::Corrects(corrects) = &entry.fact
                && !is_plain(&corrects.with)
            {
                queries.ask(
                    entry.id,
                    entry.happened,
                    None,
                    "it corrects an entry with a correction, a withdrawal or something unreadable; nothing was changed",
                    "withdraw it and correct the entry with what it should have said",
                );
            }
        }
    }

    fn is_taken_back(&self, place: usize) -> bool {
        self.effect.contains_key(&place)
    }

    fn carry_out(self, entries: &mut [Entry], changed: &mut Vec<usize>) -> Sayings {
        let mut sayings = Sayings::default();
        for (place, effect) in self.effect {
            // What was said of a correction has gone inwards already.
            if matches!(entries[place].fact, Fact::Corrects(_)) {
                continue;
            }
            match effect.what {
                What::TakeBack => drop(silence(&mut entries[place])),
                What::Say { source, happened } => {
                    let (fact, who, recorded) = take_new_fact(&mut entries[source]);
                    entries[place].fact = fact;
                    if let Some(happened) = happened {
                        entries[place].happened = happened;
                    }
                    sayings.insert(entries[place].id, (who, recorded));
                }
            }
            changed.push(place);
        }
        sayings
    }
}

/// Moves the new fact out of a correction.
fn take_new_fact(entry: &mut Entry) -> (Fact, PersonId, i64) {
    let (by, recorded) = (entry.by.clone(), entry.recorded.unix_ms);
    match silence(entry) {
        Fact::Corrects(corrects) => (*corrects.with, by, recorded),
        // Only corrections are sources; were it otherwise, saying the same again would be right.
        other => (other, by, recorded),
    }
}

/// Returns whether an entry was silenced: it withdraws itself.
fn is_silenced(entry: &Entry) -> bool {
    matches!(&entry.fact, Fact::Withdraws(withdraws) if withdraws.entry == entry.id)
}

/// Returns whether a fact may stand in another's place.
fn is_plain(fact: &Fact) -> bool {
    match fact {
        Fact::Corrects(_) | Fact::Withdraws(_) => false,
        Fact::Unknown(unknown) => unknown.trouble.is_none(),
        _ => true,
    }
}
