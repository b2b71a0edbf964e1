//! Recomputing the chains: a quick walk that only says whether a device's chain is sound, and a slow look at the ones
//! that are not, which says what is wrong where.

use crate::{
    DeviceHead, Hash,
    chain::{self, BEFORE_THE_FIRST},
};
use logbook::{DeviceId, EntryId};
use std::{
    collections::{BTreeSet, HashMap, HashSet},
    fmt,
};

/// What verifying a logbook found.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Verification {
    /// How many entries were looked at.
    pub entries: u64,
    /// Where each device's chain ends. Noted on paper, they prove later that nothing was cut off.
    pub heads: Vec<DeviceHead>,
    /// What is wrong; empty when everything is as it was written.
    pub findings: Vec<Finding>,
}

impl Verification {
    /// Returns whether nothing is wrong.
    pub fn is_sound(&self) -> bool {
        self.findings.is_empty()
    }

    /// Adds a finding if the chains no longer pass through a head noted elsewhere; `there` is the hash that stands
    /// under its number now.
    pub(crate) fn compare_with(&mut self, known: &DeviceHead, there: Option<Hash>) {
        let trouble = match there {
            _ if known.number == 0 => return,
            None => Trouble::CutOff { known: known.number },
            Some(hash) if hash != known.hash => Trouble::Rewritten,
            Some(_) => return,
        };
        self.findings.push(Finding::at(known.device, known.number, None, trouble));
    }
}

/// Something wrong with one entry, or with a run of entries that follow one another.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finding {
    /// The device in whose chain it is; absent: it concerns the whole file.
    pub device: Option<DeviceId>,
    /// The number at which it begins; 0 when it concerns the whole file.
    pub first: u64,
    /// The number at which it ends.
    pub last: u64,
    /// The first entry concerned, if it is there.
    pub id: Option<EntryId>,
    /// What is wrong.
    pub trouble: Trouble,
}

/// What can be wrong.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Trouble {
    /// It does not say what was written, or an entry before it was taken out and the numbers closed up.
    Altered,
    /// Entries were taken out. The entry after the gap cannot be checked by itself.
    Missing,
    /// A second entry under a number that is taken, or the same entry twice.
    Duplicated,
    /// It was written under another number.
    Renumbered {
        /// The number (of the first, in a run) it was written under.
        was: u64,
    },
    /// It stands after an entry that was written later by the same device.
    OutOfOrder,
    /// The chain ends elsewhere than the logbook noted when it wrote last.
    HeadDiffers,
    /// The chain ends before a head that was noted elsewhere.
    CutOff {
        /// The number noted.
        known: u64,
    },
    /// Another entry stands where a head was noted elsewhere.
    Rewritten,
    /// Its device is not known to this file.
    UnknownDevice,
    /// A guard of the file (trigger, index or table) was altered or removed.
    GuardAltered {
        /// Its name.
        name: String,
    },
    /// The file itself is damaged.
    FileDamaged {
        /// What the database says.
        what: String,
    },
}

impl Finding {
    pub(crate) fn at(device: DeviceId, number: u64, id: Option<EntryId>, trouble: Trouble) -> Self {
        Self { device: Some(device), first: number, last: number, id, trouble }
    }

    pub(crate) fn of_file(trouble: Trouble) -> Self {
        Self { device: None, first: 0, last: 0, id: None, trouble }
    }

