//! Films made with known faults, measured by the verb that each is for: what was put in comes out.
#![allow(clippy::unwrap_used)]

use sound::make::{MULTI_FREQUENCY, Made, MadeHum, MadeLine, MadeStep, MadeTone, focus, multi_frequency};
use sound::{
    BuzzRequest, FocusRequest, NoiseRequest, ResponseRequest, SoundError, TrackSide, measure_buzz_track,
    measure_flutter, measure_focus, measure_noise, measure_response,
};
use std::io::Cursor;
use units::{Decibels, Hertz, Percent, Seconds};

const MINUTE: Seconds = Seconds::new(60.0);

fn file(made: &Made) -> Cursor<Vec<u8>> {
    Cursor::new(made.wav().unwrap())
}

/// 45 dB of noise, a machine 0.8 % fast with some wow: nothing that a chain's measurement may mind.
fn played(steps: Vec<MadeStep>) -> Made {
    Made {
        steps,
        noise: Some(Decibels::new(45.0)),
        speed_error: Percent::new(0.8),
        lines: vec![MadeLine { rate: Hertz::new(1.931), depth: Percent::new(0.1), phase: 0.0 }],
        ..Made::default()
    }
}

fn one(tones: &[(f64, f64)]) -> Vec<MadeStep> {
    let tone = |&(hz, level): &(f64, f64)| MadeTone { hz: Hertz::new(hz), level: Decibels::new(level) };
    vec![MadeStep { lasts: MINUTE, tones: tones.iter().map(tone).collect() }]
}

#[test]
fn a_multi_frequency_film_reads_the_slope_that_it_was_made_with() {
    for slope in [0.0, -1.5, -4.0] {
        let made = played(multi_frequency(MINUTE, Decibels::new(slope)));
        let report = measure_response(&mut file(&made), &ResponseRequest::default()).unwrap();
        // 400 Hz is played at both ends and counts once.
        assert_eq!(report.tones.len(), MULTI_FREQUENCY.len() - 1, "{:?}", report.tones);
        for hz in MULTI_FREQUENCY {
            let found =
                report.tones.iter().find(|tone| (tone.hz.hertz() / (1.008 * hz) - 1.0).abs() < 0.02).unwrap();
            let wanted = slope * (hz / 1000.0).log2().max(0.0);
            let level = found.level_db.decibels();
            assert!((level - wanted).abs() < 0.15, "{slope} dB an octave, {hz} Hz: {level} for {wanted}");
        }
    }
    // The steps change too quickly for a reading of flutter, and that is said.
    let made = played(multi_frequency(MINUTE, Decibels::new(0.0)));
    let error = measure_flutter(&mut file(&made), &sound::FlutterRequest::default()).unwrap_err();
    assert!(matches!(error, SoundError::SeveralTones { .. }), "{error}");
}

#[test]
fn a_focus_film_reads_the_knock_that_it_was_made_with() {
    for (high, knocked) in [(7000.0, 0.0), (7000.0, 2.5), (5000.0, 6.0)] {
        let made = played(focus(MINUTE, Hertz::new(high), Decibels::new(knocked)));
        let report = measure_focus(&mut file(&made), &FocusRequest::default()).unwrap();
        assert!((report.tone_hz.hertz() / (1.008 * high) - 1.0).abs() < 0.002);
        assert!((report.end_below_best_db.decibels() - knocked).abs() < 0.3, "{knocked} dB: {report:?}");
    }
}

#[test]
fn a_buzz_track_reads_the_side_that_it_was_made_with() {
    let request = BuzzRequest { first_lies: Some(TrackSide::Picture), ..BuzzRequest::default() };
    for (heard, move_towards, levels) in [
        (&[(300.0, -14.0)][..], Some(TrackSide::Edge), (Some(-26.0), None)),
        (&[(1000.0, -8.0)], Some(TrackSide::Picture), (None, Some(-20.0))),
        (&[(300.0, -4.0), (1000.0, -12.0)], Some(TrackSide::Edge), (Some(-16.0), Some(-24.0))),
        (&[], None, (None, None)),
    ] {
        let report = measure_buzz_track(&mut file(&played(one(heard))), &request).unwrap();
        assert_eq!(report.move_towards, move_towards, "{report:?}");
        for (found, wanted) in [(report.first_dbfs, levels.0), (report.second_dbfs, levels.1)] {
            assert_eq!(found.is_some(), wanted.is_some(), "{report:?}");
            let off = found.map_or(0.0, Decibels::decibels) - wanted.unwrap_or_default();
            assert!(off.abs() < 0.3, "{report:?}");
        }
    }
}

#[test]
fn hum_and_noise_read_as_they_were_made() {
    let hum = |hz, level| MadeHum { hz: Hertz::new(hz), level: Decibels::new(level) };
    for mains in [50.0, 60.0] {
        let made = Made {
            // The level of a full-scale sine, so that noise 50 dB below the tone is noise of -50 dB.
            level: Decibels::new(0.0),
            noise: Some(Decibels::new(50.0)),
            steps: one(&[]),
            hum: vec![hum(mains, -45.0), hum(2.0 * mains, -38.0), hum(24.0, -50.0)],
            ..Made::default()
        };
        let report = measure_noise(&mut file(&made), &NoiseRequest::default()).unwrap();
        assert!((report.mains_hz.unwrap().hertz() - mains).abs() < 0.1);
        for (multiple, level) in [(1, -45.0), (2, -38.0)] {
            let line = report.hum.iter().find(|line| line.multiple == multiple).unwrap();
            assert!((line.level_dbfs.decibels() - level).abs() < 0.3, "{line:?}");
        }
        assert!((report.frame_lines[0].level_dbfs.decibels() + 50.0).abs() < 0.3);
        // White noise up to 24 kHz, of which 20 Hz to 20 kHz count, beside the lines that count as well.
        let lines: f64 = [-45.0, -38.0, -50.0].iter().map(|db| 10_f64.powf(db / 10.0)).sum();
        let wanted = 10.0 * (1e-5 * 19_980.0 / 24_000.0 + lines).log10();
        let noise = report.noise_dbfs.decibels();
        assert!((noise - wanted).abs() < 0.2, "{noise} for {wanted}");
    }
}

#[test]
fn what_cannot_be_made_is_refused() {
    let bad = |made: Made| assert!(made.wav().is_err(), "{made:?}");
    bad(played(one(&[(30_000.0, 0.0)])));
    bad(played(one(&[(1000.0, f64::NAN)])));
    bad(played(vec![MadeStep { lasts: Seconds::ZERO, tones: Vec::new() }]));
    bad(Made { hum: vec![MadeHum { hz: Hertz::new(50.0), level: Decibels::new(3.0) }], ..Made::default() });
}
