//! Two hours of sound, which are never held whole: made while they are read, and measured in little memory.
//!
//! One test only: it looks at how much memory its whole process has held.
#![allow(clippy::unwrap_used)]

use sound::{
    FlutterRequest, NoiseRequest, ResponseRequest, measure_flutter, measure_noise, measure_response,
};
use std::f64::consts::TAU;
use std::fs;
use std::io::{Read, Seek, SeekFrom};

const RATE: u32 = 48_000;
const SECONDS: u32 = 7_200;

/// A WAV file that is one second of tone, over and over.
struct Endless {
    header: Vec<u8>,
    second: Vec<u8>,
    at: u64,
}

impl Endless {
    fn new() -> Self {
        // 3150 turns in a second, so that the seconds join without a seam.
        let sample = |n: u32| {
            let x = 0.2 * (TAU * 3150.0 * f64::from(n) / f64::from(RATE)).sin();
            ((x * 32_767.0) as i16).to_le_bytes()
        };
        let second: Vec<u8> = (0..RATE).flat_map(sample).collect();
        let data = SECONDS * RATE * 2;
        let mut header = Vec::new();
        header.extend(b"RIFF");
        header.extend((data + 36).to_le_bytes());
        header.extend(b"WAVEfmt \x10\0\0\0\x01\0\x01\0");
        header.extend(RATE.to_le_bytes());
        header.extend((RATE * 2).to_le_bytes());
        header.extend(b"\x02\0\x10\0data");
        header.extend(data.to_le_bytes());
        Self { header, second, at: 0 }
    }

    fn length(&self) -> u64 {
        self.header.len() as u64 + u64::from(SECONDS) * self.second.len() as u64
    }
}

impl Read for Endless {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let head = self.header.len() as u64;
        let from = match self.at {
            at if at >= self.length() => return Ok(0),
            at if at < head => &self.header[at as usize..],
            at => &self.second[((at - head) % self.second.len() as u64) as usize..],
        };
        let count = from.len().min(buffer.len());
        buffer[..count].copy_from_slice(&from[..count]);
        self.at += count as u64;
        Ok(count)
    }
}

impl Seek for Endless {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.at = match to {
            SeekFrom::Start(at) => at,
            SeekFrom::End(by) => self.length().saturating_add_signed(by),
            SeekFrom::Current(by) => self.at.saturating_add_signed(by),
        };
        Ok(self.at)
    }
}

/// The most memory that this process ever held, in MB, where the system tells.
fn peak_mb() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().trim_end_matches("kB").trim().parse::<u64>().ok().map(|kb| kb / 1024)
}

#[test]
fn two_hours_are_measured_in_little_memory() {
    let mut file = Endless::new();
    let report = measure_flutter(&mut file, &FlutterRequest::default()).unwrap();
    assert!((report.recorded_seconds.seconds() - f64::from(SECONDS)).abs() < 1e-6);
    assert!(report.speed_error_percent.unwrap().abs().percent() < 1e-4);
    assert!(report.lines.is_empty(), "{:?}", report.lines);
    assert_eq!(report.left_out_seconds.seconds(), 0.0);
    let noise = measure_noise(&mut file, &NoiseRequest::default()).unwrap();
    assert!((noise.tone.unwrap().hz.hertz() - 3150.0).abs() < 1.0);
    measure_response(&mut file, &ResponseRequest::default()).unwrap_err();
    if let Some(peak) = peak_mb() {
        assert!(peak < 64, "{peak} MB");
    }
}