    /// Takes a finding that follows this one with the same trouble into this one.
    fn absorbs(&mut self, next: &Self) -> bool {
        let same = match (&self.trouble, &next.trouble) {
            (Trouble::Renumbered { was }, Trouble::Renumbered { was: next_was }) => {
                next_was.wrapping_sub(*was) == next.first.wrapping_sub(self.first)
            }
            (trouble, next) => trouble == next,
        };
        let follows = self.device == next.device && self.device.is_some() && next.first == self.last + 1;
        if same && follows {
            self.last = next.last;
        }
        same && follows
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(device) = self.device {
            match self.last {
                last if last == self.first => write!(f, "device {device}, number {last}")?,
                last => write!(f, "device {device}, numbers {} to {last}", self.first)?,
            }
            match self.id {
                Some(id) if self.last == self.first => write!(f, " (entry {id}): ")?,
                Some(id) => write!(f, " (from entry {id}): ")?,
                None => f.write_str(": ")?,
            }
        }
        self.trouble.fmt(f)
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Altered => f.write_str(
                "does not say what was written, or entries before it were taken out and the numbers closed up",
            ),
            Self::Missing => f.write_str("missing; the entry after the gap cannot be checked by itself"),
            Self::Duplicated => f.write_str("written twice"),
            Self::Renumbered { was } => write!(f, "was written under number {was}"),
            Self::OutOfOrder => f.write_str("stands after an entry that the same device wrote later"),
            Self::HeadDiffers => {
                f.write_str("the chain ends here, elsewhere than was noted when it was last written")
            }
            Self::CutOff { known } => write!(f, "cut off; number {known} was noted elsewhere"),
            Self::Rewritten => f.write_str("is not the entry that was noted elsewhere"),
            Self::UnknownDevice => f.write_str("an entry of a device that this file does not know"),
            Self::GuardAltered { name } => write!(f, "the file's guard '{name}' was altered or removed"),
            Self::FileDamaged { what } => write!(f, "the file is damaged: {what}"),
        }
    }
}

/// A quick walk along all chains at once, over entries in order of arrival.
///
/// Several walks over consecutive parts of a logbook are joined into one.
#[derive(Default)]
pub(crate) struct Walk {
    pub(crate) devices: HashMap<DeviceId, Stretch>,
    pub(crate) entries: u64,
}

/// One device's chain as far as a walk has seen it.
pub(crate) struct Stretch {
    first: FirstLink,
    last_number: u64,
    last_hash: Hash,
    sound: bool,
}

/// The first link of a stretch: it is checked once it is known what comes before.
struct FirstLink {
    number: u64,
    canonical: Box<[u8]>,
    hash: Hash,
}

impl Walk {
    /// Takes the next entry.
    pub(crate) fn step(&mut self, device: DeviceId, number: u64, canonical: &[u8], hash: &Hash) {
        self.entries += 1;
        if let Some(stretch) = self.devices.get_mut(&device) {
            stretch.step(number, canonical, hash);
        } else {
            let first = FirstLink { number, canonical: canonical.into(), hash: *hash };
            let stretch = Stretch { first, last_number: number, last_hash: *hash, sound: true };
            self.devices.insert(device, stretch);
        }
    }

    /// Returns whether a device's chain is sound, from its first entry to its noted head.
    pub(crate) fn is_sound_up_to(&self, head: &DeviceHead) -> bool {
        let stretch = self.devices.get(&head.device);
        stretch.map_or(head.number == 0, |stretch| stretch.is_sound_up_to(head))
    }

    /// Goes on where this walk ends.
    pub(crate) fn join(&mut self, next: Self) {
        self.entries += next.entries;
        for (device, later) in next.devices {
            match self.devices.get_mut(&device) {
                None => {
                    self.devices.insert(device, later);
                }
                Some(stretch) => {
                    stretch.step(later.first.number, &later.first.canonical, &later.first.hash);
                    stretch.last_number = later.last_number;
                    stretch.last_hash = later.last_hash;
                    stretch.sound &= later.sound;
                }
            }
        }
    }
}

impl Stretch {
    fn step(&mut self, number: u64, canonical: &[u8], hash: &Hash) {
        self.sound &=
            number == self.last_number.wrapping_add(1) && chain::link(&self.last_hash, canonical) == *hash;
        self.last_number = number;
        self.last_hash = *hash;
    }

    fn is_sound_up_to(&self, head: &DeviceHead) -> bool {
        self.sound
            && self.first.number == 1
            && chain::link(&BEFORE_THE_FIRST, &self.first.canonical) == self.first.hash
            && self.last_number == head.number
            && self.last_hash == head.hash
    }
}

/// One entry of a device whose chain is not sound.
pub(crate) struct Suspect {
    /// Arrival number as the file has it.
    pub(crate) seq: i64,
    /// The number it claims.
    pub(crate) number: u64,
    pub(crate) id: EntryId,
    /// Its canonical bytes as they stand.
    pub(crate) canonical: Vec<u8>,
    pub(crate) hash: Hash,
}

