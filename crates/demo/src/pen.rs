//! The pen: turns what happened into entries with ids, devices and times of writing, all from the seed.

use crate::ZONE;
use crate::dice::{Dice, Stream};
use jiff::{ToSpan, ZonedDateTime, civil, tz::TimeZone};
use logbook::{DeviceId, Entry, EntryId, Fact, PersonId, Precision, When};
use uuid::Builder;

/// The two devices on which the touring cinema writes.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Device {
    Laptop,
    Phone,
}

/// How an entry is written: who, on what, and how long after it happened.
#[derive(Clone, Copy)]
pub(crate) struct Hand {
    pub(crate) by: &'static str,
    pub(crate) device: Device,
    pub(crate) late_s: i64,
}

impl Hand {
    /// On the phone, within a few minutes.
    pub(crate) const fn phone(by: &'static str) -> Self {
        Self { by, device: Device::Phone, late_s: 150 }
    }

    /// On the laptop, within a few minutes.
    pub(crate) const fn laptop(by: &'static str) -> Self {
        Self { by, device: Device::Laptop, late_s: 240 }
    }

    /// The same, written so much later.
    pub(crate) const fn later(self, late_s: i64) -> Self {
        Self { late_s, ..self }
    }
}

pub(crate) struct Pen {
    dice: Dice,
    zone: TimeZone,
    devices: [DeviceId; 2],
    /// Nothing is written after this moment: it is not yet today.
    until_ms: i64,
    entries: Vec<Entry>,
}

impl Pen {
    pub(crate) fn new(today: civil::Date, seed: u64) -> Self {
        Self::with(today, Dice::new(seed, Stream::Ids))
    }

    /// A pen of its own for what recordings say, on the same two devices.
    pub(crate) fn of_sound(today: civil::Date, seed: u64) -> Self {
        let Self { devices, .. } = Self::new(today, seed);
        Self { devices, ..Self::with(today, Dice::new(seed, Stream::SoundIds)) }
    }

    fn with(today: civil::Date, mut dice: Dice) -> Self {
        let zone = TimeZone::get(ZONE).expect("the zone is part of the time zone data that is built in");
        let devices = [(); 2].map(|()| DeviceId(Builder::from_random_bytes(dice.bytes()).into_uuid()));
        let midnight = zoned(&zone, today.at(0, 0, 0, 0));
        let until_ms = midnight.timestamp().as_millisecond() - 60_000;
        Self { dice, zone, devices, until_ms, entries: Vec::new() }
    }

    /// The moment at which the clock on the wall shows this, known to the minute.
    pub(crate) fn at(&self, local: civil::DateTime) -> When {
        When::from_zoned(&self.zoned(local)).known_to(Precision::Minute)
    }

    pub(crate) fn zoned(&self, local: civil::DateTime) -> ZonedDateTime {
        zoned(&self.zone, local)
    }

    /// Writes an entry about something that happened at a time on the wall clock.
    pub(crate) fn write(&mut self, local: civil::DateTime, hand: Hand, fact: impl Into<Fact>) -> EntryId {
        self.write_at(self.at(local), hand, fact)
    }

    /// Writes an entry about something that happened then; its id is made from the moment of writing (RFC 9562, 5.7).
    pub(crate) fn write_at(&mut self, happened: When, hand: Hand, fact: impl Into<Fact>) -> EntryId {
        let happened = if happened.unix_ms > self.until_ms {
            self.when_ms(self.until_ms).known_to(happened.precision)
        } else {
            happened
        };
        // A few seconds more or less, as thumbs go; never later than the last evening.
        let written = happened.unix_ms + hand.late_s * 1000 + self.dice.whole(0, 60_000);
        let written = written.min(self.until_ms).max(happened.unix_ms);
        let random = self.dice.bytes();
        let id = Builder::from_unix_timestamp_millis(written as u64, &random).into_uuid();
        self.entries.push(Entry {
            id: EntryId(id),
            device: self.devices[usize::from(hand.device == Device::Phone)],
            happened,
            recorded: self.when_ms(written),
            by: PersonId::new(hand.by),
            fact: fact.into(),
        });
        EntryId(id)
    }

    fn when_ms(&self, unix_ms: i64) -> When {
        let instant = jiff::Timestamp::from_millisecond(unix_ms).expect("the log lies within the calendar");
        When::from_zoned(&instant.to_zoned_datetime(self.zone.clone()))
    }

    /// The entry that was written under this id.
    pub(crate) fn entry(&self, id: EntryId) -> &Entry {
        self.entries.iter().find(|entry| entry.id == id).expect("the pen has written it")
    }

    /// Spoils what was written, as a slip of the hand would.
    pub(crate) fn alter(&mut self, id: EntryId, slip: impl FnOnce(&mut Entry)) {
        let entry = self.entries.iter_mut().find(|entry| entry.id == id);
        slip(entry.expect("the pen has written it"));
    }

    pub(crate) fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Everything written, in the order of writing.
    pub(crate) fn into_entries(mut self) -> Vec<Entry> {
        self.entries.sort_by_key(|entry| entry.recorded.unix_ms);
        self.entries
    }
}

fn zoned(zone: &TimeZone, local: civil::DateTime) -> ZonedDateTime {
    local.to_zoned_datetime(zone.clone()).expect("the log lies within the calendar")
}

/// So many minutes later (or, below zero, earlier) on the wall clock.
pub(crate) fn minutes_after(local: civil::DateTime, minutes: i64) -> civil::DateTime {
    local.checked_add(minutes.minutes()).expect("the log lies within the calendar")
}

/// So many days later (or, below zero, earlier).
pub(crate) fn days_after(date: civil::Date, days: i32) -> civil::Date {
    date.checked_add(days.days()).expect("the log lies within the calendar")
}
