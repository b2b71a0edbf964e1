//! Compressed recordings (FLAC, MP3, AAC or ALAC in MP4, Vorbis in Ogg), decoded packet by packet.

use super::Source;
use crate::SoundError;
use std::io::{Read, Seek, SeekFrom};
use symphonia::core::audio::sample::Sample as _;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::{MediaSource, MediaSourceStream, MediaSourceStreamOptions};
use symphonia::core::meta::MetadataOptions;
use units::Seconds;

/// A recording whose packets are decoded one after the other.
pub(super) struct Coded<'s> {
    format: Box<dyn FormatReader + 's>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    pub rate_hz: u32,
    pub channels: usize,
    /// Samples decoded and not yet handed out, from `taken` on.
    ready: Vec<f32>,
    taken: usize,
    frames_out: u64,
    damaged_packets: usize,
    ended: bool,
}

/// More damaged packets than this, without a good one between them, and the file is given up.
const DAMAGED_IN_A_ROW: usize = 100;

struct Bytes<'s> {
    source: &'s mut dyn Source,
    length: u64,
}

impl Read for Bytes<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        self.source.read(buffer)
    }
}

impl Seek for Bytes<'_> {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.source.seek(to)
    }
}

impl MediaSource for Bytes<'_> {
    fn is_seekable(&self) -> bool {
        true
    }
    fn byte_len(&self) -> Option<u64> {
        Some(self.length)
    }
}

impl<'s> Coded<'s> {
    pub fn open(source: &'s mut dyn Source) -> Result<Self, SoundError> {
        let length = source.seek(SeekFrom::End(0))?;
        source.seek(SeekFrom::Start(0))?;
        let stream =
            MediaSourceStream::new(Box::new(Bytes { source, length }), MediaSourceStreamOptions::default());
        let format = symphonia::default::get_probe()
            .probe(&Hint::new(), stream, FormatOptions::default(), MetadataOptions::default())
            .map_err(|e| SoundError::NotARecording { why: e.to_string() })?;
        let no_sound = || SoundError::NotARecording { why: "it holds no sound track".to_owned() };
        let track = format.default_track(TrackType::Audio).ok_or_else(no_sound)?;
        let parameters = track.codec_params.as_ref().and_then(|p| p.audio()).ok_or_else(no_sound)?;
        let decoder = symphonia::default::get_codecs()
            .make_audio_decoder(parameters, &AudioDecoderOptions::default())
            .map_err(|e| SoundError::UnknownCoding { coding: e.to_string() })?;
        let track = track.id;
        let mut coded = Self {
            format,
            decoder,
            track,
            rate_hz: 0,
            channels: 0,
            ready: Vec::new(),
            taken: 0,
            frames_out: 0,
            damaged_packets: 0,
            ended: false,
        };
        // The first decoded packet, not the header, says what the samples are.
        coded.decode_more()?;
        if coded.ready.is_empty() { Err(SoundError::NoSamples) } else { Ok(coded) }
    }

    pub fn read(&mut self, frames: usize, out: &mut Vec<f32>) -> Result<(), SoundError> {
        let wanted = frames * self.channels;
        while out.len() < wanted {
            if self.taken == self.ready.len() && !self.decode_more()? {
                break;
            }
            let n = (wanted - out.len()).min(self.ready.len() - self.taken);
            out.extend_from_slice(&self.ready[self.taken..self.taken + n]);
            self.taken += n;
        }
        self.frames_out += (out.len() / self.channels) as u64;
        Ok(())
    }

    pub fn skip(&mut self, frames: u64) -> Result<(), SoundError> {
        let mut left = frames.saturating_mul(self.channels as u64);
        while left > 0 {
            if self.taken == self.ready.len() && !self.decode_more()? {
                break;
            }
            let n = left.min((self.ready.len() - self.taken) as u64);
            // No larger than the buffer that it steps along.
            self.taken += n as usize;
            left -= n;
        }
        self.frames_out += frames;
        Ok(())
    }

    pub fn oddities(&self) -> Vec<String> {
        match self.damaged_packets {
            0 => Vec::new(),
            n => vec![format!("{n} packets of the file are damaged and were left out")],
        }
    }

    /// Decodes the next packet that gives samples; false at the end.
    fn decode_more(&mut self) -> Result<bool, SoundError> {
        let mut damaged = 0;
        while !self.ended {
            let packet = match self.format.next_packet() {
                Ok(Some(packet)) => packet,
                Ok(None) | Err(Error::IoError(_) | Error::ResetRequired) => {
                    self.ended = true;
                    break;
                }
                Err(e) => return Err(self.stuck(&e)),
            };
            if packet.track_id != self.track {
                continue;
            }
            match self.decoder.decode(&packet) {
                Ok(sound) => {
                    let (rate, channels) = (sound.spec().rate(), sound.spec().channels().count());
                    if self.channels == 0 {
                        (self.rate_hz, self.channels) = (rate, channels);
                    } else if (self.rate_hz, self.channels) != (rate, channels) {
                        return Err(SoundError::UnknownCoding {
                            coding: "a stream that changes its rate or its channels midway".to_owned(),
                        });
                    }
                    self.ready.resize(sound.samples_interleaved(), f32::MID);
                    self.taken = 0;
                    sound.copy_to_slice_interleaved(&mut self.ready);
                    if !self.ready.is_empty() {
                        return Ok(true);
                    }
                }
                Err(Error::DecodeError(_) | Error::IoError(_)) if damaged < DAMAGED_IN_A_ROW => {
                    damaged += 1;
                    self.damaged_packets += 1;
                }
                Err(e) => return Err(self.stuck(&e)),
            }
        }
        self.ready.clear();
        self.taken = 0;
        Ok(false)
    }

    fn stuck(&self, error: &Error) -> SoundError {
        let at = Seconds::new(self.frames_out as f64 / f64::from(self.rate_hz.max(1)));
        SoundError::Decoding { at, why: error.to_string() }
    }
}