impl Suspect {
    /// Returns the hash that this entry would have under a number, after another entry.
    fn hash_as(&self, number: u64, before: &Hash) -> Hash {
        /// The number's place in the canonical bytes, after two ids of 16 bytes.
        const NUMBER_AT: std::ops::Range<usize> = 32..40;
        let mut canonical = self.canonical.clone();
        if let Some(bytes) = canonical.get_mut(NUMBER_AT) {
            bytes.copy_from_slice(&number.to_be_bytes());
        }
        chain::link(before, &canonical)
    }

    fn follows(&self, number: u64, before: &Hash) -> bool {
        self.hash_as(number, before) == self.hash
    }
}

/// How far from its claimed number an entry is looked for when numbers were shifted.
const SHIFT: u64 = 16;

/// Says what is wrong with one device's chain. `suspects` are all its entries.
pub(crate) fn diagnose(head: &DeviceHead, mut suspects: Vec<Suspect>) -> Vec<Finding> {
    suspects.sort_by_key(|suspect| (suspect.number, suspect.seq));
    let mut look = Look::new(*head);
    let mut rest = suspects.as_slice();
    while let Some(first) = rest.first() {
        let (group, after) =
            rest.split_at(rest.iter().take_while(|suspect| suspect.number == first.number).count());
        look.at_number(group);
        rest = after;
    }
    look.place_the_displaced();
    look.find_the_missing();
    look.compare_head();
    in_runs(look.findings)
}

/// The slow look along one device's numbers.
struct Look<'s> {
    head: DeviceHead,
    findings: Vec<Finding>,
    /// Entries that do not follow what stands before them.
    displaced: Vec<&'s Suspect>,
    /// Hash and number of entries after which the right one does not stand.
    open_ends: Vec<(Hash, u64)>,
    /// The number under which each entry was written, by arrival number, as far as that is known.
    written: HashMap<i64, u64>,
    last_number: u64,
    /// The hash of the last entry as it stands, and as it should be.
    last_hash: Hash,
    last_right_hash: Hash,
    latest_seq: i64,
    ids: HashSet<EntryId>,
}

impl<'s> Look<'s> {
    fn new(head: DeviceHead) -> Self {
        Self {
            head,
            findings: Vec::new(),
            displaced: Vec::new(),
            open_ends: Vec::new(),
            written: HashMap::new(),
            last_number: 0,
            last_hash: BEFORE_THE_FIRST,
            last_right_hash: BEFORE_THE_FIRST,
            latest_seq: i64::MIN,
            ids: HashSet::new(),
        }
    }

    fn find(&mut self, suspect: &Suspect, trouble: Trouble) {
        self.findings.push(Finding::at(self.head.device, suspect.number, Some(suspect.id), trouble));
    }

    /// Looks at the entries under one number: one of them is the right one, others are too many.
    fn at_number(&mut self, group: &'s [Suspect]) {
        let right = group.iter().position(|suspect| self.fits(suspect)).unwrap_or(0);
        for (at, suspect) in group.iter().enumerate() {
            if at == right {
                continue;
            }
            self.find(suspect, Trouble::Duplicated);
            self.displaced.push(suspect);
        }
        if let Some(suspect) = group.get(right) {
            self.at_entry(suspect);
        }
    }

    fn stands_next(&self, suspect: &Suspect) -> bool {
        suspect.number.checked_sub(1) == Some(self.last_number)
    }

    fn fits(&self, suspect: &Suspect) -> bool {
        self.stands_next(suspect)
            && [self.last_hash, self.last_right_hash]
                .iter()
                .any(|before| suspect.follows(suspect.number, before))
    }

    fn at_entry(&mut self, suspect: &'s Suspect) {
        self.written.insert(suspect.seq, suspect.number);
        if !self.stands_next(suspect) {
            self.open_ends.push((self.last_hash, self.last_number));
            self.displaced.push(suspect);
        } else if !self.fits(suspect) {
            self.broken(suspect);
        }
        if !self.ids.insert(suspect.id) {
            self.find(suspect, Trouble::Duplicated);
        }
        if suspect.seq < self.latest_seq {
            self.find(suspect, Trouble::OutOfOrder);
        }
        self.latest_seq = self.latest_seq.max(suspect.seq);
        self.last_right_hash = if self.stands_next(suspect) {
            suspect.hash_as(suspect.number, &self.last_hash)
        } else {
            suspect.hash
        };
        self.last_number = suspect.number;
        self.last_hash = suspect.hash;
    }

