//! Speed against time: the mean deviation as a line, what happens within each stretch as an area about it.

use super::{
    coordinate as c,
    frame::{Axis, Frame},
};
use crate::sheet::{Picture, Table};
use maud::{Markup, html};
use sound::{CurvePoint, FlutterReport, LeftOut, LeftOutWhy};

/// A plot is no wider than so many points.
const MOST_POINTS: usize = 310;
/// The twin in words has at most so many rows.
const MOST_ROWS: usize = 12;
const HEIGHT: f64 = 150.0;
const TITLE: &str = "Speed against time, about its mean";

/// Draws the speed of a recording.
pub fn speed_against_time(report: &FlutterReport) -> Picture {
    let points = merged(&report.curve, MOST_POINTS);
    let low = points.iter().map(|p| p.low).fold(-0.1, f64::min);
    let high = points.iter().map(|p| p.high).fold(0.1, f64::max);
    let end = report.tone_to_seconds.seconds().max(report.tone_from_seconds.seconds() + 1.0);
    let frame = Frame::new(
        Axis::linear("seconds", report.tone_from_seconds.seconds(), end, 6),
        Axis::linear("% of speed", low, high, 5),
        0.0,
        HEIGHT,
    );
    let area: Vec<(f64, f64, f64)> = points.iter().map(|p| (p.at, p.low, p.high)).collect();
    let content = html! {
        @for one in &report.left_out { (left_out(&frame, one)) }
        (frame.spread("spread", &area))
        (frame.curve("curve", 1.5, points.iter().map(|p| (p.at, p.mean))))
    };
    let svg = frame.draw("speed", TITLE, &content);
    Picture { title: TITLE.to_owned(), svg, twin: twin(report), wide: false }
}

struct Stretch {
    at: f64,
    mean: f64,
    low: f64,
    high: f64,
    quasi_peak: f64,
}

/// Brings the curve down to so many stretches; what is lowest and highest in them is kept.
fn merged(curve: &[CurvePoint], most: usize) -> Vec<Stretch> {
    let each = curve.len().div_ceil(most).max(1);
    let one = |group: &[CurvePoint]| {
        let n = group.len() as f64;
        Stretch {
            at: group.iter().map(|p| p.at_seconds.seconds()).sum::<f64>() / n,
            mean: group.iter().map(|p| p.deviation_percent.percent()).sum::<f64>() / n,
            low: group.iter().map(|p| p.low_percent.percent()).fold(f64::INFINITY, f64::min),
            high: group.iter().map(|p| p.high_percent.percent()).fold(f64::NEG_INFINITY, f64::max),
            quasi_peak: group.iter().map(|p| p.quasi_peak_percent.percent()).fold(0.0, f64::max),
        }
    };
    curve.chunks(each).map(one).collect()
}

fn left_out(frame: &Frame, one: &LeftOut) -> Markup {
    let (from, to) = (frame.x.at(one.from_seconds.seconds()), frame.x.at(one.to_seconds.seconds()));
    html! {
        rect.left-out x=(c(from)) width=(c((to - from).max(1.0))) y=(c(frame.top()))
            height=(c(frame.bottom() - frame.top())) fill="#777" fill-opacity="0.35" {
            title { (why(one.why)) }
        }
    }
}

/// Says why a stretch was left out.
pub const fn why(why: LeftOutWhy) -> &'static str {
    match why {
        LeftOutWhy::DropOut => "drop-out",
        LeftOutWhy::Silence => "silence",
        LeftOutWhy::NoTone => "something else than the tone",
        LeftOutWhy::Splice => "splice",
        LeftOutWhy::DropOutOrSplice => "drop-out or splice",
        LeftOutWhy::Click => "click",
        LeftOutWhy::OffSpeed => "starting, stopping or far off speed",
    }
}

fn twin(report: &FlutterReport) -> Table {
    let heads = ["#Second", "#Mean", "#Lowest", "#Highest", "#Weighted"];
    let mut table = Table::new(TITLE, &heads, "The recording is too short for a curve.");
    for stretch in merged(&report.curve, MOST_ROWS) {
        let percent = |value: f64| format!("{value:+.3} %").into();
        let cells = vec![
            format!("{:.1}", stretch.at).into(),
            percent(stretch.mean),
            percent(stretch.low),
            percent(stretch.high),
            format!("{:.3} %", stretch.quasi_peak).into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}
