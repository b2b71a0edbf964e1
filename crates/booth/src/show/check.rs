//! Will each reel go on: take-up, splits, and what could be joined.

use super::plan::{NoPlan, PlannedReel, ShowPlan};
use film::{
    Base, Gauge,
    programme::{Item, Spooled, TakeUp, split, spool_up, take_up},
};
use logbook::Booth;
use machine::{Library, Threading};
use serde::Serialize;
use units::{Frames, Metres, Seconds};

/// One reel on the machine that is to run it.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ReelCheck {
    /// Its place in the programme, from 1.
    pub place: u32,
    /// All that is on it, leaders included.
    pub length_m: Metres,
    /// The smallest spool that is sold to hold it; none: there is no such spool.
    pub spool: Option<&'static str>,
    /// How it winds on the largest spool that the machine takes; none: its measures are not known here.
    #[serde(skip)]
    pub take_up: Option<TakeUp>,
    /// How much of that spool it fills, in parts of one.
    pub fill: Option<f64>,
    /// How many times as hard the first turn is pulled as the last, under a slipping clutch.
    pub first_pull: Option<f64>,
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
    let take_up = arms.and_then(|arms| wound(reel.gauge, reel.length_m, arms.longest));
    let fits = arms.is_none_or(|arms| reel.length_m <= arms.longest);
    let parts = arms.filter(|_| !fits).map(|arms| parts(reel, arms)).unwrap_or_default();
    ReelCheck {
        place: reel.place,
        length_m: reel.length_m,
        spool: reel.gauge.smallest_spool_for(reel.length_m).map(|spool| spool.name),
        take_up,
        fill: take_up.map(|wound| wound.fill),
        first_pull: take_up.map(|wound| wound.first_pull),
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

/// How film winds on the spool that is sold to hold as much as the machine takes.
fn wound(gauge: Gauge, length: Metres, longest: Metres) -> Option<TakeUp> {
    let spool = gauge.spools().iter().rev().find(|spool| spool.nominal <= longest && spool.hub.is_some())?;
    take_up(length, spool.flange, spool.hub?, Base::Acetate.wound_thickness().thickness).ok()
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
