//! From a report to readings of the logbook: quantity, value, unit, uncertainty, method, conditions.

use super::parts::PERFORATIONS;
use crate::{
    verdict::{Verdict, verdict},
    words::listed,
};
use ::sound::{BuzzReport, FlutterLine, FlutterReport, FocusReport, NoiseReport, ResponseReport};
use logbook::{
    Fact, MachineId,
    booth::{Machine, ReadingRecord},
    fact::Reading,
    ids::{QuantityId, SlotId},
};
use machine::{MachineType, Part, ReadingLimit, ReadingUnit};
use std::collections::BTreeMap;

/// The clock of a phone or laptop that records is right to this much (100 millionths; common practice, no source).
const RECORDER_CLOCK_PERCENT: f64 = 0.01;
/// The weighting is known to this fraction of the reading: half of the 0.5 dB that IEC 60386 allows (from memory).
const WEIGHTING_SHARE: f64 = 0.03;
/// Share of the noise floor that stays in doubt after it has been taken off.
const FLOOR_SHARE: f64 = 0.25;
/// A level of a tone in a recording repeats to half a decibel (common practice, no source).
const LEVEL_DB: f64 = 0.5;
/// The time of run-up is read from cells of 20 ms, and where the machine was started is known to a tenth of a second.
const RUN_UP_S: f64 = 0.1;
/// Tones count as those of the response film within this fraction: what a machine's speed may be off.
const TONE_REACH: f64 = 0.045;
/// The quantity of one part's line.
pub const FLUTTER_LINE: &str = "flutter-line";
/// So many lines go into the conditions of a flutter reading, the deepest first.
const MOST_LINES: usize = 8;

/// One figure that may become a reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// The quantity, as machine types name it.
    pub quantity: &'static str,
    /// The value.
    pub value: f64,
    /// Its unit.
    pub unit: ReadingUnit,
    /// Standard uncertainty in the same unit.
    pub uncertainty: f64,
    /// How it was measured.
    pub method: String,
    /// What matters to compare it.
    pub conditions: BTreeMap<String, String>,
    /// The rotating part that it is about, as the tracing names it; none: the machine as a whole.
    pub turning: Option<String>,
}

impl Measured {
    fn new(quantity: &'static str, value: f64, unit: ReadingUnit, uncertainty: f64, method: &str) -> Self {
        let (method, conditions) = (method.to_owned(), BTreeMap::new());
        Self { quantity, value, unit, uncertainty, method, conditions, turning: None }
    }

    fn under(mut self, name: &str, words: impl Into<String>) -> Self {
        self.conditions.insert(name.to_owned(), words.into());
        self
    }

    /// The figures of a flutter measurement: weighted flutter, speed, run-up, and the deepest line of each part that
    /// alone explains one.
    pub fn of_flutter(report: &FlutterReport) -> Vec<Self> {
        let all = weighted(report).into_iter().chain(Self::of_speed(report)).chain(lines(report));
        all.map(|one| one.under("test film", film(report))).collect()
    }

    /// The slot of the part that it is about; none for the machine as a whole.
    pub fn slot<'k>(&self, kind: &'k MachineType) -> Option<&'k machine::SlotId> {
        kind.rotating_part(self.turning.as_deref()?).map(|turning| &turning.slot)
    }

    /// What tells it from the other figures of one recording: the quantity and, if it is about one, the part.
    pub fn key(&self) -> String {
        self.turning
            .as_ref()
            .map_or_else(|| self.quantity.to_owned(), |part| format!("{}-{part}", self.quantity))
    }

    /// The figures of a measurement of speed alone: speed, run-up.
    pub fn of_speed(report: &FlutterReport) -> Vec<Self> {
        let all = [speed(report), run_up(report)];
        all.into_iter().flatten().map(|one| one.under("test film", film(report))).collect()
    }

    /// The figure of a response measurement: 5 kHz against 400 Hz, where the film has both.
    pub fn of_response(report: &ResponseReport) -> Vec<Self> {
        let level = |hz: f64| {
            let near = |tone: &&::sound::ResponseTone| (tone.hz.hertz() / hz - 1.0).abs() < TONE_REACH;
            report.tones.iter().find(near).map(|tone| tone.level_db.decibels())
        };
        let (Some(high), Some(low)) = (level(5000.0), level(400.0)) else { return Vec::new() };
        let method = "levels of the tones of a multi-frequency film in a recording";
        vec![
            Self::new("response-5khz", high - low, ReadingUnit::Decibel, LEVEL_DB, method)
                .under("test film", format!("{} tones", report.tones.len())),
        ]
    }

    /// The figure of a noise measurement: noise against the reference tone, where there is one.
    pub fn of_noise(report: &NoiseReport) -> Vec<Self> {
        let method = "root mean square from 20 Hz to 20 kHz against the reference tone, from a recording";
        let below = report.noise_below_reference_db.map(|level| {
            let read = Self::new("hum-and-noise", level.decibels(), ReadingUnit::Decibel, LEVEL_DB, method);
            let hum = report.mains_hz.map(|mains| format!("{:.0} Hz", mains.hertz()));
            read.under("hum of the mains", hum.unwrap_or_else(|| "none heard".to_owned()))
        });
        below.into_iter().collect()
    }

    /// The figure of a focus measurement: how far the level lies under its peak.
    pub fn of_focus(report: &FocusReport) -> Vec<Self> {
        let method = "level of a high tone at the end of a recording under the best within it";
        let below = report.end_below_best_db.decibels();
        vec![
            Self::new("azimuth-loss", below, ReadingUnit::Decibel, LEVEL_DB, method)
                .under("test film", format!("tone of {:.0} Hz", report.tone_hz.hertz())),
        ]
    }

    /// The figure of a buzz track: how many of the two tones are heard.
    pub fn of_buzz_track(report: &BuzzReport) -> Vec<Self> {
        let heard = [report.first_dbfs, report.second_dbfs].into_iter().flatten().count();
        let method = "tones of the buzz track that stand out of a recording";
        vec![
            Self::new("guard-tones", heard as f64, ReadingUnit::Count, 0.0, method)
                .under("what to do", &*report.what_to_do),
        ]
    }
}

