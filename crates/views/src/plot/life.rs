//! How long a part lasts: what is believed as a line with its band, the booth's own lives as steps with their points, the
//! best age for a change, and where each fitted part stands.

use super::{
    coordinate as c,
    frame::{Axis, Frame},
    shortened,
};
use crate::sheet::{Picture, Table};
use lives::curve::Curve;
use maud::{Markup, html};

const HEIGHT: f64 = 190.0;
/// Height of a line of labels over the field.
const LINE: f64 = 14.0;
/// About as many letters of a machine's name as stand beside another.
const NAME_LETTERS: usize = 18;
/// About the width of a letter, in the drawing's units.
const LETTER: f64 = 6.4;

/// What is drawn.
#[derive(Clone, Debug)]
pub struct LifePlot<'a> {
    /// What it shows.
    pub title: String,
    /// The name of the clock.
    pub clock: &'static str,
    /// Age, chance of living past it, and its band, by rising age.
    pub believed: Vec<(f64, f64, f64, f64)>,
    /// What the booth's own lives draw by themselves.
    pub own: Option<&'a Curve>,
    /// The best age for a change.
    pub change: Option<f64>,
    /// Fitted parts: whose, and how old.
    pub fitted: Vec<(String, f64)>,
}

/// Draws it.
pub fn life(plot: &LifePlot<'_>) -> Picture {
    let end = plot.believed.last().map_or(1.0, |at| at.0);
    let laid = |labels: f64| {
        let x = Axis::linear(plot.clock, 0.0, end, 5);
        Frame::new(x, Axis::linear("still good, of 100", 0.0, 100.0, 5), labels, HEIGHT)
    };
    let labels = label_lines(&plot.fitted, &laid(0.0).x);
    let lines = labels.iter().map(|label| label.line + 1).max().unwrap_or(0);
    let frame = laid(LINE * lines as f64);
    let band: Vec<(f64, f64, f64)> =
        plot.believed.iter().map(|&(age, _, low, high)| (age, 100.0 * low, 100.0 * high)).collect();
    let content = html! {
        (frame.spread("spread", &band))
        (frame.curve("curve", 2.0, plot.believed.iter().map(|&(age, share, _, _)| (age, 100.0 * share))))
        @if let Some(own) = plot.own { (own_lives(&frame, own, end)) }
        @if let Some(age) = plot.change { (change_mark(&frame, age)) }
        @for label in &labels { (fitted_mark(&frame, plot, label)) }
    };
    let svg = frame.draw("life", &plot.title, &content);
    Picture { svg, twin: twin(plot), title: plot.title.clone(), wide: false }
}

/// A fitted part's label: whose, how old, and on which line over the field.
struct Label<'p> {
    name: &'p str,
    age: f64,
    /// Where its words begin.
    start: f64,
    line: usize,
}

/// Deals labels to lines so that none runs into another: words stand right of their line, and the younger of two that
/// would run into each other goes above, so that no line goes through another's words.
fn label_lines<'p>(fitted: &'p [(String, f64)], x: &Axis) -> Vec<Label<'p>> {
    let mut sorted: Vec<&(String, f64)> = fitted.iter().collect();
    sorted.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut labels: Vec<Label<'p>> = Vec::with_capacity(sorted.len());
    for (name, age) in sorted {
        let width = name.chars().count().min(NAME_LETTERS) as f64 * LETTER;
        let start = (x.at(*age) + 3.0).min(super::PLOT_WIDTH - width);
        let in_the_way = labels.iter().filter(|label| label.start <= start + width + LETTER);
        let line = in_the_way.map(|label| label.line + 1).max().unwrap_or(0);
        labels.push(Label { name, age: *age, start, line });
    }
    labels
}

fn own_lives(frame: &Frame, own: &Curve, end: f64) -> Markup {
    let last = own.steps.iter().map(|step| step.age).chain(own.censored.iter().copied()).fold(0.0, f64::max);
    let mut stairs = vec![(0.0, 100.0)];
    let mut level = 100.0;
    for step in &own.steps {
        stairs.extend([(step.age, level), (step.age, 100.0 * step.value)]);
        level = 100.0 * step.value;
    }
    stairs.push((last.min(end), level));
    html! {
        (frame.curve("steps", 1.0, stairs))
        @for step in &own.steps {
            circle.dot cx=(c(frame.x.at(step.age))) cy=(c(frame.y.at(100.0 * step.value))) r="3.5" fill="#000" {
                title { "failed at " (crate::wording::tenths(step.age)) }
            }
        }
        @for age in &own.censored {
            @let (x, y) = (frame.x.at(*age), frame.y.at(100.0 * own.survival(*age)));
            line.end x1=(c(x)) x2=(c(x)) y1=(c(y - 5.0)) y2=(c(y + 5.0)) stroke="#000" stroke-width="1.5" {
                title { "still good at " (crate::wording::tenths(*age)) }
            }
        }
    }
}

/// The best age for a change, named at the foot of its line, where the curve seldom comes.
fn change_mark(frame: &Frame, age: f64) -> Markup {
    const NAME: &str = "best change";
    let x = frame.x.at(age);
    let right = x + 5.0 + NAME.len() as f64 * LETTER < super::frame::RIGHT;
    let (at, anchor) = if right { (x + 5.0, "start") } else { (x - 5.0, "end") };
    html! {
        line.limit x1=(c(x)) x2=(c(x)) y1=(c(frame.top())) y2=(c(frame.bottom())) stroke="#000" stroke-width="1.5" stroke-dasharray="5 3" {}
        text.label x=(c(at)) y=(c(frame.bottom() - 5.0)) text-anchor=(anchor) fill="#000" { (NAME) }
    }
}

