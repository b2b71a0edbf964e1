//! Prints: what is written of them on the bench.

use super::{
    Checked, Refusal, must,
    shape::{LONGEST_LIST, between, id, line, list, name, optional, photos, text},
};
use crate::{
    Booth,
    fact::{Found, PrintAdded, PrintHandled, PrintInspected},
    ids::PrintId,
    rules,
};

/// The year of the first film that anybody has; common knowledge, no source.
const FIRST_YEAR: f64 = 1890.0;
/// Beyond any year that this logbook will see.
const LAST_YEAR: f64 = 2200.0;

pub(super) fn added(fact: &PrintAdded) -> Checked {
    id("print", fact.print.as_str())?;
    name("title", &fact.title)?;
    name("gauge", &fact.gauge)?;
    list("reels", fact.reels.len())?;
    for reel in &fact.reels {
        must(rules::is_reel_length(reel.length_m), || {
            let what = format!("reel {} cannot be {} long", reel.reel, reel.length_m);
            Refusal::new("reels", what, format!("the length of each reel, {}", right_length()))
        })?;
    }
    line("lender", &fact.lender)?;
    optional(fact.made_year, |year| {
        between("made_year", f64::from(year), FIRST_YEAR, LAST_YEAR, "as a year")
    })?;
    text("note", &fact.note)
}

/// What the length of a reel can be.
fn right_length() -> String {
    format!("more than nothing and at most {:.0} m", rules::LONGEST_REEL.metres())
}

pub(super) fn inspected(fact: &PrintInspected) -> Checked {
    id("print", fact.print.as_str())?;
    reel_number("reel", fact.reel)?;
    optional(fact.length_m, |length| {
        must(rules::is_reel_length(length), || {
            let what = format!("a reel cannot be {length} long");
            Refusal::new("length_m", what, format!("the length, {}", right_length()))
        })
    })?;
    list("shrinkage", fact.shrinkage.len())?;
    for taken in &fact.shrinkage {
        must(rules::can_be_gauged(taken), || {
            let what = format!(
                "a shrinkage of {} % at frame {} cannot be",
                taken.shrinkage_percent.percent(),
                taken.at_frame.count()
            );
            Refusal::new(
                "shrinkage",
                what,
                "percent from -0.5 to 5, at a frame of the reel; most film shows 0 to 1",
            )
        })?;
        text("shrinkage", &taken.how)?;
    }
    optional(fact.acid_level, |level| {
        must(rules::is_acid_level(level), || {
            Refusal::new("acid_level", format!("acid paper does not show {level}"), "a level from 0 to 3")
        })
    })?;
    line("spool", &fact.spool)?;
    list("found", fact.found.len())?;
    fact.found.iter().try_for_each(found)?;
    photos(&fact.photos)?;
    text("note", &fact.note)
}

fn found(found: &Found) -> Checked {
    must(rules::can_be_found(found), || {
        let what = format!("what was found at frame {} does not say enough", found.from_frame.count());
        let right = "a frame of the reel, and up to one not before it; of a splice how it is made and whether it holds; of perforations the grade 0 to 4; of a scratch its side and depth";
        Refusal::new("found", what, right)
    })?;
    text("found", &found.note)
}

pub(super) fn handled(fact: &PrintHandled) -> Checked {
    id("print", fact.print.as_str())?;
    list("reels", fact.reels.len())?;
    fact.reels.iter().try_for_each(|reel| reel_number("reels", *reel))?;
    line("whom", &fact.whom)?;
    text("condition", &fact.condition)?;
    text("note", &fact.note)
}

fn reel_number(field: &'static str, reel: u32) -> Checked {
    between(field, f64::from(reel), 1.0, LONGEST_LIST as f64, "as the number of a reel")
}

/// Checks that a print is in the booth.
pub(super) fn print(booth: &Booth, id: &PrintId) -> Checked {
    must(booth.prints.contains_key(id), || {
        Refusal::new("print", format!("there is no print “{id}” in this booth"), "add the print first")
    })
}

/// Checks that a print is in the booth and has such reels, if anybody said which it has.
pub(super) fn reels(booth: &Booth, id: &PrintId, field: &'static str, numbers: &[u32]) -> Checked {
    print(booth, id)?;
    let known = booth.prints.get(id).map(|print| print.reels.as_slice()).unwrap_or_default();
    let missing = numbers.iter().find(|number| known.iter().all(|reel| reel.reel != **number));
    must(known.is_empty() || missing.is_none(), || {
        let there: Vec<String> = known.iter().map(|reel| reel.reel.to_string()).collect();
        let what = format!("“{id}” has no reel {}", missing.copied().unwrap_or_default());
        Refusal::new(field, what, format!("one of its reels: {}", there.join(", ")))
    })
}
