//! Puts what was gathered into a report.

use super::Measured;
use super::floor::FALSE_ALARM;
use super::gate::Fault;
use super::joins::Join;
use super::lines::{self, Analysis, Line, Signal};
use super::meter::Gathered;
use super::noise::Noise;
use super::plan::Plan;
use super::report::{
    CurvePoint, Family, FlutterLine, FlutterReport, LeftOut, LeftOutWhy, NotMeasured, SpectrumPoint,
};
use super::run_up::run_up;
use super::speed::{K95, Speed};
use super::weighted::{Readings, UNWEIGHTED_HZ};
use crate::dsp::spectrum::HANN_NOISE_BINS;
use crate::trace::{SeenLine, TraceConditions, Traced, trace};
use crate::{FlutterRequest, SoundError};
use units::{Hertz, Percent, Probability, Seconds};

/// Breaks may take up at most this share of the tone (common practice, no source).
const MOST_BROKEN: f64 = 0.10;
/// Less usable tone than this gives no reading at all.
const SHORTEST_SECONDS: f64 = 2.0;
/// A silence is a drop-out up to this long.
const LONGEST_DROP_OUT_SECONDS: f64 = 1.0;
/// Something else than the tone is a click or the thump of a splice up to this long, with its surroundings.
const LONGEST_CLICK_SECONDS: f64 = 0.2;
/// Lengths that the methods need, seconds. AES6-2008 asks for 5 s or more; the others need two turns or more of the
/// slowest rate that they hold.
const QUASI_PEAK_SECONDS: f64 = 4.0;
const TWO_SIGMA_SECONDS: f64 = 5.0;
const UNWEIGHTED_SECONDS: f64 = 5.0;
const BAND_SECONDS: f64 = 4.0;
const WOW_SECONDS: f64 = 20.0;
/// Wow, flutter and scrape part at these rates, Hz: 6 Hz after the preservation glossary of a national archive (older
/// usage has 4 Hz), 100 Hz after an encyclopaedia's article on flutter measurement.
const WOW_HZ: (f64, f64) = (lines::SLOWEST_HZ, 6.0);
const FLUTTER_HZ: (f64, f64) = (6.0, 100.0);
/// Points of the spectrum in the report, at most.
const SPECTRUM_POINTS: usize = 1200;
/// The quasi-peak meter shows normal noise at about so many standard deviations.
const NOISE_CREST: f64 = 2.5;
/// More clipped samples than this share are worth a word.
const CLIPPED_SHARE: f64 = 1e-4;

