//! Stock: what care uses up, what is kept to be fitted, and how long parts have been known to last.

use crate::id::{ConsumableId, SlotId, SourceTag, SpareId};
use crate::part::Caution;
use crate::vocabulary::vocabulary;
use serde::Serialize;
use units::Grams;

/// Something that care uses up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Consumable {
    /// Its name in the file and in stock.
    pub id: ConsumableId,
    /// Its name in plain words.
    pub name: String,
    /// What it is for and how it is used: for oil, sparingly.
    pub words: String,
    /// Cautions that come with it wherever it is used.
    pub cautions: Vec<Caution>,
    /// Where the advice comes from.
    pub source: SourceTag,
}

/// What a spare costs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cost {
    /// Relative credits, not money of any country; a booth writes its own prices.
    pub credits: f64,
    /// Where the figure comes from.
    pub source: SourceTag,
}

/// How long a spare takes to come.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Lead {
    /// Days when it is to be had.
    pub days: u32,
    /// Days when it has become rare.
    pub rare_days: Option<u32>,
    /// Where the figures come from.
    pub source: SourceTag,
}

/// Something kept to be fitted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spare {
    /// Its name in the file and in stock.
    pub id: SpareId,
    /// Its name in plain words; never a maker's number.
    pub name: String,
    /// The slots it fits.
    pub fits: Vec<SlotId>,
    /// How many travel in the case.
    pub carry: u32,
    /// How many a depot keeps, in words (`1 per 3 machines`).
    pub depot: String,
    /// Its mass, if it matters for a case.
    pub mass: Option<Grams>,
    /// What it costs.
    pub cost: Cost,
    /// How long it takes to come.
    pub lead: Lead,
    /// Where the numbers to carry and keep come from.
    pub source: SourceTag,
}

vocabulary! {
    /// The clock along which a part ages.
    LifeClock {
        /// Hours of running.
        Hours = "hours",
        /// Hours of the lamp.
        LampHours = "lamp_hours",
        /// Years since it was made or fitted.
        Years = "years",
        /// Starts of the lamp.
        Strikes = "strikes",
        /// Showings.
        Showings = "showings",
        /// Times a control is worked.
        Operations = "operations",
    }
}

vocabulary! {
    /// What an audience loses when a part fails in a showing.
    Stops {
        /// The picture, and with it the showing until it is back.
        Picture = "picture",
        /// The sound.
        Sound = "sound",
        /// Nothing for which one would stop: the picture or the sound suffers, and the show goes on.
        Nothing = "nothing",
    }
}

/// What the end of a part's life does to a showing, and what it takes to go on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Loss {
    /// What the audience loses.
    pub stops: Stops,
    /// Minutes until the show goes on, for an operator who has what it takes; absent: not within a showing.
    pub minutes: Option<f64>,
    /// It takes a spare.
    pub spare: bool,
    /// Share of these failures that come at the strike, when cold metal meets the current; the rest come burning.
    pub at_strike: f64,
    /// Minutes to change it beforehand, on the bench; absent: a technician's work.
    pub bench_minutes: Option<f64>,
    /// Where the figures come from.
    pub source: SourceTag,
}

/// What is thought of a part's life before a booth has lives of its own: a Weibull law.
///
/// `R(t) = exp(-(t / scale)^shape)`: shape below 1 means early failures, 1 chance, 2 to 3.5 wear, above 4 a sharp end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PriorLife {
    /// The part.
    pub slot: SlotId,
    /// Which kind of it, where there are several (`50 h class`); empty if there is one.
    pub variant: String,
    /// The clock along which it ages.
    pub clock: LifeClock,
    /// Shape, a bare number.
    pub shape: f64,
    /// Scale, on the clock: the age that 63 % do not reach.
    pub scale: f64,
    /// It stands only for machines whose settings name this variant for the part, instead of the usual life.
    pub alternative: bool,
    /// What makes it longer or shorter.
    pub modifiers: String,
    /// What its end does to a showing; absent: nobody has said, and it counts as stopping nothing.
    pub loss: Option<Loss>,
    /// Where the figures come from.
    pub source: SourceTag,
}
