//! The answers as JSON for scripts. Keys are stable: quantities are numbers with their unit in the key, dates are
//! ISO 8601, ids are texts, and `because` and `caveats` come with every answer that has them.

use booth::{
    Answer, DiaryDay, DueItem, FilmPath, FittedPart, Hindsight, HistoryLine, MachineRow, MachineSheet,
    Outlook, PartLives, SlotView, Tonight, TonightMachine, TonightShowing, Walk, WalkStep, WeekHours,
};
use jiff::Timestamp;
use logbook::{
    Booth, FaultId, ShowingId, When,
    booth::{CareRecord, Clocks, Fault, Machine, Query, ReadingRecord, Showing, ShowingState},
    ids::SlotId,
};
use machine::CareTask;
use serde_json::{Value, json};

/// Wraps a value with its reasons and caveats.
fn answered<T>(answer: &Answer<T>, mut value: Value) -> Value {
    value["because"] = json!(answer.because);
    value["caveats"] = json!(answer.caveats);
    value
}

/// A moment as ISO 8601, as exactly as it is known.
pub fn moment(when: When) -> String {
    use logbook::Precision as Known;
    let local = when.local();
    match when.precision {
        Known::Day => local.date().to_string(),
        Known::Month => local.strftime("%Y-%m").to_string(),
        Known::Second | Known::Minute => {
            let offset = jiff::tz::Offset::from_seconds(when.offset_s).unwrap_or(jiff::tz::Offset::UTC);
            when.timestamp().display_with_offset(offset).to_string()
        }
    }
}

/// What is due: a list, one object for each task.
pub fn due(answer: &Answer<Vec<DueItem<'_>>>) -> Value {
    json!(answer.value)
}

/// The coming showings.
pub fn tonight(answer: &Answer<Tonight<'_>>, outlooks: &[Answer<Outlook<'_>>], booth: &Booth) -> Value {
    let tonight = &answer.value;
    let value = json!({
        "evening": tonight.evening,
        "sentence": tonight.sentence,
        "this_evening": tonight.this_evening.iter().map(tonight_showing).collect::<Vec<_>>(),
        "next_days": tonight.next_days.iter().map(tonight_showing).collect::<Vec<_>>(),
        "no_record": tonight.n_no_record,
        "after_that": tonight.after_that.map(|(id, one)| showing(id, one)),
        "outlooks": outlooks.iter().map(|outlook| self::outlook(outlook, booth)).collect::<Vec<_>>(),
    });
    answered(answer, value)
}

/// How long parts last.
pub fn parts_lives(answer: &Answer<Vec<PartLives<'_>>>) -> Value {
    answered(answer, crate::parts_lives::json(&answer.value))
}

/// How a coming showing stands.
pub fn outlook(answer: &Answer<Outlook<'_>>, booth: &Booth) -> Value {
    answered(answer, crate::outlook::json(&answer.value, booth))
}

/// How chances fared.
pub fn hindsight(answer: &Answer<Hindsight<'_>>) -> Value {
    answered(answer, crate::hindsight::json(&answer.value))
}

fn tonight_showing(shown: &TonightShowing<'_>) -> Value {
    let mut value = showing(shown.id, shown.showing);
    value["evening"] = json!(shown.evening);
    value["minutes_till_start"] = json!(shown.minutes_till_start);
    value["minutes_till_doors"] = json!(shown.minutes_till_doors);
    value["minutes_of_care"] = json!(shown.minutes_of_care);
    value["sentence"] = json!(shown.sentence);
    value["machines"] = shown.machines.iter().map(tonight_machine).collect();
    value["unknown_machines"] = json!(shown.unknown_machines);
    value["prints"] = crate::prints::warnings_json(&shown.prints);
    value["first_checks"] = json!(
        shown
            .first_checks
            .iter()
            .map(|(machine, task)| json!({ "machine": machine, "task": task.id }))
            .collect::<Vec<_>>()
    );
    value
}

fn tonight_machine(shown: &TonightMachine<'_>) -> Value {
    let before = shown.before.iter().map(|(task, done)| care(task, *done));
    json!({
        "machine": shown.id,
        "name": shown.machine.name,
        "machine_type": shown.machine.machine_type,
        "may_run": shown.may_run,
        "fitness": shown.machine.fitness.fitness,
        "due": shown.due,
        "listed_earlier": shown.n_listed_earlier,
        "no_record": shown.n_no_record,
        "before": before.collect::<Vec<_>>(),
        "before_left": shown.n_before_left(),
        "open_faults": shown.open_faults.iter().map(|(id, one)| fault(id, one)).collect::<Vec<_>>(),
        "attention": shown.attention.iter().map(|found| care(found.task, Some(found.record))).collect::<Vec<_>>(),
        "untested": shown.untested.iter().map(|item| &item.task.id).collect::<Vec<_>>(),
        "minutes_of_care": shown.minutes_of_care,
    })
}