pub(super) fn report(measured: Measured, request: &FlutterRequest) -> Result<FlutterReport, SoundError> {
    let Measured { plan, mut gathered, clipped, frames, oddities } = measured;
    let cell = plan.cell_seconds();
    let used = gathered.good_cells as f64 * cell;
    if used < SHORTEST_SECONDS {
        let (found, needed) = (Seconds::new(used), Seconds::new(SHORTEST_SECONDS));
        return Err(SoundError::TooShort { what: "a reading of speed", found, needed });
    }
    refuse_if_patchy(&gathered, cell)?;
    let speed = Speed::of(&gathered, &plan, request);
    let analysis = lines::analyse(Signal {
        window: &gathered.window,
        mask: &gathered.mask,
        average: gathered.average.take(),
        rate_hz: plan.signal_hz,
        band_hz: plan.band_hz,
    });
    let noise = Noise::of(&analysis.density, &plan);
    let mut figures = Figures::new(&gathered.readings, &analysis, &noise, used, &plan);
    let traced = trace_lines(&analysis, request, &speed);
    let unlisted = gathered.unlisted_breaks;
    let run_up = run_up(&gathered.opening, cell);
    if let Err(why) = run_up {
        figures.miss("run-up time", why.to_owned());
    }
    if speed.error.is_none() {
        figures.miss(
            "speed",
            format!("{:.1} Hz is no customary tone; name the tone that the film carries", speed.tone_hz),
        );
    }
    let first = gathered.first_good.unwrap_or_default();
    Ok(FlutterReport {
        tone_hz: Hertz::new(speed.tone_hz),
        nominal_tone_hz: speed.nominal_hz.map(Hertz::new),
        nominal_tone_assumed: speed.assumed,
        level_dbfs: 20.0 * (plan.amplitude * gathered.level).max(1e-10).log10(),
        speed_error_percent: speed.error.map(Percent::from_fraction),
        speed_uncertainty_percent: Percent::from_fraction(speed.uncertainty),
        fps: speed.error.map(|e| request.nominal_speed * (1.0 + e)),
        fps_uncertainty: speed.error.map(|_| request.nominal_speed * speed.uncertainty),
        drift_percent_per_minute: Percent::from_fraction(speed.drift),
        drift_uncertainty_percent_per_minute: speed.drift_uncertainty.map(Percent::from_fraction),
        run_up: run_up.ok(),
        weighted_quasi_peak_percent: figures.quasi_peak,
        weighted_two_sigma_percent: figures.two_sigma,
        weighted_rms_percent: figures.weighted_rms,
        unweighted_peak_percent: figures.unweighted_peak,
        unweighted_rms_percent: figures.unweighted_rms,
        wow_rms_percent: figures.wow,
        flutter_rms_percent: figures.flutter,
        scrape_rms_percent: figures.scrape,
        band_hz: Hertz::new(plan.band_hz),
        noise_floor_percent: Percent::from_fraction(2.0 * noise.weighted().sqrt()),
        unweighted_noise_floor_percent: Percent::from_fraction(
            noise.band(UNWEIGHTED_HZ.0, UNWEIGHTED_HZ.1.min(plan.band_hz)).sqrt(),
        ),
        recorded_seconds: Seconds::new(frames as f64 / plan.rate_hz),
        tone_from_seconds: Seconds::new(first as f64 * cell),
        tone_to_seconds: Seconds::new((gathered.last_good + 1) as f64 * cell),
        used_seconds: Seconds::new(used),
        left_out_seconds: Seconds::new((gathered.last_good + 1 - first - gathered.good_cells) as f64 * cell),
        left_out: left_out(&gathered, cell),
        families: families(&analysis.lines, analysis.resolution_hz),
        lines: analysis.lines.iter().zip(traced).map(|(line, traced)| flutter_line(line, traced)).collect(),
        resolution_hz: Hertz::new(analysis.resolution_hz),
        false_alarm: Probability::clamped(FALSE_ALARM),
        curve: curve(&gathered, cell, speed.mean),
        spectrum: spectrum(&analysis, plan.band_hz),
        caveats: caveats(&Doubts {
            plan: &plan,
            speed: &speed,
            clipped,
            frames,
            oddities,
            unlisted,
            figures: &figures,
            noise: &noise,
        }),
        not_measured: figures.missing,
        methods: METHODS.to_vec(),
    })
}

/// How the figures were got, for the record.
const METHODS: [&str; 6] = [
    "speed: mean phase of the tone; uncertainty from the scatter of 3 s means",
    "weighted quasi-peak: IEC 60386 / DIN 45507 weighting and meter, highest reading (tables from memory)",
    "weighted two-sigma: AES6-2008, deviation exceeded for 4.55 % of the time (weighting from memory)",
    "unweighted: 0.2 to 200 Hz",
    "wow 0.1 to 6 Hz, flutter 6 to 100 Hz, scrape above 100 Hz: root mean square from the spectrum",
    "lines: Hann window, local noise floor, fitted one by one; noise is taken off all readings in power",
];

