//! How long the parts last: what the booth's own lives say, what is believed, when to change, and where each fitted part
//! stands.

mod fitted;
mod own;
mod said;
mod worth;

pub use fitted::FittedLife;
pub use own::OwnLife;
pub use said::{age as age_in_words, figure as age_figure};
pub use worth::{Change, DARK_MINUTE_WORTH, NoChange, read_dark_minute};

use crate::{
    answer::{Answer, COMMON_PRACTICE, Caveat, CaveatKind, Ground},
    day::Now,
    known::{NotKnown, known_names},
    lived::{Belief, Beliefs, KeptBeliefs, Lived, is_reckoned},
    outlook::thing,
};
use ::lives::{
    bayes::{Chance, Estimate, Posterior},
    curve::Curve,
};
use jiff::ZonedDateTime;
use logbook::{Booth, MachineId, booth::Machine};
use machine::{Library, LifeClock, MachineType, PriorLife};
use std::sync::Arc;

/// Intervals and bands hold nine times in ten, as those of an evening's outlook do.
pub const CONFIDENCE: f64 = 0.9;
/// A curve is given at so many ages, evenly.
const AGES: u32 = 48;

/// How long one kind of part lasts in machines of one type.
#[derive(Clone, Debug)]
pub struct PartLives<'a> {
    /// The machine type.
    pub kind: &'a MachineType,
    /// The prior life, and the slot.
    pub life: &'a PriorLife,
    /// The part as people say it.
    pub name: String,
    /// Its lives in this booth, one for each stretch in a machine.
    pub own: Vec<OwnLife<'a>>,
    /// Failures among them.
    pub failures: usize,
    /// What the lives of known age draw by themselves; none where there are none.
    pub curve: Option<Curve>,
    /// What is believed: chance of living past an age, by rising age.
    pub believed: Vec<BelievedAt>,
    /// The age that half outlive.
    pub half: Estimate,
    /// The age by which one in ten has failed.
    pub tenth: Estimate,
    /// Share of the doubt about the life that the booth's own record removed: 0 rests on the machine type alone.
    pub from_data: f64,
    /// The best age to change it, or why there is none.
    pub change: Result<Change, NoChange>,
    /// The parts of this kind that are in now.
    pub fitted: Vec<FittedLife<'a>>,
    /// All of it in plain sentences.
    pub sentence: String,
}

/// Belief at one age.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct BelievedAt {
    /// The age.
    pub age: f64,
    /// The chance of living past it.
    pub survival: Chance,
}

impl PartLives<'_> {
    /// True where hardly anything but the type file speaks.
    pub fn on_prior(&self) -> bool {
        self.from_data < 0.1
    }
}

/// Returns how long parts last in the machines of the booth: of every type and slot that has a life there, or of those
/// that are named. Beliefs that were worked out before are taken from `kept`, and new ones are put there. `dark_minute` is
/// what a minute of dark screen is worth in minutes of work: see [`DARK_MINUTE_WORTH`].
pub fn parts_lives<'a>(
    booth: &'a Booth,
    library: &'a Library,
    now: &ZonedDateTime,
    kept: &'a KeptBeliefs,
    only: Only<'_>,
    dark_minute: f64,
) -> Result<Answer<Vec<PartLives<'a>>>, NotKnown> {
    let view = View {
        booth,
        now: Now::new(now, &booth.settings),
        beliefs: Beliefs::new(booth, Now::new(now, &booth.settings), kept),
        dark_minute,
    };
    let kinds = kinds_of(booth, library);
    only.check(&kinds)?;
    let asked = kinds.iter().filter(|kind| only.kind.is_none_or(|asked| asked == kind.kind.id.as_str()));
    let lives: Vec<PartLives<'a>> = asked.flat_map(|kind| view.lives_of(kind, only.slot)).collect();
    Ok(Answer { because: grounds(&lives, dark_minute), caveats: caveats(&lives), value: lives })
}

