//! Readings along the hours run, the line through them, its band and the limits.

use super::{
    coordinate as c,
    frame::{Axis, Frame},
};
use crate::sheet::{Picture, Table};
use crate::wording;
use crate::words::{Mark, Words};
use booth::{
    Verdict,
    sound::{Trend, TrendPoint},
};
use jiff::civil::Date;
use machine::{Basis, Bounds, Clock};
use maud::{Markup, html};

const HEIGHT: f64 = 170.0;
/// The line is drawn at so many places.
const PLACES: u32 = 60;
/// How much of the time covered is looked ahead, at least.
const AHEAD: f64 = 0.3;

/// Draws a trend.
pub fn trend(trend: &Trend<'_>, today: Date) -> Picture {
    let title = format!("{} over {}", trend.name(), clock(trend.clock));
    let frame = frame(trend);
    let content = html! {
        (limits(trend, &frame))
        @for fit in &trend.earlier { (frame.curve("floor", 1.0, [fit.from, fit.to].map(|x| (x, fit.line.at(x))))) }
        (line(trend, &frame))
        @for point in &trend.points { (dot(point, &frame, trend, today)) }
        @let now = frame.x.at(trend.now);
        line.today x1=(c(now)) x2=(c(now)) y1=(c(frame.top())) y2=(c(frame.bottom())) stroke="#000" stroke-width="1" {}
        (frame.name_above(trend.now, "now"))
    };
    let svg = frame.draw("trend", &title, &content);
    Picture { svg, twin: twin(&title, trend, today), title, wide: false }
}

/// The name of a clock on an axis.
const fn clock(clock: Clock) -> &'static str {
    match clock {
        Clock::Running => "hours run",
        Clock::Motor => "motor hours",
        Clock::Lamp => "lamp hours",
        Clock::Strikes => "strikes",
    }
}

/// The unit of the limit's basis.
pub(crate) fn unit(trend: &Trend<'_>) -> String {
    match trend.limit.basis {
        Basis::Reading => machine::unit_as_read(trend.limit.unit.as_str()).to_owned(),
        Basis::ShareOfReference => "% of baseline".to_owned(),
        Basis::DifferenceFromReference => {
            format!("{} from baseline", machine::unit_as_read(trend.limit.unit.as_str()))
        }
    }
}

fn first(trend: &Trend<'_>) -> f64 {
    trend.points.first().map_or(trend.now, |point| point.on_clock)
}

/// How far is looked ahead: to the limit, if that is not too far.
fn end(trend: &Trend<'_>) -> f64 {
    let covered = (trend.now - first(trend)).max(10.0);
    let far = trend.forecast.and_then(|forecast| forecast.middle).map_or(0.0, |at| at.in_hours);
    trend.now + far.min(3.0 * covered).max(AHEAD * covered)
}

fn frame(trend: &Trend<'_>) -> Frame {
    let (first, end) = (first(trend), end(trend));
    let values = trend.points.iter().flat_map(|point| [point.value - point.doubt, point.value + point.doubt]);
    let bounds = [Some(trend.limit.good), trend.limit.act].into_iter().flatten();
    let bounds = bounds.flat_map(|bounds| [bounds.low, bounds.high]).flatten();
    let (low, high) = values
        .chain(bounds)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    let low = if low > 0.0 && low < 0.5 * high { 0.0 } else { low };
    // Room to see the line go past the limit.
    let high = high + 0.12 * (high - low);
    Frame::new(
        Axis::linear(clock(trend.clock), first, end, 5),
        Axis::linear(unit(trend), low, high, 5),
        0.0,
        HEIGHT,
    )
}

fn limits(trend: &Trend<'_>, frame: &Frame) -> Markup {
    let named = |bounds: Option<Bounds>, name: &'static str| {
        let ends = bounds.map_or([None, None], |bounds| [bounds.low, bounds.high]);
        ends.into_iter().flatten().map(move |value| (value, name))
    };
    let all = named(Some(trend.limit.good), "good").chain(named(trend.limit.act, "act"));
    let all = all.chain(named(trend.limit.stop, "stop"));
    html! { @for (value, name) in all { (frame.limit(value, name)) } }
}

/// The line at one place of the clock.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LinePlace {
    pub on_clock: f64,
    pub middle: f64,
    pub low: f64,
    pub high: f64,
}

