//! Recordings of known truth, made and measured: the accuracy that the bench promises at 48 kHz, 60 s and 40 dB signal
//! to noise.
#![allow(clippy::unwrap_used)]

use sound::make::{Made, MadeLevel, MadeLine, Noise};
use sound::{FlutterReport, FlutterRequest, LeftOutWhy, SoundError, measure_flutter};
use std::io::Cursor;
use units::{Decibels, Hertz, Percent, Seconds};

fn try_measure(made: &Made) -> Result<FlutterReport, SoundError> {
    let request = FlutterRequest { tone: Some(made.tone), ..FlutterRequest::default() };
    measure_flutter(&mut Cursor::new(made.wav().unwrap()), &request)
}

fn measure(made: &Made) -> FlutterReport {
    try_measure(made).unwrap()
}

fn line(hz: f64, percent: f64) -> MadeLine {
    MadeLine { rate: Hertz::new(hz), depth: Percent::new(percent), phase: 0.2 }
}

fn noisy() -> Made {
    Made { noise: Some(Decibels::new(40.0)), ..Made::default() }
}

fn percent(value: Option<Percent>) -> f64 {
    value.unwrap().percent()
}

#[test]
fn speed_is_right_to_a_two_hundredth_of_a_percent() {
    let mut dice = Noise::new(11);
    for tone in [3150.0, 3000.0, 1000.0, 6300.0] {
        let error = dice.even() * 4.0 - 2.0;
        let drift = dice.even() * 0.2 - 0.1;
        let made = Made {
            tone: Hertz::new(tone),
            speed_error: Percent::new(error),
            drift_per_minute: Percent::new(drift),
            lines: vec![line(0.7, 0.1), line(1.931, 0.2), line(24.0, 0.1)],
            seed: tone as u64,
            ..noisy()
        };
        let report = measure(&made);
        assert!((percent(report.speed_error_percent) - error).abs() < 0.005, "{tone} Hz");
        assert!(
            (report.speed_error_percent.unwrap().percent() - error).abs()
                < report.speed_uncertainty_percent.percent() + 1e-3
        );
        assert!((report.drift_percent_per_minute.percent() - drift).abs() < 0.01, "{tone} Hz, drift {drift}");
        let fps = 24.0 * (1.0 + error / 100.0);
        assert!((report.fps.unwrap().fps() - fps).abs() < 0.0012);
    }
}

#[test]
fn every_line_of_a_twentieth_of_a_percent_is_found_within_two_percent_of_its_depth() {
    let mut dice = Noise::new(5);
    for seed in 0..6 {
        // Random lines that lie at least three times the resolution apart.
        let mut rates: Vec<f64> = Vec::new();
        while rates.len() < 6 {
            let hz = 0.15 * (180.0_f64 / 0.15).powf(dice.even());
            if rates.iter().all(|r| (r - hz).abs() > 0.1) {
                rates.push(hz);
            }
        }
        let lines: Vec<MadeLine> = rates
            .iter()
            .map(|hz| MadeLine { phase: dice.even(), ..line(*hz, 0.05 + 0.2 * dice.even()) })
            .collect();
        let report = measure(&Made { lines: lines.clone(), seed, ..noisy() });
        assert_eq!(report.lines.len(), lines.len(), "seed {seed}: {rates:?} against {:?}", report.lines);
        for wanted in &lines {
            let found = report.lines.iter().find(|l| (l.hz - wanted.rate).abs().hertz() < 0.02);
            let found = found.unwrap_or_else(|| panic!("no line at {}", wanted.rate));
            let ratio = found.depth_peak_percent.percent() / wanted.depth.percent();
            assert!(
                (ratio - 1.0).abs() < 0.02,
                "{}: depth off by {:.2} %",
                wanted.rate,
                100.0 * (ratio - 1.0)
            );
        }
    }
}

