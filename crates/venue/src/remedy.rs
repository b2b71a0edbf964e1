//! What to change when the picture is too dark.

use serde::Serialize;
use units::{Lumens, Luminance, Metres, Times};

use crate::estimate::{Estimate, Quantity, reach};
use crate::lens::LensAnswer;
use crate::light::LightAim;
use crate::screen::{PortGlass, ScreenSurface, Shutter};
use crate::setting::LightGiven;

/// One thing to change, and what it would give.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remedy {
    /// What to do.
    pub change: String,
    /// By how much the light grows.
    pub gain: Estimate<Times>,
    /// Whether it reaches the least of the aim by itself: `yes`, `perhaps` or `no`.
    pub enough: Enough,
    /// What it costs.
    pub price: &'static str,
}

/// Does a change suffice by itself?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Enough {
    /// Wherever in its limits it lies.
    Yes,
    /// In part of its limits.
    Perhaps,
    /// Nowhere in its limits.
    No,
}

/// What the changes start from.
pub(crate) struct Situation<'a> {
    pub(crate) given: &'a LightGiven,
    pub(crate) lens: &'a LensAnswer,
    pub(crate) luminance: Estimate<Luminance>,
    pub(crate) aim: LightAim,
    pub(crate) gain: Estimate<Times>,
    pub(crate) machine: Estimate<Lumens>,
}

impl Situation<'_> {
    /// What would help, the simplest first; nothing when the light cannot be too dark.
    pub(crate) fn remedies(&self) -> Vec<Remedy> {
        if self.luminance.low() >= self.aim.low {
            return Vec::new();
        }
        let changes = [
            self.clean_glass(),
            Some(self.new_lamp()),
            self.fewer_blades(),
            self.faster_lens(),
            self.brighter_screen(),
        ];
        let mut remedies: Vec<Remedy> = changes.into_iter().flatten().collect();
        remedies.extend([self.smaller_picture(), self.brighter_machine()]);
        remedies
    }

    /// What is sized for the likely light is enough for certain only where the light is known.
    fn enough_as_likely(&self) -> Enough {
        if self.luminance.is_exact() { Enough::Yes } else { Enough::Perhaps }
    }

    /// Judges a factor against what is wanting.
    fn remedy(&self, change: String, gain: Estimate<Times>, price: &'static str) -> Remedy {
        let [after] = reach([self.luminance.bare(), gain.bare()], |[light, gain]| [light * gain]);
        let least = self.aim.low.bare();
        let enough = if after.low().times() >= least {
            Enough::Yes
        } else if after.high().times() >= least {
            Enough::Perhaps
        } else {
            Enough::No
        };
        Remedy { change, gain, enough, price }
    }

    fn clean_glass(&self) -> Option<Remedy> {
        let clean = match self.given.port {
            PortGlass::None | PortGlass::Coated => return None,
            PortGlass::Plain => PortGlass::Coated,
            PortGlass::Dirty => PortGlass::Plain,
        };
        let [gain] =
            reach([clean.lets_through().bare(), self.given.port.lets_through().bare()], |[after, before]| {
                [(after / before).max(1.0)]
            });
        let (change, price) = match clean {
            PortGlass::Plain => ("clean the port glass on both sides", "a few minutes"),
            _ => ("coated glass in the port", "a new pane"),
        };
        Some(self.remedy(change.to_owned(), gain, price))
    }

    /// A lamp is changed at 70 to 80 % of its light: common practice, no source.
    fn new_lamp(&self) -> Remedy {
        let gain = Estimate::between(Times::new(1.0), Times::new(1.15), Times::new(1.4));
        self.remedy(
            "a new lamp, if this one is near its end, and a clean mirror and condenser".to_owned(),
            gain,
            "a lamp; let the old one cool, and do not touch the new one's glass",
        )
    }

    fn fewer_blades(&self) -> Option<Remedy> {
        if self.given.shutter != Some(Shutter::ThreeBlade) {
            return None;
        }
        let gain = Estimate::between(Times::new(1.3), Times::new(1.5), Times::new(1.6));
        Some(self.remedy(
            "a two-blade shutter instead of three".to_owned(),
            gain,
            "more flicker, plain to see at 16 or 18 fps; work for a technician",
        ))
    }

    /// A lens of the next larger opening, f/1.3, where the one in use is slower: the light grows as the square.
    fn faster_lens(&self) -> Option<Remedy> {
        const FASTER: f64 = 1.3;
        let f_number = self.given.f_number.filter(|f_number| f_number.low().times() > FASTER)?;
        let [most] = reach([f_number.bare()], |[f_number]| [(f_number / FASTER).powi(2)]);
        // Some of it is lost where the lamp's image does not fill the lens.
        let gain = Estimate::between(Times::new(1.0), Times::new(most.likely().times().sqrt()), most.high());
        Some(self.remedy(
            format!("a lens of f/{FASTER}, where the lamphouse fills it"),
            gain,
            "less depth of focus",
        ))
    }

    fn brighter_screen(&self) -> Option<Remedy> {
        let beaded = ScreenSurface::Beaded.gain();
        if self.gain.high() >= beaded.low() && self.given.surface.is_some() {
            return None;
        }
        let [gain] = reach([beaded.bare(), self.gain.bare()], |[beaded, gain]| [(beaded / gain).max(1.0)]);
        Some(self.remedy(
            "a beaded screen".to_owned(),
            gain,
            "bright only within about 25 degrees of the middle: side seats lose",
        ))
    }

    /// A picture small enough for the least of the aim.
    fn smaller_picture(&self) -> Remedy {
        let inputs = [self.luminance.bare(), self.lens.width.bare()];
        let least = self.aim.low.bare();
        let [width] = reach(inputs, |[light, width]| [width * (light / least).sqrt().min(1.0)]);
        let width: Estimate<Metres> = width.of();
        let [gain] = reach([self.luminance.bare()], |[light]| [(least / light).max(1.0)]);
        let likely = Metres::new(self.lens.width.likely().metres().min(width.likely().metres()));
        let change = format!("a picture {likely:.1} wide: a longer lens, or the machine nearer");
        Remedy { change, gain, enough: self.enough_as_likely(), price: "a smaller picture for the last rows" }
    }

    fn brighter_machine(&self) -> Remedy {
        let least = self.aim.low.bare();
        let [gain] = reach([self.luminance.bare()], |[light]| [(least / light).max(1.0)]);
        let needed = self.machine.likely().lumens() * gain.likely().times();
        Remedy {
            change: format!(
                "a machine of {:.0} lm at the lens, shutter running",
                (needed / 10.0).ceil() * 10.0
            ),
            gain,
            enough: self.enough_as_likely(),
            price: "another machine",
        }
    }
}
