//! `[[care]]`: what is done, how often, and what sets it off.

use super::circle::in_circles;
use super::form::{Allowed, Form, cut, suggestion};
use super::names::Names;
use super::part::{cautions, with_cautions_of};
use crate::care::{CareKind, CareTask, Clock, Every, MachineState, OnceAfterFitting, Trigger};
use crate::part::{Caution, Danger, Part};
use std::collections::HashMap;
use std::ops::Range;
use units::{Hours, Seconds};

/// Days in a year, as an interval of years is counted.
const DAYS_IN_A_YEAR: u32 = 365;

pub(super) fn care(top: &Form<'_, '_>, names: &Names<'_>, parts: &[Part]) -> Vec<CareTask> {
    if !top.has("care") {
        top.note(
            "care",
            "the file has no care",
            "add [[care]] for each thing that is done to keep the machine fit",
        );
    }
    // In reverse, so that the first of two parts of one name stays.
    let part_of: HashMap<&str, &Part> = parts.iter().rev().map(|part| (part.id.as_str(), part)).collect();
    let mut tasks = Vec::new();
    let mut includes_at = Vec::new();
    for mut form in top.forms("care") {
        let faults = top.desk.count();
        let mut task = task(&mut form, names);
        // A stand-in for a misread word would only give echoes of the first fault.
        if top.desk.count() == faults {
            check_task(&form, &task, &part_of);
        }
        task.cautions = cautions_at_step(&task, &part_of);
        includes_at.push(form.place("includes"));
        form.finish();
        tasks.push(task);
    }
    note_circles(top, &tasks, &includes_at);
    tasks
}

fn task(form: &mut Form<'_, '_>, names: &Names<'_>) -> CareTask {
    let id = form.named("care");
    CareTask {
        name: form.text("name"),
        parts: form.references("parts", &names.parts),
        kind: form.word("kind"),
        steps: form.text("steps"),
        takes: Seconds::from_minutes(form.number("minutes", Allowed::Positive { most: 10_000.0 })),
        every: every(form),
        triggers: triggers(form),
        once_after_fitting: once_after_fitting(form, names),
        cautions: cautions(form),
        state: form.word("state"),
        who: form.word("who"),
        uses: form.references("uses", &names.consumables),
        safety: form.flag("safety"),
        reading: form.maybe_reference("reading", &names.readings),
        includes: form.references("includes", &names.care),
        evidence: form.text("evidence"),
        source: form.source(names),
        id,
    }
}

/// `every = { hours = 50, days = 180 }`, the earlier of the two.
fn every(form: &Form<'_, '_>) -> Option<Every> {
    let table = form.maybe_form("every", format!("`every` of {}", form.what))?;
    let hours = table.maybe_number("hours", Allowed::Positive { most: 100_000.0 });
    let strikes = table.maybe_whole("strikes", 1, 1_000_000);
    let days = table.maybe_whole("days", 1, 36_500);
    let years = table.maybe_whole("years", 1, 100);
    let clock = table.maybe_word::<Clock>("clock");
    if !["hours", "strikes", "days", "years"].into_iter().any(|key| table.has(key)) {
        form.note(
            "every",
            format!("`every` of {} names no interval", form.what),
            "write { hours = 50, days = 180 }, or one of the two",
        );
    }
    if hours.is_some() && strikes.is_some() {
        table.note(
            "strikes",
            format!("`every` of {} counts hours and strikes", form.what),
            "keep one of the two",
        );
    }
    if days.is_some() && years.is_some() {
        table.note("years", format!("`every` of {} counts days and years", form.what), "keep one of the two");
    }
    if clock == Some(Clock::Strikes) || (clock.is_some() && hours.is_none()) {
        table.note(
            "clock",
            "`clock` says which counter the hours are read from",
            "use it with hours = …, with `running`, `motor` or `lamp`",
        );
    }
    table.finish();
    let clock = if strikes.is_some() { Clock::Strikes } else { clock.unwrap_or(Clock::Running) };
    let days = days.or(years.map(|years| years * DAYS_IN_A_YEAR));
    Some(Every { hours: hours.map(Hours::new), strikes, days, clock })
}

fn triggers(form: &Form<'_, '_>) -> Vec<Trigger> {
    let mut triggers = Vec::new();
    for value in form.list("when") {
        let word = value.get_ref().as_str().unwrap_or_default();
        match Trigger::from_word(word) {
            Some(trigger) if triggers.contains(&trigger) => {
                form.desk.note(
                    &value.span(),
                    format!("`{word}` stands twice in `when` of {}", form.what),
                    "say it once",
                );
            }
            Some(trigger) => triggers.push(trigger),
            None => {
                let words = Trigger::PLAIN.iter().filter_map(|t| t.plain_word()).chain(["idle-90-days"]);
                let what = format!("`{}` is not an event that care answers to", cut(word));
                form.desk.note(&value.span(), what, suggestion(word, words));
            }
        }
    }
    triggers
}

