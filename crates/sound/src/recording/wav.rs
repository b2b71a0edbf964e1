//! RIFF/WAVE files, with RF64 and BW64 for those above 4 GiB.
//!
//! # Reference
//! Multimedia Programming Interface and Data Specifications 1.0 (RIFF, WAVE); EBU Tech 3306 (RF64); ITU-R BS.2088
//! (BW64). Field offsets from memory.

use super::{Source, read_up_to};
use crate::SoundError;
use std::io::SeekFrom;

/// How one sample is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sample {
    /// Unsigned, 8 bits.
    U8,
    /// Signed, 16 bits.
    I16,
    /// Signed, 24 bits.
    I24,
    /// Signed, 32 bits.
    I32,
    /// Floating point, 32 bits.
    F32,
    /// Floating point, 64 bits.
    F64,
}

impl Sample {
    /// Bytes of one sample.
    pub const fn bytes(self) -> usize {
        match self {
            Self::U8 => 1,
            Self::I16 => 2,
            Self::I24 => 3,
            Self::I32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }
}

/// Format code of whole-number samples.
const WHOLE: u16 = 1;
/// Format code of floating-point samples.
const FLOATING: u16 = 3;
/// Format code that says: the true code stands in the extension.
const EXTENSIBLE: u16 = 0xFFFE;
/// Size that a recorder writes while it does not know how long the recording will be.
const UNKNOWN_SIZE: u32 = u32::MAX;

/// Chunks that may stand before the samples; no recorder writes so many.
const MOST_CHUNKS: usize = 10_000;

pub(super) fn looks_like_wav(first: &[u8; 12]) -> bool {
    matches!(&first[..4], b"RIFF" | b"RF64" | b"BW64") && &first[8..] == b"WAVE"
}

/// A WAV file, standing at its first sample or after what was read.
pub(super) struct Wav<'s> {
    source: &'s mut dyn Source,
    pub sample: Sample,
    pub rate_hz: u32,
    pub channels: usize,
    /// Frames that are really there.
    pub frames: u64,
    at: u64,
    raw: Vec<u8>,
    pub oddities: Vec<String>,
}

struct Format {
    sample: Sample,
    channels: u16,
    rate_hz: u32,
}

impl<'s> Wav<'s> {
    /// Walks the chunks up to the samples.
    pub fn open(source: &'s mut dyn Source) -> Result<Self, SoundError> {
        let file_bytes = source.seek(SeekFrom::End(0))?;
        let mut format = None;
        let mut long_data = None;
        let mut at = 12;
        for _ in 0..MOST_CHUNKS {
            let (id, size) = chunk_head(source, at)?;
            match &id {
                b"fmt " => format = Some(read_format(source, at, size)?),
                b"ds64" => long_data = Some(read_long_size(source, at)?),
                b"data" => {
                    let format = format.ok_or_else(|| SoundError::BadHeader {
                        at,
                        why: "the samples begin before the format is given; a `fmt ` chunk must come first"
                            .into(),
                    })?;
                    return Self::at_data(source, &format, at + 8, claimed(size, long_data), file_bytes);
                }
                _ => {}
            }
            // Chunks begin at even offsets.
            at += 8 + u64::from(size) + u64::from(size & 1);
        }
        Err(SoundError::BadHeader { at, why: format!("no samples come after {MOST_CHUNKS} chunks") })
    }

    fn at_data(
        source: &'s mut dyn Source,
        format: &Format,
        start: u64,
        claimed: Option<u64>,
        file_bytes: u64,
    ) -> Result<Self, SoundError> {
        let there = file_bytes.saturating_sub(start);
        let mut oddities = Vec::new();
        let bytes = match claimed {
            Some(claimed) if claimed > there => {
                oddities.push(format!(
                    "the header promises {claimed} bytes of sound and {there} are there; what is there was used"
                ));
                there
            }
            Some(0) if there > 0 => {
                oddities
                    .push("the header gives no length; everything after it was taken as sound".to_owned());
                there
            }
            Some(claimed) => claimed,
            None => there,
        };
        let frame = (format.sample.bytes() * usize::from(format.channels)) as u64;
        let frames = bytes / frame;
        if frames == 0 {
            return Err(SoundError::NoSamples);
        }
        source.seek(SeekFrom::Start(start))?;
        Ok(Self {
            source,
            sample: format.sample,
            rate_hz: format.rate_hz,
            channels: usize::from(format.channels),
            frames,
            at: 0,
            raw: Vec::new(),
            oddities,
        })
    }

    pub fn read(&mut self, frames: usize, out: &mut Vec<f32>) -> Result<(), SoundError> {
        let left = self.frames.saturating_sub(self.at).min(frames as u64) as usize;
        let frame = self.sample.bytes() * self.channels;
        self.raw.resize(left * frame, 0);
        let got = read_up_to(self.source, &mut self.raw)? / frame;
        self.at += got as u64;
        let raw = &self.raw[..got * frame];
        let sample = self.sample;
        pulp::Arch::new().dispatch(
            #[inline(always)]
            || widen(sample, raw, out),
        );
        Ok(())
    }

    pub fn skip(&mut self, frames: u64) -> Result<(), SoundError> {
        let frames = frames.min(self.frames.saturating_sub(self.at));
        self.at += frames;
        let bytes = frames * (self.sample.bytes() * self.channels) as u64;
        // A file offset fits into 63 bits.
        self.source.seek(SeekFrom::Current(bytes.cast_signed()))?;
        Ok(())
    }
}

