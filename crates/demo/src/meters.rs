//! The two hour meters: read every fortnight or so, one replaced, one gone round.

use crate::diary::Calendar;
use crate::dice::{Dice, Stream};
use crate::pen::{Hand, Pen};
use crate::runs::Odometer;
use crate::setting::{Bird, KEEPER, TECHNICIAN};
use logbook::fact::{MeterChange, MeterRead, MeterReplaced};
use units::Hours;

/// A meter of three figures goes from 999.9 to 000.0.
const GOES_ROUND_AT_H: f64 = 1000.0;
/// The meter of a machine counts its motor, and shows tenths.
const READ_EVERY_DAYS: i32 = 13;

/// Writes the readings of both meters.
pub(crate) fn write(pen: &mut Pen, odometer: &Odometer<'_>, seed: u64) {
    let mut dice = Dice::new(!seed, Stream::Fleet);
    read_turnstone(pen, odometer, &mut dice);
    read_whimbrel(pen, odometer, &mut dice);
}

fn days(calendar: &Calendar, bird: Bird) -> impl Iterator<Item = i32> {
    let first = 9 + bird as i32;
    (0..).map(move |n| first + n * READ_EVERY_DAYS).take_while(|day| *day < calendar.days)
}

/// Turnstone's meter is worn out and replaced on the technician's second visit.
fn read_turnstone(pen: &mut Pen, odometer: &Odometer<'_>, dice: &mut Dice) {
    let calendar = odometer.calendar;
    let start = Bird::Turnstone.character().meter_hours.unwrap_or(0.0);
    let replaced = calendar.visits(Bird::Turnstone)[1];
    let at = calendar.date(replaced).at(12, 0, 0, 0);
    let before = odometer.before(Bird::Turnstone, at, |run| run.hours);
    for day in days(calendar, Bird::Turnstone).filter(|day| *day != replaced) {
        let motor = odometer.before(Bird::Turnstone, calendar.date(day).at(10, 0, 0, 0), |run| run.hours);
        let figure = if day < replaced { start + motor } else { motor - before };
        read(pen, calendar, Bird::Turnstone, day, figure, dice);
    }
    let fact = MeterReplaced {
        machine: Bird::Turnstone.id().into(),
        why: MeterChange::Replaced,
        old_reading_hours: Some(Hours::new(shown(start + before))),
        new_reading_hours: Hours::new(0.0),
    };
    pen.write(at, Hand::laptop(TECHNICIAN), fact);
}

/// Whimbrel's passes its last figure, and the keeper writes that down at the next reading.
fn read_whimbrel(pen: &mut Pen, odometer: &Odometer<'_>, dice: &mut Dice) {
    let calendar = odometer.calendar;
    let start = Bird::Whimbrel.character().meter_hours.unwrap_or(0.0);
    let (mut last, mut round) = (start, false);
    for day in days(calendar, Bird::Whimbrel) {
        let morning = calendar.date(day).at(10, 0, 0, 0);
        let figure = start + odometer.before(Bird::Whimbrel, morning, |run| run.hours);
        if figure < GOES_ROUND_AT_H {
            read(pen, calendar, Bird::Whimbrel, day, figure, dice);
            last = figure;
        } else if round {
            read(pen, calendar, Bird::Whimbrel, day, figure - GOES_ROUND_AT_H, dice);
        } else {
            round = true;
            let fact = MeterReplaced {
                machine: Bird::Whimbrel.id().into(),
                why: MeterChange::RolledOver,
                old_reading_hours: Some(Hours::new(shown(last))),
                new_reading_hours: Hours::new(shown(figure - GOES_ROUND_AT_H)),
            };
            pen.write(morning, Hand::laptop(KEEPER), fact);
        }
    }
}

/// A meter's last drum shows a tenth when it is full, never before.
fn shown(hours: f64) -> f64 {
    (hours * 10.0).floor() / 10.0
}

fn read(pen: &mut Pen, calendar: &Calendar, bird: Bird, day: i32, figure: f64, dice: &mut Dice) {
    let last = day + READ_EVERY_DAYS >= calendar.days;
    if dice.chance(crate::care::MISSING) && !last {
        return;
    }
    let fact = MeterRead { machine: bird.id().into(), reading_hours: Hours::new(shown(figure)) };
    pen.write(calendar.date(day).at(10, 0, 0, 0), Hand::phone(KEEPER), fact);
}
