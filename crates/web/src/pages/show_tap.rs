//! Taps of the show: each is an entry, with what hangs on it; taking one back; what follows when marks change.

use super::show::{as_json, find};
use crate::{
    trouble::{Answered, Trouble},
    typed::{Posted, Typed},
    visit::Visit,
    write::{self, NotWritten},
};
use ::logbook::{
    Booth, Draft, EntryId, Fact, PersonId, ShowingId, When,
    booth::ShowMarkRecord,
    fact::{ShowMark, ShowMarked, Withdraws},
    rules,
};
use axum::{
    extract::Path,
    http::StatusCode,
    response::{IntoResponse, Redirect},
};
use booth::show::{self, Phase, ShowPlan};
use serde_json::json;
use store::StoreError;
use views::Place;

/// Takes one tap.
pub async fn take(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    written(visit, &id, posted, mark).await
}

/// Takes a tap back, and whatever it wrote beside itself.
pub async fn undo(visit: Visit, Path(id): Path<String>, posted: Posted) -> Answered {
    written(visit, &id, posted, take_back).await
}

/// Does something to the marks of a show, and goes on to its page.
async fn written(
    visit: Visit,
    id: &str,
    posted: Posted,
    deed: fn(&Visit, &ShowingId, &Typed) -> Result<EntryId, NotWritten>,
) -> Answered {
    let showing = find(&visit, id)?.0.clone();
    let (named, wants_json) = (showing.clone(), posted.wants_json);
    let written = write::blocking(move || deed(&visit, &named, &posted.typed)).await;
    let address = format!("{}/show", Place::Showing(showing.clone()).href());
    match written {
        Ok(entry) if wants_json => Ok(as_json(StatusCode::OK, &json!({ "entry": entry }))),
        Ok(_) => Ok(Redirect::to(&address).into_response()),
        Err(refused) => {
            let back = (address, "Back to the show");
            Err(refused.on_a_page("Not written down", "Go back to the show and tap again.", back))
        }
    }
}

/// Writes a tap down, with the stoppage that it ends and, at the end of the show, the hours and that it was held.
fn mark(visit: &Visit, showing: &ShowingId, typed: &Typed) -> Result<EntryId, NotWritten> {
    let id = write::id_of(typed)?;
    if visit.desk.store().get(id)?.is_some() {
        return Ok(id);
    }
    let (by, at) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    let at = tapped_at(visit, typed).unwrap_or(at);
    let mut was_over = false;
    // What hangs on a tap is made of the show as it stands by now: another hand may have been quicker.
    visit.desk.write(|booth| {
        if visit.desk.store().get(id)?.is_some() {
            return Ok(Vec::new());
        }
        let tap = tap(visit, booth, showing, typed, (id, at, &by))?;
        was_over = tap.was_over;
        match write::accepted(visit, booth, tap.drafts) {
            // What the tap says must not be lost for what hangs on it: hours can be written down by hand.
            Err(NotWritten::Problems(_)) => write::accepted(visit, booth, vec![tap.own]),
            other => other,
        }
    })?;
    // A tap that waited on a phone may come after the end that it belongs before.
    if was_over {
        follow(visit, showing, &by)?;
    }
    Ok(id)
}

/// A tap as it is to be written.
struct Tap {
    own: Draft,
    /// The tap and what hangs on it.
    drafts: Vec<Draft>,
    /// The show had ended already.
    was_over: bool,
}

/// Makes of a tap what is to be written in the booth as it stands.
fn tap(
    visit: &Visit,
    booth: &Booth,
    showing: &ShowingId,
    typed: &Typed,
    (id, at, by): (EntryId, When, &PersonId),
) -> Result<Tap, NotWritten> {
    let Some(found) = booth.showings.get(showing) else {
        return Err(Trouble::not_found(
            "This showing is not in the diary any more.",
            "Look for it in the diary.",
        )
        .into());
    };
    let plan = show::plan_of(booth, visit.library(), (showing, found)).ok().map(|plan| plan.value);
    let fact = read_mark(showing, plan.as_ref(), typed)?;
    let record = ShowMarkRecord {
        at,
        mark: fact.mark,
        reel: fact.reel,
        machine: fact.machine.clone(),
        note: String::new(),
        entry: id,
        by: by.clone(),
    };
    let stoppage = show::stoppage_after(booth, plan.as_ref(), showing, &record);
    let closing = show::closing(booth, plan.as_ref(), showing, &record);
    let device = visit.desk.device();
    let draft = |id, happened, fact| Draft { id, device, happened, by: by.clone(), fact };
    let own = draft(id, at, fact.into());
    let further = stoppage.into_iter().chain(closing).zip(1..);
    let further = further.map(|((at, fact), number)| draft(show::linked(id, number), at, fact));
    let drafts = std::iter::once(own.clone()).chain(further).collect();
    let marks = booth.shows.get(showing).into_iter().flatten();
    let was_over = show::course_of(plan.as_ref(), marks).phase == Phase::Over;
    Ok(Tap { own, drafts, was_over })
}