/// Turns raw samples into numbers from -1 to 1.
#[expect(clippy::inline_always, reason = "only inlined code is compiled for the processor at hand")]
#[inline(always)]
fn widen(sample: Sample, raw: &[u8], out: &mut Vec<f32>) {
    match sample {
        Sample::U8 => out.extend(raw.iter().map(|&b| (f32::from(b) - 128.0) / 128.0)),
        Sample::I16 => {
            out.extend(
                raw.as_chunks::<2>().0.iter().map(|&b| f32::from(i16::from_le_bytes(b)) * (1.0 / 32_768.0)),
            );
        }
        Sample::I24 => out.extend(raw.as_chunks::<3>().0.iter().map(|&[a, b, c]| {
            // Shifted up by one byte, so that the sign falls into place.
            i32::from_le_bytes([0, a, b, c]) as f32 * (1.0 / 2_147_483_648.0)
        })),
        Sample::I32 => out.extend(
            raw.as_chunks::<4>().0.iter().map(|&b| i32::from_le_bytes(b) as f32 * (1.0 / 2_147_483_648.0)),
        ),
        Sample::F32 => out.extend(raw.as_chunks::<4>().0.iter().map(|&b| f32::from_le_bytes(b))),
        Sample::F64 => out.extend(raw.as_chunks::<8>().0.iter().map(|&b| f64::from_le_bytes(b) as f32)),
    }
}

/// The size of the samples as the header tells it, or nothing where it says that it does not know.
fn claimed(size: u32, long_data: Option<u64>) -> Option<u64> {
    if size == UNKNOWN_SIZE { long_data } else { Some(u64::from(size)) }
}

fn chunk_head(source: &mut dyn Source, at: u64) -> Result<([u8; 4], u32), SoundError> {
    let bytes: [u8; 8] =
        take(source, at, "the file ends before its samples begin; it was cut off or never finished")?;
    let [a, b, c, d, size @ ..] = bytes;
    Ok(([a, b, c, d], u32::from_le_bytes(size)))
}

fn read_format(source: &mut dyn Source, at: u64, size: u32) -> Result<Format, SoundError> {
    if size < 16 {
        let why = format!("the `fmt ` chunk has {size} bytes; it needs at least 16");
        return Err(SoundError::BadHeader { at, why });
    }
    let b: [u8; 16] = take(source, at + 8, "the file ends within the `fmt ` chunk")?;
    let word = |i: usize| u16::from_le_bytes([b[i], b[i + 1]]);
    let (mut code, channels, bits) = (word(0), word(2), word(14));
    if code == EXTENSIBLE {
        // The code proper is the first word of the sub-format, 24 bytes into the chunk.
        let sub: [u8; 2] = take(source, at + 8 + 24, "the file ends within the `fmt ` chunk")?;
        code = u16::from_le_bytes(sub);
    }
    let sample = match (code, bits) {
        (WHOLE, 8) => Sample::U8,
        (WHOLE, 16) => Sample::I16,
        (WHOLE, 24) => Sample::I24,
        (WHOLE, 32) => Sample::I32,
        (FLOATING, 32) => Sample::F32,
        (FLOATING, 64) => Sample::F64,
        (WHOLE | FLOATING, bits) => {
            return Err(SoundError::UnknownCoding { coding: format!("samples of {bits} bits") });
        }
        (code, _) => return Err(SoundError::UnknownCoding { coding: format!("WAVE format {code:#06x}") }),
    };
    if channels == 0 {
        return Err(SoundError::Channels { channels: 0 });
    }
    Ok(Format { sample, channels, rate_hz: u32::from_le_bytes([b[4], b[5], b[6], b[7]]) })
}

/// The `ds64` chunk: size of the file, then size of the samples, 8 bytes each.
fn read_long_size(source: &mut dyn Source, at: u64) -> Result<u64, SoundError> {
    Ok(u64::from_le_bytes(take(source, at + 16, "the file ends within the `ds64` chunk")?))
}

fn take<const N: usize>(source: &mut dyn Source, at: u64, why: &str) -> Result<[u8; N], SoundError> {
    source.seek(SeekFrom::Start(at))?;
    let mut bytes = [0; N];
    if read_up_to(source, &mut bytes)? < N {
        return Err(SoundError::BadHeader { at, why: why.to_owned() });
    }
    Ok(bytes)
}

/// The 44 bytes before the samples of a file with one format chunk.
pub(crate) fn header(sample: Sample, rate_hz: u32, channels: u16, frames: u64) -> [u8; 44] {
    let frame = u32::from(channels) * sample.bytes() as u32;
    let data = u32::try_from(frames * u64::from(frame)).unwrap_or(UNKNOWN_SIZE);
    let code = if matches!(sample, Sample::F32 | Sample::F64) { FLOATING } else { WHOLE };
    let mut out = [0; 44];
    let mut put = |at: usize, bytes: &[u8]| out[at..at + bytes.len()].copy_from_slice(bytes);
    put(0, b"RIFF");
    put(4, &data.saturating_add(36).to_le_bytes());
    put(8, b"WAVEfmt ");
    put(16, &16_u32.to_le_bytes());
    put(20, &code.to_le_bytes());
    put(22, &channels.to_le_bytes());
    put(24, &rate_hz.to_le_bytes());
    put(28, &rate_hz.saturating_mul(frame).to_le_bytes());
    put(32, &(frame as u16).to_le_bytes());
    put(34, &(sample.bytes() as u16 * 8).to_le_bytes());
    put(36, b"data");
    put(40, &data.to_le_bytes());
    out
}
