//! Will each reel go on: take-up, splits, and what could be joined.

use super::plan::{NoPlan, PlannedReel, ShowPlan};
use film::{
    Base, Gauge, Spool,
    programme::{Item, Spooled, Tension, split, spool_up, take_up},
};
use logbook::{Booth, MachineId, booth::ReadingRecord};
use machine::{Library, Threading};
use serde::Serialize;
use units::{Frames, Metres, Newtons, Seconds};

/// One reel on the machine that is to run it.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ReelCheck {
    /// Its place in the programme, from 1.
    pub place: u32,
    /// All that is on it, leaders included.
    pub length_m: Metres,
    /// The smallest spool that is sold to hold it; none: there is no such spool.
    pub spool: Option<&'static str>,
    /// The largest spool that the machine takes and whose measures are known here: it is taken up on this one.
    pub taken_up_on: Option<&'static str>,
    /// How much of that spool it fills, in parts of one.
    pub fill: Option<f64>,
    /// How the pull changes from that spool's hub to the last turn, beside the standard.
    pub tension: Option<Tension>,
    /// What the machine's take-up pulled on an empty spool when that was measured last.
    pub measured_at_hub_newtons: Option<Newtons>,
    /// What is left of that with the last turn of this reel.
    pub measured_at_end_newtons: Option<Newtons>,
    /// The machine's arms take it.
    pub fits: bool,
    /// Where it does not fit: the picture split over so many reels, in frames.
    pub split: Vec<Frames>,
    /// The same in time.
    pub split_seconds: Vec<Seconds>,
}

/// Checks every reel of a plan against the machine that is to run it.
pub fn checks(booth: &Booth, library: &Library, plan: &ShowPlan) -> Vec<ReelCheck> {
    plan.reels.iter().map(|reel| check(booth, library, reel)).collect()
}

fn check(booth: &Booth, library: &Library, reel: &PlannedReel) -> ReelCheck {
    let arms = arms(booth, library, reel);
    let on = arms.and_then(|arms| largest_spool(reel.gauge, arms.longest));
    let take_up = on.and_then(|spool| {
        let thickness = Base::Acetate.wound_thickness().thickness;
        take_up(reel.gauge, reel.length_m, spool.flange, spool.hub?, thickness).ok()
    });
    let measured = on.and_then(|spool| measured_at_hub(booth, &reel.machine, spool));
    let fits = arms.is_none_or(|arms| reel.length_m <= arms.longest);
    let parts = arms.filter(|_| !fits).map(|arms| parts(reel, arms)).unwrap_or_default();
    ReelCheck {
        place: reel.place,
        length_m: reel.length_m,
        spool: reel.gauge.smallest_spool_for(reel.length_m).map(|spool| spool.name),
        taken_up_on: on.map(|spool| spool.name),
        fill: take_up.map(|wound| wound.fill),
        tension: take_up.map(|wound| wound.tension),
        measured_at_hub_newtons: measured,
        measured_at_end_newtons: measured.zip(take_up).map(|(at_hub, wound)| wound.tension.at_end(at_hub)),
        fits,
        split_seconds: parts.iter().filter_map(|part| film::time_of(*part, reel.fps).ok()).collect(),
        split: parts,
    }
}

/// What a machine takes.
#[derive(Clone, Copy)]
struct Arms {
    longest: Metres,
    draws_in: bool,
}

fn arms(booth: &Booth, library: &Library, reel: &PlannedReel) -> Option<Arms> {
    let (_, _, kind) = crate::join::machine_and_type(booth, library, reel.machine.as_str())?;
    let features = &kind.features;
    Some(Arms { longest: features.max_spool, draws_in: features.threading == Threading::SelfThreading })
}

/// The spool that is sold to hold as much as the machine takes.
fn largest_spool(gauge: Gauge, longest: Metres) -> Option<&'static Spool> {
    gauge.spools().iter().rev().find(|spool| spool.nominal <= longest && spool.hub.is_some())
}

/// The reading that says how hard a take-up pulls on an empty spool, and the condition that says on which hub.
const PULL_READING: (&str, &str) = ("take-up-tension-empty", "hub diameter");

/// What the machine's take-up pulls on the bare hub of this spool, by its last reading. A reading that names its hub is
/// turned to this one: the torque is the same, the pull is as one over the diameter.
fn measured_at_hub(booth: &Booth, machine: &MachineId, spool: &Spool) -> Option<Newtons> {
    let machine = booth.machines.get(machine)?;
    let (quantity, hub) = PULL_READING;
    let of_pull = |reading: &&ReadingRecord| reading.quantity.as_str() == quantity && reading.unit == "N";
    let reading = machine.readings.iter().rev().find(of_pull)?;
    let measured_on = reading.conditions.get(hub).and_then(|hub| hub.parse::<Metres>().ok());
    let turned = measured_on.zip(spool.hub).map_or(1.0, |(measured_on, hub)| measured_on / hub);
    Some(Newtons::new(reading.value) * turned)
}

fn parts(reel: &PlannedReel, arms: Arms) -> Vec<Frames> {
    // The picture's frames, back from its time: both are exact multiples of the speed.
    let picture = Frames::new((reel.picture_seconds.seconds() * reel.fps.fps()).round() as i64);
    split(reel.gauge, picture, brim(arms.longest), arms.draws_in).unwrap_or_default()
}

/// A spool that is sold to hold so much is full at its edge only a little later: what is safe is what it is sold for.
fn brim(sold_for: Metres) -> Metres {
    sold_for / film::SAFE_FILL
}

/// The reels of a programme joined on the fewest spools that a machine's arms take.
pub fn joined_spools(items: &[Item], longest: Metres, draws_in: bool) -> Result<Vec<Spooled>, NoPlan> {
    Ok(spool_up(items, brim(longest), draws_in)?)
}
