//! Frequency response as dots, between the limits of its characteristic.

use super::{
    coordinate as c,
    frame::{Axis, Frame},
};
use crate::sheet::{Picture, Table};
use crate::words::{Mark, Words};
use booth::sound::{Characteristic, ToneWeighed};
use maud::html;
use units::{Decibels, Hertz};

const HEIGHT: f64 = 160.0;
const TITLE: &str = "Response against the reference tone";

/// Draws tones against a characteristic that is levelled to the reference tone.
pub fn response(tones: &[ToneWeighed], wanted: Option<&Characteristic>, reference: Hertz) -> Picture {
    let nought = wanted.and_then(|wanted| wanted.level(reference)).unwrap_or(Decibels::ZERO);
    let limits: Vec<(f64, f64, f64)> = wanted.map_or_else(Vec::new, |wanted| {
        let about = wanted.tolerance.decibels();
        let bend = |(hz, level): (Hertz, Decibels)| {
            let level = (level - nought).decibels();
            (hz.hertz(), level - about, level + about)
        };
        wanted.bends().map(bend).collect()
    });
    let levels: Vec<(f64, f64)> =
        tones.iter().map(|one| (one.tone.hz.hertz(), one.tone.level_db.decibels())).collect();
    let ends = levels.iter().map(|p| p.0).chain(limits.iter().map(|l| l.0));
    let (low_hz, high_hz) =
        ends.fold((f64::INFINITY, 0.0_f64), |(low, high), hz| (low.min(hz), high.max(hz)));
    let low = levels.iter().map(|p| p.1).chain(limits.iter().map(|l| l.1)).fold(-3.0, f64::min).max(-60.0);
    let high = levels.iter().map(|p| p.1).chain(limits.iter().map(|l| l.2)).fold(3.0, f64::max);
    let frame = Frame::new(
        Axis::logarithmic("Hz", low_hz * 0.8, high_hz * 1.25),
        Axis::linear("dB", low, high, 6),
        0.0,
        HEIGHT,
    );
    let content = html! {
        (frame.spread("spread", &limits))
        (frame.curve("curve", 1.5, levels.iter().copied()))
        @for one in tones {
            @let (x, y) = (frame.x.at(one.tone.hz.hertz()), frame.y.at(one.tone.level_db.decibels()));
            g { title { (said(one)) }
                circle.dot cx=(c(x)) cy=(c(y)) r="3.5" fill="#000" {}
                @if one.holds == Some(false) {
                    text.sign x=(c(x - 7.0)) y=(c(y + 5.0)) text-anchor="middle" font-size="15" font-weight="bold" fill="#000" {
                        (Mark::Attention.sign())
                    }
                }
            }
        }
    };
    let svg = frame.draw("response", TITLE, &content);
    Picture { title: TITLE.to_owned(), svg, twin: twin(tones), wide: false }
}

fn said(one: &ToneWeighed) -> String {
    let off = one.off.map(|off| format!(", {:+.1} dB off", off.decibels())).unwrap_or_default();
    format!("{:.0} Hz: {:+.1} dB{off}", one.tone.hz.hertz(), one.tone.level_db.decibels())
}

fn twin(tones: &[ToneWeighed]) -> Table {
    let heads = ["#Tone", "#Level", "#Off", "Within limits"];
    let mut table = Table::new(TITLE, &heads, "No tone was found.");
    for one in tones {
        let holds = match one.holds {
            Some(true) => "yes".into(),
            Some(false) => Words::new().mark_as(Mark::Attention, "no"),
            None => Words::new().quiet("no limit here"),
        };
        let cells = vec![
            format!("{:.0} Hz", one.tone.hz.hertz()).into(),
            format!("{:+.1} dB", one.tone.level_db.decibels()).into(),
            one.off.map(|off| format!("{:+.1} dB", off.decibels())).unwrap_or_default().into(),
            holds,
        ];
        table.push(cells, vec![("hz", format!("{:.0}", one.tone.hz.hertz()))]);
    }
    table
}
