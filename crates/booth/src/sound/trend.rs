//! Where a quantity is heading: a robust line over hours run since the last baseline or part change, steps kept apart
//! from the slope, and the showing before which to act.

mod ahead;
mod passing;
mod steps;
mod stretches;

use super::robust::{Line, theil_sen};
use crate::{
    answer::{Answer, COMMON_PRACTICE, Caveat, CaveatKind, Ground},
    due::Desk,
    join,
    known::{NotKnown, find_machine},
    verdict::{JudgedReading, Verdict, judge, readings_of},
};
use ahead::Ahead;
use jiff::{ZonedDateTime, civil};
use logbook::{
    Booth, EntryId, MachineId, ShowingId, When,
    booth::{Machine, ReadingRecord, Showing},
    ids::{QuantityId, SlotId},
};
use machine::{Basis, Clock, Library, Part, ReadingLimit, Repeats};
pub(crate) use passing::Passing;
use serde::Serialize;
use std::{borrow::Cow, collections::BTreeSet};
pub use steps::Step;
use steps::last_step;
use stretches::{beginning, change, earlier, part_changes};

/// Two standard uncertainties hold about 95 of 100 cases (JCGM 100:2008, G.6.6, from memory).
const COVERAGE: f64 = 2.0;

/// One reading along the clock.
#[derive(Clone, Copy, Debug)]
pub struct TrendPoint<'a> {
    /// The reading.
    pub reading: &'a ReadingRecord,
    /// What the clock showed: hours, or strikes.
    pub on_clock: f64,
    /// The value on the limit's basis: itself, its share of the baseline, or its difference from it.
    pub value: f64,
    /// Its standard uncertainty on the same basis; how well such readings repeat, if that is more.
    pub doubt: f64,
    /// What it says.
    pub verdict: Verdict,
    /// The line rests on it.
    pub in_fit: bool,
}

/// The line through the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// The line, over the clock, on the limit's basis.
    pub line: Line,
    /// The clock at its first and last reading.
    pub from: f64,
    /// The clock at its last reading.
    pub to: f64,
    /// It rises or falls by more than readings repeat.
    pub beyond_repeats: bool,
}

/// Where a limit is passed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Crossing {
    /// Hours from now on the clock; nought if it is passed already.
    pub in_hours: f64,
    /// The day, by diary and use; none if the machine hardly runs.
    pub date: Option<civil::Date>,
}

/// When the limit that calls for action is likely to be passed.
#[derive(Clone, Copy, Debug)]
pub struct Forecast<'a> {
    /// The limit that is passed, on the limit's basis.
    pub limit: f64,
    /// In one case of ten it is passed before this.
    pub early: Crossing,
    /// As likely before as after; none if it is too far off to say.
    pub middle: Option<Crossing>,
    /// In nine cases of ten it is passed before this; none if it may never be passed.
    pub late: Option<Crossing>,
    /// Act before this showing: by its end the early hours are used up.
    pub before: Option<(&'a ShowingId, &'a Showing)>,
}

/// What a repair or another part has changed.
#[derive(Clone, Copy, Debug)]
pub struct Change<'a> {
    /// When it was done.
    pub at: When,
    /// The entry that says so.
    pub entry: EntryId,
    /// The last reading before.
    pub before: &'a ReadingRecord,
    /// The first reading after.
    pub after: &'a ReadingRecord,
    /// After less before, in the unit of the reading.
    pub difference: f64,
    /// The difference is more than the doubt of the two readings.
    pub clear: bool,
}

/// Where a quantity of a machine is heading.
#[derive(Clone, Debug)]
pub struct Trend<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// The limit.
    pub limit: &'a ReadingLimit,
    /// The slot at which it was read; none: the machine as a whole.
    pub slot: Option<&'a SlotId>,
    /// The part in that slot, as the type knows it.
    pub part: Option<&'a Part>,
    /// The clock over which the line runs.
    pub clock: Clock,
    /// What the clock shows now.
    pub now: f64,
    /// Every reading that can be compared, in order of time.
    pub points: Vec<TrendPoint<'a>>,
    /// Since when the line counts, in words.
    pub since: String,
    /// The line, from two readings on.
    pub fit: Option<Fit>,
    /// The lines of the stretches before, each up to a change of a part or a new baseline.
    pub earlier: Vec<Fit>,
    /// When the limit is passed.
    pub forecast: Option<Forecast<'a>>,
    /// Why there is no forecast, in words.
    pub no_forecast: Option<String>,
    /// The step after which the line begins, if there was one.
    pub step: Option<Step<'a>>,
    /// What the last repair or part change did.
    pub change: Option<Change<'a>>,
}

/// What a machine was read for: a quantity, at a slot or of the machine as a whole.
pub type ReadAt<'a> = (&'a QuantityId, Option<&'a SlotId>);

