//! What is wrong on purpose: for cleaning, correcting and asking about.

use crate::diary::Calendar;
use crate::dice::{Dice, Stream, rounded};
use crate::lamps::LampLife;
use crate::names::quantity;
use crate::pen::{Device, Hand, Pen, days_after, minutes_after};
use crate::setting::{Bird, KEEPER, RELIEF};
use crate::truth::Dirt;
use jiff::civil::{Date, DateTime};
use logbook::fact::{Corrects, Ran, Reading, RunKind, Withdraws};
use logbook::{Entry, EntryId, Fact, When};
use units::Hours;

/// One foot-lambert in candelas per square metre (1/pi cd/ft2: 3.4263).
const CD_PER_M2_IN_FOOT_LAMBERT: f64 = 3.4263;

pub(crate) fn spoil(pen: &mut Pen, calendar: &Calendar, lamps: &[LampLife], seed: u64) -> Dirt {
    let mut dice = Dice::new(seed, Stream::Dirt);
    let wrong_machine = wrong_machine(pen, calendar);
    let duplicates = [2.2, 4.6, 6.8].map(|month| duplicate(pen, calendar, month, wrong_machine.0)).to_vec();
    let runs_of = |bird: Bird| move |fact: &Fact| matches!(fact, Fact::Ran(ran) if is_show(ran, bird));
    // Dunlin's run lies before its last lamp went in, whose hours tonight's story counts.
    let last_lamp = lamps.iter().rfind(|lamp| lamp.bird == Bird::Dunlin).and_then(|lamp| lamp.fitted);
    let until = last_lamp.map_or(calendar.today, DateTime::date);
    let run = transpose(pen, calendar, until, runs_of(Bird::Dunlin), &duplicates)
        .or_else(|| transpose(pen, calendar, calendar.today, runs_of(Bird::Phalarope), &duplicates));
    let spin_down = transpose(pen, calendar, calendar.today, is_spin_down, &duplicates);
    Dirt {
        duplicates,
        transposed: run.into_iter().chain(spin_down).collect(),
        wrong_unit: wrong_unit(pen, calendar),
        wrong_machine,
        withdrawn: withdrawn(pen, calendar, &mut dice),
    }
}

fn is_show(ran: &Ran, bird: Bird) -> bool {
    ran.run == RunKind::Showing && ran.machine.as_str() == bird.id()
}

/// The first entry after so many months that answers to a description.
fn find(pen: &Pen, calendar: &Calendar, month: f64, fits: impl Fn(&Entry) -> bool) -> Entry {
    let from = calendar.date(calendar.month(month));
    let later = |entry: &&Entry| entry.happened.date() >= from && fits(entry);
    let first = pen.entries().iter().filter(later).min_by_key(|entry| entry.happened.unix_ms);
    first.expect("the machines run every month").clone()
}

/// Both the operator and the keeper write the same run, on phone and laptop.
fn duplicate(pen: &mut Pen, calendar: &Calendar, month: f64, but_not: EntryId) -> EntryId {
    let first = find(pen, calendar, month, |entry| {
        entry.id != but_not
            && matches!(&entry.fact, Fact::Ran(ran) if ran.run == RunKind::Showing && ran.estimated)
    });
    let hand = Hand { by: KEEPER, device: Device::Laptop, late_s: 15 * 3600 };
    pen.write_at(first.happened, hand, first.fact)
}

fn is_spin_down(fact: &Fact) -> bool {
    let is_it = |read: &Reading| {
        read.machine.as_str() == Bird::Turnstone.id() && read.quantity.as_str() == quantity::SPIN_DOWN
    };
    matches!(fact, Fact::Reading(read) if is_it(read))
}

/// The third of April becomes the fourth of March: the first entry of the kind, before a day, with which that can be.
fn transpose(
    pen: &mut Pen,
    calendar: &Calendar,
    until: Date,
    fits: impl Fn(&Fact) -> bool,
    but_not: &[EntryId],
) -> Option<(EntryId, When)> {
    let first = days_after(calendar.start, 5);
    let twice: Vec<(When, Fact)> =
        but_not.iter().map(|id| (pen.entry(*id).happened, pen.entry(*id).fact.clone())).collect();
    let (id, right, wrong) = pen.entries().iter().filter(|entry| fits(&entry.fact)).find_map(|entry| {
        let date = entry.happened.date();
        let wrong = swapped(date).filter(|wrong| *wrong >= first && *wrong < date && date < until)?;
        let is_twice = twice.iter().any(|(at, fact)| *at == entry.happened && *fact == entry.fact);
        (!is_twice).then_some((entry.id, entry.happened, wrong))
    })?;
    let wrong = pen.at(wrong.to_datetime(right.local().time()));
    pen.alter(id, |entry| entry.happened = wrong);
    Some((id, right))
}

fn swapped(date: Date) -> Option<Date> {
    Date::new(date.year(), date.day(), date.month()).ok()
}

fn wrong_unit(pen: &mut Pen, calendar: &Calendar) -> (EntryId, f64) {
    let entry = find(
        pen,
        calendar,
        5.6,
        |entry| matches!(&entry.fact, Fact::Reading(read) if read.quantity.as_str() == quantity::LUMINANCE && !read.baseline),
    );
    let mut right = 0.0;
    pen.alter(entry.id, |entry| {
        if let Fact::Reading(read) = &mut entry.fact {
            right = read.value;
            read.value = rounded(right / CD_PER_M2_IN_FOOT_LAMBERT, 1);
            "old spot meter, its scale is in fL".clone_into(&mut read.method);
        }
    });
    (entry.id, right)
}

/// A run of Dunlin written under Turnstone, put right two days later.
fn wrong_machine(pen: &mut Pen, calendar: &Calendar) -> (EntryId, EntryId) {
    let entry =
        find(pen, calendar, 7.7, |entry| matches!(&entry.fact, Fact::Ran(ran) if is_show(ran, Bird::Dunlin)));
    let right = entry.fact.clone();
    pen.alter(entry.id, |entry| {
        if let Fact::Ran(ran) = &mut entry.fact {
            ran.machine = Bird::Turnstone.id().into();
        }
    });
    let at = minutes_after(entry.recorded.local(), 2 * 24 * 60);
    let correction = Corrects {
        entry: entry.id,
        with: Box::new(right),
        happened: None,
        why: "That was Dunlin, Turnstone stayed at home.".to_owned(),
    };
    (entry.id, pen.write(at, Hand::laptop(KEEPER), Fact::Corrects(correction)))
}

/// A test run that nobody can remember.
fn withdrawn(pen: &mut Pen, calendar: &Calendar, dice: &mut Dice) -> (EntryId, EntryId) {
    let at = calendar.date(calendar.month(6.9)).at(13, 30, 0, 0);
    let fact = Ran {
        machine: Bird::Whimbrel.id().into(),
        run: RunKind::Test,
        hours: Hours::new(rounded(dice.between(1.5, 2.5), 1)),
        lit_hours: None,
        strikes: None,
        showing: None,
        print: None,
        passes: None,
        estimated: false,
    };
    let entry = pen.write(at, Hand::phone(RELIEF[0]), fact);
    let why = "Meant for the heater in the projection room.".to_owned();
    let taken_back = minutes_after(at, 26 * 60);
    (entry, pen.write(taken_back, Hand::phone(RELIEF[0]), Withdraws { entry, why }))
}
