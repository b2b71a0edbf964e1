//! Will it run? For a coming showing: the chance that it runs clean, stops and goes on, or is lost; why; and what to do
//! about it in the minutes that are left.

mod cause;
mod deeds;
mod films;
mod hazards;
mod readings;
mod rules;
mod said;
mod troubles;
mod unexplained;

pub(crate) use cause::thing;
pub use cause::{Age, Aside, Cause, Doing, Rests};
pub use rules::{
    COVER_PAUSE_MINUTES, FETCH_MINUTES, OPEN_FAULT_ONE_IN, OVERDUE_HAZARD_TIMES, PAST_LIMIT_ONE_IN,
    STANDBY_MINUTES, STOPPING_FAULT_ONE_IN, STRIKE_REHEARSAL_MINUTES,
};
pub(crate) use unexplained::Unexplained;

use crate::{
    answer::{Answer, Caveat, CaveatKind, Ground},
    coming::Coming,
    due::Desk,
    known::NotKnown,
    lived::{Beliefs, KeptBeliefs},
    tonight::{DOORS_BEFORE_START_MINUTES, minutes_of_checks},
};
use deeds::Deeds;
use hazards::Hazards;
use jiff::ZonedDateTime;
use logbook::{Booth, ShowingId, booth::Showing};
use machine::Library;
use risk::{Band, Case, best_within, worth_of_each};
use units::Seconds;

/// How a showing stands.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Standing {
    /// It runs from beginning to end without a stoppage.
    pub clean: Band,
    /// It stops and is shown to its end.
    pub pause: Band,
    /// It cannot be shown to its end.
    pub lost: Band,
    /// Dark or silent seconds to expect.
    pub dark: Seconds,
}

/// What one cause adds.
#[derive(Clone, Debug)]
pub struct Weight<'a> {
    /// The cause.
    pub cause: Cause<'a>,
    /// The chance that it strikes in this showing.
    pub chance: Band,
    /// Dark seconds to expect from it.
    pub dark: Seconds,
    /// The same once the chosen deeds are done.
    pub dark_after: Seconds,
    /// By how much the chance of a clean run would rise without it.
    pub clean_without: f64,
    /// What happens if it does, in words.
    pub then: String,
}

/// Something to do before the doors open.
#[derive(Clone, Debug)]
pub struct Deed<'a> {
    /// What.
    pub doing: Doing<'a>,
    /// How long it takes.
    pub minutes: f64,
    /// Dark seconds that it saves by itself.
    pub saved: Seconds,
    /// Dark seconds saved for a minute of work.
    pub rate: f64,
    /// It belongs to the best set that fits the time left.
    pub chosen: bool,
    /// It takes the last one that is there of what it needs.
    pub takes_last: bool,
}

/// How a coming showing stands, and what can be done.
#[derive(Clone, Debug)]
pub struct Outlook<'a> {
    /// The showing's id.
    pub id: &'a ShowingId,
    /// The showing.
    pub showing: &'a Showing,
    /// Minutes there are for work before it.
    pub minutes: f64,
    /// Minutes that the checks before it still take, beside the deeds.
    pub checks_minutes: f64,
    /// As it stands.
    pub before: Standing,
    /// Once the chosen deeds are done.
    pub after: Standing,
    /// What weighs, the most dark seconds first.
    pub weights: Vec<Weight<'a>>,
    /// What is no stoppage but must be known, the gravest first.
    pub asides: Vec<Aside<'a>>,
    /// What can be done, the most dark seconds saved for a minute first.
    pub deeds: Vec<Deed<'a>>,
    /// Minutes that the chosen deeds take.
    pub chosen_minutes: f64,
    /// No set of deeds that fits saves more.
    pub proven: bool,
    /// All of it in plain sentences: what must be settled first, how likely a stoppage is, what would do it, what to do now,
    /// what that leaves.
    pub said: Vec<String>,
}

impl Outlook<'_> {
    /// What is said of the showing itself, after what must be settled first ([`Outlook::asides`] that are grave).
    pub fn said_of_the_showing(&self) -> &[String] {
        let first = self.asides.iter().filter(|aside| aside.is_grave()).count();
        self.said.get(first..).unwrap_or_default()
    }

    /// All that is said, in a row.
    pub fn sentence(&self) -> String {
        self.said.join(" ")
    }
}

/// Returns how a coming showing stands; `minutes` for work, or else the time until the doors open. Beliefs about parts
/// that were worked out before are taken from `kept`, and new ones are put there.
pub fn outlook<'a>(
    booth: &'a Booth,
    library: &'a Library,
    now: &ZonedDateTime,
    kept: &'a KeptBeliefs,
    showing: &str,
    minutes: Option<f64>,
) -> Result<Answer<Outlook<'a>>, NotKnown> {
    let desk = Desk::new(booth, library, now);
    let found = desk.coming.iter().position(|coming| coming.id.as_str() == showing);
    let at = found.ok_or_else(|| NotKnown::showing(showing, &desk.coming))?;
    let mut made = outlooks_of(&desk, kept, &desk.coming[..=at], Some(at), minutes);
    Ok(made.pop().expect("one showing was asked for"))
}

/// Returns how each of this evening's showings stands, the next first; without one this evening, the next in the
/// diary. `kept` and `minutes` as in [`outlook`].
pub fn outlooks_tonight<'a>(
    booth: &'a Booth,
    library: &'a Library,
    now: &ZonedDateTime,
    kept: &'a KeptBeliefs,
    minutes: Option<f64>,
) -> Vec<Answer<Outlook<'a>>> {
    of_evening(&Desk::new(booth, library, now), kept, minutes)
}