fn care(task: &CareTask, done: Option<&CareRecord>) -> Value {
    json!({
        "task": task.id,
        "name": task.name,
        "minutes": task.minutes(),
        "done": done.map(record),
    })
}

fn record(record: &CareRecord) -> Value {
    json!({
        "at": moment(record.at),
        "outcome": record.outcome,
        "by": record.by,
        "note": record.note,
        "entry": record.entry,
    })
}

fn showing(id: &ShowingId, shown: &Showing) -> Value {
    let machines = shown.machines.iter().map(|(id, hours)| json!({ "machine": id, "running_hours": hours }));
    let state = match &shown.state {
        ShowingState::Planned => json!({ "state": "planned" }),
        ShowingState::Held { started, lasted_minutes } => {
            json!({ "state": "held", "started": moment(*started), "lasted_minutes": lasted_minutes })
        }
        ShowingState::Cancelled { why } => json!({ "state": "cancelled", "why": why }),
    };
    let mut value = json!({
        "showing": id,
        "title": shown.title,
        "starts": shown.starts,
        "ends": ends(shown.ends()),
        "length_minutes": shown.length_minutes,
        "place": shown.place,
        "assigned": machines.collect::<Vec<_>>(),
        "prints": shown.prints,
        "note": shown.note,
        "entry": shown.entry,
    });
    if let (Some(into), Some(from)) = (value.as_object_mut(), state.as_object()) {
        into.extend(from.clone());
    }
    value
}

fn ends(at: Timestamp) -> String {
    at.to_string()
}

fn fault(id: &FaultId, shown: &Fault) -> Value {
    json!({
        "fault": id,
        "machine": shown.machine,
        "slot": shown.slot,
        "words": shown.words,
        "showing": shown.showing,
        "opened": moment(shown.opened.0),
        "entry": shown.opened.1,
        "closed": shown.closed.as_ref().map(|(at, cause, cure, entry)| json!({
            "at": moment(*at), "cause": cause, "cure": cure, "entry": entry,
        })),
    })
}

/// Every machine.
pub fn machines(answer: &Answer<Vec<MachineRow<'_>>>) -> Value {
    let rows = answer.value.iter().map(|row| {
        json!({
            "machine": row.id,
            "name": row.machine.name,
            "machine_type": row.machine.machine_type,
            "may_run": row.may_run,
            "fitness": row.machine.fitness.fitness,
            "hours_run": row.hours_run,
            "overdue": row.n_overdue,
            "due": row.n_due,
            "open_faults": row.n_open_faults,
            "next_due_date": row.next_due,
            "last_run": row.last_run.map(moment),
            "next_showing": row.next_showing.map(|(id, _)| id),
        })
    });
    answered(answer, json!({ "machines": rows.collect::<Vec<_>>() }))
}

/// The counters of a machine.
pub fn clocks(clocks: &Clocks) -> Value {
    json!({
        "hours_run": clocks.hours_run(),
        "showing_hours": clocks.showing,
        "testing_hours": clocks.testing,
        "rewinding_hours": clocks.rewinding,
        "lit_hours": clocks.lit,
        "strikes": clocks.strikes,
        "estimated_hours": clocks.estimated,
    })
}

fn bare_machine(machine: &Machine) -> Value {
    json!({
        "name": machine.name,
        "machine_type": machine.machine_type,
        "serial": machine.serial,
        "place": machine.place,
        "made_year": machine.made_year,
        "settings": machine.settings,
        "clocks": clocks(&machine.clocks),
        "hours_before_unknown": machine.hours_before_unknown,
        "meter": machine.meter.as_ref().map(|meter| json!({
            "reading_hours": meter.reading, "at": moment(meter.at), "entry": meter.entry,
        })),
        "fitness": machine.fitness.fitness,
        "fitness_why": machine.fitness.why,
        "retired": machine.retired.as_ref().map(|(at, why)| json!({ "at": moment(*at), "why": why })),
    })
}

/// All of one machine.
pub fn machine(answer: &Answer<MachineSheet<'_>>) -> Value {
    let shown = &answer.value;
    let mut value = bare_machine(shown.machine);
    value["machine"] = json!(shown.id);
    value["may_run"] = json!(shown.may_run);
    value["due"] = json!(shown.due);
    value["open_faults"] = shown.open_faults.iter().map(|(id, one)| fault(id, one)).collect();
    value["closed_faults"] = shown.closed_faults.iter().map(|(id, one)| fault(id, one)).collect();
    value["fitted"] = shown.fitted.iter().map(|(slot, part)| fitted(slot, part)).collect();
    value["last_readings"] = shown.last_readings.iter().map(|one| reading(one)).collect();
    value["coming"] = shown.coming.iter().map(|(id, one)| showing(id, one)).collect();
    value["queries"] = shown.queries.iter().map(|one| query(one)).collect();
    answered(answer, value)
}