fn fitted_mark(frame: &Frame, plot: &LifePlot<'_>, label: &Label<'_>) -> Markup {
    let x = frame.x.at(label.age);
    let on_curve = frame.y.at(100.0 * believed_at(plot, label.age));
    let y = frame.top() - 5.0 - LINE * label.line as f64;
    html! {
        g data-fitted=(label.name) {
            title { (label.name) ": " (crate::wording::tenths(label.age)) }
            line.leader x1=(c(x)) x2=(c(x)) y1=(c(y + 3.0)) y2=(c(on_curve)) stroke="#777" stroke-width="1" {}
            path.dot d={ "M" (c(x)) " " (c(on_curve + 1.0)) "l-5 -9h10Z" } fill="#000" {}
            text.label x=(c(label.start)) y=(c(y)) fill="#000" { (shortened(label.name, NAME_LETTERS)) }
        }
    }
}

/// The curve between its places.
fn believed_at(plot: &LifePlot<'_>, age: f64) -> f64 {
    let past = plot.believed.partition_point(|at| at.0 <= age);
    match (past.checked_sub(1).and_then(|at| plot.believed.get(at)), plot.believed.get(past)) {
        (Some(before), Some(after)) => {
            before.1 + (after.1 - before.1) * (age - before.0) / (after.0 - before.0)
        }
        (Some(last), None) => last.1,
        (None, _) => 1.0,
    }
}

fn twin(plot: &LifePlot<'_>) -> Table {
    let heads = ["#Age", "#Still good, of 100", "#Between", "#Own lives"];
    let mut table = Table::new(plot.title.as_str(), &heads, "Nothing is known of its life.");
    let every = (plot.believed.len() / 12).max(1);
    for &(age, share, low, high) in plot.believed.iter().step_by(every) {
        let own = plot.own.filter(|own| !own.steps.is_empty() || !own.censored.is_empty());
        let own = own.map_or_else(String::new, |own| format!("{:.0}", 100.0 * own.survival(age)));
        let cells = vec![
            crate::wording::tenths(age).into(),
            format!("{:.0}", 100.0 * share).into(),
            format!("{:.0} to {:.0}", 100.0 * low, 100.0 * high).into(),
            own.into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(fitted: &[(&str, f64)], change: Option<f64>) -> String {
        let believed = (0..=20).map(|at| {
            let age = f64::from(at) * 5.0;
            let share = (-age / 60.0).exp();
            (age, share, 0.8 * share, share.sqrt())
        });
        let plot = LifePlot {
            title: "Invented".to_owned(),
            clock: "hours run",
            believed: believed.collect(),
            own: None,
            change,
            fitted: fitted.iter().map(|(name, age)| ((*name).to_owned(), *age)).collect(),
        };
        life(&plot).svg.into_string()
    }

    #[test]
    fn no_label_runs_into_another_and_no_line_through_one() {
        let names = ["Turnstone", "Dunlin", "Phalarope", "Whimbrel", "Knot", "Sanderling"];
        for ages in [[41.0, 29.0, 24.0, 31.0, 30.0, 99.0], [1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [50.0; 6]] {
            let fitted: Vec<(String, f64)> =
                names.iter().zip(ages).map(|(name, age)| ((*name).to_owned(), age)).collect();
            let frame = Frame::new(
                Axis::linear("hours run", 0.0, 100.0, 5),
                Axis::linear("still good", 0.0, 100.0, 5),
                0.0,
                HEIGHT,
            );
            let labels = label_lines(&fitted, &frame.x);
            for (at, one) in labels.iter().enumerate() {
                for other in &labels[..at] {
                    let end = one.start + one.name.len() as f64 * LETTER;
                    assert!(
                        one.line != other.line || end < other.start,
                        "{} runs into {}",
                        one.name,
                        other.name
                    );
                    let other_end = other.start + other.name.len() as f64 * LETTER;
                    let through = |x: f64, above: &Label<'_>, below: &Label<'_>, from: f64, to: f64| {
                        above.line > below.line && (from..to).contains(&x)
                    };
                    let (x, other_x) = (frame.x.at(one.age), frame.x.at(other.age));
                    assert!(
                        !through(x, one, other, other.start, other_end),
                        "{} through {}",
                        one.name,
                        other.name
                    );
                    assert!(
                        !through(other_x, other, one, one.start, end),
                        "{} through {}",
                        other.name,
                        one.name
                    );
                }
            }
        }
    }

    #[test]
    fn what_is_fitted_and_when_to_change_stand_on_the_drawing() {
        let svg = drawn(&[("Dunlin", 29.0)], Some(95.0));
        assert!(svg.contains("data-fitted=\"Dunlin\"") && svg.contains("best change"), "{svg}");
        assert!(
            svg.contains("text-anchor=\"end\" fill=\"#000\">best change"),
            "kept inside the field: {svg}"
        );
        assert!(!drawn(&[], None).contains("best change"));
    }
}