#[test]
fn weighted_readings_follow_the_table_of_iec_60386_from_memory_at_every_frequency() {
    for row in sound::WEIGHTING {
        // So deep that even where the weighting takes nearly all of it away something above the noise is left.
        let depth = (0.2 * 10_f64.powf(-row.decibels / 20.0)).min(2.5);
        // Enough turns of the slowest flutter for the statistics.
        let length = if row.hz < 0.4 { 120.0 } else { 60.0 };
        let report =
            measure(&Made { lines: vec![line(row.hz, depth)], length: Seconds::new(length), ..noisy() });
        let wanted = depth * 10_f64.powf(row.decibels / 20.0);
        let (high, low) = (row.above.max(0.3), row.below.max(0.3));
        for (name, reading, steady) in [
            ("quasi-peak", percent(report.weighted_quasi_peak_percent), 1.0),
            ("two-sigma", percent(report.weighted_two_sigma_percent), 0.9974),
        ] {
            assert!(
                wanted * steady > 3.0 * report.noise_floor_percent.percent(),
                "{name} at {} Hz cannot be read at all",
                row.hz
            );
            let off = 20.0 * (reading / (wanted * steady)).log10();
            assert!(off < high && off > -low, "{name} at {} Hz: {off:.2} dB off", row.hz);
        }
    }
}

#[test]
fn steady_flutter_reads_what_arithmetic_says() {
    let report = measure(&Made { lines: vec![line(4.0, 0.3)], ..noisy() });
    assert!((percent(report.weighted_quasi_peak_percent) - 0.3).abs() < 0.006);
    assert!((percent(report.weighted_two_sigma_percent) - 0.3 * 0.9974).abs() < 0.003);
    assert!((percent(report.unweighted_rms_percent) - 0.3 / 2_f64.sqrt()).abs() < 0.002);
    // The peak of flutter and noise together: noise of 0.0033 % rms up to 200 Hz adds four to five times that.
    assert!((0.295..0.32).contains(&percent(report.unweighted_peak_percent)));
    assert!((percent(report.wow_rms_percent) - 0.3 / 2_f64.sqrt()).abs() < 0.002);
    assert!(percent(report.flutter_rms_percent) < 0.003);
}

#[test]
fn level_changes_are_no_flutter() {
    let level = |hz, percent| MadeLevel { rate: Hertz::new(hz), depth: Percent::new(percent) };
    let report =
        measure(&Made { levels: vec![level(24.0, 30.0), level(96.0, 15.0), level(1.3, 20.0)], ..noisy() });
    assert!(report.lines.is_empty(), "{:?}", report.lines);
    assert!(percent(report.weighted_two_sigma_percent) < 0.002);
    assert_eq!(report.left_out_seconds, Seconds::ZERO);
}

#[test]
fn splices_and_drop_outs_are_left_out_and_reported() {
    let seconds = Seconds::new;
    let made = Made {
        splices: vec![seconds(20.3), seconds(41.7)],
        drop_outs: vec![(seconds(10.0), seconds(0.25)), (seconds(30.0), seconds(2.0))],
        lines: vec![line(1.931, 0.1), line(5.0, 0.05)],
        ..noisy()
    };
    let report = measure(&made);
    let why: Vec<LeftOutWhy> = report.left_out.iter().map(|l| l.why).collect();
    assert_eq!(why.len(), 4, "{:?}", report.left_out);
    assert_eq!(why[0], LeftOutWhy::DropOut);
    assert_eq!(why[2], LeftOutWhy::Silence);
    assert!((2.3..3.2).contains(&report.left_out_seconds.seconds()), "{}", report.left_out_seconds);
    assert_eq!(report.lines.len(), 2, "{:?}", report.lines);
    for (found, wanted) in report.lines.iter().zip(&made.lines) {
        assert!((found.depth_peak_percent.percent() / wanted.depth.percent() - 1.0).abs() < 0.02);
    }
    let clean = measure(&Made { lines: made.lines.clone(), ..noisy() });
    let (with, without) =
        (percent(report.weighted_two_sigma_percent), percent(clean.weighted_two_sigma_percent));
    assert!((with / without - 1.0).abs() < 0.03, "{with} against {without}");
    let (with, without) =
        (percent(report.weighted_quasi_peak_percent), percent(clean.weighted_quasi_peak_percent));
    assert!((with / without - 1.0).abs() < 0.05, "{with} against {without}");
}

#[test]
fn a_start_is_timed() {
    let constant = 0.6;
    let made = Made { run_up: Some(Seconds::new(constant)), silence_before: Seconds::new(2.0), ..noisy() };
    let report = measure(&made);
    let run_up = report.run_up.unwrap();
    // 1 - exp(-t/c) comes within 1 % after c ln 100 and within 0.3 % after c ln 333.
    let (one, third) = (constant * 100_f64.ln(), constant * (1000.0_f64 / 3.0).ln());
    assert!((run_up.begins_at_seconds.seconds() - 2.0).abs() < 0.1, "{run_up:?}");
    assert!((run_up.within_1_percent_seconds.seconds() - one).abs() < 0.1, "{run_up:?}");
    assert!((run_up.within_0_3_percent_seconds.unwrap().seconds() - third).abs() < 0.1, "{run_up:?}");
    assert!(report.speed_error_percent.unwrap().abs().percent() < 0.02);
    assert!(percent(report.weighted_quasi_peak_percent) < 0.2, "{:?}", report.weighted_quasi_peak_percent);
}