/// The line and its band, from its first reading as far as is looked ahead; none of fewer than three readings.
pub(crate) fn places(trend: &Trend<'_>) -> Vec<LinePlace> {
    let Some(fit) = trend.fit.filter(|fit| fit.line.n > 2) else { return Vec::new() };
    let far = end(trend) - fit.from;
    let place = |at: u32| {
        let on_clock = fit.from + far * f64::from(at) / f64::from(PLACES);
        let (low, high) = fit.line.band(on_clock);
        LinePlace { on_clock, middle: fit.line.at(on_clock), low, high }
    };
    (0..=PLACES).map(place).collect()
}

fn line(trend: &Trend<'_>, frame: &Frame) -> Markup {
    let places = places(trend);
    // Only as far as the field reaches: what lies beyond it would be drawn along its edge.
    let inside = |place: &&LinePlace| (frame.y.low()..=frame.y.high()).contains(&place.middle);
    let through = places.iter().filter(inside).map(|place| (place.on_clock, place.middle));
    let band: Vec<(f64, f64, f64)> =
        places.iter().map(|place| (place.on_clock, place.low, place.high)).collect();
    html! {
        (frame.spread("spread", &band))
        (frame.curve("curve", 1.5, through))
    }
}

fn dot(point: &TrendPoint<'_>, frame: &Frame, trend: &Trend<'_>, today: Date) -> Markup {
    let (x, y) = (frame.x.at(point.on_clock), frame.y.at(point.value));
    let (low, high) = (frame.y.at(point.value - point.doubt), frame.y.at(point.value + point.doubt));
    let said = format!("{}: {}", wording::moment(point.reading.at, today), value(trend, point));
    html! {
        g {
            title { (said) }
            line.doubt x1=(c(x)) x2=(c(x)) y1=(c(low)) y2=(c(high)) stroke="#000" stroke-width="1" {}
            @if point.in_fit {
                circle.dot cx=(c(x)) cy=(c(y)) r="3.5" fill="#000" {}
            } @else {
                circle.end cx=(c(x)) cy=(c(y)) r="3.5" fill="#fff" stroke="#777" stroke-width="1.5" {}
            }
        }
    }
}

fn value(trend: &Trend<'_>, point: &TrendPoint<'_>) -> String {
    let decimals = decimals(point.doubt);
    let raw = format!("{:.decimals$} {}", point.reading.value, machine::unit_as_read(&point.reading.unit));
    match trend.limit.basis {
        Basis::Reading => raw,
        Basis::ShareOfReference => format!("{raw}, {:.0} % of the baseline", point.value),
        Basis::DifferenceFromReference => {
            format!(
                "{raw}, {:+.decimals$} {} from the baseline",
                point.value,
                machine::unit_as_read(&point.reading.unit)
            )
        }
    }
}

/// Two figures of the doubt are worth printing.
fn decimals(doubt: f64) -> usize {
    if doubt > 0.0 { (1.0 - doubt.log10().floor()).clamp(0.0, 4.0) as usize } else { 2 }
}

/// The word for a verdict and how grave it is.
pub fn verdict(verdict: Verdict) -> Words {
    match verdict {
        Verdict::Good => "within the good range".into(),
        Verdict::Watch => Words::new().mark_as(Mark::Soon, "watch"),
        Verdict::Act => Words::new().mark_as(Mark::Due, "act"),
        Verdict::Stop => Words::new().mark_as(Mark::NotForUse, "stop: do not run film"),
        Verdict::CannotTell => Words::new().mark_as(Mark::NoRecord, "cannot be told"),
    }
}

fn twin(title: &str, trend: &Trend<'_>, today: Date) -> Table {
    let heads = ["When", "#On the clock", "#Reading", "Says", "In the line"];
    let mut table = Table::new(title, &heads, "Nothing has been read yet.").tight();
    for point in &trend.points {
        let baseline = if point.reading.baseline { ", baseline" } else { "" };
        let cells = vec![
            Words::new()
                .link(crate::Place::Entry(point.reading.entry), wording::moment(point.reading.at, today)),
            format!("{:.0}", point.on_clock).into(),
            format!("{}{baseline}", value(trend, point)).into(),
            verdict(point.verdict),
            if point.in_fit { "yes" } else { "no" }.into(),
        ];
        table.push(cells, vec![("entry", point.reading.entry.to_string())]);
    }
    table
}
