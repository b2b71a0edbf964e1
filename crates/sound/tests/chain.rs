//! Response, focus, noise, hum, distortion and buzz track, from signals put together sample by sample.
#![allow(clippy::unwrap_used)]

use sound::make::Noise;
use sound::{
    BuzzRequest, FocusRequest, NoiseRequest, ResponseRequest, SoundError, TrackSide, measure_buzz_track,
    measure_focus, measure_noise, measure_response,
};
use std::f64::consts::TAU;
use std::io::Cursor;
use units::Hertz;

const RATE: u32 = 48_000;

/// Writes a signal of a length with a general-purpose WAV writer.
fn wav(seconds: f64, mut signal: impl FnMut(f64) -> f64) -> Cursor<Vec<u8>> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 24,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for n in 0..(seconds * f64::from(RATE)) as u32 {
        let x = signal(f64::from(n) / f64::from(RATE));
        writer.write_sample((x.clamp(-1.0, 1.0) * 8_388_607.0) as i32).unwrap();
    }
    writer.finalize().unwrap();
    bytes
}

fn sine(hz: f64, t: f64) -> f64 {
    (TAU * (hz * t).fract()).sin()
}

fn amplitude(db: f64) -> f64 {
    10_f64.powf(db / 20.0)
}

#[test]
fn response_reads_every_step_of_a_multi_frequency_film() {
    // The steps of Z22.44-1946: 400 Hz, then 50 to 7000 Hz, then 400 Hz; here 4 s each, with a made-up response.
    let steps: [(f64, f64); 14] = [
        (400.0, 0.0),
        (50.0, -6.0),
        (100.0, -2.0),
        (200.0, -0.5),
        (300.0, 0.2),
        (500.0, 0.1),
        (1000.0, 0.4),
        (2000.0, 0.0),
        (3000.0, -1.2),
        (4000.0, -2.7),
        (5000.0, -4.6),
        (6000.0, -7.1),
        (7000.0, -10.3),
        (400.0, 0.0),
    ];
    let mut noise = Noise::new(3);
    let speed = 1.008;
    let mut file = wav(4.0 * steps.len() as f64, |t| {
        let (hz, db) = steps[((t / 4.0) as usize).min(steps.len() - 1)];
        0.2 * amplitude(db) * sine(hz * speed, t) + 0.0003 * noise.normal()
    });
    let report = measure_response(&mut file, &ResponseRequest::default()).unwrap();
    assert!((report.reference_hz.hertz() - 1008.0).abs() < 2.0);
    assert_eq!(report.tones.len(), 13, "{:?}", report.tones);
    for (hz, db) in &steps[1..] {
        let found = report.tones.iter().find(|t| (t.hz.hertz() / (hz * speed) - 1.0).abs() < 0.02).unwrap();
        let wanted = db - 0.4;
        assert!((found.level_db.decibels() - wanted).abs() < 0.1, "{hz} Hz: {} for {wanted}", found.level_db);
    }
    let by_400 = ResponseRequest { reference: Some(Hertz::new(400.0)) };
    let report = measure_response(&mut file, &by_400).unwrap();
    assert!((report.tones.last().unwrap().level_db.decibels() + 10.3).abs() < 0.1);
    let by_700 = ResponseRequest { reference: Some(Hertz::new(700.0)) };
    assert!(matches!(measure_response(&mut file, &by_700), Err(SoundError::MissingTone { .. })));
}

#[test]
fn focus_follows_a_high_tone_and_gives_the_angle_of_its_loss() {
    // Set right at first, then knocked: 1.9 dB down at 7 kHz, which 0.3 degrees across 1.8 mm cost.
    let mut file = wav(14.0, |t| match t {
        t if t < 4.0 => 0.3 * sine(400.0, t),
        t if t < 10.0 => 0.1 * sine(7000.0, t),
        t => 0.1 * amplitude(-1.9) * sine(7000.0, t),
    });
    let report = measure_focus(&mut file, &FocusRequest::default()).unwrap();
    assert!((report.tone_hz.hertz() - 7000.0).abs() < 5.0);
    assert!((report.end_below_best_db.decibels() - 1.9).abs() < 0.1, "{report:?}");
    assert!((report.azimuth_degrees_if_azimuth.unwrap() - 0.3).abs() < 0.02);
    let wanted = 20.0 * (0.1_f64 / 0.3).log10();
    assert!((report.against_low_tone_db.unwrap().decibels() - wanted).abs() < 0.3);
}

