//! When the marks of a show change after they wrote something down, what they wrote follows: hours, that it was held,
//! stoppages. By correcting entries; nothing is overwritten.
//!
//! What a person changed by hand since stays as they wrote it, field by field: only what still says what the marks
//! said follows them.

use super::{
    close::{closing_of, is_linked, linked, stoppage_of},
    marks::{Phase, course_of},
    plan::ShowPlan,
};
use logbook::{
    Booth, Entry, EntryId, Fact, ShowingId, When,
    booth::ShowMarkRecord,
    fact::{Corrects, ShowMark, Withdraws},
    wire,
};
use machine::Library;

/// Why the marks' own corrections say that they correct.
pub const FOLLOWS: &str = "follows the marks of its show";
/// Why a tap and what it wrote was taken back on the show page.
pub const TAPPED_BY_MISTAKE: &str = "tapped by mistake in the show";

/// Settlements of settlements beyond this are not gone into: nobody corrects a correction that often.
const DEEPEST: usize = 20;

/// An entry that a mark wrote beside itself, as it stands by now.
#[derive(Clone, PartialEq, Debug)]
pub struct Written {
    /// The entry.
    pub entry: EntryId,
    /// What the marks wrote last.
    pub by_marks: (When, Fact),
    /// What it says now; none: it was taken back.
    pub stands: Option<(When, Fact)>,
    /// It was taken back by a person, not with its mark.
    pub taken_back_by_hand: bool,
}

/// Looks up what the marks of a show wrote beside themselves. `marks` are all that ever named the showing, also those
/// that were taken back; `get` finds an entry and `settlements` the entries that name one to correct or withdraw it.
pub fn written_by<E>(
    marks: &[EntryId],
    get: impl Fn(EntryId) -> Result<Option<Entry>, E>,
    settlements: impl Fn(EntryId) -> Result<Vec<Entry>, E>,
) -> Result<Vec<Written>, E> {
    let mut all = Vec::new();
    for mark in marks {
        for number in 1..=u8::MAX {
            let Some(entry) = get(linked(*mark, number))? else { break };
            all.push(written(entry, &settlements)?);
        }
    }
    Ok(all)
}

fn written<E>(entry: Entry, settlements: &impl Fn(EntryId) -> Result<Vec<Entry>, E>) -> Result<Written, E> {
    let first = (entry.happened, entry.fact);
    let mut own = settlements(entry.id)?;
    own.sort_by_key(|settlement| (settlement.recorded.unix_ms, settlement.id));
    let by_marks = said_by_marks(&first, &own);
    let (stands, why) = match effect(own, settlements, DEEPEST)? {
        None => (Some(first.clone()), None),
        Some(Effect::TakenBack { why }) => (None, Some(why)),
        Some(Effect::Says { at, fact }) => (Some((at.unwrap_or(first.0), *fact)), None),
    };
    let taken_back_by_hand = why.is_some_and(|why| why != FOLLOWS && why != TAPPED_BY_MISTAKE);
    Ok(Written { entry: entry.id, by_marks, stands, taken_back_by_hand })
}

/// What the marks said last, field by field: where a person wrote something else over it since, what the marks had said
/// before that, so that the person's word is told from theirs for good.
fn said_by_marks(first: &(When, Fact), own: &[Entry]) -> (When, Fact) {
    let (mut by_marks, mut said) = (first.clone(), first.clone());
    for settlement in own {
        let Fact::Corrects(corrects) = &settlement.fact else { continue };
        let newer = (corrects.happened.unwrap_or(first.0), (*corrects.with).clone());
        if corrects.why == FOLLOWS {
            if by_marks.0 == said.0 {
                by_marks.0 = newer.0;
            }
            by_marks.1 = wire::merged(&said.1, &by_marks.1, &newer.1);
        }
        said = newer;
    }
    by_marks
}

/// What is settled about an entry.
enum Effect {
    TakenBack { why: String },
    Says { at: Option<When>, fact: Box<Fact> },
}

/// The effect of the settlement that wins, of those that name one entry: the last that stands (docs/fold.md, step 2).
fn effect<E>(
    own: Vec<Entry>,
    settlements: &impl Fn(EntryId) -> Result<Vec<Entry>, E>,
    deeper: usize,
) -> Result<Option<Effect>, E> {
    if deeper == 0 {
        return Ok(None);
    }
    for settlement in own.into_iter().rev() {
        let mut about = settlements(settlement.id)?;
        about.sort_by_key(|further| (further.recorded.unix_ms, further.id));
        let further = effect(about, settlements, deeper - 1)?;
        match (settlement.fact, further) {
            (Fact::Withdraws(said), None) => return Ok(Some(Effect::TakenBack { why: said.why })),
            (Fact::Corrects(said), None) => {
                return Ok(Some(Effect::Says { at: said.happened, fact: said.with }));
            }
            (Fact::Corrects(said), Some(Effect::Says { at, fact })) => {
                return Ok(Some(Effect::Says { at: at.or(said.happened), fact }));
            }
            _ => {}
        }
    }
    Ok(None)
}

/// What is to be written so that the logbook says what the marks say.
#[derive(Clone, PartialEq, Debug)]
pub struct Step {
    /// When it happened, for an entry of its own; a correction or withdrawal names its moment itself.
    pub happened: When,
    /// The id under which it is to stand; none: any.
    pub id: Option<EntryId>,
    /// The entry.
    pub fact: Fact,
}

