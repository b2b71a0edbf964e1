//! What the state of the prints may do to a showing: splices that part, loops lost at torn perforations.

use super::rules::{FILM_BREAK_SECONDS, LOST_LOOP_SECONDS, MEND_PLACE_MINUTES, WIND_TO_PLACES_MINUTES};
use crate::prints::{Gravity, OnMachine, PrintSheet, ReelSheet, gravity, print_sheet};
use film::print::{Inspected, PassHazard, SOUND_SPLICE_PARTS, SpliceKind, What, any_of, pass_hazards};
use logbook::{Booth, PrintId, booth::Showing, fact::PrintDeed};
use machine::Library;
use risk::{Chance, Outcome};
use units::{Probability, Seconds};

/// What a reel may do in one pass, and what mending it beforehand makes of that.
pub(super) struct ReelHazard<'a> {
    pub print: &'a PrintId,
    pub title: &'a str,
    pub reel: u32,
    /// Places that may stop it.
    pub places: usize,
    pub chance: Probability,
    pub outcome: Outcome,
    /// Minutes of mending and the chance then; absent where there is nothing that one would mend.
    pub mended: Option<(f64, Chance)>,
}

/// A reel that must not run in the showing as it stands in the diary.
pub(super) struct BarredReel<'a> {
    pub print: &'a PrintId,
    pub title: &'a str,
    pub reel: u32,
}

/// What the reels of a showing may do, and which of them must not run at all.
pub(super) fn of_showing<'a>(
    booth: &'a Booth,
    library: &'a Library,
    showing: &Showing,
) -> (Vec<ReelHazard<'a>>, Vec<BarredReel<'a>>) {
    let (mut hazards, mut barred) = (Vec::new(), Vec::new());
    for sheet in showing.prints.iter().filter_map(|id| print_sheet(booth, library, id)) {
        for reel in &sheet.reels {
            match worst_machine(reel, showing) {
                Some(on) if gravity(&on.verdict) >= Gravity::NotHere => barred.push(BarredReel {
                    print: sheet.id,
                    title: &sheet.print.title,
                    reel: reel.reel.reel,
                }),
                Some(on) => hazards.extend(of_reel(&sheet, reel, on)),
                None => {}
            }
        }
    }
    (hazards, barred)
}

/// On the machine of the showing that is hardest on it: nobody has said yet which of them shows the reel.
fn worst_machine<'r, 'a>(reel: &'r ReelSheet<'a>, showing: &Showing) -> Option<&'r OnMachine<'a>> {
    let assigned = reel.on.iter().filter(|on| showing.machines.iter().any(|(id, _)| id == on.machine));
    assigned.max_by(|a, b| {
        gravity(&a.verdict).cmp(&gravity(&b.verdict)).then(a.stops.value().total_cmp(&b.stops.value()))
    })
}

fn of_reel<'a>(sheet: &PrintSheet<'a>, reel: &ReelSheet<'a>, on: &OnMachine<'_>) -> Option<ReelHazard<'a>> {
    let inspected = reel.inspected.as_ref()?;
    let found = if was_mended(sheet, reel) { mended(inspected) } else { inspected.clone() };
    let dangers = beyond_the_usual(pass_hazards(&found, on.puller));
    if dangers.is_empty() {
        return None;
    }
    let chance = any_of(&dangers);
    let to_mend = dangers.iter().filter(|danger| may_be_mended(danger.finding.what)).count();
    let left = any_of(&beyond_the_usual(pass_hazards(&mended(&found), on.puller)));
    let minutes = WIND_TO_PLACES_MINUTES + MEND_PLACE_MINUTES * to_mend as f64;
    Some(ReelHazard {
        print: sheet.id,
        title: &sheet.print.title,
        reel: reel.reel.reel,
        places: dangers.len(),
        outcome: Outcome::pause(pause(&dangers)),
        mended: (to_mend > 0).then(|| (minutes, Chance::known(left))),
        chance,
    })
}

/// Somebody has mended the reel since the inspection, and nobody has looked since.
fn was_mended(sheet: &PrintSheet<'_>, reel: &ReelSheet<'_>) -> bool {
    let inspected = reel.last.map_or(i64::MIN, |last| last.at.unix_ms);
    let deed = sheet.print.handlings_of(reel.reel.reel).rfind(|deed| deed.deed == PrintDeed::Mended);
    deed.is_some_and(|deed| deed.at.unix_ms >= inspected)
}

/// Splices that hold on a reel that is not shrunk are among what the booth's own record of stoppages tells of.
fn beyond_the_usual(mut dangers: Vec<PassHazard>) -> Vec<PassHazard> {
    dangers.retain(|danger| danger.chance.value() > SOUND_SPLICE_PARTS);
    dangers
}

/// The reel as it is once what can be mended holds: a good splice stands at each place.
fn mended(reel: &Inspected) -> Inspected {
    let mut reel = reel.clone();
    for finding in reel.findings.iter_mut().filter(|finding| may_be_mended(finding.what)) {
        finding.what = What::Splice { kind: SpliceKind::Tape, holds: true };
    }
    reel
}

const fn may_be_mended(what: What) -> bool {
    match what {
        What::Splice { holds, .. } => !holds,
        What::Tear | What::Perforations(_) => true,
        What::Scratch { .. } | What::Oil | What::Warp | What::Burn => false,
    }
}

/// How long it stops: the mean over what may do it.
fn pause(dangers: &[PassHazard]) -> Seconds {
    let of = |danger: &PassHazard| match danger.finding.what {
        What::Perforations(_) => LOST_LOOP_SECONDS,
        _ => FILM_BREAK_SECONDS,
    };
    let all: f64 = dangers.iter().map(|danger| danger.chance.value()).sum();
    Seconds::new(dangers.iter().map(|danger| danger.chance.value() * of(danger)).sum::<f64>() / all)
}