#[test]
fn hum_noise_and_distortion_are_told_apart() {
    let mut noise = Noise::new(8);
    let mut file = wav(20.0, |t| {
        let tone = 0.3 * (sine(1000.0, t) + 0.02 * sine(2000.0, t) + 0.01 * sine(3000.0, t));
        let hum = 0.002 * sine(50.02, t) + 0.004 * sine(100.04, t) + 0.001 * sine(150.06, t);
        tone + hum + 0.003 * sine(24.0, t) + 0.001 * noise.normal()
    });
    let report = measure_noise(&mut file, &NoiseRequest::default()).unwrap();
    assert!((report.mains_hz.unwrap().hertz() - 50.02).abs() < 0.1);
    let level =
        |multiple: u32| report.hum.iter().find(|l| l.multiple == multiple).unwrap().level_dbfs.decibels();
    assert!((level(1) - 20.0 * 0.002_f64.log10()).abs() < 0.3);
    assert!((level(2) - 20.0 * 0.004_f64.log10()).abs() < 0.3);
    assert!((level(3) - 20.0 * 0.001_f64.log10()).abs() < 0.3);
    let frame = &report.frame_lines[0];
    assert!((frame.hz.hertz() - 24.0).abs() < 0.1 && !frame.ambiguous);
    assert!((frame.level_dbfs.decibels() - 20.0 * 0.003_f64.log10()).abs() < 0.3);
    let tone = report.tone.unwrap();
    let wanted = 100.0 * 0.02_f64.hypot(0.01);
    assert!((tone.total_harmonic_distortion_percent.percent() - wanted).abs() < 0.05, "{tone:?}");
}

#[test]
fn white_noise_reads_its_level_and_its_a_weighted_one() {
    let (mut noise, size) = (Noise::new(9), 0.01);
    let mut file = wav(20.0, |_| size * noise.normal());
    let report = measure_noise(&mut file, &NoiseRequest::default()).unwrap();
    // White noise to 24 kHz of which 20 Hz to 20 kHz count; a full-scale sine has the mean square 1/2.
    let wanted = 10.0 * (2.0 * size * size * (20_000.0 - 20.0) / 24_000.0).log10();
    assert!((report.noise_dbfs.decibels() - wanted).abs() < 0.1, "{} for {wanted}", report.noise_dbfs);
    // The A-weighting of IEC 61672-1 summed over the same band in steps of 1 Hz.
    let share: f64 = (20..20_000)
        .map(|hz| 10_f64.powf(sound::a_weighting(Hertz::new(f64::from(hz))).decibels() / 10.0))
        .sum::<f64>()
        / 24_000.0;
    let wanted = 10.0 * (2.0 * size * size * share).log10();
    assert!((report.noise_a_weighted_dbfs.decibels() - wanted).abs() < 0.15);
    assert!(report.tone.is_none() && report.mains_hz.is_none(), "{report:?}");
}

#[test]
fn buzz_track_says_which_way_to_move() {
    let mut noise = Noise::new(10);
    let request = BuzzRequest { first_lies: Some(TrackSide::Picture), ..BuzzRequest::default() };
    let mut one = wav(6.0, |t| 0.05 * sine(297.0, t) + 0.002 * noise.normal());
    let report = measure_buzz_track(&mut one, &request).unwrap();
    assert_eq!(report.louder_hz, Some(Hertz::new(300.0)));
    assert_eq!(report.move_towards, Some(TrackSide::Edge));
    assert!(report.second_dbfs.is_none());
    assert!((report.first_dbfs.unwrap().decibels() - 20.0 * 0.05_f64.log10()).abs() < 0.3);
    let mut other = wav(6.0, |t| 0.01 * sine(1005.0, t) + 0.002 * noise.normal());
    assert_eq!(measure_buzz_track(&mut other, &request).unwrap().move_towards, Some(TrackSide::Picture));
    let mut right = wav(6.0, |_| 0.002 * noise.normal());
    let report = measure_buzz_track(&mut right, &request).unwrap();
    assert!(report.louder_hz.is_none() && report.what_to_do.contains("stands right"));
}

#[test]
fn clipped_levels_are_refused() {
    let mut file = wav(10.0, |t| 1.5 * sine(1000.0, t));
    assert!(matches!(measure_noise(&mut file, &NoiseRequest::default()), Err(SoundError::Clipped { .. })));
}
