//! Files that are damaged, lie, or hold something else: each gets its own plain answer, and never a panic.
#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use sound::make::{Made, Noise, Sample};
use sound::{FlutterRequest, SoundError, measure_flutter};
use std::io::Cursor;
use units::{Decibels, Hertz, Seconds};

fn measure(bytes: Vec<u8>) -> Result<sound::FlutterReport, SoundError> {
    measure_flutter(&mut Cursor::new(bytes), &FlutterRequest::default())
}

fn short() -> Made {
    Made { rate: 8000, tone: Hertz::new(1000.0), length: Seconds::new(8.0), ..Made::default() }
}

fn samples(made: &Made, signal: impl Fn(usize) -> f64) -> Vec<u8> {
    let mut bytes = made.wav().unwrap();
    for (n, pair) in bytes[44..].chunks_exact_mut(2).enumerate() {
        pair.copy_from_slice(&((signal(n) * 32_767.0) as i16).to_le_bytes());
    }
    bytes
}

#[test]
fn empty_and_foreign_files_are_named() {
    assert!(matches!(measure(Vec::new()), Err(SoundError::Empty)));
    let text = b"This is a letter and no recording at all. ".repeat(100);
    assert!(matches!(measure(text), Err(SoundError::NotARecording { .. })));
}

#[test]
fn chunks_without_end_are_given_up() {
    let mut bytes = b"RIFF\0\0\0\0WAVE".to_vec();
    bytes.resize(1 << 20, 0);
    let error = measure(bytes).unwrap_err();
    assert!(matches!(&error, SoundError::BadHeader { why, .. } if why.contains("no samples")), "{error}");
}

#[test]
fn every_cut_of_a_header_is_refused() {
    let whole = short().wav().unwrap();
    for length in 1..44 {
        let error = measure(whole[..length].to_vec()).unwrap_err();
        let known = matches!(error, SoundError::BadHeader { .. } | SoundError::NotARecording { .. });
        assert!(known, "{length} bytes: {error}");
    }
    assert!(matches!(measure(whole[..44].to_vec()), Err(SoundError::NoSamples)));
}

#[test]
fn sizes_that_lie_are_seen_through() {
    let mut bytes = short().wav().unwrap();
    for lie in [u32::MAX, u32::MAX - 8, 0, 1_000_000_000] {
        bytes[40..44].copy_from_slice(&lie.to_le_bytes());
        let report = measure(bytes.clone()).unwrap();
        assert!((report.recorded_seconds.seconds() - 8.0).abs() < 1e-9, "{lie}");
    }
    let half = measure(bytes[..bytes.len() / 2].to_vec()).unwrap();
    assert!(half.caveats.iter().any(|c| c.contains("the header promises")), "{:?}", half.caveats);
}

#[test]
fn a_sample_that_is_no_number_is_found() {
    let made = Made { sample: Sample::F32, ..short() };
    let mut bytes = made.wav().unwrap();
    for bad in [f32::NAN, f32::INFINITY] {
        bytes[44 + 4 * 12_345..44 + 4 * 12_346].copy_from_slice(&bad.to_le_bytes());
        assert!(matches!(measure(bytes.clone()), Err(SoundError::NotANumber { sample: 12_345, .. })));
    }
}

#[test]
fn codings_rates_and_channels_out_of_range_are_refused() {
    let change = |at: usize, value: &[u8]| {
        let mut bytes = short().wav().unwrap();
        bytes[at..at + value.len()].copy_from_slice(value);
        measure(bytes).unwrap_err()
    };
    assert!(matches!(change(20, &2_u16.to_le_bytes()), SoundError::UnknownCoding { .. }));
    assert!(matches!(change(34, &12_u16.to_le_bytes()), SoundError::UnknownCoding { .. }));
    assert!(matches!(change(24, &4000_u32.to_le_bytes()), SoundError::SampleRate { rate: 4000 }));
    assert!(matches!(change(22, &0_u16.to_le_bytes()), SoundError::Channels { channels: 0 }));
    assert!(matches!(change(22, &9_u16.to_le_bytes()), SoundError::Channels { channels: 9 }));
}

