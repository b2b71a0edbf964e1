//! What a recording says, as sheets: flutter with its lines and parts, the rest of the sound chain, the trend.

mod chain;
pub mod json;
mod trend;

pub use chain::{buzz_track, focus, noise, response};
pub use trend::{sentence, trend};

use crate::address::Place;
use crate::common;
use crate::plot::trend::verdict;
use crate::plot::{spectrum, speed};
use crate::sheet::{Block, Card, Sheet, Table};
use crate::wording;
use crate::words::{Mark, Words};
use booth::{
    DueItem, DueState,
    sound::{Follow, Measured, NamedLine, NamedSuspect, Weighed, named_lines},
};
use logbook::ids::{MachineId, SlotId, TaskId};
use machine::{MachineType, ReadingUnit};
use sound::{FlutterReport, LeftOut};
use units::{Percent, Seconds};

/// What is known about the machine whose recording is shown.
#[derive(Clone, Copy, Debug, Default)]
pub struct Known<'a> {
    /// The machine, if one was named: then parts and care are links.
    pub machine: Option<&'a MachineId>,
    /// Its type.
    pub kind: Option<&'a MachineType>,
    /// The figures weighed against its limits.
    pub weighed: &'a [Weighed<'a>],
    /// What care of the machine is due, so that the care which follows from a line comes in the right order.
    pub due: &'a [DueItem<'a>],
}

/// So many suspects of a line are shown.
const MOST_SUSPECTS: usize = 3;
/// So many tasks of a part are shown.
const MOST_TASKS: usize = 3;

/// Lays out speed, wow and flutter.
pub fn flutter(report: &FlutterReport, known: &Known<'_>) -> Sheet {
    let mut sheet = Sheet::new("Speed, wow and flutter");
    sheet.lead(lead(report));
    limits(&mut sheet, known);
    sheet.push(Block::Facts(figures(report)));
    if !report.not_measured.is_empty() {
        sheet.heading("Not measured");
        let lines = report.not_measured.iter().map(|one| format!("{}: {}", one.what, one.why).into());
        sheet.push(Block::List(lines.collect()));
    }
    sheet.heading("Speed");
    sheet.push(Block::Picture(Box::new(speed::speed_against_time(report))));
    sheet.heading("Lines and their parts");
    sheet.push(Block::Picture(Box::new(spectrum::flutter_spectrum(report))));
    parts(&mut sheet, report, known);
    if !report.left_out.is_empty() {
        sheet.heading("Left out");
        sheet.push(Block::Table(left_out(&report.left_out)));
    }
    sheet.caveats(report.caveats.iter().cloned());
    sheet.because(report.methods.iter().map(|method| Words::from(*method)));
    sheet
}

/// Lays out the speed alone.
pub fn speed(report: &FlutterReport, known: &Known<'_>) -> Sheet {
    let mut sheet = Sheet::new("Speed");
    let mut said = match (report.speed_error_percent, report.fps) {
        (Some(error), Some(fps)) => format!("{:+.3} %: {:.4} frames a second.", error.percent(), fps.fps()),
        _ => format!("The tone stands at {:.3} Hz; name it to learn the speed.", report.tone_hz.hertz()),
    };
    if report
        .drift_uncertainty_percent_per_minute
        .is_some_and(|off| report.drift_percent_per_minute.abs() > off)
    {
        said.push_str(" It drifts.");
    }
    sheet.lead(said);
    limits(&mut sheet, known);
    let of_speed = ["Tone", "Speed", "Drift", "Run-up", "Used"];
    let facts = figures(report).into_iter().filter(|(name, _)| of_speed.contains(&name.as_str()));
    sheet.push(Block::Facts(facts.collect()));
    sheet.push(Block::Picture(Box::new(speed::speed_against_time(report))));
    sheet.caveats(report.caveats.iter().cloned());
    sheet
}

