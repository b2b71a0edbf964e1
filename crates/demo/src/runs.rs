//! Running: what each machine ran, when and for how long, and the counters that follow from it.

use crate::diary::{Calendar, Outing, REHEARSAL_H};
use crate::dice::{Dice, Stream, rounded};
use crate::pen::{Hand, Pen};
use crate::setting::Bird;
use jiff::civil::DateTime;
use logbook::EntryId;
use logbook::fact::{Ran, RunKind};
use units::Hours;

/// A machine should not stand longer than this (common practice, no source).
pub(crate) const IDLE_DAYS: i32 = 30;

/// One run of one machine.
pub(crate) struct Run {
    pub(crate) bird: Bird,
    pub(crate) at: DateTime,
    pub(crate) day: i32,
    pub(crate) kind: RunKind,
    pub(crate) hours: f64,
    /// The showing it belongs to, by its place in the diary.
    pub(crate) outing: usize,
    /// Ten minutes without film, after a month of standing still.
    pub(crate) is_exercise: bool,
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
pub(crate) fn runs(calendar: &Calendar, outings: &[Outing], seed: u64) -> Vec<Run> {
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
                    is_exercise: false,
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
    let exercises = exercises(calendar, &runs);
    runs.extend(exercises);
    runs.sort_by_key(|run| run.at);
    runs
}

/// A machine that stood for a month is run empty for ten minutes, unless it is away or has no belts.
fn exercises(calendar: &Calendar, runs: &[Run]) -> Vec<Run> {
    let mut exercises = Vec::new();
    for bird in Bird::ALL {
        let mut last = (0, 0);
        let own = runs.iter().filter(|run| run.bird == bird).map(|run| (run.day, run.outing));
        for (next, outing) in own.chain([(calendar.days, 0)]) {
            let stands = (last.0 + IDLE_DAYS..next).step_by(IDLE_DAYS as usize);
            let fit =
                stands.filter(|day| bird != Bird::Phalarope || !is_laid_up(calendar, last.0..next, *day));
            exercises.extend(fit.map(|day| exercise(bird, last.1, calendar, day)));
            last = (next, outing);
        }
    }
    exercises
}

/// Whether Phalarope, standing still over these days, cannot be run on one of them: after its last show before the
/// quarantine nobody touches it until its release, and without belts it does not turn.
fn is_laid_up(calendar: &Calendar, gap: std::ops::Range<i32>, day: i32) -> bool {
    let (danger, idle) = (calendar.quarantine(), calendar.idle());
    let quarantined = gap.start < danger.start && gap.end >= danger.start && day <= danger.end;
    quarantined || idle.contains(&day)
}

fn exercise(bird: Bird, outing: usize, calendar: &Calendar, day: i32) -> Run {
    let at = calendar.date(day).at(10, 20, 0, 0);
    Run { bird, at, day, kind: RunKind::Test, hours: 0.17, outing, is_exercise: true }
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

    pub(crate) fn all(&self) -> impl Iterator<Item = &'a Run> {
        self.runs.iter()
    }

    pub(crate) fn of(&self, bird: Bird) -> impl Iterator<Item = &'a Run> {
        self.runs.iter().filter(move |run| run.bird == bird)
    }
}
