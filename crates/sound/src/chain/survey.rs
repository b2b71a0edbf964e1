//! The mean spectrum of a whole recording, on its loudest channel.

use crate::SoundError;
use crate::dsp::spectrum::{Average, Density};
use crate::recording::{Recording, Source, pick_channel};
use units::{Percent, Seconds};

/// More clipped samples than this share and levels mean nothing.
const MOST_CLIPPED: f64 = 1e-3;
/// Samples at or beyond this stand at the limit.
const FULL_SCALE: f32 = 0.9995;

/// What the whole of a recording looks like.
pub(crate) struct Survey {
    pub density: Density,
    pub seconds: f64,
    pub oddities: Vec<String>,
}

impl Survey {
    /// The power within a fraction or so many bins round a frequency, whichever is wider.
    pub fn power_near(&self, hz: f64, fraction: f64, bins: usize) -> f64 {
        let middle = self.density.bin(hz);
        let reach = ((hz * fraction / self.density.bin_hz).ceil() as usize).max(bins);
        let range = middle.saturating_sub(reach)..=middle + reach;
        self.density.power.get(range).unwrap_or_default().iter().sum::<f64>() * self.density.bin_hz
    }

    /// The density of the noise beside a frequency: median over the bins from `inner` to `outer` on both sides.
    pub fn floor_near(&self, hz: f64, inner: usize, outer: usize) -> f64 {
        let middle = self.density.bin(hz);
        let below = self.density.power.get(middle.saturating_sub(outer)..middle.saturating_sub(inner));
        let above = self.density.power.get(middle + inner..middle + outer);
        let mut beside = [below.unwrap_or_default(), above.unwrap_or_default()].concat();
        crate::dsp::statistics::median(&mut beside).unwrap_or_default()
    }
}

/// Reads a recording in blocks of a channel's samples and refuses one whose levels are clipped.
pub(crate) fn each_block(
    source: &mut dyn Source,
    block_seconds: f64,
    mut each: impl FnMut(&[f32], f64) -> Result<(), SoundError>,
) -> Result<(f64, Vec<String>), SoundError> {
    let channel = crate::tone::loudest_channel(source)?;
    let mut recording = Recording::open(source)?;
    let rate = f64::from(recording.rate_hz);
    let block = (rate * block_seconds).ceil() as usize;
    let (mut frames, mut mono) = (Vec::new(), Vec::new());
    let (mut clipped, mut total) = (0_u64, 0_u64);
    loop {
        let got = recording.read(block, &mut frames)?;
        if got == 0 {
            break;
        }
        mono.clear();
        pick_channel(&frames, recording.channels, channel, &mut mono);
        clipped += mono.iter().filter(|x| x.abs() >= FULL_SCALE).count() as u64;
        total += got as u64;
        each(&mono, rate)?;
    }
    let share = clipped as f64 / total.max(1) as f64;
    if share > MOST_CLIPPED {
        return Err(SoundError::Clipped { share: Percent::from_fraction(share) });
    }
    Ok((total as f64 / rate, recording.oddities()))
}

/// Averages the spectrum over windows of about so many seconds.
pub(crate) fn survey(source: &mut dyn Source, window_seconds: f64) -> Result<Survey, SoundError> {
    let mut average: Option<Average> = None;
    let mut line: Vec<f32> = Vec::new();
    let (seconds, oddities) = each_block(source, 1.0, |samples, rate| {
        let length = ((rate * window_seconds / 1024.0).round() as usize).max(1) * 1024;
        let average = average.get_or_insert_with(|| Average::new(length, rate));
        line.extend_from_slice(samples);
        let mut start = 0;
        while let Some(window) = line.get(start..start + length) {
            average.add(window.iter().copied());
            start += length / 2;
        }
        line.drain(..start);
        Ok(())
    })?;
    let too_short = || SoundError::TooShort {
        what: "a spectrum of the noise",
        found: Seconds::new(seconds),
        needed: Seconds::new(window_seconds * 1.1),
    };
    let density = average.filter(|a| a.windows > 0).ok_or_else(too_short)?.finish();
    Ok(Survey { density, seconds, oddities })
}
