//! Keystone: what a picture thrown at an angle loses of its right angles.

use serde::Serialize;
use units::{Degrees, Metres, Percent};

use crate::answer::{Judgement, Working};
use crate::estimate::{Estimate, reach};
use crate::lens::Thrown;
use crate::setting::PictureGiven;

/// The keystone that is aimed at, and the most that is borne.
///
/// # Reference
///
/// 3 % and 5 % from memory; titles show 3 %: common practice, no source.
pub const KEYSTONE_AIM: Percent = Percent::new(3.0);
/// The most keystone that is borne, from memory.
pub const KEYSTONE_MOST: Percent = Percent::new(5.0);

/// Keystone in one direction.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Keystone {
    /// The angle of the beam's middle to the screen's normal that was taken.
    #[serde(rename = "angle_degrees")]
    pub angle: Estimate<Degrees>,
    /// By how much the farther edge is longer than the nearer one.
    #[serde(rename = "keystone_percent")]
    pub keystone: Estimate<Percent>,
    /// By how much the picture is stretched along the tilt.
    #[serde(rename = "stretch_percent")]
    pub stretch: Estimate<Percent>,
    /// Against `KEYSTONE_MOST`.
    pub judgement: Judgement,
    /// The largest angle at which the keystone stays within `KEYSTONE_AIM`.
    #[serde(rename = "angle_for_3_percent_degrees")]
    pub angle_at_aim: Estimate<Degrees>,
    /// The largest angle at which it stays within `KEYSTONE_MOST`.
    #[serde(rename = "angle_for_5_percent_degrees")]
    pub angle_at_most: Estimate<Degrees>,
    /// How far to tilt the screen towards the machine to bring it within the usual limit; zero where it is.
    #[serde(rename = "screen_tilt_degrees")]
    pub screen_tilt: Estimate<Degrees>,
}

pub(crate) const WORKING: Working = Working {
    gives: "keystone",
    formula: "longer edge / shorter edge = cos(angle - half field) / cos(angle + half field); half field = atan(half the picture / throw)",
    source: "geometry; stretch as in a lens maker's note on keystone; limits 3 % and 5 % from memory",
};

/// Longer to shorter edge, less one, for a beam at `angle` whose half field is `half_field`, both in radians.
fn keystone_part(angle: f64, half_field: f64) -> f64 {
    let angle = angle.abs();
    (angle - half_field).cos() / (angle + half_field).cos() - 1.0
}

/// The stretched height beside the height at right angles, less one.
fn stretch_part(angle: f64, half_field: f64) -> f64 {
    let angle = angle.abs();
    let stretched = (angle + half_field).tan() - (angle - half_field).tan();
    // The undistorted picture stands at the throw along the beam, 1 / cos(angle).
    stretched / (2.0 * half_field.tan() / angle.cos()) - 1.0
}

/// The angle at which the keystone reaches `limit`, with this half field:
/// `tan(angle) = (r - 1) / ((r + 1) tan(half field))` where `r` is the ratio of the edges.
pub fn keystone_limit_angle(limit: Percent, half_field: Degrees) -> Degrees {
    let ratio = 1.0 + limit.as_fraction();
    Degrees::from_radians(((ratio - 1.0) / ((ratio + 1.0) * half_field.as_radians().tan())).atan())
}

/// The steepest beam that is reckoned with: beyond it the picture's edge runs along the screen.
const STEEPEST: f64 = 80.0;

/// Keystone of a picture whose half field and angle to the screen's normal are known.
pub fn keystone(angle: Estimate<Degrees>, half_field: Estimate<Degrees>) -> Keystone {
    let bent = |[angle, half]: [f64; 2]| {
        let half = half.clamp(0.001, 45.0);
        let angle = angle.abs().min(STEEPEST - half).to_radians();
        let half = half.to_radians();
        [keystone_part(angle, half) * 100.0, stretch_part(angle, half) * 100.0]
    };
    // An angle that may be either way makes least keystone at none, which lies between the corners.
    let sizes = if angle.may_be(Degrees::ZERO) {
        Estimate::between(Degrees::ZERO, angle.likely().abs(), angle.low().abs().max(angle.high().abs()))
    } else {
        angle.map(Degrees::abs)
    };
    let [keystone, stretch] = reach([sizes.bare(), half_field.bare()], bent);
    let at = |limit| half_field.map(|half| keystone_limit_angle(limit, half));
    let (angle_at_aim, angle_at_most) = (at(KEYSTONE_AIM), at(KEYSTONE_MOST));
    let [tilt] = reach([sizes.bare(), angle_at_aim.bare()], |[angle, aim]| [(angle - aim).max(0.0)]);
    let keystone = keystone.of();
    Keystone {
        angle,
        keystone,
        stretch: stretch.of(),
        judgement: Judgement::of(keystone, Percent::ZERO, KEYSTONE_MOST),
        angle_at_aim,
        angle_at_most,
        screen_tilt: tilt.of(),
    }
}

/// Keystone from the beam's downward angle, where the heights of lens and picture are known.
pub(crate) fn downward(given: &PictureGiven, thrown: &Thrown) -> Option<Keystone> {
    let (lens_height, bottom) = (given.lens_height?, given.screen_bottom?);
    let tilt = given.screen_tilt.unwrap_or(Degrees::ZERO.into());
    let inputs = [lens_height.bare(), bottom.bare(), thrown.height.bare(), thrown.throw.bare(), tilt.bare()];
    let [angle] = reach(inputs, |[lens, bottom, height, throw, tilt]| {
        let down = lens - (bottom + height / 2.0);
        // The throw is measured along the beam.
        [(down / throw).clamp(-0.99, 0.99).asin().to_degrees() - tilt]
    });
    Some(keystone(angle.of(), half_field(thrown.height, thrown.throw)))
}

/// Keystone from the beam's sideways angle, where the offset is known.
pub(crate) fn sideways(given: &PictureGiven, thrown: &Thrown) -> Option<Keystone> {
    let offset = given.side_offset?;
    let [angle] = reach([offset.bare(), thrown.throw.bare()], |[offset, throw]| {
        [(offset / throw).clamp(-0.99, 0.99).asin().to_degrees()]
    });
    Some(keystone(angle.of(), half_field(thrown.width, thrown.throw)))
}

/// Half the angle that a side of the picture takes from the lens.
fn half_field(side: Estimate<Metres>, throw: Estimate<Metres>) -> Estimate<Degrees> {
    let [half] =
        reach([side.bare(), throw.bare()], |[side, throw]| [(side / 2.0 / throw).atan().to_degrees()]);
    half.of()
}
