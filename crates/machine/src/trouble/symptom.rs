//! Symptoms: what a person sees, hears, smells or finds on the film.

use crate::id::{CauseId, DrillId, SlotId, SourceTag, SymptomId};
use crate::stock::Stops;
use crate::vocabulary::vocabulary;
use serde::Serialize;
use units::{Probability, Seconds};

vocabulary! {
    /// Where a trouble is noticed; the plain way into the fault desk.
    Noticed {
        /// The picture on the screen is wrong.
        Picture = "picture",
        /// There is too little light, none, or it is uneven.
        Light = "light",
        /// The sound is wrong or gone.
        Sound = "sound",
        /// Film does not run as it should, or the machine does not.
        Transport = "transport",
        /// Film is not wound up, or not wound back, as it should be.
        TakeUpAndRewind = "take-up-and-rewind",
        /// The film itself has come to harm.
        FilmDamage = "film-damage",
        /// The machine makes a noise, a smell, smoke or heat.
        NoiseAndSmell = "noise-and-smell",
    }
}

impl Noticed {
    /// The group's name on a page.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Picture => "Picture",
            Self::Light => "Light",
            Self::Sound => "Sound",
            Self::Transport => "Film and machine running",
            Self::TakeUpAndRewind => "Take-up and rewind",
            Self::FilmDamage => "Damage to film",
            Self::NoiseAndSmell => "Noise, smell, heat",
        }
    }
}

vocabulary! {
    /// What sort of print is in the machine: it decides when to stop.
    PrintSort {
        /// One of our own that may be lost.
        Disposable = "disposable",
        /// It belongs to a lender and goes back.
        Lent = "lent",
        /// The only one, or the last one known.
        Only = "only",
    }
}

vocabulary! {
    /// How far the show may go on with this symptom, for the sake of the print.
    RunOn {
        /// Go on: the print comes to no harm.
        RunOn = "run-on",
        /// Go on to the end of the reel and no further.
        ReelEnd = "reel-end",
        /// Stop now.
        Stop = "stop",
    }
}

/// How far to go on, by the sort of print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ForPrint {
    /// With a print that may be lost.
    pub disposable: RunOn,
    /// With a lender's print.
    pub lent: RunOn,
    /// With the only print.
    pub only: RunOn,
}

impl ForPrint {
    /// The print comes to no harm, whatever it is.
    pub const SAFE: Self = Self { disposable: RunOn::RunOn, lent: RunOn::RunOn, only: RunOn::RunOn };

    /// How far to go on with a print of this sort.
    pub const fn of(self, sort: PrintSort) -> RunOn {
        match sort {
            PrintSort::Disposable => self.disposable,
            PrintSort::Lent => self.lent,
            PrintSort::Only => self.only,
        }
    }

    /// True if a print of some sort may come to harm.
    pub fn endangers_film(self) -> bool {
        self != Self::SAFE
    }
}

/// What to do with the hands now, while an audience waits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct During {
    /// The words, for a tired person in the dark.
    pub words: String,
    /// How long it takes.
    pub takes: Seconds,
}

/// A cause with a chance: the odds of a cause given a symptom, the chance that a check finds it, or that a remedy
/// cures it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CauseChance {
    /// The cause.
    pub cause: CauseId,
    /// The chance.
    pub chance: Probability,
}

/// The chance that a list gives to a cause; nought if it does not name it.
pub(super) fn chance_of(list: &[CauseChance], cause: &str) -> Probability {
    list.iter().find(|entry| entry.cause.as_str() == cause).map_or(Probability::NEVER, |entry| entry.chance)
}

/// Something that may be noticed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Symptom {
    /// Its name in logbooks.
    pub id: SymptomId,
    /// What is noticed, in plain words.
    pub name: String,
    /// Other words in which people say it, for those who look for it.
    pub also_said: Vec<String>,
    /// The group under which it is looked for.
    pub noticed: Noticed,
    /// The parts at which it shows, for those who start from the picture of the film path.
    pub shows_at: Vec<SlotId>,
    /// How often it comes up in 1000 hours of running.
    pub per_1000_hours: f64,
    /// Its causes with their odds given the symptom; together with `unexplained` they make up 1.
    pub causes: Vec<CauseChance>,
    /// The odds that it is none of them.
    pub unexplained: Probability,
    /// Why everything stops at once, where it does.
    pub stop_now: Option<String>,
    /// The drill for it, where there is one.
    pub drill: Option<DrillId>,
    /// What an audience loses by it: the show stands still until it is mended or somebody takes over.
    pub stops: Stops,
    /// How far to go on, by the sort of print.
    pub for_print: ForPrint,
    /// What to do now, with the show running.
    pub during: During,
    /// What to do once the audience has gone.
    pub after: String,
    /// Where the odds come from.
    pub source: SourceTag,
}

impl Symptom {
    /// The odds of a cause given this symptom.
    pub fn odds_of(&self, cause: &str) -> Probability {
        chance_of(&self.causes, cause)
    }

    /// How often it comes up with this cause, in 1000 hours of running.
    pub fn rate_with(&self, cause: &str) -> f64 {
        self.per_1000_hours * self.odds_of(cause).value()
    }
}
