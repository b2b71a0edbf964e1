//! The stores: what there is of each spare and consumable and where, what is on order, and what to order now so that
//! the booth does not run out of it before an order could come.

mod demand;
mod line;
mod named;
mod packing;
mod said;
mod served;
mod used;

pub use demand::{MOST_PLACES, NeedRests};
pub use line::{Lead, LeadRests, Need, StoreLine, StoreState};
pub use named::{ItemKind, Named, named_by_types};
pub use packing::Packing;
pub use used::Used;

use crate::{
    answer::{Answer, COMMON_PRACTICE, Caveat, CaveatKind, Ground},
    due::Desk,
    known::{NotKnown, known_names},
    lived::{Beliefs, KeptBeliefs},
    words::many,
};
use demand::Reckoner;
use jiff::{ZonedDateTime, civil};
use line::Lines;
use logbook::{Booth, ItemId, MachineId};
use machine::{Library, MachineType};
pub(crate) use served::{Drawn, Served};
use units::Probability;

/// The usual chance with which the stores are to last until more can come. Common practice, no source: one in twenty
/// is what people call rare.
pub const USUAL_SERVICE: f64 = 0.95;
/// Somebody looks through the stores at least once a week: an order goes out by then (common practice, no source).
pub const LOOKED_AT_DAYS: u32 = 7;
/// How long an order takes of which neither the booth nor the machine type knows (common practice, no source).
pub const USUAL_LEAD_DAYS: u32 = 14;

/// What the stores are asked to do.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Wish {
    /// The chance with which what is there is to last.
    pub service: Probability,
    /// For how many days; absent: until an order that goes out at the next look could come.
    pub days: Option<u32>,
}

impl Default for Wish {
    fn default() -> Self {
        let service = Probability::new(USUAL_SERVICE).expect("the constant is a chance");
        Self { service, days: None }
    }
}

/// The stores.
#[derive(Clone, Debug)]
pub struct Stores<'a> {
    /// What was asked.
    pub wish: Wish,
    /// Today, by the booth's custom.
    pub today: civil::Date,
    /// Every item, what is missing first.
    pub lines: Vec<StoreLine<'a>>,
    /// What the case lists of the machines of the next evening want, what lacks first.
    pub packing: Vec<Packing<'a>>,
}

impl<'a> Stores<'a> {
    /// Returns what to order now, what is most likely to run out first.
    pub fn shopping(&self) -> Vec<&StoreLine<'a>> {
        let mut list: Vec<_> = self.lines.iter().filter(|line| line.order_now > 0).collect();
        let lasts = |line: &StoreLine<'_>| line.need.as_ref().map_or(1.0, |need| need.lasts.value());
        list.sort_by(|a, b| lasts(a).total_cmp(&lasts(b)));
        list
    }

    /// Returns one item.
    ///
    /// # Errors
    /// That neither the stores nor the types of the booth's machines have such an item.
    pub fn line(&self, item: &str) -> Result<&StoreLine<'a>, NotKnown> {
        self.lines.iter().find(|line| line.id.as_str() == item).ok_or_else(|| NotKnown::Item {
            asked: item.to_owned(),
            known: known_names(item, self.lines.iter().map(|line| line.id.as_str())),
        })
    }
}

/// Returns the stores, what to order now and what lacks in the case for the next evening.
pub fn stores<'a>(
    booth: &'a Booth,
    library: &'a Library,
    now: &ZonedDateTime,
    kept: &'a KeptBeliefs,
    wish: Wish,
) -> Answer<Stores<'a>> {
    let desk = Desk::new(booth, library, now);
    let beliefs = Beliefs::at(&desk, kept);
    let here: Vec<usize> =
        (0..booth.machines.len()).filter(|at| booth.machines[*at].retired.is_none()).collect();
    let due = desk.count_all(&here);
    let reckoner = Reckoner { desk: &desk, beliefs: &beliefs, due: &due };
    let served = Served::at(&desk);
    let named = named_by_types(booth, library);
    let mut lines = Lines { reckoner: &reckoner, served: &served, library, wish }.all(&named);
    // Of those that stand alike, what is likeliest to run out comes first.
    let lasts = |line: &StoreLine<'_>| line.need.as_ref().map_or(1.0, |need| need.lasts.value());
    lines.sort_by(|a, b| {
        (a.state, a.kind).cmp(&(b.state, b.kind)).then_with(|| lasts(a).total_cmp(&lasts(b)))
    });
    let packing = packing::packing(&desk, &served);
    let mut caveats = desk.caveats_of(&here);
    caveats.retain(|caveat| caveat.kind != CaveatKind::EstimatedHours);
    caveats.extend(self::caveats(&lines, desk.now.day.date()));
    caveats.extend(desk.stale_diary());
    let value = Stores { wish, today: desk.now.day.date(), lines, packing };
    Answer { value, because: grounds(&desk), caveats }
}

