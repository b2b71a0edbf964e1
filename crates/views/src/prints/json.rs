//! Prints for scripts.

use booth::prints::{Change, OnMachine, PrintRow, PrintSheet, PrintWarning, ReelSheet, gravity};
use film::print::{Decision, PrintSort, Puller, Verdict};
use logbook::booth::{Handling, Inspection, PrintRun};
use serde_json::{Value, json};

use crate::json::moment;

/// The list.
pub fn rows(rows: &[PrintRow<'_>]) -> Value {
    let row = |row: &PrintRow<'_>| {
        json!({
            "print": row.id,
            "title": row.print.title,
            "gauge": row.print.gauge,
            "reels": row.print.reels.len(),
            "length_m": row.print.length(),
            "passes": row.print.passes,
            "gravity": row.gravity,
            "do_not_show_reels": row.barred,
            "reels_not_inspected": row.not_inspected,
            "next_showing": row.next.map(|(id, showing)| json!({ "showing": id, "starts": showing.starts })),
            "journey": row.journey.map(handling),
        })
    };
    rows.iter().map(row).collect()
}

/// One print with its reels.
pub fn print(sheet: &PrintSheet<'_>) -> Value {
    let sort = match sheet.sort {
        PrintSort::Replaceable => "replaceable",
        PrintSort::Lent => "lent",
        PrintSort::Unique => "unique",
    };
    json!({
        "print": sheet.id,
        "title": sheet.print.title,
        "gauge": sheet.print.gauge,
        "taken_as": sort,
        "lender": sheet.print.lender,
        "made_year": sheet.print.made_year,
        "passes": sheet.print.passes,
        "hours_run": sheet.print.hours,
        "note": sheet.print.note,
        "reels": sheet.reels.iter().map(reel).collect::<Vec<_>>(),
        "handled": sheet.print.handled.iter().map(handling).collect::<Vec<_>>(),
        "coming_showings": sheet.coming.iter().map(|(id, showing)| json!({ "showing": id, "starts": showing.starts })).collect::<Vec<_>>(),
        "cautions": super::CAUTIONS,
        "caveats": sheet.caveats,
    })
}

fn reel(reel: &ReelSheet<'_>) -> Value {
    json!({
        "reel": reel.reel.reel,
        "length_m": reel.reel.length_m,
        "shrinkage_percent": reel.inspected.as_ref().and_then(|it| it.shrinkage),
        "acid_level": reel.inspected.as_ref().and_then(|it| it.acid_level),
        "wound": reel.wound.map(|(wound, since)| json!({ "wound": wound, "since": moment(since) })),
        "passes": reel.passes,
        "passes_since_inspection": reel.passes_since,
        "last_inspection": reel.last.map(inspection),
        "at_best": reel.at_best.as_ref().map(verdict),
        "on": reel.on.iter().map(on_machine).collect::<Vec<_>>(),
        "appeared": reel.changes.iter().map(change).collect::<Vec<_>>(),
        "caveats": reel.caveats,
    })
}

fn inspection(it: &Inspection) -> Value {
    json!({
        "at": moment(it.at),
        "by": it.by,
        "entry": it.entry,
        "length_m": it.length,
        "base": it.base,
        "edge": it.edge,
        "shrinkage": it.shrinkage,
        "vinegar": it.vinegar,
        "fade": it.fade,
        "leader": it.leader,
        "spool": it.spool,
        "found": it.found,
        "note": it.note,
    })
}

/// A decision with its conditions and reasons.
fn verdict(verdict: &Verdict) -> Value {
    let conditions = match &verdict.decision {
        Decision::ShowIf(safeguards) | Decision::OtherMachine(safeguards) => safeguards.as_slice(),
        Decision::Show | Decision::DoNotShow | Decision::SetApart => &[],
    };
    json!({
        "gravity": gravity(verdict),
        "decision": verdict.decision.to_string(),
        "conditions": conditions.iter().map(|it| it.words()).collect::<Vec<_>>(),
        "because": verdict.reasons.iter().map(|reason| json!({
            "words": reason.words,
            "at_frame": reason.at,
            "source": reason.source,
        })).collect::<Vec<_>>(),
    })
}

fn on_machine(on: &OnMachine<'_>) -> Value {
    let mut value = verdict(&on.verdict);
    value["machine"] = json!(on.machine);
    value["claw_teeth"] = match on.puller {
        Puller::Claw { teeth } => json!(teeth),
        Puller::Sprocket => Value::Null,
    };
    value["speed_fps"] = json!(on.speed.as_ref().and_then(|speed| speed.fps));
    value["speed"] = json!(on.speed.as_ref().map(|speed| speed.words));
    value["stop_chance"] = json!(on.stops.value());
    value
}

fn change(change: &Change<'_>) -> Value {
    json!({
        "after": moment(change.before.at),
        "by": moment(change.after.at),
        "found": change.appeared.iter().map(|it| json!({ "finding": it.found, "grade_before": it.grade_before })).collect::<Vec<_>>(),
        "runs": change.runs.iter().map(self::run).collect::<Vec<_>>(),
        "words": change.words,
    })
}

fn run(run: &PrintRun) -> Value {
    json!({
        "at": moment(run.at),
        "machine": run.machine,
        "showing": run.showing,
        "passes": run.passes,
        "entry": run.entry,
    })
}

fn handling(it: &Handling) -> Value {
    json!({
        "at": moment(it.at),
        "deed": it.deed,
        "reels": it.reels,
        "wound": it.wound,
        "whom": it.whom,
        "condition": it.condition,
        "note": it.note,
        "entry": it.entry,
    })
}

/// What a showing must know of the reels that it wants.
pub fn warnings(warnings: &[PrintWarning<'_>]) -> Value {
    let one = |warning: &PrintWarning<'_>| {
        let mut value = verdict(&warning.verdict);
        value["print"] = json!(warning.print);
        value["reel"] = json!(warning.reel);
        value["machine"] = json!(warning.machine);
        value["was_inspected"] = json!(warning.was_inspected);
        value
    };
    warnings.iter().map(one).collect()
}
