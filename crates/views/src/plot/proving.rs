//! The proving ground's plots: stoppages by policy, and chances given beside what came.

use super::{
    PLOT_WIDTH, Scale, coordinate as c,
    frame::{Axis, Frame},
    ticks,
};
use crate::sheet::{Picture, Table};
use maud::html;
use prove::{PolicyReport, Step};

const LEFT: f64 = 96.0;
const RIGHT: f64 = 340.0;
const ROW: f64 = 30.0;
const TOP: f64 = 24.0;

/// Draws stoppages in 1,000 showings by policy: those by parts filled, all outlined, with the interval of all.
pub fn stoppages(policies: &[PolicyReport]) -> Picture {
    let title = "Stoppages in 1,000 showings";
    let highest = policies.iter().map(|policy| policy.stoppages_per_1000.high).fold(0.0, f64::max);
    let marks = ticks(highest, 4);
    let along = Scale { low: 0.0, high: *marks.last().unwrap_or(&1.0), from: LEFT, to: RIGHT };
    let bottom = TOP + ROW * policies.len() as f64;
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (PLOT_WIDTH) " " (c(bottom + 40.0)) }
            class="plot proving" role="img" aria-label=(title) font-family="sans-serif" font-size="12" {
            text.axis x="2" y="11" fill="#444" { (title) }
            @for mark in &marks {
                @let x = c(along.at(*mark));
                line.grid x1=(x) x2=(x) y1=(TOP) y2=(c(bottom)) stroke="#999" stroke-width="0.5" {}
                text.axis x=(x) y=(c(bottom + 14.0)) text-anchor="middle" fill="#444" { (mark) }
            }
            @for (at, policy) in policies.iter().enumerate() {
                @let (y, all) = (TOP + ROW * at as f64 + 6.0, policy.stoppages_per_1000);
                @let parts = along.at(policy.part_stoppages_per_1000.value);
                text.label x=(LEFT - 6.0) y=(c(y + 13.0)) text-anchor="end" fill="#000" { (policy.policy.as_str()) }
                rect.bar x=(LEFT) y=(c(y)) width=(c(parts - LEFT)) height="18" fill="#333" {}
                rect.bar-other x=(LEFT) y=(c(y)) width=(c(along.at(all.value) - LEFT)) height="18" fill="none" stroke="#333" {}
                line.curve x1=(c(along.at(all.low))) x2=(c(along.at(all.high))) y1=(c(y + 9.0)) y2=(c(y + 9.0)) stroke="#000" stroke-width="2" {}
            }
            rect.bar x=(LEFT) y=(c(bottom + 24.0)) width="12" height="10" fill="#333" {}
            text.axis x=(LEFT + 18.0) y=(c(bottom + 34.0)) fill="#444" { "parts" }
            rect.bar-other x=(LEFT + 70.0) y=(c(bottom + 24.5)) width="12" height="9" fill="none" stroke="#333" {}
            text.axis x=(LEFT + 88.0) y=(c(bottom + 34.0)) fill="#444" { "all; line: 95 %" }
        }
    };
    let mut twin = Table::new(title, &["Policy", "#All", "#By parts"], "No policy was played.");
    for policy in policies {
        let all = policy.stoppages_per_1000;
        let cells = vec![
            policy.policy.as_str().into(),
            format!("{:.1} ({:.1} to {:.1})", all.value, all.low, all.high).into(),
            format!("{:.1}", policy.part_stoppages_per_1000.value).into(),
        ];
        twin.push(cells, Vec::new());
    }
    Picture { title: title.to_owned(), svg, twin, wide: false }
}

/// Draws, by tenths of the showings, the chance given and the share that stopped, with the band in which the share
/// lies 95 times in 100 if the chance is right. A right tenth's dot lies within its band.
pub fn reliability(title: &str, tenths: &[Step]) -> Picture {
    let most = tenths.iter().map(|step| step.high.max(step.came).max(step.given)).fold(0.0, f64::max) * 100.0;
    let frame = Frame::new(
        Axis::linear("chance given, %", 0.0, most, 5),
        Axis::linear("share that stopped, %", 0.0, most, 5),
        0.0,
        220.0,
    );
    let (x, y) = (|value: f64| c(frame.x.at(100.0 * value)), |value: f64| c(frame.y.at(100.0 * value)));
    let content = html! {
        (frame.curve("floor", 1.0, [(0.0, 0.0), (frame.x.high(), frame.x.high())]))
        @for step in tenths {
            line.curve x1=(x(step.given)) x2=(x(step.given)) y1=(y(step.low)) y2=(y(step.high)) stroke="#000" stroke-width="5" stroke-opacity="0.25" {}
            @if step.within {
                circle.dot cx=(x(step.given)) cy=(y(step.came)) r="3" fill="#000" {}
            } @else {
                circle.dot cx=(x(step.given)) cy=(y(step.came)) r="4" fill="#fff" stroke="#000" stroke-width="1.5" {}
            }
        }
    };
    let svg = frame.draw("reliability", title, &content);
    Picture { title: title.to_owned(), svg, twin: steps(title, tenths), wide: false }
}

/// The tenths as a table.
pub fn steps(title: &str, steps: &[Step]) -> Table {
    let heads = [
        "#Showings",
        "#Chance given",
        "#Stopped",
        "#Band of 95 %",
        "Within",
        "#Band of all together",
        "Within that",
    ];
    let mut table = Table::new(title, &heads, "No chance was given.");
    let percent = |value: f64| format!("{:.2} %", 100.0 * value);
    let yes = |within: bool| if within { "yes" } else { "no" };
    for step in steps {
        let cells = vec![
            step.n.to_string().into(),
            percent(step.given).into(),
            percent(step.came).into(),
            format!("{:.2} to {:.2}", 100.0 * step.low, 100.0 * step.high).into(),
            yes(step.within).into(),
            format!("{:.2} to {:.2}", 100.0 * step.joint_low, 100.0 * step.joint_high).into(),
            yes(step.within_joint).into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}