fn refuse_if_patchy(gathered: &Gathered, cell: f64) -> Result<(), SoundError> {
    let [quiet, _, jumps, _] = gathered.broken_cells;
    let long = |b: &&super::meter::Break| (b.to - b.from) as f64 * cell > LONGEST_DROP_OUT_SECONDS;
    let silence: u64 =
        gathered.breaks.iter().filter(|b| b.fault == Fault::Quiet).filter(long).map(|b| b.to - b.from).sum();
    let broken = (quiet.saturating_sub(silence) + jumps) as f64;
    let share = broken / (broken + gathered.good_cells as f64);
    if share > MOST_BROKEN {
        let (share, limit) = (Percent::from_fraction(share), Percent::from_fraction(MOST_BROKEN));
        return Err(SoundError::TooPatchy { share, limit });
    }
    Ok(())
}

/// The readings, each missing with its reason where the recording is too short for it.
struct Figures {
    quasi_peak: Option<Percent>,
    two_sigma: Option<Percent>,
    weighted_rms: Option<Percent>,
    unweighted_peak: Option<Percent>,
    unweighted_rms: Option<Percent>,
    wow: Option<Percent>,
    flutter: Option<Percent>,
    scrape: Option<Percent>,
    missing: Vec<NotMeasured>,
}

impl Figures {
    fn new(readings: &Readings, analysis: &Analysis, noise: &Noise, used: f64, plan: &Plan) -> Self {
        let counted = readings.counted.max(1) as f64;
        let seconds = readings.counted as f64 / (plan.signal_hz / 2.0);
        let weighted = noise.weighted();
        let unweighted = noise.band(UNWEIGHTED_HZ.0, UNWEIGHTED_HZ.1.min(plan.band_hz));
        let less = |square: f64, noise: f64| Percent::from_fraction((square - noise).max(0.0).sqrt());
        let mut missing = Vec::new();
        let mut given = |what: &'static str, found: f64, needed: f64, value: Percent| {
            if found >= needed {
                return Some(value);
            }
            let why = format!("needs {needed:.0} s of unbroken tone and has {found:.1} s; record longer");
            missing.push(NotMeasured { what, why });
            None
        };
        let band =
            |low: f64, high: f64| less(analysis.density.band(low, high, |_| 1.0), noise.band(low, high));
        let two_sigma = readings.sizes.two_sigma().unwrap_or_default();
        let peaks = |peak: f64, noise: f64| less(peak * peak, NOISE_CREST.powi(2) * noise);
        let scrape_to = plan.band_hz * 0.95;
        Self {
            quasi_peak: given(
                "weighted quasi-peak",
                seconds,
                QUASI_PEAK_SECONDS,
                peaks(readings.quasi_peak, weighted),
            ),
            two_sigma: given(
                "weighted two-sigma",
                seconds,
                TWO_SIGMA_SECONDS,
                less(two_sigma * two_sigma, 4.0 * weighted),
            ),
            weighted_rms: given(
                "weighted rms",
                seconds,
                QUASI_PEAK_SECONDS,
                less(readings.weighted_squares / counted, weighted),
            ),
            unweighted_peak: given(
                "unweighted peak",
                seconds,
                UNWEIGHTED_SECONDS,
                peaks(readings.unweighted_peak, unweighted),
            ),
            unweighted_rms: given(
                "unweighted rms",
                seconds,
                UNWEIGHTED_SECONDS,
                less(readings.unweighted_squares / counted, unweighted),
            ),
            wow: given("wow", used, WOW_SECONDS, band(WOW_HZ.0, WOW_HZ.1)),
            flutter: given("flutter", used, BAND_SECONDS, band(FLUTTER_HZ.0, FLUTTER_HZ.1.min(scrape_to))),
            scrape: if scrape_to > FLUTTER_HZ.1 {
                given("scrape", used, BAND_SECONDS, band(FLUTTER_HZ.1, scrape_to))
            } else {
                None
            },
            missing,
        }
    }

    fn miss(&mut self, what: &'static str, why: String) {
        self.missing.push(NotMeasured { what, why });
    }
}

