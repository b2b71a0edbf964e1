//! Running: what each machine ran, when and for how long, and the counters that follow from it.

use crate::diary::{Calendar, Outing, REHEARSAL_H};
use crate::dice::{Dice, Stream, rounded};
use crate::pen::{Hand, Pen};
use crate::setting::Bird;
use jiff::civil::DateTime;
use logbook::EntryId;
use logbook::fact::{Ran, RunKind};
use units::Hours;

/// One run of one machine.
pub(crate) struct Run {
    pub(crate) bird: Bird,
    pub(crate) at: DateTime,
    pub(crate) day: i32,
    pub(crate) kind: RunKind,
    pub(crate) hours: f64,
    /// The showing it belongs to, by its place in the diary.
    pub(crate) outing: usize,
}

impl Run {
    /// Hours with the lamp lit.
    pub(crate) fn lit(&self) -> f64 {
        if matches!(self.kind, RunKind::Showing | RunKind::Rehearsal) { self.hours } else { 0.0 }
    }

    /// Hours with film running, as a meter on the film drive counts them.
    pub(crate) fn running(&self) -> f64 {
        if self.kind == RunKind::Rewind { 0.0 } else { self.hours }
    }
}

/// Every run of the past diary, in order of time.
pub(crate) fn runs(outings: &[Outing], seed: u64) -> Vec<Run> {
    let mut dice = Dice::new(seed, Stream::Runs);
    let mut runs = Vec::new();
    for (at, outing) in outings.iter().enumerate().filter(|(_, outing)| outing.held()) {
        let mut offset = 0.0;
        for (bird, hours) in &outing.on {
            let share = 1.0 / outing.on.len() as f64;
            let mut ran = |minutes: f64, kind, hours: f64| {
                let run = outing.minute(minutes.round() as i64);
                runs.push(Run {
                    bird: *bird,
                    at: run,
                    day: outing.day,
                    kind,
                    hours: rounded(hours, 2),
                    outing: at,
                });
            };
            if dice.chance(0.12) {
                ran(-115.0, RunKind::Test, dice.between(0.05, 0.15));
            }
            ran(-70.0 + offset / 4.0, RunKind::Rehearsal, REHEARSAL_H * share);
            let late = dice.between(0.0, 5.0);
            ran(offset + late, RunKind::Showing, hours * dice.normal(1.0, 0.008));
            if dice.chance(0.6) {
                ran(outing.minutes + 20.0 + offset / 4.0, RunKind::Rewind, hours * 0.1);
            }
            offset += hours * 60.0;
        }
    }
    runs.sort_by_key(|run| run.at);
    runs
}

/// Writes every run, the showings after the fact when the operator fills in the card.
pub(crate) fn write(
    pen: &mut Pen,
    runs: &[Run],
    outings: &[Outing],
    titles: &[crate::prints::Title],
    seed: u64,
) -> Vec<EntryId> {
    let mut dice = Dice::new(seed ^ 0x52, Stream::Runs);
    runs.iter()
        .map(|run| {
            let outing = &outings[run.outing];
            let belongs = matches!(run.kind, RunKind::Showing | RunKind::Rehearsal);
            let feature = outing.programme.last().map(|title| titles[*title].id.as_str());
            let fact = Ran {
                machine: run.bird.id().into(),
                run: run.kind,
                hours: Hours::new(run.hours),
                lit_hours: None,
                strikes: (run.kind == RunKind::Showing && dice.chance(0.15)).then_some(2),
                showing: belongs.then(|| outing.id.as_str().into()),
                print: feature.filter(|_| run.kind == RunKind::Showing).map(Into::into),
                passes: None,
                // Without a meter the hours come from the lengths of the reels.
                estimated: run.bird.character().meter_hours.is_none(),
            };
            pen.write(run.at, Hand::phone(outing.operator).later(late(&mut dice, run)), fact)
        })
        .collect()
}

/// Most runs are written down within half an hour, some next morning.
fn late(dice: &mut Dice, run: &Run) -> i64 {
    let own = (run.hours * 3600.0) as i64;
    own + if dice.chance(0.08) { dice.whole(11, 16) * 3600 } else { dice.whole(120, 1800) }
}

/// Counters by day, for care and readings.
pub(crate) struct Odometer<'a> {
    runs: &'a [Run],
    pub(crate) calendar: &'a Calendar,
}

impl<'a> Odometer<'a> {
    pub(crate) fn new(runs: &'a [Run], calendar: &'a Calendar) -> Self {
        Self { runs, calendar }
    }

    /// The sum of some count over a machine's runs before a moment.
    pub(crate) fn before(&self, bird: Bird, moment: DateTime, count: impl Fn(&Run) -> f64) -> f64 {
        self.runs.iter().filter(|run| run.bird == bird && run.at < moment).map(count).sum()
    }

    /// Hours run in this log before the morning of a day.
    pub(crate) fn hours(&self, bird: Bird, day: i32) -> f64 {
        self.before(bird, self.calendar.date(day).at(0, 0, 0, 0), Run::running)
    }

    pub(crate) fn of(&self, bird: Bird) -> impl Iterator<Item = &'a Run> {
        self.runs.iter().filter(move |run| run.bird == bird)
    }
}