fn film(report: &FlutterReport) -> String {
    format!("tone of {:.1} Hz, {:.0} s used", report.tone_hz.hertz(), report.used_seconds.seconds())
}

fn weighted(report: &FlutterReport) -> Option<Measured> {
    let (value, method) = match (report.weighted_quasi_peak_percent, report.weighted_two_sigma_percent) {
        (Some(peak), _) => (peak.percent(), "weighted quasi-peak (IEC 60386), from a recording"),
        (None, Some(sigma)) => (sigma.percent(), "weighted two-sigma (AES6), from a recording"),
        (None, None) => return None,
    };
    let doubt = (WEIGHTING_SHARE * value).hypot(FLOOR_SHARE * report.noise_floor_percent.percent());
    let mut read = Measured::new("flutter-weighted", value, ReadingUnit::Percent, doubt, method)
        .under("noise floor", format!("{:.3} %", report.noise_floor_percent.percent()));
    let mut lines: Vec<&FlutterLine> = report.lines.iter().collect();
    lines.sort_by(|a, b| b.depth_peak_percent.total_cmp(&a.depth_peak_percent));
    for (at, line) in lines.iter().take(MOST_LINES).enumerate() {
        read = read.under(&format!("line {}", at + 1), line_in_words(line));
    }
    Some(read)
}

/// A line as a reading keeps it: `1.90 Hz 0.213 % Sound drum and flywheel`.
fn line_in_words(line: &FlutterLine) -> String {
    let figures = format!("{:.2} Hz, {:.3} % peak", line.hz.hertz(), line.depth_peak_percent.percent());
    let named = if line.ambiguous { 3 } else { 1 };
    let names: Vec<&str> = line.parts.iter().take(named).map(|part| part.name.as_str()).collect();
    match (names.as_slice(), line.ambiguous) {
        ([], _) => figures,
        (names, false) => format!("{figures}, {}", listed(names)),
        (names, true) => format!("{figures}, one of {}", listed(names)),
    }
}

/// The deepest line of each part that alone explains one, deepest first. What several parts may have made is none's.
fn lines(report: &FlutterReport) -> Vec<Measured> {
    let mut lines: Vec<&FlutterLine> = report.lines.iter().filter(|line| !line.ambiguous).collect();
    lines.sort_by(|a, b| b.depth_peak_percent.total_cmp(&a.depth_peak_percent));
    let mut all: Vec<Measured> = Vec::new();
    for (line, suspect) in lines.into_iter().filter_map(|line| Some((line, line.parts.first()?))) {
        let seen = all.iter().any(|one| one.turning.as_ref() == Some(&suspect.part));
        if seen || suspect.part == PERFORATIONS {
            continue;
        }
        let (depth, doubt) = (line.depth_peak_percent.percent(), line.depth_uncertainty_percent.percent());
        let method = "peak depth of a line in the spectrum of the speed, from a recording";
        let read = Measured::new(FLUTTER_LINE, depth, ReadingUnit::Percent, doubt / 2.0, method)
            .under("rate", format!("{:.2} Hz", line.hz.hertz()))
            .under("harmonic", suspect.harmonic.to_string());
        all.push(Measured { turning: Some(suspect.part.clone()), ..read });
    }
    all
}

fn speed(report: &FlutterReport) -> Option<Measured> {
    let error = report.speed_error_percent?.percent();
    let doubt = (report.speed_uncertainty_percent.percent() / 2.0).hypot(RECORDER_CLOCK_PERCENT);
    let method = "mean pitch of a recorded tone against the film's own";
    let read = Measured::new("speed-error", error, ReadingUnit::Percent, doubt, method);
    let assumed = if report.nominal_tone_assumed { ", taken as the nearest customary tone" } else { "" };
    Some(match report.nominal_tone_hz {
        Some(tone) => read.under("nominal tone", format!("{:.0} Hz{assumed}", tone.hertz())),
        None => read,
    })
}