/// Returns everything that a machine was read for, each once, in the order in which it was first read.
pub fn quantities_read(machine: &Machine) -> Vec<ReadAt<'_>> {
    let mut all: Vec<ReadAt<'_>> = Vec::new();
    for reading in &machine.readings {
        let read = (&reading.quantity, reading.slot.as_ref());
        if !all.contains(&read) {
            all.push(read);
        }
    }
    all
}

/// Says where everything is heading that a machine was read for; what its type does not know is left out.
pub fn trends<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: &str,
    now: &ZonedDateTime,
) -> Result<Vec<Answer<Trend<'a>>>, NotKnown> {
    let (_, id, about) = find_machine(booth, machine)?;
    let desk = Desk::new(booth, library, now);
    let view = View { desk: &desk, library, past: Past::Whole };
    let one = |(quantity, slot): ReadAt<'a>| {
        view.trend(id.as_str(), quantity.as_str(), slot.map(SlotId::as_str)).ok()
    };
    Ok(quantities_read(about).into_iter().filter_map(one).collect())
}

/// Says where a quantity of a machine is heading and when it will call for action.
///
/// Readings at a slot and those of the machine as a whole are not mixed; with no slot named, those that belong with the
/// last one count.
///
/// # Method
/// Theil–Sen over the limit's clock since the last baseline, the last change of a part that the quantity tells of, or
/// the last step. Forecast from five readings over 30 hours on; its band holds eight cases of ten.
pub fn trend<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: &str,
    quantity: &str,
    slot: Option<&str>,
    now: &ZonedDateTime,
) -> Result<Answer<Trend<'a>>, NotKnown> {
    let desk = Desk::new(booth, library, now);
    View { desk: &desk, library, past: Past::Whole }.trend(machine, quantity, slot)
}

/// How far back a trend looks for changes of parts.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Past {
    /// To the machine's entry: every stretch gets its line. Looks at every part of the booth.
    Whole,
    /// To the last change: enough for the line that counts.
    LastChange,
}

/// A reading that may pass the limit at which to act.
#[derive(Clone, Debug)]
pub struct Heading<'a> {
    /// What is read.
    pub name: String,
    /// When it passes.
    pub forecast: Forecast<'a>,
}

/// What a trend rests on beside the readings.
pub(crate) struct View<'d, 'a> {
    /// The coming showings.
    pub desk: &'d Desk<'a>,
    /// Who runs in them.
    /// The machine types.
    pub library: &'a Library,
    past: Past,
}

impl<'d, 'a> View<'d, 'a> {
    /// A view that looks no farther back than it must.
    pub const fn of_the_present(desk: &'d Desk<'a>, library: &'a Library) -> Self {
        Self { desk, library, past: Past::LastChange }
    }

    /// Returns which readings of a machine are on their way past a limit, the earliest first: the cheap question. What
    /// was good when it was last read is not looked at.
    pub fn headings(&self, id: &MachineId, machine: &'a Machine) -> Vec<Heading<'a>> {
        let one = |((quantity, slot), _): (ReadAt<'a>, _)| {
            let trend = self.trend(id.as_str(), quantity.as_str(), slot.map(SlotId::as_str)).ok()?.value;
            Some(Heading { name: trend.name(), forecast: trend.forecast? })
        };
        let mut all: Vec<Heading<'a>> = self.watched(machine).filter_map(one).collect();
        all.sort_by(|a, b| a.forecast.early.in_hours.total_cmp(&b.forecast.early.in_hours));
        all
    }

    /// Returns what a machine was read for that was not good when it was last read, with its limits.
    fn watched(&self, machine: &'a Machine) -> impl Iterator<Item = (ReadAt<'a>, &'a ReadingLimit)> {
        let kind = self.desk.kind_of(machine);
        quantities_read(machine).into_iter().filter_map(move |(quantity, slot)| {
            let last = machine
                .readings
                .iter()
                .rfind(|own| (&own.quantity, own.slot.as_ref()) == (quantity, slot))?;
            let limit = kind?.limit(quantity.as_str())?;
            (judge(machine, last, limit).verdict != Verdict::Good).then_some(((quantity, slot), limit))
        })
    }

    fn trend(
        &self,
        machine: &str,
        quantity: &str,
        slot: Option<&str>,
    ) -> Result<Answer<Trend<'a>>, NotKnown> {
        let Self { desk, library, past } = *self;
        let booth = desk.booth;
        let mut readings = readings_of(booth, library, machine, quantity)?;
        let (at, id, about) = find_machine(booth, machine)?;
        let kind = join::type_of(library, about);
        let limit = kind
            .and_then(|kind| kind.limit(quantity))
            .expect("a quantity whose readings were found has a limit");
        let last = readings.value.last().and_then(|judged| judged.reading.slot.as_ref());
        let slot = slot.or(last.map(SlotId::as_str));
        readings.value.retain(|judged| judged.reading.slot.as_ref().map(SlotId::as_str) == slot);
        let clock = limit.clock.unwrap_or(Clock::Running);
        let mut points: Vec<TrendPoint<'a>> =
            readings.value.iter().filter_map(|judged| point(judged, clock)).collect();
        let of_limit = limit.parts.iter().map(machine::SlotId::as_str);
        let slots: Vec<&str> = slot.map_or_else(|| of_limit.collect(), |slot| vec![slot]);
        let changes = part_changes((past == Past::Whole).then_some(booth), id, about, &slots);
        let (mut from, mut since) = beginning(&points, &changes, kind);
        let step = last_step(&points[from..]);
        if let Some(step) = &step {
            from += step.after;
            since = format!("the step of {}", step.to.at.date().strftime("%-d %b %Y"));
        }
        for point in &mut points[from..] {
            point.in_fit = true;
        }
        let fit = fit(&points[from..]);
        let now_on_clock = join::read_clock(&about.clocks, clock);
        let ahead = Ahead { desk, machine: at, clock, at: now_on_clock };
        let (forecast, no_forecast) = match ahead.forecast(fit.as_ref(), &points[from..], limit) {
            Ok(forecast) => (Some(forecast), None),
            Err(why) => (None, Some(why)),
        };
        let mut because = readings.because;
        because.push(rule());
        because.extend(points[from..].iter().map(|point| reading_ground(point.reading)));
        let mut caveats = readings.caveats;
        caveats.extend(many_places(&points[from..]));
        let value = Trend {
            machine: id,
            limit,
            slot: points.last().and_then(|point| point.reading.slot.as_ref()),
            part: slot.and_then(|slot| kind?.part(slot)),
            clock,
            now: now_on_clock,
            since,
            fit,
            earlier: if past == Past::Whole { earlier(&points, from, &changes) } else { Vec::new() },
            forecast,
            no_forecast,
            step,
            change: change(&points, about, &changes, limit),
            points,
        };
        Ok(Answer { value, because, caveats })
    }
}