fn fitted(slot: &SlotId, part: &FittedPart<'_>) -> Value {
    json!({
        "slot": slot,
        "part": part.id,
        "lot": part.life.lot,
        "fitted": moment(part.stint.fitted),
        "entry": part.stint.entry,
        "age": part.age,
        "clock": part.clock,
    })
}

fn reading(reading: &ReadingRecord) -> Value {
    json!({
        "quantity": reading.quantity,
        "value": reading.value,
        "unit": reading.unit,
        "uncertainty": reading.uncertainty,
        "slot": reading.slot,
        "method": reading.method,
        "baseline": reading.baseline,
        "at": moment(reading.at),
        "hours_run": reading.clocks.hours_run(),
        "entry": reading.entry,
    })
}

/// Something that does not add up.
pub fn query(query: &Query) -> Value {
    json!({
        "entry": query.entry,
        "at": moment(query.at),
        "machine": query.machine,
        "what": query.what,
        "settle": query.settle,
    })
}

/// A film path.
pub fn film_path(answer: &Answer<FilmPath<'_>>) -> Value {
    let path = &answer.value;
    let value = json!({
        "machine": path.machine,
        "name": path.about.name,
        "machine_type": path.kind.id,
        "parts": path.slots.iter().map(slot).collect::<Vec<_>>(),
        "faults_elsewhere": path.faults_elsewhere.iter().map(|(id, one)| fault(id, one)).collect::<Vec<_>>(),
    });
    answered(answer, value)
}

fn slot(view: &SlotView<'_>) -> Value {
    json!({
        "slot": view.part.id,
        "name": view.part.name,
        "group": view.part.group,
        "on_film": view.part.place.on_film,
        "state": view.state,
        "fitted": view.fitted.as_ref().map(|part| fitted(&SlotId::new(view.part.id.as_str()), part)),
        "care": view.care.iter().map(|(task, done)| care(task, *done)).collect::<Vec<_>>(),
        "next_due_date": view.next_due.map(|(date, _)| date),
        "next_due_task": view.next_due.map(|(_, task)| &task.id),
        "open_faults": view.open_faults.iter().map(|(id, one)| fault(id, one)).collect::<Vec<_>>(),
    })
}

/// A walk.
pub fn walk(answer: &Answer<Walk<'_>>) -> Value {
    let walk = &answer.value;
    let value = json!({
        "machine": walk.machine,
        "name": walk.about.name,
        "walk": walk.walk,
        "steps": walk.steps.iter().map(walk_step).collect::<Vec<_>>(),
        "done": walk.n_done(),
        "minutes_left": walk.minutes_left,
    });
    answered(answer, value)
}

fn walk_step(step: &WalkStep<'_>) -> Value {
    json!({
        "number": step.number,
        "task": step.task.id,
        "name": step.task.name,
        "slot": step.slot,
        "does": step.does,
        "steps": step.task.steps,
        "cautions": step.cautions,
        "machine_state": step.state,
        "preparation": step.preparation,
        "minutes": step.minutes,
        "due": step.due,
        "already": step.already.map(record),
        "pass_on": step.pass_on,
        "authorised_only": step.authorised_only,
        "outcomes": step.outcomes,
    })
}

/// The diary: a list, one object for each evening.
pub fn diary(answer: &Answer<Vec<DiaryDay<'_>>>) -> Value {
    let days = answer.value.iter().map(|day| {
        json!({
            "date": day.date,
            "showings": day.showings.iter().map(|(id, one)| showing(id, one)).collect::<Vec<_>>(),
            "falls_due": day.falls_due,
        })
    });
    answered(answer, json!({ "evenings": days.collect::<Vec<_>>() }))
}

/// Hours by week.
pub fn hours_by_week(answer: &Answer<Vec<WeekHours>>) -> Value {
    answered(answer, json!({ "weeks": answer.value }))
}

/// What happened.
pub fn history(answer: &Answer<Vec<HistoryLine<'_>>>) -> Value {
    let lines = answer.value.iter().map(|line| {
        json!({
            "at": moment(line.at),
            "entry": line.entry,
            "what": line.what,
            "slot": line.slot,
            "by": line.by,
            "words": line.words,
        })
    });
    answered(answer, json!({ "history": lines.collect::<Vec<_>>() }))
}
