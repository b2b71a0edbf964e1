//! Footage, frames and time, each into the other.

use units::{Frames, FramesPerSecond, Metres, MetresPerSecond, Seconds};

use crate::error::{checked_length, checked_speed, checked_time};
use crate::{FilmError, Gauge, Pitch};

/// Whole feet and the frames over: how a bench counter shows a length. Both parts carry the same sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FeetAndFrames {
    /// Whole feet.
    pub feet: i64,
    /// Frames beyond the whole feet, fewer than fill a foot.
    pub frames: Frames,
}

impl std::fmt::Display for FeetAndFrames {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} ft + {}", self.feet, self.frames)
    }
}

impl Gauge {
    /// The nearest whole number of frames in a length, as the trade counts: 40 to the foot for 16 mm. Fails on lengths
    /// that no film has.
    pub fn frames_in(self, length: Metres) -> Result<Frames, FilmError> {
        let frames = checked_length(length)?.as_feet() * self.frames_per_foot() as f64;
        Ok(Frames::new(frames.round() as i64))
    }

    /// The length of so many frames, as the trade counts.
    pub fn length_of(self, frames: Frames) -> Metres {
        Metres::from_feet(frames.count() as f64 / self.frames_per_foot() as f64)
    }

    /// Splits a count of frames into feet and frames. Exact; [`Gauge::frames_of`] undoes it.
    pub fn feet_and_frames(self, frames: Frames) -> FeetAndFrames {
        let per_foot = self.frames_per_foot();
        FeetAndFrames { feet: frames.count() / per_foot, frames: Frames::new(frames.count() % per_foot) }
    }

    /// The count of frames in feet and frames. Exact.
    pub fn frames_of(self, footage: FeetAndFrames) -> Frames {
        Frames::new(self.frames_per_foot()) * footage.feet + footage.frames
    }

    /// The nominal speed of the film through the sound head, as the trade counts feet: 183 mm/s for 16 mm at 24 fps.
    pub fn film_speed(self, speed: FramesPerSecond) -> MetresPerSecond {
        MetresPerSecond::new(Metres::from_feet(speed.fps() / self.frames_per_foot() as f64).metres())
    }

    /// The speed of unshrunken film by its perforations, which is what sprockets give it. Differs from the nominal
    /// speed on 35 mm; see [`Gauge::counted_foot_error`].
    pub fn film_speed_by_pitch(self, speed: FramesPerSecond, pitch: Pitch) -> MetresPerSecond {
        MetresPerSecond::new(self.frame_pitch(pitch).metres() * speed.fps())
    }
}

/// How long so many frames run. Fails unless the speed is above zero.
pub fn time_of(frames: Frames, speed: FramesPerSecond) -> Result<Seconds, FilmError> {
    Ok(Seconds::new(frames.count() as f64 / checked_speed(speed)?.fps()))
}

/// The nearest whole number of frames that runs for so long. Fails unless the speed is above zero and the time is not
/// below it.
pub fn frames_in_time(time: Seconds, speed: FramesPerSecond) -> Result<Frames, FilmError> {
    Ok(Frames::new((checked_time(time)?.seconds() * checked_speed(speed)?.fps()).round() as i64))
}