fn trace_lines(analysis: &Analysis, request: &FlutterRequest, speed: &Speed) -> Vec<Traced> {
    let seen: Vec<SeenLine> = analysis
        .lines
        .iter()
        .map(|l| SeenLine { rate: Hertz::new(l.hz), deviation: Hertz::new(l.hz_deviation), depth: l.depth })
        .collect();
    let conditions = TraceConditions {
        // Where the nominal tone is not known the machine is taken to run at its speed, give or take 3 %.
        speed_ratio: 1.0 + speed.error.unwrap_or_default(),
        speed_ratio_deviation: if speed.error.is_some() { speed.uncertainty / K95 } else { 0.03 },
        resolution: Hertz::new(analysis.resolution_hz),
    };
    trace(&seen, &request.candidates, conditions)
}

fn flutter_line(line: &Line, traced: Traced) -> FlutterLine {
    FlutterLine {
        hz: Hertz::new(line.hz),
        hz_uncertainty: Hertz::new(K95 * line.hz_deviation),
        depth_peak_percent: Percent::from_fraction(line.depth),
        depth_uncertainty_percent: Percent::from_fraction(K95 * line.depth_deviation),
        parts: traced.suspects,
        ambiguous: traced.ambiguous,
        to_separate: traced.to_separate,
    }
}

/// Lines at whole multiples (2 to 8) of a slower line; each line belongs to the slowest that explains it.
fn families(lines: &[Line], resolution_hz: f64) -> Vec<Family> {
    let mut claimed = vec![false; lines.len()];
    let mut families = Vec::new();
    for (n, base) in lines.iter().enumerate() {
        if claimed.get(n).copied().unwrap_or_default() {
            continue;
        }
        let mut harmonics = vec![1];
        for (m, line) in lines.iter().enumerate().skip(n + 1) {
            let multiple = (line.hz / base.hz).round();
            let off = (line.hz - multiple * base.hz).abs();
            let reach = 3.0 * (line.hz_deviation + multiple * base.hz_deviation) + 0.1 * resolution_hz;
            if (2.0..=8.0).contains(&multiple) && off < reach {
                harmonics.push(multiple as u32);
                if let Some(slot) = claimed.get_mut(m) {
                    *slot = true;
                }
            }
        }
        if harmonics.len() > 1 {
            families.push(Family { fundamental_hz: Hertz::new(base.hz), harmonics });
        }
    }
    families
}

/// A moment's break: the level tells a loss from a click, the wave after it both of them from a splice.
fn broken(b: &super::meter::Break) -> LeftOutWhy {
    match b.join {
        Some(Join::Broken) => LeftOutWhy::Splice,
        Some(Join::Whole) if b.quiet > 0 => LeftOutWhy::DropOut,
        Some(Join::Whole) => LeftOutWhy::Click,
        Some(Join::Unknown) | None => LeftOutWhy::DropOutOrSplice,
    }
}

fn left_out(gathered: &Gathered, cell: f64) -> Vec<LeftOut> {
    let stretch = |b: &super::meter::Break| {
        let seconds = (b.to - b.from) as f64 * cell;
        LeftOut {
            from_seconds: Seconds::new(b.from as f64 * cell),
            to_seconds: Seconds::new(b.to as f64 * cell),
            why: match b.fault {
                Fault::Quiet if seconds > LONGEST_DROP_OUT_SECONDS => LeftOutWhy::Silence,
                Fault::Noise if seconds > LONGEST_CLICK_SECONDS => LeftOutWhy::NoTone,
                Fault::Quiet | Fault::Noise | Fault::Jump | Fault::Beside => broken(b),
                Fault::OffSpeed => LeftOutWhy::OffSpeed,
            },
        }
    };
    gathered.breaks.iter().map(stretch).collect()
}