/// What is asked about.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Only<'q> {
    /// Machines of this type; none: of all.
    pub kind: Option<&'q str>,
    /// Parts of this slot; none: of all.
    pub slot: Option<&'q str>,
}

impl Only<'_> {
    fn check(&self, kinds: &[Kind<'_>]) -> Result<(), NotKnown> {
        if let Some(asked) =
            self.kind.filter(|asked| kinds.iter().all(|kind| kind.kind.id.as_str() != *asked))
        {
            let known = known_names(asked, kinds.iter().map(|kind| kind.kind.id.as_str()));
            return Err(NotKnown::TypeOfNone { asked: asked.to_owned(), known });
        }
        let named =
            || kinds.iter().filter(|kind| self.kind.is_none_or(|asked| asked == kind.kind.id.as_str()));
        let mut slots: Vec<&str> =
            named().flat_map(|kind| kind.lives().map(|life| life.slot.as_str())).collect();
        slots.sort_unstable();
        slots.dedup();
        match self.slot {
            Some(asked) if !slots.contains(&asked) => {
                Err(NotKnown::Life { asked: asked.to_owned(), known: known_names(asked, slots.into_iter()) })
            }
            _ => Ok(()),
        }
    }
}

/// A machine type with the booth's machines of it.
struct Kind<'a> {
    kind: &'a MachineType,
    machines: Vec<(&'a MachineId, &'a Machine)>,
}

impl<'a> Kind<'a> {
    /// The lives that speak of at least one of the machines.
    fn lives(&self) -> impl Iterator<Item = &'a PriorLife> {
        let kind = self.kind;
        kind.lives.iter().filter(move |life| {
            life.clock != LifeClock::Operations
                && self.machines.iter().any(|(_, machine)| is_reckoned(machine, kind, life))
        })
    }
}

fn kinds_of<'a>(booth: &'a Booth, library: &'a Library) -> Vec<Kind<'a>> {
    let kinds = library.iter().map(|kind| {
        let of_type = |machine: &Machine| machine.machine_type.as_str() == kind.id.as_str();
        Kind { kind, machines: booth.machines.iter().filter(|(_, machine)| of_type(machine)).collect() }
    });
    kinds.filter(|kind| !kind.machines.is_empty()).collect()
}

/// From where one looks.
struct View<'a> {
    booth: &'a Booth,
    now: Now,
    beliefs: Beliefs<'a>,
    dark_minute: f64,
}

impl<'a> View<'a> {
    fn lives_of(&self, of: &Kind<'a>, slot: Option<&str>) -> Vec<PartLives<'a>> {
        let asked = of.lives().filter(|life| slot.is_none_or(|slot| slot == life.slot.as_str()));
        asked.map(|life| self.one(of, life)).collect()
    }

    fn one(&self, of: &Kind<'a>, life: &'a PriorLife) -> PartLives<'a> {
        let kind = of.kind;
        let lived = Lived::gather(self.booth, kind, life, &self.now);
        let belief = self.belief(of, life);
        let own: Vec<OwnLife<'a>> = lived.stretches.iter().map(OwnLife::of).collect();
        let curve = own::curve(&own);
        let change = worth::change(self.booth, life, &belief, self.dark_minute);
        let fitted = fitted::of(self, of, life, change.as_ref().ok());
        let mut made = PartLives {
            kind,
            life,
            name: name(kind, life),
            failures: lived.failures(),
            believed: believed(&belief, &own, &fitted),
            half: belief.quantile_life(0.5, CONFIDENCE),
            tenth: belief.quantile_life(0.1, CONFIDENCE),
            from_data: belief.share_from_data(),
            own,
            curve,
            change,
            fitted,
            sentence: String::new(),
        };
        made.sentence = said::sentence(self.booth, &made);
        made
    }

    /// What is believed of the part in a machine of this type: in the booth's only one, or else in one more.
    fn belief(&self, of: &Kind<'a>, life: &'a PriorLife) -> Arc<Belief> {
        match of.machines.as_slice() {
            [(only, _)] => self.beliefs.of(of.kind, life, only),
            // No machine is called by nothing, so that nothing is known of it but its like.
            _ => self.beliefs.of(of.kind, life, &MachineId::new("")),
        }
    }
}