fn run_up(report: &FlutterReport) -> Option<Measured> {
    let seconds = report.run_up?.within_1_percent_seconds.seconds();
    let method = "from the first sound of the film until the pitch stays within 1 %, from a recording";
    Some(Measured::new("run-up-time", seconds, ReadingUnit::Second, RUN_UP_S, method))
}

/// A figure weighed against the limit of a machine type.
#[derive(Clone, Debug)]
pub struct Weighed<'a> {
    /// The figure.
    pub measured: Measured,
    /// The limit, if the type has one in the same unit.
    pub limit: Option<&'a ReadingLimit>,
    /// The part that it is about; none: the machine as a whole.
    pub part: Option<&'a Part>,
    /// The baseline it was compared with, if there is one.
    pub reference: Option<&'a ReadingRecord>,
    /// What it says.
    pub verdict: Verdict,
}

/// Weighs figures against the limits of a type, and against the baselines of a machine where the limit asks for one.
pub fn weighed<'a>(
    measured: Vec<Measured>,
    kind: &'a MachineType,
    machine: Option<&'a Machine>,
) -> Vec<Weighed<'a>> {
    measured.into_iter().map(|one| weigh(one, kind, machine)).collect()
}

fn weigh<'a>(measured: Measured, kind: &'a MachineType, machine: Option<&'a Machine>) -> Weighed<'a> {
    let (limit, slot) = (limit_of(&measured, kind), measured.slot(kind));
    let same = |own: &&ReadingRecord| {
        own.baseline
            && own.quantity.as_str() == measured.quantity
            && own.slot.as_ref().map(SlotId::as_str) == slot.map(machine::SlotId::as_str)
    };
    let reference = machine.and_then(|machine| machine.readings.iter().rev().find(same));
    let said = limit.map_or(Verdict::CannotTell, |limit| {
        verdict(measured.value, Some(measured.uncertainty), reference.map(|own| own.value), limit)
    });
    let part = slot.and_then(|slot| kind.part(slot.as_str()));
    Weighed { measured, limit, part, reference, verdict: said }
}

impl Weighed<'_> {
    /// What was measured, in the words of the type: the quantity and, if it is about one, the part.
    pub fn name(&self) -> String {
        let name = self.limit.map_or(self.measured.quantity, |limit| limit.name.as_str());
        self.part.map_or_else(|| name.to_owned(), |part| format!("{name}: {}", part.name))
    }
}

fn limit_of<'a>(measured: &Measured, kind: &'a MachineType) -> Option<&'a ReadingLimit> {
    kind.limit(measured.quantity).filter(|limit| limit.unit == measured.unit)
}

/// What is written with every reading of one recording.
#[derive(Clone, Debug)]
pub struct Noted {
    /// The machine.
    pub machine: MachineId,
    /// SHA-256 of the recording, in hex, if it is kept.
    pub recording: Option<String>,
    /// The readings are the machine's baseline from here on.
    pub baseline: bool,
    /// Conditions that the recording does not show: test film, lower loop, recorder.
    pub conditions: BTreeMap<String, String>,
}

/// Returns the facts for the logbook, and what was left out because the type has no such quantity in that unit.
pub fn facts(measured: &[Measured], kind: &MachineType, noted: &Noted) -> (Vec<Fact>, Vec<&'static str>) {
    let (known, unknown): (Vec<&Measured>, Vec<&Measured>) =
        measured.iter().partition(|one| limit_of(one, kind).is_some());
    let facts = known.into_iter().map(|one| reading(one, kind, noted).into()).collect();
    (facts, unknown.into_iter().map(|one| one.quantity).collect())
}

/// Rounds to three figures of the doubt: what lies further down was not measured, and nobody wants to read it.
fn to_doubt(value: f64, doubt: f64) -> f64 {
    if doubt.is_nan() || doubt <= 0.0 {
        return value;
    }
    let unit = 10_f64.powi(2 - doubt.log10().floor() as i32);
    (value * unit).round() / unit
}

fn reading(measured: &Measured, kind: &MachineType, noted: &Noted) -> Reading {
    let mut conditions = measured.conditions.clone();
    conditions.extend(noted.conditions.clone());
    Reading {
        machine: noted.machine.clone(),
        quantity: QuantityId::new(measured.quantity),
        value: to_doubt(measured.value, measured.uncertainty),
        unit: measured.unit.as_str().to_owned(),
        uncertainty: Some(to_doubt(measured.uncertainty, measured.uncertainty)),
        slot: measured.slot(kind).map(|slot| SlotId::new(slot.as_str())),
        method: measured.method.clone(),
        conditions,
        recording: noted.recording.clone(),
        baseline: noted.baseline,
    }
}