fn lead(report: &FlutterReport) -> String {
    let flutter = report.weighted_quasi_peak_percent.or(report.weighted_two_sigma_percent);
    let flutter = match flutter {
        Some(read) if read <= report.noise_floor_percent => {
            format!("no flutter above the floor of {}", percent(report.noise_floor_percent))
        }
        Some(read) => format!("weighted flutter {}", percent(read)),
        None => "too short for a flutter reading".to_owned(),
    };
    let speed = match (report.speed_error_percent, report.fps) {
        (Some(error), Some(fps)) => {
            format!("speed {:+.2} % ({:.3} frames a second)", error.percent(), fps.fps())
        }
        _ => format!("tone at {:.2} Hz", report.tone_hz.hertz()),
    };
    let lines = match report.lines.len() {
        0 => "no steady line".to_owned(),
        n => wording::counted(n, "steady line"),
    };
    let mut said = format!("{speed}, {flutter}, {lines}.");
    if let Some(first) = said.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    said
}

fn percent(value: Percent) -> String {
    format!("{:.3} %", value.percent())
}

fn or_missing(value: Option<Percent>) -> String {
    value.map_or_else(|| "not measured".to_owned(), percent)
}

fn figures(report: &FlutterReport) -> Vec<(String, Words)> {
    let mut facts: Vec<(&str, String)> = vec![
        ("Tone", format!("{:.3} Hz", report.tone_hz.hertz())),
        ("Weighted, quasi-peak (IEC 60386)", or_missing(report.weighted_quasi_peak_percent)),
        ("Weighted, two-sigma (AES6)", or_missing(report.weighted_two_sigma_percent)),
        ("Unweighted, root mean square", or_missing(report.unweighted_rms_percent)),
        ("Unweighted, peak", or_missing(report.unweighted_peak_percent)),
        ("Wow, 0.1 to 6 Hz", or_missing(report.wow_rms_percent)),
        ("Flutter, 6 to 100 Hz", or_missing(report.flutter_rms_percent)),
        ("Scrape, from 100 Hz", or_missing(report.scrape_rms_percent)),
        (
            "Floor of this recording",
            format!(
                "{} weighted, {} unweighted",
                percent(report.noise_floor_percent),
                percent(report.unweighted_noise_floor_percent)
            ),
        ),
        ("Drift", drift(report)),
    ];
    if let (Some(error), Some(fps)) = (report.speed_error_percent, report.fps) {
        let off = report.speed_uncertainty_percent.percent();
        facts.insert(
            1,
            ("Speed", format!("{:+.4} ± {off:.4} %, {:.4} frames a second", error.percent(), fps.fps())),
        );
    }
    if let Some(run_up) = report.run_up {
        let slow = run_up
            .within_0_3_percent_seconds
            .map_or_else(String::new, |s| format!(", within 0.3 % in {:.1} s", s.seconds()));
        facts.push((
            "Run-up",
            format!("within 1 % in {:.1} s{slow}", run_up.within_1_percent_seconds.seconds()),
        ));
    }
    facts.push(("Used", used(report)));
    facts.into_iter().map(|(name, words)| (name.to_owned(), words.into())).collect()
}

fn drift(report: &FlutterReport) -> String {
    let off = report
        .drift_uncertainty_percent_per_minute
        .map_or_else(String::new, |off| format!(" ± {:.4}", off.percent()));
    format!("{:+.4}{off} % a minute", report.drift_percent_per_minute.percent())
}

fn used(report: &FlutterReport) -> String {
    let left = report.left_out_seconds;
    let left =
        if left > Seconds::ZERO { format!(", {:.2} s left out", left.seconds()) } else { String::new() };
    format!("{:.1} of {:.1} s{left}", report.used_seconds.seconds(), report.recorded_seconds.seconds())
}

/// Adds how the figures stand against the limits of the type, where it is known.
pub(super) fn limits(sheet: &mut Sheet, known: &Known<'_>) {
    if known.weighed.is_empty() {
        return;
    }
    let heads = ["What", "#Reading", "Says"];
    let mut table = Table::new("Against the limits of the machine type", &heads, "");
    for one in known.weighed {
        let says = if one.limit.is_some() {
            verdict(one.verdict)
        } else {
            Words::new().quiet("the type has no limit for it")
        };
        let cells = vec![one.name().into(), figure(&one.measured).into(), says];
        table.push(cells, vec![("quantity", one.measured.key())]);
    }
    sheet.push(Block::Table(table));
}

