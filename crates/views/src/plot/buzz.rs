//! The buzz track across the film: a tone on either side of the strip, where the beam reads, and which way to move it.
//!
//! Not to scale: how far the beam strays cannot be told from levels.

use super::{PLOT_WIDTH, coordinate as c};
use crate::sheet::{Picture, Table};
use maud::{Markup, html};
use sound::{BuzzReport, BuzzRequest, TrackSide};
use units::{Decibels, Hertz};

const TITLE: &str = "The buzz track and the scanning beam, not to scale";
const HEIGHT: f64 = 196.0;
/// Upper and lower edge of the film as drawn.
const TOP: f64 = 50.0;
const BOTTOM: f64 = 122.0;
/// Left ends of the left tone, the strip and the right tone, and the right end of the last.
const ENDS: [f64; 4] = [24.0, 146.0, 214.0, 336.0];
const MIDDLE: f64 = 180.0;
/// How wide the beam is drawn, and how far off where it strays.
const BEAM: f64 = 56.0;
const STRAY: f64 = 40.0;
/// A beam that reads both tones reaches over the strip on either side.
const LONG_BEAM: f64 = 104.0;

/// A tone on one side of the strip.
struct Side {
    tone: Hertz,
    level: Option<Decibels>,
    lies: Option<TrackSide>,
}

/// Draws where the beam stands.
pub fn buzz_track(report: &BuzzReport, request: &BuzzRequest) -> Picture {
    let other = |side: TrackSide| match side {
        TrackSide::Picture => TrackSide::Edge,
        TrackSide::Edge => TrackSide::Picture,
    };
    let first = Side { tone: request.tones.0, level: report.first_dbfs, lies: request.first_lies };
    let second =
        Side { tone: request.tones.1, level: report.second_dbfs, lies: request.first_lies.map(other) };
    // The edge of the film is drawn on the left.
    let (left, right) =
        if first.lies == Some(TrackSide::Picture) { (second, first) } else { (first, second) };
    let strays = match report.louder_hz {
        Some(louder) if louder == left.tone => -1.0,
        Some(_) => 1.0,
        None => 0.0,
    };
    let both = strays == 0.0 && left.level.is_some() && right.level.is_some();
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (PLOT_WIDTH) " " (HEIGHT) }
            class="plot buzz" role="img" aria-label=(TITLE) font-family="sans-serif" font-size="12" {
            (tone(&left, ENDS[0], ENDS[1]))
            rect.strip x=(ENDS[1]) width=(ENDS[2] - ENDS[1]) y=(TOP) height=(BOTTOM - TOP) fill="#777" {}
            (tone(&right, ENDS[2], ENDS[3]))
            (beam(MIDDLE + strays * STRAY, if both { LONG_BEAM } else { BEAM }))
            @if strays != 0.0 { (arrow(-strays)) }
            text.axis x=(MIDDLE) y=(BOTTOM + 18.0) text-anchor="middle" fill="#444" { "strip" }
        }
    };
    Picture { title: TITLE.to_owned(), svg, twin: twin(&[left, right]), wide: false }
}

/// A track of a tone: lines across the film, closer together the higher it is.
fn tone(side: &Side, from: f64, to: f64) -> Markup {
    let step = if side.tone.hertz() < 600.0 { 12.0 } else { 6.0 };
    let n = ((BOTTOM - TOP) / step) as u32;
    let middle = f64::midpoint(from, to);
    html! {
        rect.bar-other x=(c(from)) width=(c(to - from)) y=(TOP) height=(BOTTOM - TOP) fill="none" stroke="#333" {}
        @for at in 1..n {
            @let y = TOP + step * f64::from(at);
            line.grid x1=(c(from + 3.0)) x2=(c(to - 3.0)) y1=(c(y)) y2=(c(y)) stroke="#999" stroke-width="1" {}
        }
        text.label x=(c(middle)) y=(TOP - 28.0) text-anchor="middle" fill="#000" { (name(side.tone)) }
        @if let Some(lies) = side.lies {
            text.axis x=(c(middle)) y=(TOP - 12.0) text-anchor="middle" fill="#444" { (place(lies)) }
        }
        text.label x=(c(middle)) y=(BOTTOM + 18.0) text-anchor="middle" fill="#000" { (heard(side.level)) }
    }
}

