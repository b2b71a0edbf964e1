//! What light meets on its way from the gate to the eye: shutter, port glass, screen.

use units::{Degrees, Percent, Times};

use crate::estimate::Estimate;

/// Declares a closed list of words with ids for options and labels for people.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $id:literal, $label:literal;)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum $name { $($(#[$vdoc])* $variant,)* }

        impl $name {
            /// Every one with its id and its name as people say it.
            pub const CHOICES: &'static [(&'static str, &'static str)] = &[$(($id, $label),)*];

            /// The one with this id.
            pub fn by_id(id: &str) -> Option<Self> {
                match id {
                    $($id => Some(Self::$variant),)*
                    _ => None,
                }
            }

            /// The name as people say it.
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $label,)*
                }
            }
        }
    };
}
pub(crate) use words;

words! {
    /// The shutter between lamp and film.
    Shutter {
        /// Two blades: each frame is shown twice, 48 flashes a second at 24 fps.
        TwoBlade = "two-blade", "two blades";
        /// Three blades: 72 flashes a second, steadier to the eye and darker.
        ThreeBlade = "three-blade", "three blades";
    }
}

impl Shutter {
    /// The share of time for which the shutter lets light through.
    ///
    /// # Reference
    ///
    /// Two blades: Wheeler, Principles of Cinematography, p. 379 (four sectors of 90 degrees: 50 %). Three blades lose
    /// about a third of that: common practice, no source.
    pub fn lets_through(self) -> Estimate<Percent> {
        match self {
            Self::TwoBlade => Estimate::between(Percent::new(45.0), Percent::new(50.0), Percent::new(55.0)),
            Self::ThreeBlade => Estimate::between(Percent::new(30.0), Percent::new(35.0), Percent::new(40.0)),
        }
    }
}

words! {
    /// The glass of the projection port.
    PortGlass {
        /// The machine stands in the hall.
        None = "none", "none";
        /// Clean plain glass.
        Plain = "plain", "plain glass, clean";
        /// Clean glass coated against reflections.
        Coated = "coated", "coated glass, clean";
        /// Glass that nobody has cleaned lately.
        Dirty = "dirty", "glass in need of cleaning";
    }
}

impl PortGlass {
    /// The share of light that goes through.
    ///
    /// # Reference
    ///
    /// Plain glass: Fresnel's formula at normal incidence, index 1.52, two surfaces: 91.8 % with the inner reflections.
    /// Coated and dirty glass: common practice, no source.
    pub fn lets_through(self) -> Estimate<Percent> {
        let percent = |low, likely, high| {
            Estimate::between(Percent::new(low), Percent::new(likely), Percent::new(high))
        };
        match self {
            Self::None => percent(100.0, 100.0, 100.0),
            Self::Plain => percent(90.0, 91.8, 92.0),
            Self::Coated => percent(96.0, 98.0, 99.5),
            Self::Dirty => percent(70.0, 82.0, 90.0),
        }
    }
}

words! {
    /// What the picture is thrown on.
    ScreenSurface {
        /// Matt white.
        Matt = "matt", "matt white";
        /// Matt white with holes for the sound.
        Perforated = "perforated", "matt white, perforated";
        /// Pearl: some gain, rather wide.
        Pearl = "pearl", "pearl";
        /// Glass beads: bright and narrow.
        Beaded = "beaded", "beaded";
        /// Silver: bright and narrow.
        Silver = "silver", "silver";
        /// A sheet or a painted wall.
        Sheet = "sheet", "sheet or painted wall";
    }
}

impl ScreenSurface {
    /// The gain on the axis: luminance beside that of a perfect diffuser in the same light.
    ///
    /// # Reference
    ///
    /// Matt, pearl, beaded and silver from memory; perforation takes 8 %, and a sheet gives 0.7 to 0.85: common
    /// practice, no source.
    pub fn gain(self) -> Estimate<Times> {
        let times =
            |low, likely, high| Estimate::between(Times::new(low), Times::new(likely), Times::new(high));
        match self {
            Self::Matt => times(0.85, 0.95, 1.0),
            Self::Perforated => times(0.78, 0.87, 0.92),
            Self::Pearl => times(1.3, 1.5, 1.7),
            Self::Beaded => times(2.0, 2.2, 2.5),
            Self::Silver => times(2.0, 2.3, 3.0),
            Self::Sheet => times(0.7, 0.8, 0.85),
        }
    }

    /// The gain when nobody has said what the screen is.
    pub fn gain_unknown() -> Estimate<Times> {
        Estimate::between(Times::new(0.7), Times::new(1.0), Times::new(2.5))
    }

    /// How far from the screen's normal a seat may be before the picture is plainly darker there.
    ///
    /// # Reference
    ///
    /// Common practice, no source: 30 to 35 degrees on matt, 20 to 25 on beaded.
    pub const fn widest_angle(self) -> Degrees {
        match self {
            Self::Matt | Self::Perforated | Self::Sheet => Degrees::new(35.0),
            Self::Pearl => Degrees::new(30.0),
            Self::Beaded | Self::Silver => Degrees::new(25.0),
        }
    }
}
