//! How long ten minutes of 48 kHz, 16 bit take to measure, whole process but the disk.
#![allow(missing_docs, reason = "the macros of the bench make undocumented items")]

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use sound::make::{Made, MadeLine};
use sound::{FlutterRequest, measure_flutter};
use std::hint::black_box;
use std::io::Cursor;
use units::{Decibels, Hertz, Percent, Seconds};

fn ten_minutes(c: &mut Criterion) {
    let line = |hz, percent| MadeLine { rate: Hertz::new(hz), depth: Percent::new(percent), phase: 0.0 };
    let made = Made {
        length: Seconds::new(600.0),
        lines: vec![line(1.931, 0.2), line(24.0, 0.1)],
        noise: Some(Decibels::new(40.0)),
        ..Made::default()
    };
    let bytes = made.wav().expect("the signal is within what can be made");
    let mut group = c.benchmark_group("flutter");
    group.sample_size(10).throughput(Throughput::Bytes(bytes.len() as u64));
    let mut file = Cursor::new(bytes);
    group.bench_function("ten minutes of 48 kHz, 16 bit", |b| {
        b.iter(|| black_box(measure_flutter(&mut file, &FlutterRequest::default())));
    });
    group.finish();
}

criterion_group!(benches, ten_minutes);
criterion_main!(benches);