fn beam(middle: f64, width: f64) -> Markup {
    html! {
        rect.beam x=(c(middle - width / 2.0)) width=(c(width)) y=(c(f64::midpoint(TOP, BOTTOM) - 9.0)) height="18" rx="4"
            fill="#fff" fill-opacity="0.85" stroke="#000" stroke-width="2.5" {}
        text.on-beam x=(c(middle)) y=(c(f64::midpoint(TOP, BOTTOM) + 4.0)) text-anchor="middle" fill="#000" { "beam" }
    }
}

/// Which way to move the beam: to the right if `towards` is above nought.
fn arrow(towards: f64) -> Markup {
    let y = BOTTOM + 40.0;
    let (from, to) = (MIDDLE - towards * 52.0, MIDDLE + towards * 52.0);
    let head = to - towards * 10.0;
    html! {
        line.curve x1=(c(from)) x2=(c(head)) y1=(c(y)) y2=(c(y)) stroke="#000" stroke-width="2.5" {}
        path.dot d={ "M" (c(to)) " " (c(y)) "L" (c(head)) " " (c(y - 6.0)) "L" (c(head)) " " (c(y + 6.0)) "Z" } fill="#000" {}
        text.label x=(c(MIDDLE)) y=(c(y + 20.0)) text-anchor="middle" fill="#000" { "move the beam this way" }
    }
}

fn name(tone: Hertz) -> String {
    format!("{:.0} Hz", tone.hertz())
}

const fn place(side: TrackSide) -> &'static str {
    match side {
        TrackSide::Picture => "towards the picture",
        TrackSide::Edge => "towards the edge",
    }
}

fn heard(level: Option<Decibels>) -> String {
    level.map_or_else(|| "not heard".to_owned(), |level| format!("{:.1} dB", level.decibels()))
}

fn twin(sides: &[Side]) -> Table {
    let mut table = Table::new(TITLE, &["Tone", "Side", "#Level below full scale"], "");
    for side in sides {
        let lies = side.lies.map_or("not said", place);
        table.push(vec![name(side.tone).into(), lies.into(), heard(side.level).into()], Vec::new());
    }
    table
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn drawn(
        first: Option<f64>,
        second: Option<f64>,
        louder: Option<f64>,
        lies: Option<TrackSide>,
    ) -> String {
        let report = BuzzReport {
            first_dbfs: first.map(Decibels::new),
            second_dbfs: second.map(Decibels::new),
            louder_hz: louder.map(Hertz::new),
            move_towards: None,
            what_to_do: String::new(),
            caveats: Vec::new(),
        };
        let request = BuzzRequest { first_lies: lies, ..BuzzRequest::default() };
        buzz_track(&report, &request).svg.into_string()
    }

    fn beam_of(svg: &str) -> (f64, f64) {
        let beam = svg.split("class=\"beam\"").nth(1).unwrap();
        let of = |name: &str| {
            beam.split(&format!("{name}=\""))
                .nth(1)
                .unwrap()
                .split('"')
                .next()
                .unwrap()
                .parse::<f64>()
                .unwrap()
        };
        (of(" x") + of("width") / 2.0, of("width"))
    }

    #[test]
    fn the_beam_is_drawn_on_the_side_that_is_heard_and_the_arrow_leads_away() {
        let stray = drawn(Some(-20.0), None, Some(300.0), None);
        assert!(beam_of(&stray).0 < MIDDLE && stray.contains("move the beam this way"), "{stray}");
        // The first tone lies towards the picture, which is drawn on the right.
        let turned = drawn(Some(-20.0), None, Some(300.0), Some(TrackSide::Picture));
        assert!(beam_of(&turned).0 > MIDDLE && turned.contains("towards the edge"), "{turned}");
    }

    #[test]
    fn no_tone_or_both_need_no_move() {
        let right = drawn(None, None, None, None);
        assert!(beam_of(&right) == (MIDDLE, BEAM) && !right.contains("this way"), "{right}");
        let long = drawn(Some(-20.0), Some(-20.4), None, None);
        assert!(beam_of(&long) == (MIDDLE, LONG_BEAM) && !long.contains("this way"), "{long}");
    }
}