fn curve(gathered: &Gathered, cell: f64, mean: f64) -> Vec<CurvePoint> {
    let mut at = 0.0;
    let mut points = Vec::with_capacity(gathered.curve.len());
    for point in &gathered.curve {
        let span = f64::from(point.cells) * cell;
        if point.good > 0 {
            let relative = |d: f64| Percent::from_fraction((d - mean) / (1.0 + mean));
            points.push(CurvePoint {
                at_seconds: Seconds::new(at + span / 2.0),
                deviation_percent: relative(point.sum / f64::from(point.good)),
                low_percent: relative(point.low),
                high_percent: relative(point.high),
                quasi_peak_percent: Percent::from_fraction(point.quasi_peak),
            });
        }
        at += span;
    }
    points
}

/// The spectrum thinned for a picture: the highest bin of each step of an even logarithmic scale.
fn spectrum(analysis: &Analysis, band_hz: f64) -> Vec<SpectrumPoint> {
    let density = &analysis.density;
    let last = density.bin(band_hz * 0.95);
    let first = density.bin(lines::SLOWEST_HZ).max(1);
    let ratio = (last as f64 / first as f64).max(1.0).powf(1.0 / SPECTRUM_POINTS as f64);
    let mut points = Vec::new();
    let mut from = first;
    let mut edge = first as f64;
    while from <= last && from < density.power.len() {
        edge *= ratio;
        let to = (edge as usize).max(from + 1).min(last + 1);
        let bins = (from..to).filter_map(|bin| Some((bin, *density.power.get(bin)?)));
        if let Some((bin, power)) = bins.max_by(|a, b| a.1.total_cmp(&b.1)) {
            let peak = (2.0 * power * density.bin_hz * HANN_NOISE_BINS).sqrt();
            let hz = Hertz::new(bin as f64 * density.bin_hz);
            points.push(SpectrumPoint { hz, peak_percent: Percent::from_fraction(peak) });
        }
        from = to;
        edge = edge.max(to as f64);
    }
    points
}

/// What may have gone wrong.
struct Doubts<'a> {
    plan: &'a Plan,
    speed: &'a Speed,
    clipped: u64,
    frames: u64,
    oddities: Vec<String>,
    unlisted: usize,
    figures: &'a Figures,
    noise: &'a Noise,
}

fn caveats(doubts: &Doubts<'_>) -> Vec<String> {
    let mut said = doubts.oddities.clone();
    let clipped = doubts.clipped as f64 / doubts.frames.max(1) as f64;
    if clipped > CLIPPED_SHARE {
        said.push(format!(
            "the recording is clipped for {:.1} % of its time; speed and flutter hardly suffer, but turn the input down",
            100.0 * clipped
        ));
    }
    if let (true, Some(nominal)) = (doubts.speed.assumed, doubts.speed.nominal_hz) {
        let rival = doubts.speed.also_hz.map_or_else(String::new, |also| {
            format!(
                "; if the film carries {also:.0} Hz the error is {:.2} %",
                100.0 * (doubts.speed.tone_hz / also - 1.0)
            )
        });
        said.push(format!("the film is taken to carry {nominal:.0} Hz; name the tone to be sure{rival}"));
    }
    if doubts.plan.band_hz < UNWEIGHTED_HZ.1 {
        said.push(format!(
            "a tone of {:.0} Hz shows flutter up to {:.0} Hz only; the readings lack what is faster",
            doubts.speed.tone_hz, doubts.plan.band_hz
        ));
    }
    let floor = Percent::from_fraction(2.0 * doubts.noise.weighted().sqrt());
    if doubts.figures.two_sigma.is_some_and(|reading| reading < floor) {
        said.push(format!(
            "the weighted flutter is below {floor:.3}, which the noise of this recording hides; it may be anything up to that"
        ));
    }
    if doubts.unlisted > 0 {
        said.push(format!("{} more breaks were left out and are not listed", doubts.unlisted));
    }
    said.push("the recorder's own clock and the film's own flutter are part of these figures".to_owned());
    said
}