/// The part as people say it; where it ages on two clocks, which of them is meant.
fn name(kind: &MachineType, life: &PriorLife) -> String {
    let name = thing(kind, life);
    let rival =
        |other: &&PriorLife| other.clock != life.clock && !other.alternative && thing(kind, other) == name;
    if !kind.lives_of(life.slot.as_str()).any(|other| rival(&other)) {
        return name;
    }
    match life.clock {
        LifeClock::Hours => name + ", by hours",
        LifeClock::LampHours => name + ", by lamp hours",
        LifeClock::Years => name + ", by years",
        LifeClock::Strikes => name + ", by strikes",
        LifeClock::Showings => name + ", by showings",
        LifeClock::Operations => name + ", by operations",
    }
}

/// The curve of belief, as far as anything that is drawn on it.
fn believed(belief: &Posterior, own: &[OwnLife<'_>], fitted: &[FittedLife<'_>]) -> Vec<BelievedAt> {
    let oldest =
        own.iter().filter_map(OwnLife::last_age).chain(fitted.iter().filter_map(FittedLife::known_age));
    let end = oldest.fold(1.1 * belief.middle().quantile(0.9), f64::max) * 1.05;
    let age = |at: u32| end * f64::from(at) / f64::from(AGES);
    (0..=AGES).map(|at| BelievedAt { age: age(at), survival: belief.survival(age(at), CONFIDENCE) }).collect()
}

fn caveats(lives: &[PartLives<'_>]) -> Vec<Caveat> {
    let mut caveats = Vec::new();
    let on_prior = lives.iter().filter(|life| life.on_prior()).count();
    if on_prior > 0 {
        let words = if lives.len() == 1 {
            "This rests on what the machine type says of such parts, for want of lives of your own."
                .to_owned()
        } else {
            format!(
                "{on_prior} of {} rest on what the machine type says of such parts, for want of lives of your own.",
                lives.len()
            )
        };
        caveats.push(Caveat::new(CaveatKind::PriorOnly, words));
    }
    let unknown = lives.iter().flat_map(|life| &life.own).filter(|own| own.last_age().is_none()).count();
    if unknown > 0 {
        let words = format!(
            "The age of {unknown} lives is not known; they weigh in what is believed, but are no points on the curve."
        );
        caveats.push(Caveat::new(CaveatKind::UnknownAge, words));
    }
    caveats
}

fn grounds(lives: &[PartLives<'_>], dark_minute: f64) -> Vec<Ground> {
    let mut grounds: Vec<Ground> = Vec::new();
    if let [only, ..] = lives
        && lives.iter().all(|life| life.life.slot == only.life.slot && life.kind.id == only.kind.id)
    {
        grounds.extend(lives.iter().map(|life| Ground::TypeFile {
            machine_type: life.kind.id.to_string(),
            line: format!("[[life]] {}", life.life.slot),
            words: format!(
                "shape {}, scale {} ({})",
                life.life.shape,
                said::age(life.life.scale, life.life.clock),
                life.life.source
            ),
        }));
        let ended = lives.iter().flat_map(|life| &life.own).filter(|own| own.failed);
        grounds.extend(ended.map(|own| Ground::Entry {
            entry: own.entry,
            words: format!("{} fitted, and failed later", own.part).into(),
        }));
    }
    let words = format!("a minute of dark screen is worth {dark_minute} minutes of work");
    grounds.push(Ground::Rule { words: words.into(), source: "our choice, no source" });
    grounds.push(Ground::Rule {
        words: "a part is changed at an age, or on failure before, at the least cost for each hour in the long run (Barlow and Proschan 1965)".into(),
        source: "age replacement",
    });
    grounds.push(Ground::Rule { words: "a planned change is no failure".into(), source: COMMON_PRACTICE });
    grounds
}