impl Trend<'_> {
    /// What it is the trend of: the quantity and, if it was read at one, the part.
    pub fn name(&self) -> String {
        let part = self.part.map(|part| part.name.as_str()).or(self.slot.map(SlotId::as_str));
        part.map_or_else(|| self.limit.name.clone(), |part| format!("{}: {part}", self.limit.name))
    }
}

fn reading_ground(reading: &ReadingRecord) -> Ground {
    let words = format!("{} {} on {}", reading.value, reading.unit, reading.at.date());
    Ground::Entry { entry: reading.entry, words: words.into() }
}

/// Readings in several halls are of several screens, rooms and mains.
fn many_places(points: &[TrendPoint<'_>]) -> Option<Caveat> {
    const PLACE: &str = "place";
    let places: BTreeSet<&str> =
        points.iter().filter_map(|point| point.reading.conditions.get(PLACE)).map(String::as_str).collect();
    let words = format!(
        "The readings in the line come from {} places; part of what they scatter is the places' doing.",
        places.len()
    );
    (places.len() > 1).then(|| Caveat::new(CaveatKind::MixedConditions, words))
}

fn rule() -> Ground {
    Ground::Rule {
        words: Cow::Borrowed(
            "a forecast needs five readings over 30 hours since the last baseline, part change or step",
        ),
        source: COMMON_PRACTICE,
    }
}

fn point<'a>(judged: &JudgedReading<'a>, clock: Clock) -> Option<TrendPoint<'a>> {
    let (reading, limit) = (judged.reading, judged.limit);
    if reading.unit != limit.unit.as_str() {
        return None;
    }
    let reference = judged.reference.map(|own| own.value);
    let value = limit.on_basis(reading.value, reference).filter(|value| value.is_finite())?;
    let scale = match limit.basis {
        Basis::ShareOfReference => 100.0 / reference?.abs(),
        Basis::Reading | Basis::DifferenceFromReference => 1.0,
    };
    let doubt = scale * doubt(reading, limit);
    let on_clock = join::read_clock(&reading.clocks, clock);
    Some(TrendPoint { reading, on_clock, value, doubt, verdict: judged.verdict, in_fit: false })
}

/// The standard uncertainty of a reading, in its own unit.
fn doubt(reading: &ReadingRecord, limit: &ReadingLimit) -> f64 {
    let repeats = match limit.repeats {
        Some(Repeats::Percent(share)) => share / 100.0 * reading.value.abs(),
        Some(Repeats::Amount(amount)) => amount,
        None => 0.0,
    };
    reading.uncertainty.unwrap_or(0.0).max(repeats)
}

/// The line through some readings.
fn fit(points: &[TrendPoint<'_>]) -> Option<Fit> {
    let line = theil_sen(&points.iter().map(|point| (point.on_clock, point.value)).collect::<Vec<_>>())?;
    let (first, last) = (points.first()?, points.last()?);
    let (from, to) = (first.on_clock, last.on_clock);
    let moved = (line.at(to) - line.at(from)).abs();
    let beyond_repeats = moved > COVERAGE * first.doubt.hypot(last.doubt);
    Some(Fit { line, from, to, beyond_repeats })
}