fn once_after_fitting(form: &Form<'_, '_>, names: &Names<'_>) -> Option<OnceAfterFitting> {
    let table = form.maybe_form("once_after_fitting", format!("`once_after_fitting` of {}", form.what))?;
    let once = OnceAfterFitting {
        slot: table.reference("part", &names.parts),
        hours: Hours::new(table.number("hours", Allowed::Positive { most: 100_000.0 })),
    };
    table.finish();
    Some(once)
}

fn check_task(form: &Form<'_, '_>, task: &CareTask, part_of: &HashMap<&str, &Part>) {
    if task.parts.is_empty() {
        form.note(
            "parts",
            format!("{} names no part", form.what),
            "add parts = [\"…\"]; the walk stands at the first",
        );
    }
    if !["every", "when", "once_after_fitting"].into_iter().any(|key| form.has(key)) {
        let right =
            "add every = { hours = 50, days = 180 }, when = [\"before-showing\"] or once_after_fitting";
        form.note("every", format!("nothing ever calls for {}", form.what), right);
    }
    if task.kind == CareKind::Measure && !form.has("reading") {
        form.note("kind", format!("{} measures, but no reading is named", form.what), "add reading = \"…\"");
    }
    if task.kind == CareKind::Oil && task.uses.is_empty() {
        form.note(
            "kind",
            format!("{} oils, but does not say with what", form.what),
            "add uses = [\"light-oil\"]",
        );
    }
    for part in task.parts.iter().filter_map(|slot| part_of.get(slot.as_str())) {
        check_hand(form, task, part);
        check_danger(form, task, part);
    }
}

/// What only a technician may replace, or only a technician may come near while the machine stands open,
/// is not given to an operator by a task. A task replaces the first of its parts; the others it only touches.
fn check_hand(form: &Form<'_, '_>, task: &CareTask, part: &Part) {
    let replaced = task.kind == CareKind::Replace && task.parts.first() == Some(&part.id);
    let needed = if replaced {
        part.who.replace
    } else if task.state == MachineState::Running {
        return;
    } else {
        part.who.look
    };
    if task.who < needed {
        let what = format!("{} gives `{}` to the {}", form.what, part.id, task.who);
        form.note(
            "who",
            format!("{what}, but the part is for the {needed}"),
            format!("write who = \"{needed}\""),
        );
    }
}

/// Hands at a part that runs, or inside one that is live, need words of the task's own: the part's general caution
/// says to stop or unplug it.
fn check_danger(form: &Form<'_, '_>, task: &CareTask, part: &Part) {
    if !task.kind.is_hands_on() || task.kind == CareKind::Test || task.kind == CareKind::Measure {
        return;
    }
    for danger in [Danger::Moving, Danger::Live] {
        let left = part.dangers.contains(&danger) && task.state.leaves(danger);
        if left && !task.cautions.iter().any(|caution| caution.danger == danger) {
            let safe = if danger == Danger::Live { MachineState::Unplugged } else { MachineState::Stopped };
            let what =
                format!("{} puts a hand to `{}`, which is {danger} while {}", form.what, part.id, task.state);
            form.note(
                "state",
                what,
                format!("write state = \"{safe}\", or a caution of the task's own for `{danger}`"),
            );
        }
    }
}

/// The task's own cautions, then those of its parts; nobody is hurt by writing something down.
fn cautions_at_step(task: &CareTask, part_of: &HashMap<&str, &Part>) -> Vec<Caution> {
    if task.kind == CareKind::Record {
        return task.cautions.clone();
    }
    let parts = task.parts.iter().filter_map(|slot| part_of.get(slot.as_str()).copied());
    with_cautions_of(&task.cautions, parts, task.state)
}

/// Notes each task that comes round to itself along `includes`.
fn note_circles(top: &Form<'_, '_>, tasks: &[CareTask], includes_at: &[Range<usize>]) {
    let place: HashMap<&str, usize> =
        tasks.iter().enumerate().map(|(at, task)| (task.id.as_str(), at)).collect();
    let leads_to: Vec<Vec<usize>> = tasks
        .iter()
        .map(|task| task.includes.iter().filter_map(|id| place.get(id.as_str()).copied()).collect())
        .collect();
    for (n, _) in in_circles(&leads_to).into_iter().enumerate().filter(|(_, circle)| *circle) {
        let what = format!("care `{}` includes itself, straight or by way of others", tasks[n].id);
        top.desk.note(&includes_at[n], what, "let only the bigger task include the smaller");
    }
}
