//! The spectrum of speed deviation: how deep at which rate, with the parts' names on their lines and the floor between
//! them.

use super::{
    PLOT_WIDTH, coordinate as c,
    frame::{Axis, Frame, LEFT},
    shortened,
};
use crate::sheet::{Picture, Table};
use crate::words::Words;
use maud::{Markup, html};
use sound::{FlutterLine, FlutterReport, SpectrumPoint};

const HEIGHT: f64 = 170.0;
const TITLE: &str = "Spectrum of the speed deviation";
/// Names of lines stand in so many rows above the field.
const ROWS: usize = 5;
const ROW: f64 = 14.0;
/// About the width of a letter, in the drawing's units.
const LETTER: f64 = 7.3;
const LONGEST_NAME: usize = 22;
/// The slowest rate that is drawn.
const SLOWEST_HZ: f64 = 0.1;
/// Points of the drawing, at most.
const MOST_POINTS: usize = 620;
/// The floor at a rate is the middle of the spectrum within this factor about it.
const FLOOR_REACH: f64 = 1.35;
/// The axis never shows less than this: finer is no machine's doing.
const LEAST_PERCENT: f64 = 1e-4;

/// Draws the spectrum of a recording.
pub fn flutter_spectrum(report: &FlutterReport) -> Picture {
    let points = thinned(&report.spectrum);
    let floor = floor(&points);
    let highest =
        report.lines.iter().map(|line| line.depth_peak_percent.percent()).chain(points.iter().map(|p| p.1));
    let high = highest.fold(0.01, f64::max) * 1.4;
    let lowest = floor.iter().map(|p| p.1).filter(|depth| *depth > 0.0).fold(high / 100.0, f64::min);
    let frame = Frame::new(
        Axis::logarithmic("Hz", SLOWEST_HZ, report.band_hz.hertz().max(10.0)),
        Axis::logarithmic("% peak", (lowest / 2.0).max(LEAST_PERCENT), high),
        ROW * ROWS as f64,
        HEIGHT,
    );
    let content = html! {
        (frame.curve("curve", 0.8, points.iter().copied()))
        (frame.curve("floor", 2.0, floor.iter().copied()))
        @for label in labels(report, &frame) { (label.draw(&frame)) }
    };
    let svg = frame.draw("spectrum", TITLE, &content);
    Picture { title: TITLE.to_owned(), svg, twin: twin(report), wide: false }
}

/// Keeps the highest point of each step along the logarithm of the rate.
fn thinned(spectrum: &[SpectrumPoint]) -> Vec<(f64, f64)> {
    let Some(last) = spectrum.last().map(|p| p.hz.hertz()).filter(|hz| *hz > SLOWEST_HZ) else {
        return Vec::new();
    };
    let step = (last / SLOWEST_HZ).ln() / MOST_POINTS as f64;
    let mut thin: Vec<(f64, f64)> = Vec::new();
    let mut cell = -1.0;
    for point in spectrum.iter().filter(|p| p.hz.hertz() >= SLOWEST_HZ) {
        let (hz, depth) = (point.hz.hertz(), point.peak_percent.percent());
        let here = ((hz / SLOWEST_HZ).ln() / step).floor();
        match thin.last_mut().filter(|_| here == cell) {
            Some(kept) if kept.1 >= depth => {}
            Some(kept) => *kept = (hz, depth),
            None => thin.push((hz, depth)),
        }
        cell = here;
    }
    thin
}

/// The middle of the neighbours of each point.
fn floor(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let (mut from, mut to) = (0, 0);
    let middle = |&(hz, _): &(f64, f64)| {
        while points.get(from).is_some_and(|p| p.0 < hz / FLOOR_REACH) {
            from += 1;
        }
        while points.get(to).is_some_and(|p| p.0 <= hz * FLOOR_REACH) {
            to += 1;
        }
        let mut near: Vec<f64> = points[from..to].iter().map(|p| p.1).collect();
        near.sort_by(f64::total_cmp);
        (hz, near.get(near.len() / 2).copied().unwrap_or_default())
    };
    points.iter().map(middle).collect()
}

/// What a line is called: its likeliest part, with a question mark if others are as likely.
pub fn name_of(line: &FlutterLine) -> String {
    match (line.parts.first(), line.ambiguous) {
        (None, _) => "no known part".to_owned(),
        (Some(part), false) => part.name.clone(),
        (Some(part), true) => format!("{}?", part.name),
    }
}

struct Label {
    text: String,
    title: String,
    anchor: f64,
    from: f64,
    row: usize,
    depth: f64,
}

/// Finds a place for the name of each of the deepest lines; what finds none is in the table.
fn labels(report: &FlutterReport, frame: &Frame) -> Vec<Label> {
    let mut lines: Vec<&FlutterLine> = report.lines.iter().collect();
    lines.sort_by(|a, b| b.depth_peak_percent.total_cmp(&a.depth_peak_percent));
    let mut placed: Vec<Label> = Vec::new();
    for line in lines {
        let text = format!("{:.2} {}", line.hz.hertz(), shortened(&name_of(line), LONGEST_NAME));
        let width = text.chars().count() as f64 * LETTER;
        let anchor = frame.x.at(line.hz.hertz());
        let from = (anchor - 4.0).min(PLOT_WIDTH - width).max(LEFT);
        let clear = |row: &usize| {
            placed.iter().filter(|other| other.row == *row).all(|other| {
                let end = other.from + other.text.chars().count() as f64 * LETTER;
                end + 4.0 < from || from + width + 4.0 < other.from
            })
        };
        if let Some(row) = (0..ROWS).find(clear) {
            let title = format!(
                "{:.3} Hz: {:.3} % peak, {}",
                line.hz.hertz(),
                line.depth_peak_percent.percent(),
                name_of(line)
            );
            placed.push(Label { text, title, anchor, from, row, depth: line.depth_peak_percent.percent() });
        }
    }
    placed
}

impl Label {
    fn draw(&self, frame: &Frame) -> Markup {
        let y = frame.top() - 4.0 - ROW * (ROWS - 1 - self.row) as f64;
        html! {
            g.line {
                title { (self.title) }
                line.leader x1=(c(self.anchor)) x2=(c(self.anchor)) y1=(c(y + 2.0)) y2=(c(frame.y.at(self.depth)))
                    stroke="#777" stroke-width="0.8" stroke-dasharray="2 2" {}
                circle.dot cx=(c(self.anchor)) cy=(c(frame.y.at(self.depth))) r="3" fill="#000" {}
                text.label x=(c(self.from)) y=(c(y)) fill="#000" font-size="11" { (self.text) }
            }
        }
    }
}

fn twin(report: &FlutterReport) -> Table {
    let heads = ["#Rate", "#Peak depth", "Part", "Chance"];
    let mut table = Table::new("Steady lines", &heads, "No steady line stands out of the noise.");
    for line in &report.lines {
        let first = line.parts.first();
        let harmonic =
            first.filter(|part| part.harmonic > 1).map(|part| format!(", {} times its turn", part.harmonic));
        let cells = vec![
            format!("{:.3} ± {:.3} Hz", line.hz.hertz(), line.hz_uncertainty.hertz()).into(),
            format!(
                "{:.3} ± {:.3} %",
                line.depth_peak_percent.percent(),
                line.depth_uncertainty_percent.percent()
            )
            .into(),
            format!("{}{}", name_of(line), harmonic.unwrap_or_default()).into(),
            first.map_or_else(Words::new, |part| part.probability.in_words().into()),
        ];
        table.push(cells, vec![("hz", format!("{:.4}", line.hz.hertz()))]);
    }
    table
}
