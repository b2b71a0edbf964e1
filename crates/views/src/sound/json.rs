//! What a recording says, as JSON. The figures are those of the measurement; the logbook's view of them comes beside.

use super::Known;
use crate::json::moment;
use booth::{
    Answer,
    sound::{Characteristic, Crossing, Fit, NamedLine, Trend, Weighed, named_lines, tones_weighed},
};
use logbook::booth::ReadingRecord;
use machine::Bounds;
use serde::Serialize;
use serde_json::{Value, json};
use sound::{FlutterReport, ResponseReport};
use units::{Decibels, Hertz};

/// Speed, wow and flutter: every figure of the report, each line with its parts and the care that follows.
pub fn flutter(report: &FlutterReport, known: &Known<'_>) -> Value {
    let mut value = with_readings(report, known);
    if let Some(kind) = known.kind {
        value["machine_type"] = json!(kind.id);
        for (line, named) in
            value["lines"].as_array_mut().into_iter().flatten().zip(named_lines(report, kind, known.due))
        {
            follow(line, &named);
        }
    }
    value
}

fn follow(line: &mut Value, named: &NamedLine<'_>) {
    for (part, suspect) in line["parts"].as_array_mut().into_iter().flatten().zip(&named.suspects) {
        part["slot"] = json!(suspect.part.map(|part| &part.id));
        part["tells"] = json!(suspect.tells);
        part["care"] = json!(suspect.care.iter().map(|follow| &follow.task.id).collect::<Vec<_>>());
    }
}

/// A report of the sound chain with the readings that it may become.
pub fn with_readings<T: Serialize + ?Sized>(report: &T, known: &Known<'_>) -> Value {
    let mut value = json!(report);
    value["machine"] = json!(known.machine);
    value["readings"] = known.weighed.iter().map(reading).collect();
    value
}

/// A response against its characteristic.
pub fn response(report: &ResponseReport, wanted: Option<&Characteristic>, known: &Known<'_>) -> Value {
    let mut value = with_readings(report, known);
    value["characteristic"] = json!(wanted.map(|wanted| json!({
        "name": wanted.name, "source": wanted.source, "tolerance_db": wanted.tolerance,
        "levels": levels(wanted, report.reference_hz),
    })));
    for (tone, weighed) in
        value["tones"].as_array_mut().into_iter().flatten().zip(tones_weighed(report, wanted))
    {
        tone["off_db"] = json!(weighed.off);
        tone["within_limits"] = json!(weighed.holds);
    }
    value
}

/// The characteristic, brought to the reference tone.
fn levels(wanted: &Characteristic, reference: Hertz) -> Vec<Value> {
    let nought = wanted.level(reference).unwrap_or(Decibels::ZERO);
    wanted.bends().map(|(hz, level)| json!({ "hz": hz, "level_db": level - nought })).collect()
}

fn reading(weighed: &Weighed<'_>) -> Value {
    let measured = &weighed.measured;
    json!({
        "quantity": measured.quantity,
        "slot": weighed.part.map(|part| &part.id),
        "value": measured.value,
        "unit": measured.unit,
        "uncertainty": measured.uncertainty,
        "method": measured.method,
        "conditions": measured.conditions,
        "verdict": weighed.limit.map(|_| weighed.verdict),
    })
}

/// Where a quantity is heading.
pub fn trend(answer: &Answer<Trend<'_>>) -> Value {
    let trend = &answer.value;
    let points = trend.points.iter().map(|point| {
        json!({
            "at": moment(point.reading.at),
            "on_clock": point.on_clock,
            "value": point.reading.value,
            "on_basis": point.value,
            "uncertainty": point.doubt,
            "verdict": point.verdict,
            "baseline": point.reading.baseline,
            "in_fit": point.in_fit,
            "entry": point.reading.entry,
            "recording": point.reading.recording,
        })
    });
    json!({
        "machine": trend.machine,
        "quantity": trend.limit.quantity,
        "slot": trend.slot,
        "unit": trend.limit.unit,
        "basis": trend.limit.basis,
        "clock": trend.clock,
        "on_clock_now": trend.now,
        "since": trend.since,
        "points": points.collect::<Vec<_>>(),
        "slope_per_hour": trend.fit.map(|fit| fit.line.slope),
        "slope_low_per_hour": trend.fit.map(|fit| fit.line.slope_low),
        "slope_high_per_hour": trend.fit.map(|fit| fit.line.slope_high),
        "beyond_repeats": trend.fit.map(|fit| fit.beyond_repeats),
        "unit_on_basis": crate::plot::trend::unit(trend),
        "limits": {
            "good": bounds(Some(trend.limit.good)),
            "act": bounds(trend.limit.act),
            "stop": bounds(trend.limit.stop),
        },
        "line": line(trend),
        "earlier": trend.earlier.iter().map(stretch).collect::<Vec<_>>(),
        "forecast": trend.forecast.map(|forecast| json!({
            "limit": forecast.limit,
            "early": crossing(&forecast.early),
            "middle": forecast.middle.as_ref().map(crossing),
            "late": forecast.late.as_ref().map(crossing),
            "act_before_showing": forecast.before.map(|(id, _)| id),
        })),
        "no_forecast": trend.no_forecast,
        "step": trend.step.map(|step| json!({
            "from": end(step.from), "to": end(step.to), "by": step.by,
        })),
        "change": trend.change.map(|change| json!({
            "at": moment(change.at),
            "entry": change.entry,
            "before": end(change.before),
            "after": end(change.after),
            "difference": change.difference,
            "clear": change.clear,
        })),
        "because": answer.because,
        "caveats": answer.caveats,
    })
}

fn bounds(bounds: Option<Bounds>) -> Value {
    json!(bounds.map(|bounds| json!({ "low": bounds.low, "high": bounds.high })))
}

/// The line and its band as they are drawn, as far as is looked ahead.
fn line(trend: &Trend<'_>) -> Vec<Value> {
    let places = crate::plot::trend::places(trend);
    places
        .iter()
        .map(|place| {
            json!({ "on_clock": place.on_clock, "middle": place.middle, "low": place.low, "high": place.high })
        })
        .collect()
}

/// The line of a stretch that ended with a change of a part or a new baseline.
fn stretch(fit: &Fit) -> Value {
    json!({
        "from_on_clock": fit.from,
        "to_on_clock": fit.to,
        "readings": fit.line.n,
        "slope_per_hour": fit.line.slope,
        "slope_low_per_hour": fit.line.slope_low,
        "slope_high_per_hour": fit.line.slope_high,
    })
}

fn crossing(crossing: &Crossing) -> Value {
    json!({ "in_hours": crossing.in_hours, "date": crossing.date })
}

fn end(reading: &ReadingRecord) -> Value {
    json!({ "at": moment(reading.at), "value": reading.value, "unit": reading.unit, "entry": reading.entry })
}
