//! Levels: a high tone over time, and lines of hum beside each other.

use super::{
    coordinate as c,
    frame::{Axis, Frame},
};
use crate::sheet::{Picture, Table};
use maud::html;
use sound::{FocusReport, HumLine, NoiseReport};

const HEIGHT: f64 = 140.0;
/// Nobody sets a lens by what lies further below the best than this.
const DEEPEST_DB: f64 = 30.0;
/// The twin in words has at most so many rows.
const MOST_ROWS: usize = 20;

/// Draws the level of the high tone under its best, over time.
pub fn focus(report: &FocusReport) -> Picture {
    let title = format!("Level at {:.0} Hz under its best", report.tone_hz.hertz());
    let levels: Vec<(f64, f64)> = report
        .levels
        .iter()
        .map(|point| (point.at_seconds.seconds(), point.below_best_db.decibels()))
        .collect();
    let low = levels.iter().map(|p| p.1).fold(-1.0, f64::min).max(-DEEPEST_DB);
    let high = levels.iter().map(|p| p.1).fold(0.5, f64::max);
    let end = levels.last().map_or(1.0, |p| p.0);
    let frame = Frame::new(
        Axis::linear("seconds", levels.first().map_or(0.0, |p| p.0), end, 6),
        Axis::linear("dB", low, high, 5),
        0.0,
        HEIGHT,
    );
    let svg = frame.draw("levels", &title, &frame.curve("curve", 1.5, levels.iter().copied()));
    let mut twin = Table::new(title.as_str(), &["#Second", "#Level"], "");
    for (at, level) in levels.iter().step_by(levels.len().div_ceil(MOST_ROWS).max(1)) {
        twin.push(vec![format!("{at:.1}").into(), format!("{level:+.1} dB").into()], Vec::new());
    }
    Picture { title, svg, twin, wide: false }
}

/// Draws the lines of mains, frames and perforations above the noise beside them.
pub fn noise_lines(report: &NoiseReport) -> Picture {
    let title = "Lines of mains and film above the noise beside them";
    let kinds = [
        ("mains", &report.hum),
        ("frames", &report.frame_lines),
        ("perforations", &report.perforation_lines),
    ];
    let lines: Vec<(&str, &HumLine)> =
        kinds.iter().flat_map(|(name, lines)| lines.iter().map(|line| (*name, line))).collect();
    let high = lines.iter().map(|(_, line)| line.above_noise_db.decibels()).fold(10.0, f64::max);
    let top = lines.iter().map(|(_, line)| line.hz.hertz()).fold(600.0, f64::max);
    let frame = Frame::new(
        Axis::linear("Hz", 0.0, top, 6),
        Axis::linear("dB above the noise", 0.0, high, 5),
        0.0,
        HEIGHT,
    );
    // The first line of each kind bears its name; the others follow as its multiples.
    let is_first = |at: usize| lines[..at].iter().all(|(name, _)| *name != lines[at].0);
    let content = html! { @for (at, (name, line)) in lines.iter().enumerate() {
        @let (x, y) = (frame.x.at(line.hz.hertz()), frame.y.at(line.above_noise_db.decibels()));
        g {
            title { (name) ", " (format!("{:.1} Hz: {:+.1} dB", line.hz.hertz(), line.above_noise_db.decibels())) }
            line.curve x1=(c(x)) x2=(c(x)) y1=(c(frame.bottom())) y2=(c(y)) stroke="#000" stroke-width="2" {}
            text.label x=(c(x)) y=(c(y - 3.0)) text-anchor=(if is_first(at) { "start" } else { "middle" }) fill="#000" {
                @if is_first(at) { (name) } @if line.ambiguous { "?" }
            }
        }
    } };
    let svg = frame.draw("levels", title, &content);
    let mut twin =
        Table::new(title, &["Of", "#Rate", "#Above the noise"], "No line stands out of the noise.");
    for (name, line) in lines {
        let doubt = if line.ambiguous { ", or the other" } else { "" };
        let cells = vec![
            format!("{name}{doubt}").into(),
            format!("{:.1} Hz", line.hz.hertz()).into(),
            format!("{:+.1} dB", line.above_noise_db.decibels()).into(),
        ];
        twin.push(cells, Vec::new());
    }
    Picture { title: title.to_owned(), svg, twin, wide: false }
}
