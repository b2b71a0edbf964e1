//! A reel drawn as a strip of film along its footage, with each finding in its place.

use super::{findings, metres};
use crate::{
    Picture,
    plot::{PLOT_WIDTH, Scale, coordinate as at, ticks},
};
use booth::prints::{ReelSheet, finding};
use film::{
    Gauge,
    print::{Finding, PerforationGrade, SpliceKind, What, rows_of_findings},
};
use logbook::booth::Inspection;
use maud::{Markup, html};

/// Units of the drawing between its edge and the strip.
const MARGIN: f64 = 10.0;
/// Height of one row of findings.
const ROW: f64 = 18.0;
/// Width that the letters of a finding take.
const LETTERS: f64 = 26.0;

/// Draws a reel with what the last inspection found, the head at the left.
pub fn strip(reel: &ReelSheet<'_>, last: &Inspection, gauge: Gauge) -> Picture {
    let farthest = last.found.iter().map(|found| found.to_frame.unwrap_or(found.from_frame)).max();
    let length = last.length.unwrap_or(reel.reel.length_m).metres();
    let length = farthest.map_or(length, |frame| metres(frame, gauge).max(length)).max(1.0);
    let scale = Scale { low: 0.0, high: length, from: MARGIN, to: PLOT_WIDTH - MARGIN };
    let room =
        gauge.frames_in(units::Metres::new(LETTERS / (scale.to - scale.from) * length)).unwrap_or_default();
    // A finding is drawn at least as wide as its letters, so that no two lie upon each other.
    let drawn: Vec<Finding> =
        last.found.iter().map(finding).map(|it| Finding { to: it.to.max(it.from + room), ..it }).collect();
    let rows = rows_of_findings(&drawn);
    let top = 22.0;
    let high = ROW * rows.len().max(1) as f64;
    let foot = top + high + 8.0;
    let title = format!("Reel {}: {}", reel.reel.reel, super::found_in_short(&last.found));
    let svg = html! {
        svg.plot.reel-strip viewBox={ "0 0 " (at(PLOT_WIDTH)) " " (at(foot + 34.0)) } role="img" aria-label=(title) {
            text.axis x=(at(MARGIN)) y="13" font-size="12" { "Head" }
            text.axis x=(at(PLOT_WIDTH - MARGIN)) y="13" font-size="12" text-anchor="end" { "Tail" }
            rect.grid x=(at(MARGIN)) y=(at(top - 3.0)) width=(at(PLOT_WIDTH - 2.0 * MARGIN)) height=(at(high + 6.0))
                fill="none" stroke="#888" {}
            @for (row, findings) in rows.iter().enumerate() {
                @for finding in findings { (mark(finding, top + ROW * row as f64, scale, gauge)) }
            }
            (footage(scale, length, foot))
        }
    };
    Picture { title, svg, twin: findings(last, gauge), wide: false }
}

/// One finding: a box as long as it is, with letters in it. Weak and torn places have a thick edge.
fn mark(finding: &Finding, y: f64, scale: Scale, gauge: Gauge) -> Markup {
    let from = scale.at(metres(finding.from, gauge)).min(PLOT_WIDTH - MARGIN - LETTERS);
    let to = scale.at(metres(finding.to, gauge)).clamp(from + LETTERS, PLOT_WIDTH - MARGIN);
    let (letters, grave) = letters(finding.what);
    html! {
        g.finding data-letters=(letters) {
            rect x=(at(from)) y=(at(y)) width=(at(to - from)) height=(at(ROW - 2.0)) fill="none" stroke="#000"
                class=(if grave { "limit" } else { "grid" }) stroke-width=(if grave { "2.5" } else { "1" }) {}
            text.label x=(at(from + 3.0)) y=(at(y + 12.5)) font-size="12" { (letters) }
        }
    }
}

/// The letters of a finding, and whether it is one that can stop a show.
const fn letters(what: What) -> (&'static str, bool) {
    match what {
        What::Splice { kind, holds: true } => match kind {
            SpliceKind::Tape => ("St", false),
            SpliceKind::Cement => ("Sc", false),
            SpliceKind::Weld => ("Sw", false),
        },
        What::Splice { holds: false, .. } => ("S!", true),
        What::Perforations(grade) => match grade {
            PerforationGrade::Perfect => ("P0", false),
            PerforationGrade::Worn => ("P1", false),
            PerforationGrade::Cracked => ("P2", false),
            PerforationGrade::Torn => ("P3!", true),
            PerforationGrade::TornInARow => ("P4!", true),
        },
        What::Scratch { side: film::print::Side::Base, .. } => ("Xb", false),
        What::Scratch { side: film::print::Side::Emulsion, .. } => ("Xe", false),
        What::Oil => ("D", false),
        What::Warp => ("W", false),
        What::Tear => ("T!", true),
        What::Burn => ("B", false),
    }
}

/// Metres above, feet below.
fn footage(scale: Scale, length: f64, y: f64) -> Markup {
    let feet = length / 0.3048;
    html! {
        @for value in ticks(length, 5).into_iter().filter(|value| *value <= length) {
            line.grid x1=(at(scale.at(value))) x2=(at(scale.at(value))) y1=(at(y - 5.0)) y2=(at(y)) stroke="#888" {}
            text.axis x=(at(scale.at(value))) y=(at(y + 11.0)) font-size="12" text-anchor=(anchor(value)) {
                (at(value)) @if value == 0.0 { " m" }
            }
        }
        @for value in ticks(feet, 5).into_iter().filter(|value| *value <= feet) {
            text.axis x=(at(scale.at(value * 0.3048))) y=(at(y + 25.0)) font-size="12" text-anchor=(anchor(value)) {
                (at(value)) @if value == 0.0 { " ft" }
            }
        }
    }
}

fn anchor(value: f64) -> &'static str {
    if value == 0.0 { "start" } else { "middle" }
}

/// What the letters mean, for a line under the drawings.
pub(crate) const KEY: &str = "St, Sc, Sw splice of tape, cement, weld; S! weak splice; P0 to P4 perforations by grade; Xb, Xe scratch on base, emulsion; D dirt or oil; W warp; T! tear; B burn. A thick edge can stop a show.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_is_explained() {
        for letters in ["St", "Sc", "Sw", "S!", "Xb", "Xe", "D ", "W ", "T!", "B "] {
            assert!(KEY.contains(letters), "{letters}");
        }
    }
}
