//! What lies round the tone: leader noise, a machine that runs down, hum, echoes of other sound, several stretches.
#![allow(clippy::unwrap_used)]

use sound::make::{Made, MadeLine, Noise};
use sound::{FlutterReport, FlutterRequest, LeftOutWhy, measure_flutter};
use std::f64::consts::TAU;
use std::io::Cursor;
use units::{Decibels, Hertz, Percent, Seconds};

const RATE: u32 = 32_000;

/// Measures a signal given by its samples.
fn measure(samples: impl Iterator<Item = f64>) -> FlutterReport {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for x in samples {
        writer.write_sample((x.clamp(-1.0, 1.0) * 32_767.0) as i16).unwrap();
    }
    writer.finalize().unwrap();
    measure_flutter(&mut bytes, &FlutterRequest::default()).unwrap()
}

/// Samples of a signal whose tone follows a speed: (seconds) -> (speed, level of the tone, everything else).
fn played(seconds: f64, film: impl Fn(f64) -> (f64, f64), mut rest: impl FnMut(f64) -> f64) -> Vec<f64> {
    let mut turns = 0.0_f64;
    (0..(seconds * f64::from(RATE)) as u32)
        .map(|n| {
            let t = f64::from(n) / f64::from(RATE);
            let (speed, level) = film(t);
            turns = (turns + 3150.0 * speed / f64::from(RATE)).fract();
            level * (TAU * turns).sin() + rest(t)
        })
        .collect()
}

fn wow(t: f64) -> f64 {
    1.0 + 0.001 * (TAU * 1.931 * t).sin()
}

fn depth_of_the_drum(report: &FlutterReport) -> f64 {
    let line = report.lines.iter().find(|l| (l.hz.hertz() - 1.931).abs() < 0.02);
    line.unwrap_or_else(|| panic!("no line of the drum in {:?}", report.lines)).depth_peak_percent.percent()
}

#[test]
fn loud_leader_noise_before_and_after_is_no_tone() {
    let mut noise = Noise::new(1);
    let inside = |t: f64| (4.0..34.0).contains(&t);
    let report = measure(
        played(
            40.0,
            |t| (wow(t), if inside(t) { 0.2 } else { 0.0 }),
            |t| {
                if inside(t) { 0.001 * noise.normal() } else { 0.2 * noise.normal() }
            },
        )
        .into_iter(),
    );
    assert!((report.tone_from_seconds.seconds() - 4.0).abs() < 0.2, "{}", report.tone_from_seconds);
    assert!((report.tone_to_seconds.seconds() - 34.0).abs() < 0.2, "{}", report.tone_to_seconds);
    assert_eq!(report.lines.len(), 1, "{:?}", report.lines);
    assert!((depth_of_the_drum(&report) - 0.1).abs() < 0.002);
}

#[test]
fn a_machine_that_runs_down_at_the_end_spoils_nothing() {
    let mut noise = Noise::new(2);
    let film = |t: f64| {
        let slowing = if t > 30.0 { (1.0 - (t - 30.0) / 2.0).max(0.0) } else { 1.0 };
        (wow(t) * slowing, if slowing > 0.1 { 0.2 } else { 0.0 })
    };
    let report = measure(played(34.0, film, |_| 0.001 * noise.normal()).into_iter());
    assert!((29.0..30.2).contains(&report.tone_to_seconds.seconds()), "{}", report.tone_to_seconds);
    assert!(report.speed_error_percent.unwrap().abs().percent() < 0.01, "{:?}", report.speed_error_percent);
    let weighted = report.weighted_quasi_peak_percent.unwrap().percent();
    assert!(weighted < 0.11, "{weighted}");
    assert!((depth_of_the_drum(&report) - 0.1).abs() < 0.002);
}

#[test]
fn hum_louder_than_the_tone_is_no_flutter() {
    let mut noise = Noise::new(3);
    let hum = |t: f64| {
        0.2 * (TAU * 50.0 * t).sin() + 0.1 * (TAU * 100.0 * t).sin() + 0.05 * (TAU * 150.0 * t).sin()
    };
    let report = measure(played(30.0, |t| (wow(t), 0.1), |t| hum(t) + 0.0005 * noise.normal()).into_iter());
    assert_eq!(report.lines.len(), 1, "{:?}", report.lines);
    assert!((depth_of_the_drum(&report) - 0.1).abs() < 0.002);
}

#[test]
fn stretches_of_tone_between_silences_are_one_reading() {
    let mut noise = Noise::new(4);
    let silent = |t: f64| (12.0..15.0).contains(&t) || (27.0..30.0).contains(&t);
    // After each silence the tone comes back a little faster, as on another part of the film.
    let film = |t: f64| (wow(t) + if t > 15.0 { 0.0005 } else { 0.0 }, if silent(t) { 0.0 } else { 0.2 });
    let report = measure(played(45.0, film, |_| 0.0005 * noise.normal()).into_iter());
    let why: Vec<LeftOutWhy> = report.left_out.iter().map(|l| l.why).collect();
    assert_eq!(why, [LeftOutWhy::Silence, LeftOutWhy::Silence], "{:?}", report.left_out);
    assert!((report.left_out_seconds.seconds() - 6.2).abs() < 0.3, "{}", report.left_out_seconds);
    // 0.1 % at 1.931 Hz weighs about 1 dB less.
    let weighted = report.weighted_quasi_peak_percent.unwrap().percent();
    assert!((0.08..0.105).contains(&weighted), "{weighted}");
    assert!((depth_of_the_drum(&report) - 0.1).abs() < 0.002);
}