/// Lets what the marks of a show wrote beside themselves follow the marks as they stand by now. What the gate refuses
/// is left to a person: the marks themselves are written already.
pub(super) fn follow(visit: &Visit, showing: &ShowingId, by: &PersonId) -> Result<(), NotWritten> {
    let store = visit.desk.store();
    let device = visit.desk.device();
    let now = When::from_zoned(&visit.now);
    visit.desk.write(|booth| {
        let marks = store::marks_of(store, showing)?;
        let get = |id| Ok::<_, StoreError>(store.get(id)?.map(|stored| stored.chained.entry));
        let settlements = |id| store.settlements(id);
        let steps = show::steps_to_follow(booth, visit.library(), showing, &marks, get, settlements)?;
        let drafts = steps.into_iter().map(|step| {
            let id = step.id.unwrap_or_else(|| visit.desk.new_id());
            Draft { id, device, happened: step.happened, by: by.clone(), fact: step.fact }
        });
        let accept = |draft| ::booth::accept(draft, booth, visit.library(), now).ok();
        Ok::<_, NotWritten>(drafts.filter_map(accept).collect())
    })?;
    Ok(())
}

fn read_mark(showing: &ShowingId, plan: Option<&ShowPlan>, typed: &Typed) -> Result<ShowMarked, NotWritten> {
    let word = typed.get("mark").unwrap_or_default();
    let mark: Option<ShowMark> = serde_json::from_value(json!(word)).ok();
    let reel: Option<u32> = typed.get("reel").and_then(|reel| reel.parse().ok()).filter(|reel| *reel > 0);
    let (Some(mark), Some(reel)) = (mark, reel) else {
        return Err(Trouble::not_understood(
            "This tap does not say what happened in which reel.",
            "Go back to the show and tap again.",
        )
        .into());
    };
    let planned = plan.and_then(|plan| plan.reels.get(reel as usize - 1)).map(|reel| reel.machine.clone());
    let machine = typed.get("machine").map(::logbook::MachineId::new).or(planned);
    Ok(ShowMarked { showing: showing.clone(), mark, reel, machine, note: String::new() })
}

/// The moment of the tap on the server's clock, as the device reckons it; nothing if that cannot be.
fn tapped_at(visit: &Visit, typed: &Typed) -> Option<When> {
    let unix_ms: i64 = typed.get("at_ms")?.parse().ok()?;
    let now = When::from_zoned(&visit.now);
    let latest = now.unix_ms + rules::CLOCK_SKEW_MS;
    (latest - 400 * 86_400_000..=latest).contains(&unix_ms).then_some(When { unix_ms, ..now })
}

fn take_back(visit: &Visit, showing: &ShowingId, typed: &Typed) -> Result<EntryId, NotWritten> {
    let id = write::id_of(typed)?;
    if visit.desk.store().get(id)?.is_some() {
        return Ok(id);
    }
    let mark: EntryId = typed.get("undo").and_then(|entry| entry.parse().ok()).ok_or_else(|| {
        Trouble::not_understood("This does not say which tap is taken back.", "Go back to the show.")
    })?;
    let of_this_show = visit.desk.store().get(mark)?.is_some_and(
        |stored| matches!(stored.chained.entry.fact, Fact::ShowMarked(marked) if marked.showing == *showing),
    );
    if !of_this_show {
        return Err(Trouble::not_understood(
            "What is to be taken back is not a tap of this show.",
            "Look for the entry in the logbook and take it back there.",
        )
        .into());
    }
    let (by, at) = write::frame_of(visit, typed).map_err(NotWritten::Problems)?;
    let device = visit.desk.device();
    let mut drafts = Vec::new();
    for number in 0..=u8::MAX {
        let entry = show::linked(mark, number);
        if visit.desk.store().get(entry)?.is_none() {
            break;
        }
        // Another hand was quicker.
        let settlements = visit.desk.store().settlements(entry)?;
        if settlements.iter().any(|settled| matches!(settled.fact, Fact::Withdraws(_))) {
            continue;
        }
        let fact = Withdraws { entry, why: show::TAPPED_BY_MISTAKE.to_owned() }.into();
        drafts.push(Draft { id: show::linked(id, number), device, happened: at, by: by.clone(), fact });
    }
    write::put_down(visit, &drafts)?;
    follow(visit, showing, &by)?;
    Ok(id)
}