/// A figure with its uncertainty and unit.
pub fn figure(measured: &Measured) -> String {
    let decimals = match measured.uncertainty {
        none if none <= 0.0 => 0,
        doubt => (1.0 - doubt.log10().floor()).clamp(0.0, 4.0) as usize,
    };
    let doubt = if measured.uncertainty > 0.0 {
        format!(" ± {:.decimals$}", measured.uncertainty)
    } else {
        String::new()
    };
    let unit = match measured.unit {
        ReadingUnit::Count => String::new(),
        unit => format!(" {unit}"),
    };
    format!("{:.decimals$}{doubt}{unit}", measured.value)
}

fn parts(sheet: &mut Sheet, report: &FlutterReport, known: &Known<'_>) {
    let Some(kind) = known.kind else {
        if !report.lines.is_empty() {
            sheet.say("Name the machine or its type to learn which part each line comes from.");
        }
        return;
    };
    let cards = named_lines(report, kind, known.due).iter().map(|line| card(line, known)).collect::<Vec<_>>();
    if !cards.is_empty() {
        sheet.push(Block::Cards(cards));
    }
}

fn card(named: &NamedLine<'_>, known: &Known<'_>) -> Card {
    let line = named.line;
    let title = format!("{:.2} Hz, {} peak", line.hz.hertz(), percent(line.depth_peak_percent));
    let mut card = Card {
        title: title.into(),
        data: vec![("hz", format!("{:.4}", line.hz.hertz()))],
        ..Card::default()
    };
    if named.suspects.is_empty() {
        card.lines.push("No part of this type turns at this rate.".into());
    }
    if line.ambiguous {
        card.lines.push(Words::new().strong("Ambiguous: ").plain("more than one part may make it."));
    }
    let shown = if line.ambiguous { MOST_SUSPECTS } else { 1 };
    for suspect in named.suspects.iter().take(shown) {
        card.lines.push(suspect_words(suspect, known));
        card.lines.push(Words::new().quiet(suspect.tells));
        card.ways.extend(suspect.care.iter().take(MOST_TASKS).map(|follow| way(follow, suspect, known)));
    }
    if let Some(how) = &line.to_separate {
        card.lines.push(Words::new().strong("To tell: ").plain(how));
    }
    card
}

fn suspect_words(suspect: &NamedSuspect<'_>, known: &Known<'_>) -> Words {
    let traced = suspect.suspect;
    let words = match (known.machine, suspect.part) {
        (Some(machine), Some(part)) => {
            Words::new().link(Place::Part(machine.clone(), SlotId::new(part.id.as_str())), &traced.name)
        }
        _ => Words::new().strong(&traced.name),
    };
    let harmonic =
        if traced.harmonic > 1 { format!(", {} times its turn", traced.harmonic) } else { String::new() };
    words.plain(format!("{harmonic}: {}", traced.probability.in_words()))
}

/// The way to a task: what to do, and the form to write it down.
fn way(follow: &Follow<'_>, suspect: &NamedSuspect<'_>, known: &Known<'_>) -> Words {
    let task = follow.task;
    let words = match (known.machine, suspect.part) {
        (Some(machine), Some(part)) => {
            let filled = [
                ("machine", machine.to_string()),
                ("task", TaskId::new(task.id.as_str()).to_string()),
                ("slot", part.id.to_string()),
            ];
            let filled = filled.map(|(name, value)| (name.to_owned(), value)).into();
            Words::new().link(Place::LogKind("care-done".to_owned(), filled), &task.name)
        }
        _ => Words::new().plain(&task.name),
    };
    let words = match follow.state.filter(|state| *state <= DueState::Soon) {
        Some(state) => words.plain(" ").mark(Mark::from(state)),
        None => words,
    };
    match common::hands(task) {
        Some(hands) => words.quiet(format!(" ({hands})")),
        None => words,
    }
}

fn left_out(stretches: &[LeftOut]) -> Table {
    let mut table = Table::new("Stretches that were left out", &["#From", "#To", "Why"], "").tight();
    for one in stretches {
        let seconds = |at: Seconds| format!("{:.2} s", at.seconds()).into();
        table.push(
            vec![seconds(one.from_seconds), seconds(one.to_seconds), speed::why(one.why).into()],
            Vec::new(),
        );
    }
    table
}