/// The same, where the diary was looked at before.
pub(crate) fn of_evening<'a>(
    desk: &Desk<'a>,
    kept: &'a KeptBeliefs,
    minutes: Option<f64>,
) -> Vec<Answer<Outlook<'a>>> {
    let evening = desk.coming.first().map_or(desk.now.day, |next| next.day.max(desk.now.day));
    let n = desk.coming.iter().take_while(|coming| coming.day <= evening).count();
    outlooks_of(desk, kept, &desk.coming[..n], None, minutes)
}

/// Machines age from showing to showing, so that each is reckoned in turn.
fn outlooks_of<'a>(
    desk: &Desk<'a>,
    kept: &'a KeptBeliefs,
    coming: &[Coming<'a>],
    only: Option<usize>,
    minutes: Option<f64>,
) -> Vec<Answer<Outlook<'a>>> {
    let beliefs = Beliefs::at(desk, kept);
    let asked = |at: &usize| only.is_none_or(|only| only == *at);
    (0..coming.len())
        .filter(asked)
        .map(|at| one(desk, &beliefs, &coming[..at], &coming[at], minutes))
        .collect()
}

fn one<'a>(
    desk: &Desk<'a>,
    beliefs: &Beliefs<'a>,
    earlier: &[Coming<'a>],
    coming: &Coming<'a>,
    minutes: Option<f64>,
) -> Answer<Outlook<'a>> {
    let hazards = Hazards::gather(desk, beliefs, earlier, coming);
    let deeds = Deeds::gather(desk, &hazards, coming);
    let till_doors =
        (coming.starts_ms - desk.now.unix_ms) as f64 / 60_000.0 - DOORS_BEFORE_START_MINUTES as f64;
    let minutes = minutes.unwrap_or_else(|| till_doors.min(MOST_MINUTES)).max(0.0);
    let case = Case::new(hazards.list.clone(), deeds.list.clone(), Vec::new())
        .and_then(|case| case.with_supplies(deeds.supplies.clone(), deeds.leans.clone()))
        .expect("every effect names a hazard of this list, and minutes are taken from checked types");
    let choice = best_within(&case, minutes, Seconds::new(LEAST_SAVED));
    let (before, after) = (case.after(&[]), case.after(&choice.actions));
    let (before_outlook, after_outlook) = (risk::outlook(&before), risk::outlook(&after));
    let weights = before_outlook
        .contributions
        .iter()
        .map(|part| Weight {
            cause: hazards.causes[*part.key].clone(),
            chance: part.chance,
            dark: part.dark,
            dark_after: after[*part.key].dark(),
            clean_without: part.clean_without,
            then: said::then(&before[*part.key].outcome),
        })
        .collect();
    let worths = worth_of_each(&case);
    let made = worths.iter().filter(|worth| worth.saved.seconds() > LEAST_SAVED).map(|worth| Deed {
        doing: deeds.doings[worth.action].clone(),
        minutes: worth.minutes,
        saved: worth.saved,
        rate: worth.rate(),
        chosen: choice.actions.contains(&worth.action),
        takes_last: deeds.takes_last(worth.action),
    });
    let mut asides = hazards.asides;
    asides.sort_by_key(|aside| !aside.is_grave());
    let mut value = Outlook {
        id: coming.id,
        showing: coming.showing,
        minutes,
        checks_minutes: minutes_of_checks(desk, coming),
        before: standing(&before_outlook),
        after: standing(&after_outlook),
        weights,
        asides,
        deeds: made.collect(),
        chosen_minutes: choice.minutes,
        proven: choice.proven,
        said: Vec::new(),
    };
    value.said = said::sentences(desk.booth, &value);
    let mut caveats = caveats(&value);
    caveats.extend(hazards.caveats);
    Answer { because: hazards.grounds, caveats, value }
}

/// Minutes that anybody has for one showing: beyond this the service plan is the place to look.
const MOST_MINUTES: f64 = 240.0;
/// A deed that saves less than a second of dark screen on average is not worth a walk.
const LEAST_SAVED: f64 = 1.0;

fn standing<K>(outlook: &risk::Outlook<'_, K>) -> Standing {
    Standing { clean: outlook.clean, pause: outlook.pause, lost: outlook.lost, dark: outlook.dark }
}

fn caveats(outlook: &Outlook<'_>) -> Vec<Caveat> {
    let mut caveats = Vec::new();
    let on_prior =
        outlook.weights.iter().filter(|weight| weight.cause.rests().is_some_and(Rests::on_prior)).count();
    if on_prior > 0 {
        let words = format!(
            "{on_prior} of {} causes rest on what the machine type says of such parts, for want of lives of your own.",
            outlook.weights.len()
        );
        caveats.push(Caveat::new(CaveatKind::PriorOnly, words));
    }
    if !outlook.proven {
        let words = "There are so many things to do that the best set of them could not be proved; this is a good one.";
        caveats.push(Caveat::new(CaveatKind::NotProven, words));
    }
    caveats
}

/// The rules on which every outlook rests.
fn grounds() -> Vec<Ground> {
    rules::ALL.iter().map(|(words, source)| Ground::Rule { words: (*words).into(), source }).collect()
}