#[test]
fn every_sample_format_and_rate_reads_the_same() {
    use sound::make::Sample;
    let lines = vec![line(2.4, 0.1), line(24.0, 0.1)];
    for (rate, sample, tone) in [
        (8_000, Sample::I16, 1000.0),
        (11_025, Sample::I24, 3000.0),
        (16_000, Sample::I32, 3150.0),
        (44_100, Sample::F32, 3150.0),
        (48_000, Sample::U8, 3000.0),
        (96_000, Sample::F64, 10_000.0),
        (192_000, Sample::I16, 400.0),
    ] {
        let made = Made {
            rate,
            sample,
            tone: Hertz::new(tone),
            lines: lines.clone(),
            length: Seconds::new(30.0),
            ..Made::default()
        };
        let report = measure(&made);
        assert!(percent(report.speed_error_percent).abs() < 0.005, "{rate} Hz");
        assert_eq!(report.lines.len(), 2, "{rate} Hz, {sample:?}: {:?}", report.lines);
        for found in &report.lines {
            assert!((found.depth_peak_percent.percent() - 0.1).abs() < 0.002, "{rate} Hz: {found:?}");
        }
    }
}

/// A sine that swings a tone's phase by b puts J1(b) over J0(b) of the carrier into each first side-band; for the
/// closed form see any handbook of frequency modulation. Here the signal is built from its side-bands, not by
/// modulation, and read back.
#[test]
fn narrow_fm_built_from_its_bessel_side_bands_reads_its_depth() {
    let (tone, rate, depth) = (3150.0, 24.0, 0.001_f64);
    let index = depth * tone / rate;
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 48_000,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    let sides: Vec<f64> = (0..12).map(|n| bessel(n, index)).collect();
    for n in 0..48_000 * 30 {
        let t = f64::from(n) / 48_000.0;
        let wave = |hz: f64| (std::f64::consts::TAU * hz * t).sin();
        // sin(wt + b sin mt) = sum of Jn(b) (sin(w + nm)t + (-1)^n sin(w - nm)t).
        let sum: f64 = sides
            .iter()
            .enumerate()
            .map(|(n, j)| {
                let step = n as f64 * rate;
                let sign = if n % 2 == 0 { 1.0 } else { -1.0 };
                if n == 0 { j * wave(tone) } else { j * (wave(tone + step) + sign * wave(tone - step)) }
            })
            .sum();
        writer.write_sample((0.25 * sum) as f32).unwrap();
    }
    writer.finalize().unwrap();
    let report = measure_flutter(&mut bytes, &FlutterRequest::default()).unwrap();
    assert_eq!(report.lines.len(), 1, "{:?}", report.lines);
    assert!((report.lines[0].hz.hertz() - rate).abs() < 0.001);
    assert!((report.lines[0].depth_peak_percent.as_fraction() / depth - 1.0).abs() < 1e-3);
}

/// Bessel function of the first kind by its power series.
fn bessel(order: u32, x: f64) -> f64 {
    let mut term = (1..=order).fold(1.0, |t, k| t * x / 2.0 / f64::from(k));
    let mut sum = 0.0;
    for k in 0..40 {
        sum += term;
        term *= -(x * x / 4.0) / (f64::from(k + 1) * f64::from(k + 1 + order));
    }
    sum
}

#[test]
fn frames_and_perforations_show_at_the_rates_of_the_film() {
    // 16 mm has one perforation to the frame, 35 mm four (SMPTE 109 and 139): 24 and 96 Hz at 24 frames per second.
    let off = 1.012;
    let report = measure(&Made {
        speed_error: Percent::new(1.2),
        lines: vec![line(24.0 * off, 0.06), line(96.0 * off, 0.06)],
        ..noisy()
    });
    let rate = report.fps.unwrap().fps();
    assert!((report.lines[0].hz.hertz() / rate - 1.0).abs() < 1e-3);
    assert!((report.lines[1].hz.hertz() / rate - 4.0).abs() < 1e-3);
    assert_eq!(report.families[0].harmonics, [1, 4]);
}