/// Returns what the case lists of the machines of the next evening want, what lacks first.
pub fn case_of_next_evening<'a>(
    booth: &'a Booth,
    library: &'a Library,
    now: &ZonedDateTime,
) -> Vec<Packing<'a>> {
    case_of(&Desk::new(booth, library, now))
}

/// The same, where the diary was looked at before.
pub(crate) fn case_of<'a>(desk: &Desk<'a>) -> Vec<Packing<'a>> {
    packing::packing(desk, &Served::at(desk))
}

/// Returns the item under which spares of a part are kept, if there are such spares.
pub fn kept_for(booth: &Booth, machine: &MachineId, kind: &MachineType, slot: &str) -> Option<ItemId> {
    let spare = kind.spares_for(slot).next()?;
    Some(Served::new(booth).kept_as(machine, kind, spare, slot))
}

fn grounds(desk: &Desk<'_>) -> Vec<Ground> {
    let diary = desk.coming.iter().map(|coming| coming.day).max();
    let words = "hours of the coming showings; past the last one, so much a day as in the last 90 days or the last \
         year, whichever was busier";
    let diary = diary.map(|day| Ground::Diary { until: day.date(), words: words.into() });
    let rules = [
        "what is there and on order must last until an order that goes out at the next look, within 7 days, could come",
        "an order takes as long as the longest of the last three of that item did; else as the machine type says; else \
         14 days",
        "a part fails by the life believed of it, each machine by its own record, and all of them together when lives \
         are short; a change that is planned for that time wants one spare",
        "what is missing at a count was used",
    ];
    diary
        .into_iter()
        .chain(rules.map(|words| Ground::Rule { words: words.into(), source: COMMON_PRACTICE }))
        .collect()
}

fn caveats(lines: &[StoreLine<'_>], today: civil::Date) -> Vec<Caveat> {
    let mut caveats = Vec::new();
    let uncounted = lines.iter().filter(|line| line.state == StoreState::NeverCounted).count();
    if uncounted > 0 {
        let words = format!(
            "{} that the machine types name {} never counted: nothing of them is on the shopping list until they are.",
            many(uncounted, "item"),
            if uncounted == 1 { "was" } else { "were" }
        );
        caveats.push(Caveat::new(CaveatKind::NoRecord, words));
    }
    let on_prior = lines.iter().filter(|line| line.need.as_ref().is_some_and(Need::on_prior)).count();
    if on_prior > 0 {
        let words = format!(
            "What {} will want rests on what the machine type says of such parts, for want of lives of your own.",
            many(on_prior, "item")
        );
        caveats.push(Caveat::new(CaveatKind::PriorOnly, words));
    }
    let is_late = |line: &&StoreLine<'_>| {
        line.orders.iter().any(|(_, order)| order.expected.is_some_and(|day| day < today))
    };
    let late: Vec<&str> = lines.iter().filter(is_late).map(|line| line.name).collect();
    if !late.is_empty() {
        let words = format!("An order is past its day: {}. Ask after it.", late.join("; "));
        caveats.push(Caveat::new(CaveatKind::OpenQuery, words));
    }
    caveats
}

#[cfg(test)]
pub(crate) mod tests {
    use logbook::{
        EntryId, When,
        booth::{Clocks, FitnessState, Machine},
        fact::Fitness,
    };

    /// A machine of a type about which nothing else is known.
    pub(crate) fn machine(kind: &str) -> Machine {
        let added = (
            When::from_zoned(&jiff::ZonedDateTime::new(jiff::Timestamp::UNIX_EPOCH, jiff::tz::TimeZone::UTC)),
            EntryId(uuid::Uuid::nil()),
        );
        Machine {
            name: "m".to_owned(),
            machine_type: kind.into(),
            serial: String::new(),
            place: None,
            made_year: None,
            settings: std::collections::BTreeMap::new(),
            added,
            retired: None,
            clocks: Clocks::default(),
            hours_before_unknown: false,
            meter: None,
            fitness: FitnessState { fitness: Fitness::Fit, why: String::new(), since: None },
            runs: Vec::new(),
            care: logbook::booth::Map::default(),
            deferred: logbook::booth::Map::default(),
            left_out: logbook::booth::Map::default(),
            fitted: logbook::booth::Map::default(),
            disturbed: logbook::booth::Map::default(),
            readings: Vec::new(),
            events: Vec::new(),
        }
    }
}
