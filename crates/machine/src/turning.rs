//! Rotating parts: how often each one turns at a given film speed, so that a line in the sound names a part.

use crate::id::{RotatingId, SlotId, SourceTag};
use crate::machine_type::MachineType;
use crate::vocabulary::vocabulary;
use serde::Serialize;
use std::f64::consts::PI;
use units::{FramesPerSecond, Hertz, Metres, MetresPerSecond};

vocabulary! {
    /// Which spool of the two.
    SpoolEnd {
        /// The spool that empties.
        Supply = "supply",
        /// The spool that fills.
        TakeUp = "take-up",
    }
}

/// What makes a rotating part turn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub enum Turning {
    /// Film wraps round it: `f = v / (pi (d + t))`, with `t` the thickness of the film.
    FilmDriven {
        /// Its diameter where film lies.
        diameter: Metres,
    },
    /// Its teeth carry perforations: one turn for each `teeth` perforations.
    Sprocket {
        /// Number of teeth round it.
        teeth: u32,
    },
    /// Geared to the intermittent: so many turns for each frame.
    Shaft {
        /// Turns for each frame.
        turns_per_frame: f64,
    },
    /// Driven by another rotating part at a fixed ratio.
    Driven {
        /// The part that drives it.
        by: RotatingId,
        /// Turns for each turn of the driver.
        turns_per_turn: f64,
    },
    /// A belt: `f = pi D n / L`, with `D` and `n` of the pulley that it runs on.
    Belt {
        /// The part on whose shaft the pulley sits.
        on: RotatingId,
        /// Pitch diameter of the pulley.
        pulley: Metres,
        /// Length of the belt round its pitch line.
        length: Metres,
    },
    /// A motor that runs at its own rate, whatever the film does.
    Motor {
        /// Rate on 50 Hz mains, under load.
        at_50_hz: Hertz,
        /// Rate on 60 Hz mains, under load, if it can run there.
        at_60_hz: Option<Hertz>,
    },
    /// A spool: it drifts from one rate to another through a reel.
    Spool {
        /// Which end.
        end: SpoolEnd,
        /// Diameter of the empty hub.
        hub: Metres,
        /// Diameter when full.
        full: Metres,
    },
}

/// A ball bearing in a rotating part, with its outer ring at rest and no contact angle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BallBearing {
    /// Number of balls.
    pub balls: u32,
    /// Diameter of a ball over the diameter of the circle that the balls run on.
    pub ball_to_pitch: f64,
}

impl BallBearing {
    /// Turns of the cage for each turn of the shaft: `(1 - r) / 2`.
    pub fn cage_per_turn(&self) -> f64 {
        (1.0 - self.ball_to_pitch) / 2.0
    }

    /// Balls that pass a spot on the outer ring for each turn: `n (1 - r) / 2`.
    pub fn outer_per_turn(&self) -> f64 {
        f64::from(self.balls) * self.cage_per_turn()
    }

    /// Balls that pass a spot on the inner ring for each turn: `n (1 + r) / 2`.
    pub fn inner_per_turn(&self) -> f64 {
        f64::from(self.balls) * f64::midpoint(1.0, self.ball_to_pitch)
    }
}

/// Mains frequency, for parts that follow it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Mains {
    /// 50 Hz.
    Fifty,
    /// 60 Hz.
    Sixty,
}

/// The conditions under which a rate is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Running {
    /// Speed of the film.
    pub speed: FramesPerSecond,
    /// Thickness of the film.
    pub film_thickness: Metres,
    /// The mains that feed the motor.
    pub mains: Mains,
}

/// How often a part turns.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Rate {
    /// The same through the whole reel.
    Steady(Hertz),
    /// From one rate at the head of a full reel to another at its tail.
    Drifting {
        /// At the head.
        from: Hertz,
        /// At the tail.
        to: Hertz,
    },
}

impl Rate {
    /// The steady rate, or the middle of the drift (geometric mean).
    pub fn middle(self) -> Hertz {
        match self {
            Self::Steady(rate) => rate,
            Self::Drifting { from, to } => Hertz::new((from.hertz() * to.hertz()).sqrt()),
        }
    }
}

