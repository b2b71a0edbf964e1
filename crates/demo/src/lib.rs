#![doc = include_str!("../README.md")]

mod bench;
mod big;
mod care;
mod diary;
mod dice;
mod dirt;
mod events;
mod faults;
mod fleet;
mod halls;
mod lamps;
mod meters;
mod names;
mod notes;
mod parts;
mod pen;
mod prints;
mod programmes;
mod readings;
mod runs;
mod setting;
mod showings;
mod sound;
mod stores;
mod truth;

pub use big::big_log;
pub use sound::TestRecording;
pub use truth::{Dirt, LampTruth, Trend, Truth};

use diary::{Calendar, Fate, Outing};
use faults::{Kind, Story};
use jiff::civil::Date;
use lamps::LampLife;
use logbook::Entry;
use pen::{Pen, days_after};
use runs::{Odometer, Run};
use setting::Bird;
use units::{Hours, Seconds};

/// The zone of the invented islands: one that exists, so that its clock changes are real.
pub const ZONE: &str = "Atlantic/Faroe";

/// An invented booth's logbook, and what is hidden behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct DemoLog {
    /// The entries in the order of writing; all of them before `today` began in the booth's zone.
    pub entries: Vec<Entry>,
    /// Recordings of test films that the booth kept. Whoever makes the booth makes their sound, measures it, and writes
    /// what it says among the entries.
    pub recordings: Vec<TestRecording>,
    /// What only the inventor knows.
    pub truth: Truth,
}

/// Invents the touring cinema's last fourteen months and its next six weeks.
///
/// `today` is the date in [`ZONE`]; there is always a showing on its evening at 19:30.
/// The same date and seed give the same entries, byte for byte.
pub fn booth(today: Date, seed: u64) -> DemoLog {
    let calendar = Calendar::ending(today);
    let library = machine::shipped();
    let titles = prints::titles();
    let outings = diary::outings(&calendar, &titles, seed);
    let runs = runs::runs(&calendar, &outings, seed);
    let odometer = Odometer::new(&runs, &calendar);
    let volts = readings::volts(&outings, seed);
    let lamps = lamps::lives(&odometer, |outing| volts[outing], seed);
    let stories = faults::stories(&calendar, &outings, &lamps, seed);
    let events = events::events(&odometer, &outings, &lamps, &stories);
    let changes = parts::changes(&calendar, &lamps, &stories);
    let care = care::keep(&library, &odometer, &outings, &events, &changes, seed);

    let mut pen = Pen::new(today, seed);
    fleet::open_the_log(&mut pen, &calendar, &titles, &library, &lamps, seed);
    let mut stores = stores::Stores::open(&mut pen, &calendar);
    parts::write(&mut pen, &changes, &mut stores, &calendar);
    stores::Stores::close(&mut pen, &calendar);
    showings::write(&mut pen, &calendar, &outings, &titles, &stories, seed);
    runs::write(&mut pen, &runs, &outings, &titles, seed);
    meters::write(&mut pen, &odometer, seed);
    care::write(&mut pen, &care, seed);
    readings::Instruments::new(&library, &odometer, &outings, &lamps, &changes, &volts, seed)
        .write(&mut pen, &care.deeds);
    let faults = showings::write_faults(&mut pen, &outings, &stories);
    events::write(&mut pen, &events, &stories);
    notes::write(&mut pen, &calendar);
    let dirt = dirt::spoil(&mut pen, &calendar, &lamps, seed);
    programmes::write(&mut pen, &calendar, &outings, &titles);
    bench::write(&mut pen, &calendar, &outings, &titles);

    let truth = truth_of(&calendar, &outings, &runs, &lamps, &stories, &faults, dirt);
    let recordings = sound::recordings(&calendar, &library, &readings::ramps(&calendar), seed);
    DemoLog { entries: pen.into_entries(), recordings, truth }
}

fn truth_of(
    calendar: &Calendar,
    outings: &[Outing],
    runs: &[Run],
    lamps: &[LampLife],
    stories: &[Story],
    faults: &[String],
    dirt: Dirt,
) -> Truth {
    let span = |days: std::ops::Range<i32>| (calendar.date(days.start), calendar.date(days.end));
    let open = stories.iter().position(|story| story.kind == Kind::Drum && story.closed.is_none());
    let tonight = outings.iter().find(|outing| outing.fate == Fate::Coming);
    Truth {
        showings_held: outings.iter().filter(|outing| outing.held()).count(),
        running_hours: Hours::new(runs.iter().map(Run::running).sum()),
        stoppages: faults::STOPPAGES,
        dark: Seconds::new(f64::from(faults::DARK_SECONDS)),
        lamps: lamps.iter().map(lamp_truth).collect(),
        holder_factor: lamps::HOLDER_FACTOR,
        holder_renewed: calendar.date(calendar.new_holder()),
        trends: readings::ramps(calendar).iter().map(|ramp| trend(calendar, ramp)).collect(),
        exciter_db_per_hour: readings::EXCITER_DB_PER_H,
        crossing: calendar.date(calendar.crossing()),
        claw_change: calendar.date(calendar.month(6.0)),
        quarantine: span(calendar.quarantine()),
        idle: span(calendar.idle()),
        dirt,
        open_fault: faults[open.expect("Turnstone's drum is open")].as_str().into(),
        tonight: tonight.expect("there is always a showing tonight").id.as_str().into(),
        lamp_hours_now: [(Bird::Turnstone, lamps::TURNSTONE_NOW_H), (Bird::Dunlin, lamps::DUNLIN_NOW_H)]
            .map(|(bird, hours)| (bird.id().into(), Hours::new(hours)))
            .to_vec(),
    }
}

fn lamp_truth(lamp: &LampLife) -> LampTruth {
    LampTruth {
        machine: lamp.bird.id().into(),
        part: lamp.part.as_str().into(),
        hidden_life: Hours::new(lamp.hidden_life_h),
        ended: lamp.end.as_ref().map(|end| (Hours::new(end.burnt_h), end.why)),
        on_screen: lamp.end.as_ref().is_some_and(|end| end.on_screen.is_some()),
    }
}

fn trend(calendar: &Calendar, ramp: &readings::Ramp) -> Trend {
    Trend {
        machine: ramp.bird.id().into(),
        quantity: ramp.quantity.to_owned(),
        from: days_after(calendar.start, ramp.from_day),
        to: days_after(calendar.start, ramp.to_day),
        first: ramp.low,
        last: ramp.high,
        sd: ramp.sd,
        mended: ramp.mended,
    }
}