#[test]
fn a_long_recording_reads_like_a_short_one() {
    let mut noise = Noise::new(5);
    let film = |t: f64| (wow(t) + 0.0006 * (TAU * 24.0 * t).sin() + 0.0005 * (TAU * 2.0 * t).sin(), 0.2);
    let report = measure(played(400.0, film, |_| 0.0014 * noise.normal()).into_iter());
    assert_eq!(report.lines.len(), 3, "{:?}", report.lines);
    for (line, (hz, depth)) in report.lines.iter().zip([(1.931, 0.1), (2.0, 0.05), (24.0, 0.06)]) {
        assert!((line.hz.hertz() - hz).abs() < 0.005, "{line:?}");
        assert!((line.depth_peak_percent.percent() / depth - 1.0).abs() < 0.02, "{line:?}");
    }
}

/// Where the breaks of a minute lie, 4 s apart: splices first, third, fifth; drop-outs between them.
fn place(n: u32) -> f64 {
    6.0 + 4.0 * f64::from(n)
}

/// How many of the twelve breaks were told right, wrong, and not at all.
fn told_apart(report: &FlutterReport) -> (usize, usize, usize) {
    let (mut right, mut wrong, mut untold) = (0, 0, 0);
    for n in 0..12 {
        let at = place(n) + 0.002;
        let covers = |l: &&sound::LeftOut| (l.from_seconds.seconds()..l.to_seconds.seconds()).contains(&at);
        let found = report.left_out.iter().find(covers);
        let found = found.unwrap_or_else(|| panic!("nothing at {at} s in {:?}", report.left_out));
        match (found.why, n % 2) {
            (LeftOutWhy::DropOutOrSplice, _) => untold += 1,
            (LeftOutWhy::Splice, 0) | (LeftOutWhy::DropOut, 1) => right += 1,
            _ => wrong += 1,
        }
    }
    (right, wrong, untold)
}

#[test]
fn splices_are_told_from_drop_outs_where_the_speed_allows_it() {
    for (seed, lost) in [(1, 0.01), (2, 0.04), (3, 0.08)] {
        let line = |hz, percent| MadeLine { rate: Hertz::new(hz), depth: Percent::new(percent), phase: 0.3 };
        let made = Made {
            rate: RATE,
            lines: vec![line(1.931, 0.2), line(24.0, 0.05)],
            noise: Some(Decibels::new(40.0)),
            splices: (0..6).map(|n| Seconds::new(place(2 * n))).collect(),
            drop_outs: (0..6).map(|n| (Seconds::new(place(2 * n + 1)), Seconds::new(lost))).collect(),
            seed,
            ..Made::default()
        };
        let mut file = Cursor::new(made.wav().unwrap());
        let report = measure_flutter(&mut file, &FlutterRequest::default()).unwrap();
        let (right, wrong, _) = told_apart(&report);
        assert!(wrong == 0 && right >= 11, "{lost} s: {:?}", report.left_out);
    }
}

#[test]
fn where_the_speed_wanders_a_break_may_be_either_and_that_is_said() {
    let (mut noise, mut hiss) = (Noise::new(6), Noise::new(7));
    // A speed that wanders at random by some tenths of a per cent within a few hundredths of a second.
    let mut wander = 0.0;
    let speeds: Vec<f64> = (0..60 * 400)
        .map(|_| {
            wander += -wander / 12.0 + 0.0015 * noise.normal();
            1.0 + wander
        })
        .collect();
    let film = |t: f64| {
        let near = (0..12).find(|n| (0.0..0.05).contains(&(t - place(*n)))).map(|n| (n, t - place(n)));
        let speed = speeds[((t * 400.0) as usize).min(speeds.len() - 1)];
        match near {
            // A join: a third of a turn is lost within a hundredth of a second.
            Some((n, since)) if n % 2 == 0 && since < 0.01 => (speed + 0.333 / 3150.0 / 0.01, 0.02),
            Some((n, _)) if n % 2 == 1 => (speed, 0.0),
            _ => (speed, 0.2),
        }
    };
    let report = measure(played(60.0, film, |_| 0.001 * hiss.normal()).into_iter());
    let (right, wrong, untold) = told_apart(&report);
    assert!(
        untold >= 6 && wrong <= 1,
        "{right} right, {wrong} wrong, {untold} untold: {:?}",
        report.left_out
    );
}

#[test]
fn a_click_on_a_tone_that_goes_on_is_no_splice() {
    let mut hiss = Noise::new(8);
    let click = |t: f64| if (20.0..20.003).contains(&t) { 0.6 * (TAU * 2700.0 * t).sin() } else { 0.0 };
    let report = measure(played(40.0, |t| (wow(t), 0.2), |t| click(t) + 0.001 * hiss.normal()).into_iter());
    let why: Vec<LeftOutWhy> = report.left_out.iter().map(|l| l.why).collect();
    assert_eq!(why, [LeftOutWhy::Click], "{:?}", report.left_out);
}