    fn broken(&mut self, suspect: &'s Suspect) {
        let near = suspect.number.saturating_sub(SHIFT)..=suspect.number.saturating_add(SHIFT);
        let last_hash = self.last_hash;
        if let Some(was) = near.into_iter().find(|number| suspect.follows(*number, &last_hash)) {
            self.find(suspect, Trouble::Renumbered { was });
            self.written.insert(suspect.seq, was);
        } else {
            self.find(suspect, Trouble::Altered);
            self.open_ends.push((self.last_hash, self.last_number));
            self.displaced.push(suspect);
        }
    }

    /// Finds the right places of entries that were moved within the chain.
    fn place_the_displaced(&mut self) {
        /// More than so many of either would be a rewritten file, not a few moved entries.
        const WORTH_TRYING: usize = 500;
        if self.displaced.len() > WORTH_TRYING || self.open_ends.len() > WORTH_TRYING {
            return;
        }
        let mut ends = std::mem::take(&mut self.open_ends);
        let mut displaced = std::mem::take(&mut self.displaced);
        while let Some((hash, number)) = ends.pop() {
            let right = number.saturating_add(1);
            displaced.retain(|suspect| {
                let belongs_here = suspect.follows(right, &hash);
                if belongs_here {
                    self.place(suspect, right);
                    ends.push((suspect.hash, right));
                }
                !belongs_here
            });
        }
    }

    /// Takes note that an entry was written under a number.
    fn place(&mut self, suspect: &Suspect, right: u64) {
        let is_blamed = |finding: &Finding| finding.id == Some(suspect.id);
        if suspect.number == right {
            self.findings.retain(|finding| !is_blamed(finding) || finding.trouble != Trouble::Altered);
        } else {
            self.findings.retain(|finding| !is_blamed(finding));
            self.find(suspect, Trouble::Renumbered { was: right });
        }
        self.written.insert(suspect.seq, right);
    }

    /// Finds the numbers up to the noted head under which nothing stands.
    fn find_the_missing(&mut self) {
        let mut next = 1;
        let end = self.head.number.saturating_add(1);
        let written: BTreeSet<_> = self.written.values().copied().collect();
        for number in written.range(1..end.max(1)).copied().chain([end]) {
            if next < number {
                self.findings.push(Finding {
                    device: Some(self.head.device),
                    first: next,
                    last: number - 1,
                    id: None,
                    trouble: Trouble::Missing,
                });
            }
            next = number.saturating_add(1);
        }
    }

    /// Compares the end of the chain with the noted head.
    fn compare_head(&mut self) {
        let last = self.written.values().copied().max().unwrap_or(0);
        let other_hash = last == self.last_number && self.last_hash != self.head.hash;
        if last > self.head.number || (last == self.head.number && other_hash) {
            self.findings.push(Finding::at(self.head.device, last, None, Trouble::HeadDiffers));
        }
    }
}

/// Sorts findings by number and joins those that follow one another with the same trouble.
fn in_runs(mut findings: Vec<Finding>) -> Vec<Finding> {
    findings.sort_by_key(|finding| (finding.trouble == Trouble::Missing, finding.first));
    let mut joined: Vec<Finding> = Vec::new();
    for finding in findings {
        if !joined.last_mut().is_some_and(|last| last.absorbs(&finding)) {
            joined.push(finding);
        }
    }
    joined.sort_by_key(|finding| finding.first);
    joined
}

/// Says of entries that their device is not known.
pub(crate) fn of_stranger(device: DeviceId, suspects: Vec<Suspect>) -> Vec<Finding> {
    let finding =
        |suspect: Suspect| Finding::at(device, suspect.number, Some(suspect.id), Trouble::UnknownDevice);
    in_runs(suspects.into_iter().map(finding).collect())
}
