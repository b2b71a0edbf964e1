//! Leaders and cue marks: the frames by which one machine takes over from the other.

use units::{Frames, FramesPerSecond, Seconds};

use crate::{FilmError, time_of};

/// Where the two cue marks stand at the end of a reel, counted in frames.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CueMarks {
    /// Frames that carry the motor cue.
    pub motor: Frames,
    /// Frames of picture between the two cues.
    pub between: Frames,
    /// Frames that carry the changeover cue.
    pub changeover: Frames,
    /// Frames of picture from the changeover cue to the end of the reel.
    pub after: Frames,
    /// Where the figures come from.
    pub source: &'static str,
}

/// Cue marks by SMPTE 301: 4, 172, 4, 18. Counted out, the changeover cue is on frames 22 to 19 before the end.
pub const SMPTE_301: CueMarks = CueMarks {
    motor: Frames::new(4),
    between: Frames::new(172),
    changeover: Frames::new(4),
    after: Frames::new(18),
    source: "SMPTE 301, as given by an encyclopaedia article on cue marks",
};

/// Cue marks by SMPTE 55: 4, 168, 4, 24.
pub const SMPTE_55: CueMarks = CueMarks {
    motor: Frames::new(4),
    between: Frames::new(168),
    changeover: Frames::new(4),
    after: Frames::new(24),
    source: "SMPTE 55, as given by an encyclopaedia article on cue marks",
};

impl CueMarks {
    /// Frames from the first frame of the motor cue to the end of the reel.
    pub fn motor_before_end(&self) -> Frames {
        self.motor + self.between + self.changeover + self.after
    }

    /// Frames from the first frame of the changeover cue to the end of the reel.
    pub fn changeover_before_end(&self) -> Frames {
        self.changeover + self.after
    }

    /// Frames from seeing the motor cue to seeing the changeover cue: the leader that the incoming machine must have
    /// run, by the time of the changeover, to stand on its first picture.
    pub fn motor_to_changeover(&self) -> Frames {
        self.motor + self.between
    }

    /// How long the operator has between the cues. Fails unless the speed is above zero.
    pub fn time_between(&self, speed: FramesPerSecond) -> Result<Seconds, FilmError> {
        time_of(self.motor_to_changeover(), speed)
    }
}

/// A leader that counts down before the first picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CountedLeader {
    /// What the numbers count.
    pub counts: &'static str,
    /// The first number.
    pub first: u32,
    /// The last number that is shown.
    pub last: u32,
    /// Frames of one count.
    pub frames_per_count: Frames,
    /// Where the figures come from.
    pub source: &'static str,
}

/// The universal leader: counts seconds at 24 fps from 8 to 2; the 2 shows for one frame and 47 of black follow.
pub const UNIVERSAL: CountedLeader = CountedLeader {
    counts: "seconds at 24 fps",
    first: 8,
    last: 2,
    frames_per_count: Frames::new(24),
    source: "encyclopaedia article on the universal leader: 8 to 2, 24 frames each, one frame of 2 and 47 black",
};

/// The Academy leader: counts feet of 35 mm film from 12 to 3.
pub const ACADEMY: CountedLeader = CountedLeader {
    counts: "feet of 35 mm film, 16 frames each",
    first: 12,
    last: 3,
    frames_per_count: Frames::new(16),
    source: "film-handling community handbook, cues and leaders: 12 ft, 192 frames; some leaders begin at 11",
};

/// Frames from the sync pop to the first picture: the pop sounds on the 2 of the universal leader.
pub const SYNC_POP_BEFORE_PICTURE: Frames = Frames::new(48);

impl CountedLeader {
    /// Frames from the start of a number to the first picture. None for a number that the leader does not show.
    pub fn frames_before_picture(&self, number: u32) -> Option<Frames> {
        (self.last..=self.first).contains(&number).then(|| self.frames_per_count * i64::from(number))
    }

    /// Frames from the start of its first number to the first picture.
    pub fn length(&self) -> Frames {
        self.frames_per_count * i64::from(self.first)
    }

    /// The number to thread in the gate for a machine that needs so long to reach speed: the smallest one that leaves
    /// it that long. None when even the whole leader is too short, or the speed is not above zero.
    pub fn number_to_thread(&self, run_up: Seconds, speed: FramesPerSecond) -> Option<u32> {
        (self.last..=self.first).find(|&number| {
            let frames = self.frames_per_count * i64::from(number);
            time_of(frames, speed).is_ok_and(|leader| leader >= run_up)
        })
    }
}