#[test]
fn what_is_no_steady_tone_is_called_what_it_is() {
    let made = short();
    assert!(matches!(measure(samples(&made, |_| 0.0)), Err(SoundError::TooQuiet { .. })));
    let noise: Vec<f64> = {
        let mut noise = Noise::new(5);
        (0..64_000).map(|_| 0.1 * noise.normal()).collect()
    };
    assert!(matches!(measure(samples(&made, |n| noise[n])), Err(SoundError::NoTone)));
    // A tune: notes of 0.4 s with pauses.
    let tune = samples(&made, |n| {
        let note = [440.0, 554.4, 659.3, 493.9, 740.0, 587.3, 830.6, 415.3][n / 3200 % 8];
        let loud = if n % 3200 < 2600 { 0.3 } else { 0.0 };
        loud * (std::f64::consts::TAU * note * n as f64 / 8000.0).sin()
    });
    let error = measure(tune).unwrap_err();
    assert!(matches!(error, SoundError::NotASteadyTone | SoundError::SeveralTones { .. }), "{error}");
    let named = FlutterRequest { tone: Some(Hertz::new(3150.0)), ..FlutterRequest::default() };
    let error = measure_flutter(&mut Cursor::new(made.wav().unwrap()), &named).unwrap_err();
    assert!(matches!(error, SoundError::WrongTone { .. }), "{error}");
}

#[test]
fn too_short_is_said_for_each_method() {
    let error = measure(Made { length: Seconds::new(1.0), ..short() }.wav().unwrap()).unwrap_err();
    assert!(matches!(error, SoundError::TooShort { .. }), "{error}");
    let report = measure(Made { length: Seconds::new(4.0), ..short() }.wav().unwrap()).unwrap();
    assert!(report.weighted_two_sigma_percent.is_none() && report.wow_rms_percent.is_none());
    assert!(report.not_measured.iter().any(|n| n.what == "weighted two-sigma"), "{:?}", report.not_measured);
}

#[test]
fn patchy_tone_is_refused() {
    let drop_outs = (0..14).map(|n| (Seconds::new(0.5 + 0.5 * f64::from(n)), Seconds::new(0.1))).collect();
    let error = measure(Made { drop_outs, ..short() }.wav().unwrap()).unwrap_err();
    assert!(matches!(error, SoundError::TooPatchy { .. }), "{error}");
}

#[test]
fn clipping_is_mentioned() {
    let made = short();
    let loud =
        samples(&made, |n| (2.0 * (std::f64::consts::TAU * 0.125_3 * n as f64).sin()).clamp(-1.0, 1.0));
    let report = measure(loud).unwrap();
    assert!(report.caveats.iter().any(|c| c.contains("clipped")), "{:?}", report.caveats);
}

#[test]
fn the_loudest_channel_is_taken() {
    let spec = hound::WavSpec {
        channels: 3,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    let mut noise = Noise::new(1);
    for n in 0..16_000 * 10 {
        let tone = (std::f64::consts::TAU * 3000.0 / 16_000.0 * f64::from(n)).sin();
        for x in [20.0 * noise.normal(), 9000.0 * tone, 900.0 * tone] {
            writer.write_sample(x as i16).unwrap();
        }
    }
    writer.finalize().unwrap();
    let report = measure_flutter(&mut bytes, &FlutterRequest::default()).unwrap();
    assert!(
        (report.level_dbfs - 20.0 * (9000.0_f64 / 32_768.0).log10()).abs() < 0.1,
        "{}",
        report.level_dbfs
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Bytes changed anywhere give a reading or an error, and never a panic.
    #[test]
    fn damaged_files_never_panic(places in prop::collection::vec((0_usize..1500, any::<u8>()), 1..20), cut in 0_usize..4000) {
        let made = Made { length: Seconds::new(2.5), noise: Some(Decibels::new(30.0)), ..short() };
        let mut bytes = made.wav().unwrap();
        for (at, value) in places {
            bytes[at] = value;
        }
        bytes.truncate(bytes.len() - cut);
        let _ = measure(bytes);
    }

    /// Nor do bytes that pretend to be one of the containers.
    #[test]
    fn false_beginnings_never_panic(magic in 0_usize..5, rest in prop::collection::vec(any::<u8>(), 0..2000)) {
        let beginning: [&[u8]; 5] = [b"RIFF\x00\x10\x00\x00WAVE", b"fLaC", b"OggS", b"ID3\x04", b"\x00\x00\x00\x18ftypM4A "];
        let _ = measure([beginning[magic], &rest].concat());
    }
}
