//! What can be wrong with a recording, or with what was asked of it.

use units::{Hertz, Percent, Seconds};

/// Why a recording gave no reading. Each says what was found and what would be right.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SoundError {
    /// Nothing at all in the file.
    #[error("the file is empty; record again and check that the recorder has finished writing it")]
    Empty,
    /// None of the containers that can be read.
    #[error("this is no recording in WAV, FLAC, MP3, M4A (AAC) or Ogg Vorbis: {why}")]
    NotARecording {
        /// What the first bytes say.
        why: String,
    },
    /// A part of the header is missing or makes no sense.
    #[error("the header is damaged at byte {at}: {why}")]
    BadHeader {
        /// Offset into the file.
        at: u64,
        /// What was wrong and what would be right.
        why: String,
    },
    /// A coding within a known container that cannot be read.
    #[error("the sound is coded as {coding}, which cannot be read; save it as WAV with 16 or 24 bits")]
    UnknownCoding {
        /// What the header calls it.
        coding: String,
    },
    /// Sample rate outside 8 to 192 kHz.
    #[error("the sample rate is {rate} Hz; it must lie from 8000 to 192000 Hz")]
    SampleRate {
        /// What the header says.
        rate: u32,
    },
    /// Number of channels outside 1 to 8.
    #[error("the recording has {channels} channels; it may have 1 to 8")]
    Channels {
        /// What the header says.
        channels: u32,
    },
    /// The header is in order but no sample follows.
    #[error("the recording holds no samples; record again")]
    NoSamples,
    /// A sample that is no number.
    #[error(
        "the sample at {at} (number {sample}) is not a number; the file is damaged or was written by a faulty program"
    )]
    NotANumber {
        /// Which sample of the channel.
        sample: u64,
        /// When in the recording.
        at: Seconds,
    },
    /// The decoder gave up.
    #[error("the recording cannot be decoded after {at}: {why}")]
    Decoding {
        /// How far it went well.
        at: Seconds,
        /// What the decoder said.
        why: String,
    },
    /// Reading the bytes failed.
    #[error("the recording could not be read: {0}")]
    Reading(#[from] std::io::Error),
    /// Too short for what was asked.
    #[error("the recording has {found} of usable tone; {what} needs at least {needed}")]
    TooShort {
        /// What needs more.
        what: &'static str,
        /// Usable time found.
        found: Seconds,
        /// Usable time needed.
        needed: Seconds,
    },
    /// Hardly any sound.
    #[error(
        "the recording is too quiet: its loudest part is {peak_dbfs:.0} dB below full scale; turn the input up until \
         the meter peaks between -20 and -6 dB"
    )]
    TooQuiet {
        /// Loudest level, in dB below full scale (a positive number).
        peak_dbfs: f64,
    },
    /// Overdriven.
    #[error("the recording is clipped for {share} of its time; turn the input down and record again")]
    Clipped {
        /// How much of the time the samples stand at the limit.
        share: Percent,
    },
    /// Noise only.
    #[error("no steady tone was found between 300 Hz and 12 kHz, only noise; play a film with a steady tone")]
    NoTone,
    /// Sound that wanders, as speech and music do.
    #[error(
        "this sounds like speech or music, not like a steady tone; play a flutter film or any film with a steady tone"
    )]
    NotASteadyTone,
    /// Several tones one after the other, none of them lasting.
    #[error(
        "there are several tones and none of them lasts ({found}); this looks like a multi-frequency film, which \
         shows response, not flutter"
    )]
    SeveralTones {
        /// The tones found, as text.
        found: String,
    },
    /// Another tone than the one named.
    #[error(
        "the tone is {found:.1}, not {named:.1}; name the tone that the film carries, or leave the name out"
    )]
    WrongTone {
        /// What was found.
        found: Hertz,
        /// What was named.
        named: Hertz,
    },
    /// A tone named outside what can be measured.
    #[error(
        "a tone of {named:.1} cannot be measured in this recording; it must lie between {low:.0} and {high:.0}"
    )]
    ToneOutOfRange {
        /// What was named.
        named: Hertz,
        /// Lowest.
        low: Hertz,
        /// Highest, which depends on the sample rate.
        high: Hertz,
    },
    /// Too much of the tone is broken.
    #[error(
        "splices and drop-outs break {share} of the tone; above {limit} no reading is trustworthy, so clean or change \
         the test film and record again"
    )]
    TooPatchy {
        /// Share that had to be left out.
        share: Percent,
        /// Largest share that is allowed.
        limit: Percent,
    },
    /// A needed tone of a multi-tone test is missing.
    #[error("{what} was not found in the recording; {right}")]
    MissingTone {
        /// What was looked for.
        what: String,
        /// What would be right.
        right: &'static str,
    },
    /// A request that makes no sense.
    #[error("{what}; {right}")]
    BadRequest {
        /// What was wrong.
        what: String,
        /// What would be right.
        right: &'static str,
    },
}