/// Returns what is to be written so that the logbook says what the marks of a showing say; nothing for a showing that is
/// not in the diary. `marks`, `get` and `settlements` are as for [`written_by`].
pub fn steps_to_follow<E>(
    booth: &Booth,
    library: &Library,
    showing: &ShowingId,
    marks: &[EntryId],
    get: impl Fn(EntryId) -> Result<Option<Entry>, E>,
    settlements: impl Fn(EntryId) -> Result<Vec<Entry>, E>,
) -> Result<Vec<Step>, E> {
    let Some(found) = booth.showings.get(showing) else { return Ok(Vec::new()) };
    let plan = super::plan_of(booth, library, (showing, found)).ok().map(|plan| plan.value);
    Ok(following(booth, plan.as_ref(), showing, &written_by(marks, get, settlements)?))
}

/// What follows from the marks of a show for the entries that they wrote.
///
/// Runs and the end are there while the show is over by its marks, a stoppage while the marks know of it. What somebody
/// wrote by hand stays. What was never written, because the mark came in another way, is written now.
pub fn following(
    booth: &Booth,
    plan: Option<&ShowPlan>,
    showing: &ShowingId,
    written: &[Written],
) -> Vec<Step> {
    let marks = booth.shows.get(showing).map(Vec::as_slice).unwrap_or_default();
    let mut wanted = wanted(booth, plan, showing, marks, written);
    let mut steps = Vec::new();
    let mut left: Vec<&Written> = Vec::new();
    // What stands is paired first, so that a second copy of it is taken back and not the first.
    for one in written.iter().filter(|one| one.stands.is_some()) {
        match wanted.iter().position(|wanted| is_for(one, wanted)) {
            Some(place) => steps.extend(correction(one, &wanted.remove(place))),
            None => left.push(one),
        }
    }
    let untouched = |one: &&Written| one.stands.as_ref() == Some(&one.by_marks);
    steps.extend(left.into_iter().filter(untouched).map(|one| {
        let why = FOLLOWS.to_owned();
        Step { happened: one.by_marks.0, id: None, fact: Withdraws { entry: one.entry, why }.into() }
    }));
    let by_hand = |wanted: &Wanted| written.iter().any(|one| one.taken_back_by_hand && is_for(one, wanted));
    let mut taken: Vec<EntryId> = written.iter().map(|one| one.entry).collect();
    for wanted in wanted.into_iter().filter(|wanted| !by_hand(wanted)) {
        let free = (1..=u8::MAX).map(|number| linked(wanted.mark, number)).find(|id| !taken.contains(id));
        taken.extend(free);
        steps.extend(free.map(|id| Step { happened: wanted.at, id: Some(id), fact: wanted.fact }));
    }
    steps
}

/// Something that the marks want written.
struct Wanted {
    /// The mark that writes it.
    mark: EntryId,
    at: When,
    fact: Fact,
}

fn wanted(
    booth: &Booth,
    plan: Option<&ShowPlan>,
    showing: &ShowingId,
    marks: &[ShowMarkRecord],
    written: &[Written],
) -> Vec<Wanted> {
    let course = course_of(plan, marks);
    let mut wanted = Vec::new();
    for dark in &course.dark {
        let ended_by = marks.iter().find(|mark| Some(mark.at.unix_ms) == dark.until_ms);
        let own = |entry: EntryId| written.iter().any(|one| one.entry == entry);
        let noted_by_hand = booth.stoppages.iter().any(|there| {
            there.showing.as_ref() == Some(showing) && there.at.unix_ms == dark.from_ms && !own(there.entry)
        });
        let Some(mark) = ended_by.filter(|_| !noted_by_hand) else { continue };
        let (at, fact) = stoppage_of(plan, showing, dark, mark.at);
        wanted.push(Wanted { mark: mark.entry, at, fact });
    }
    let end = marks.iter().find(|mark| {
        mark.mark == ShowMark::Ended && course.over_ms == Some(mark.at.unix_ms) && course.phase == Phase::Over
    });
    if let Some(end) = end {
        let facts = closing_of(plan, &course, showing, end.at);
        wanted.extend(facts.into_iter().map(|(at, fact)| Wanted { mark: end.entry, at, fact }));
    }
    wanted
}

/// Whether an entry speaks of what is wanted: the run of one machine with one print, the end, one mark's stoppage.
fn is_for(one: &Written, wanted: &Wanted) -> bool {
    match (&one.by_marks.1, &wanted.fact) {
        (Fact::Ran(one), Fact::Ran(other)) => one.machine == other.machine && one.print == other.print,
        (Fact::ShowingHeld(_), Fact::ShowingHeld(_)) => true,
        (Fact::Stoppage(_), Fact::Stoppage(_)) => is_linked(one.entry, wanted.mark),
        _ => false,
    }
}

/// The correction that brings an entry in line, if it needs one.
fn correction(one: &Written, wanted: &Wanted) -> Option<Step> {
    let (at, fact) = one.stands.as_ref()?;
    let merged = wire::merged(&one.by_marks.1, fact, &wanted.fact);
    let happened = if *at == one.by_marks.0 { wanted.at } else { *at };
    if merged == *fact && happened.unix_ms == at.unix_ms {
        return None;
    }
    let corrects = Corrects {
        entry: one.entry,
        with: Box::new(merged),
        happened: Some(happened),
        why: FOLLOWS.to_owned(),
    };
    Some(Step { happened, id: None, fact: Fact::Corrects(corrects) })
}
