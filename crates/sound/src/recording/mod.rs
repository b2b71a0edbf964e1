//! A recording as a stream of samples, whatever its container; an hour never sits whole in memory.

mod coded;
mod wav;

use crate::SoundError;
use std::io::{Read, Seek, SeekFrom};
use units::Seconds;

pub use wav::Sample;
pub(crate) use wav::header;

/// Where a recording is read from: a file, an upload, a buffer.
pub trait Source: Read + Seek + Send + Sync {}
impl<T: Read + Seek + Send + Sync> Source for T {}

/// What a recording turned out to be once all of it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadThrough {
    /// Samples of each channel a second.
    pub rate_hz: u32,
    /// Channels.
    pub channels: usize,
    /// Samples of each channel.
    pub frames: u64,
    /// What was odd about the file but did not keep it from being read.
    pub oddities: Vec<String>,
}

/// Frames that are handed on at a time.
const FRAMES_AT_ONCE: usize = 4096;

/// Reads a recording from its beginning to its end and hands on its samples, interleaved, full scale 1.
///
/// # Errors
/// Says why it cannot be read on: no recording, a damaged header, a sample that is no number.
pub fn read_through(
    source: &mut dyn Source,
    each: &mut dyn FnMut(&[f32]),
) -> Result<ReadThrough, SoundError> {
    let mut recording = Recording::open(source)?;
    let (mut samples, mut frames) = (Vec::new(), 0);
    loop {
        let got = recording.read(FRAMES_AT_ONCE, &mut samples)?;
        if got == 0 {
            break;
        }
        frames += got as u64;
        each(&samples);
    }
    let (rate_hz, channels) = (recording.rate_hz, recording.channels);
    Ok(ReadThrough { rate_hz, channels, frames, oddities: recording.oddities() })
}

/// A recording that is being read from its beginning.
pub(crate) struct Recording<'s> {
    inner: Inner<'s>,
    pub rate_hz: u32,
    pub channels: usize,
    frames_read: u64,
}

enum Inner<'s> {
    Wav(wav::Wav<'s>),
    Coded(Box<coded::Coded<'s>>),
}

impl<'s> Recording<'s> {
    /// Looks at the first bytes, not at the name, and opens the container found.
    pub fn open(source: &'s mut dyn Source) -> Result<Self, SoundError> {
        source.seek(SeekFrom::Start(0))?;
        let mut first = [0_u8; 12];
        let got = read_up_to(source, &mut first)?;
        if got == 0 {
            return Err(SoundError::Empty);
        }
        source.seek(SeekFrom::Start(0))?;
        let inner = if wav::looks_like_wav(&first) {
            Inner::Wav(wav::Wav::open(source)?)
        } else {
            Inner::Coded(Box::new(coded::Coded::open(source)?))
        };
        let (rate_hz, channels) = match &inner {
            Inner::Wav(wav) => (wav.rate_hz, wav.channels),
            Inner::Coded(coded) => (coded.rate_hz, coded.channels),
        };
        if !(8_000..=192_000).contains(&rate_hz) {
            return Err(SoundError::SampleRate { rate: rate_hz });
        }
        if !(1..=8).contains(&channels) {
            return Err(SoundError::Channels { channels: channels as u32 });
        }
        Ok(Self { inner, rate_hz, channels, frames_read: 0 })
    }

    /// Frames in all, where the container says so before the end.
    pub fn frames(&self) -> Option<u64> {
        match &self.inner {
            Inner::Wav(wav) => Some(wav.frames),
            Inner::Coded(_) => None,
        }
    }

    /// Reads up to so many frames into `out` (interleaved, emptied first) and says how many came; 0 at the end.
    pub fn read(&mut self, frames: usize, out: &mut Vec<f32>) -> Result<usize, SoundError> {
        out.clear();
        match &mut self.inner {
            Inner::Wav(wav) => wav.read(frames, out)?,
            Inner::Coded(coded) => coded.read(frames, out)?,
        }
        let got = out.len() / self.channels;
        if let Some(bad) = self.may_be_non_finite().then(|| first_non_finite(out)).flatten() {
            let sample = self.frames_read + (bad / self.channels) as u64;
            let at = Seconds::new(sample as f64 / f64::from(self.rate_hz));
            return Err(SoundError::NotANumber { sample, at });
        }
        self.frames_read += got as u64;
        Ok(got)
    }

    /// Whole numbers are always finite.
    fn may_be_non_finite(&self) -> bool {
        match &self.inner {
            Inner::Wav(wav) => matches!(wav.sample, Sample::F32 | Sample::F64),
            Inner::Coded(_) => true,
        }
    }

    /// Steps over so many frames.
    pub fn skip(&mut self, frames: u64) -> Result<(), SoundError> {
        self.frames_read += frames;
        match &mut self.inner {
            Inner::Wav(wav) => wav.skip(frames),
            Inner::Coded(coded) => coded.skip(frames),
        }
    }

    /// What was odd about the file but did not keep it from being read.
    pub fn oddities(&self) -> Vec<String> {
        match &self.inner {
            Inner::Wav(wav) => wav.oddities.clone(),
            Inner::Coded(coded) => coded.oddities(),
        }
    }
}

/// Picks one channel out of interleaved frames.
pub(crate) fn pick_channel(interleaved: &[f32], channels: usize, channel: usize, out: &mut Vec<f32>) {
    out.extend(interleaved.iter().skip(channel).step_by(channels));
}

/// Where the first infinity or not-a-number stands. The sum of all samples times nought tells quickly that none does.
fn first_non_finite(samples: &[f32]) -> Option<usize> {
    let mut lanes = [0.0_f32; 16];
    let chunks = samples.chunks_exact(16);
    let rest: f32 = chunks.remainder().iter().map(|x| x * 0.0).sum();
    for chunk in chunks {
        for (lane, x) in lanes.iter_mut().zip(chunk) {
            *lane += x * 0.0;
        }
    }
    if lanes.iter().sum::<f32>() + rest == 0.0 { None } else { samples.iter().position(|x| !x.is_finite()) }
}

/// Reads until the buffer is full or the source ends.
fn read_up_to(source: &mut dyn Source, buffer: &mut [u8]) -> Result<usize, SoundError> {
    let mut got = 0;
    while got < buffer.len() {
        match source.read(&mut buffer[got..]) {
            Ok(0) => break,
            Ok(n) => got += n,
            Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e.into()),
        }
    }
    Ok(got)
}
