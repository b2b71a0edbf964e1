//! Recordings of known truth, made and measured.
#![allow(clippy::unwrap_used)]

use sound::make::{Made, MadeLevel, MadeLine};
use sound::{FlutterReport, FlutterRequest, SoundError, measure_flutter};
use std::io::Cursor;
use units::{Decibels, Hertz, Percent, Seconds};

fn measure(made: &Made) -> Result<FlutterReport, SoundError> {
    measure_flutter(&mut Cursor::new(made.wav().unwrap()), &FlutterRequest::default())
}

fn line(hz: f64, percent: f64) -> MadeLine {
    MadeLine { rate: Hertz::new(hz), depth: Percent::new(percent), phase: 0.2 }
}

#[test]
fn first_look() {
    let made = Made {
        lines: vec![line(1.931, 0.2), line(2.0, 0.05), line(24.0, 0.1), line(96.0, 0.05), line(0.5, 0.1)],
        noise: Some(Decibels::new(40.0)),
        speed_error: Percent::new(-0.83),
        ..Made::default()
    };
    let report = measure(&made).unwrap();
    let mut r = report.clone();
    r.curve.clear();
    r.spectrum.clear();
    println!("{}", serde_json::to_string_pretty(&r).unwrap());
}
