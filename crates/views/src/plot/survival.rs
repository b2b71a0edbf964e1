//! Survival over age: a law as a line, what the lives themselves draw as steps with their band.

use super::{
    coordinate as c,
    frame::{Axis, Frame},
};
use crate::sheet::{Picture, Table};
use lives::{Life, curve::Curve};
use maud::{Markup, html};

const HEIGHT: f64 = 180.0;
/// The line is drawn at so many places.
const PLACES: u32 = 80;

/// Draws survival.
pub fn survival(life: &Life, curve: &Curve) -> Picture {
    let title = "Share still good by age".to_owned();
    let last_step = curve.steps.last().map_or(0.0, |step| step.age);
    let last = curve.censored.last().map_or(last_step, |age| age.max(last_step)).max(life.quantile(0.5));
    let frame =
        Frame::new(Axis::linear("age", 0.0, 1.05 * last, 5), Axis::linear("share", 0.0, 1.0, 5), 0.0, HEIGHT);
    let end = frame.x.high();
    let line =
        (0..=PLACES).map(|at| end * f64::from(at) / f64::from(PLACES)).map(|age| (age, life.survival(age)));
    let content = html! {
        (frame.spread("spread", &band(curve, last)))
        (frame.curve("steps", 1.0, stairs(curve, last)))
        (frame.curve("curve", 2.0, line))
        @for age in &curve.censored { (tick(&frame, *age, curve.survival(*age))) }
    };
    let svg = frame.draw("survival", &title, &content);
    Picture { svg, twin: twin(&title, life, curve), title, wide: false }
}

/// A life that left without failure: a short stroke on the steps.
fn tick(frame: &Frame, age: f64, survival: f64) -> Markup {
    let (x, y) = (frame.x.at(age), frame.y.at(survival));
    html! { line.end x1=(c(x)) x2=(c(x)) y1=(c(y - 3.0)) y2=(c(y + 3.0)) stroke="#000" stroke-width="1" {} }
}

fn stairs(curve: &Curve, last: f64) -> Vec<(f64, f64)> {
    let mut points = vec![(0.0, 1.0)];
    let mut level = 1.0;
    for step in &curve.steps {
        points.extend([(step.age, level), (step.age, step.value)]);
        level = step.value;
    }
    points.push((last, level));
    points
}

fn band(curve: &Curve, last: f64) -> Vec<(f64, f64, f64)> {
    let mut points = Vec::new();
    let mut edges: Option<(f64, f64)> = None;
    for step in &curve.steps {
        if let Some((low, high)) = edges {
            points.push((step.age, low, high));
        }
        points.push((step.age, step.low, step.high));
        edges = Some((step.low, step.high));
    }
    points.extend(edges.map(|(low, high)| (last, low, high)));
    points
}

fn twin(title: &str, life: &Life, curve: &Curve) -> Table {
    let heads = ["#Age", "#Still good", "#Band", "#By the law"];
    let mut table = Table::new(title, &heads, "No life has ended yet.");
    for step in &curve.steps {
        let share = |value: f64| format!("{:.0} %", 100.0 * value);
        let band = format!("{:.0} to {:.0} %", 100.0 * step.low, 100.0 * step.high);
        let cells = vec![
            format!("{:.1}", step.age).into(),
            share(step.value).into(),
            band.into(),
            share(life.survival(step.age)).into(),
        ];
        table.push(cells, vec![]);
    }
    table
}