/// One rotating part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RotatingPart {
    /// Its name among the rotating parts.
    pub id: RotatingId,
    /// The slot of the part that turns.
    pub slot: SlotId,
    /// Its name in plain words.
    pub name: String,
    /// What makes it turn.
    pub how: Turning,
    /// True if it can slip against what drives it, so that its line may lie a little low.
    pub slips: bool,
    /// Multiples of the turn rate that are worth looking at (2 is the second harmonic).
    pub harmonics: Vec<u32>,
    /// Things that pass in one turn: fan blades, a shutter's wings.
    pub passes_per_turn: Option<u32>,
    /// Its ball bearing, if it has one whose data are known.
    pub bearing: Option<BallBearing>,
    /// What a line at its rate tells.
    pub tells: String,
    /// Where the figures come from.
    pub source: SourceTag,
}

impl RotatingPart {
    /// Says how often the part turns; `None` if it hangs on a part that is missing, or on itself,
    /// or if the motor has no rate for the mains asked.
    ///
    /// # Method
    /// Film speed is frames per second times the film's advance for each frame (pitch times perforations).
    pub fn turn_rate(&self, machine: &MachineType, running: Running) -> Option<Rate> {
        self.rate_within(machine, running, machine.rotating.len())
    }

    /// A chain of drivers is at most as long as the list of rotating parts; `left` counts it down.
    fn rate_within(&self, machine: &MachineType, running: Running, left: usize) -> Option<Rate> {
        let fps = running.speed.fps();
        let film = machine.film_speed(running.speed);
        let hertz = match &self.how {
            Turning::FilmDriven { diameter } => once_around(film, *diameter + running.film_thickness),
            Turning::Sprocket { teeth } => {
                let perforations = fps * f64::from(machine.gauge.perforations_per_frame());
                Hertz::new(perforations / f64::from(*teeth))
            }
            Turning::Shaft { turns_per_frame } => Hertz::new(fps * turns_per_frame),
            Turning::Driven { by, turns_per_turn } => {
                machine.driver_rate(by, running, left)?.middle() * *turns_per_turn
            }
            Turning::Belt { on, pulley, length } => {
                machine.driver_rate(on, running, left)?.middle() * (PI * (*pulley / *length))
            }
            Turning::Motor { at_50_hz, at_60_hz } => match running.mains {
                Mains::Fifty => *at_50_hz,
                Mains::Sixty => (*at_60_hz)?,
            },
            Turning::Spool { end, hub, full } => {
                let (slow, fast) = (once_around(film, *full), once_around(film, *hub));
                return Some(match end {
                    SpoolEnd::Supply => Rate::Drifting { from: slow, to: fast },
                    SpoolEnd::TakeUp => Rate::Drifting { from: fast, to: slow },
                });
            }
        };
        Some(Rate::Steady(hertz))
    }

    /// True if its rate follows the film speed, false if it follows the mains.
    pub fn follows_film(&self, machine: &MachineType) -> bool {
        let mut how = &self.how;
        for _ in 0..=machine.rotating.len() {
            match how {
                Turning::Motor { .. } => return false,
                Turning::Driven { by: next, .. } | Turning::Belt { on: next, .. } => {
                    match machine.rotating_part(next) {
                        Some(driver) => how = &driver.how,
                        None => return false,
                    }
                }
                _ => return true,
            }
        }
        false
    }
}

impl MachineType {
    /// The speed of the film at a number of frames per second, by the pitch of unshrunken print stock.
    pub fn film_speed(&self, speed: FramesPerSecond) -> MetresPerSecond {
        self.gauge.film_speed_by_pitch(speed, film::Pitch::Long)
    }

    fn driver_rate(&self, id: &str, running: Running, left: usize) -> Option<Rate> {
        self.rotating_part(id)?.rate_within(self, running, left.checked_sub(1)?)
    }
}

/// How often something of this diameter turns when its rim moves at this speed.
fn once_around(speed: MetresPerSecond, diameter: Metres) -> Hertz {
    Hertz::new(speed.metres_per_second() / (PI * diameter.metres()))
}
