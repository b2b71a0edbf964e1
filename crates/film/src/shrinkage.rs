//! Shrinkage: how much shorter a print has become than it was perforated.

use units::{Metres, Percent};

use crate::{FilmError, Gauge, Pitch};

/// What a shrinkage means for showing the print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ShrinkageGrade {
    /// Under 0.5 %: show it.
    Normal,
    /// 0.5 to 0.8 %: only on a machine with a claw of several teeth; look at the perforations afterwards.
    WithCare,
    /// 0.8 to 1.0 %: one showing, on the kindest machine, with the supervisor's yes; not a unique print.
    OnceOnly,
    /// 1.0 to 1.5 %: do not project; view or scan.
    DoNotProject,
    /// Over 1.5 %: for an archive to treat.
    ForTheArchive,
}

/// Where the grades come from.
pub const GRADES_SOURCE: &str =
    "common practice, no source; archives differ between 0.6 and 1.0 % for a first no";

impl ShrinkageGrade {
    /// The grade of a shrinkage. Film that measures too long is graded as normal: it is the measurement to doubt.
    pub fn of(shrinkage: Percent) -> Self {
        match shrinkage.percent() {
            p if p < 0.5 => Self::Normal,
            p if p < 0.8 => Self::WithCare,
            p if p < 1.0 => Self::OnceOnly,
            p if p <= 1.5 => Self::DoNotProject,
            _ => Self::ForTheArchive,
        }
    }

    /// The grade as an instruction.
    pub const fn advice(self) -> &'static str {
        match self {
            Self::Normal => "normal; show it",
            Self::WithCare => {
                "show it on a machine with a claw of several teeth, and look at the perforations after"
            }
            Self::OnceOnly => {
                "at most one showing, on the kindest machine with the gate eased, and with the supervisor's yes; never a unique print"
            }
            Self::DoNotProject => "do not project; view it on a bench or have it scanned",
            Self::ForTheArchive => "do not project; hand it to an archive for treatment",
        }
    }
}

/// The length of so many perforations as they were made, long pitch: 100 on 16 mm are 762.00 mm (ASA Z22.5-1947,
/// dimension L, as printed by Offenhauser, p. 106).
pub fn length_as_made(gauge: Gauge, n_perforations: u32) -> Metres {
    gauge.perforation_pitch(Pitch::Long) * f64::from(n_perforations)
}

/// How much a strip has shrunk, from the measured length over a number of perforations. Fails when there are no
/// perforations or the length is not one.
pub fn shrinkage(gauge: Gauge, n_perforations: u32, measured: Metres) -> Result<Percent, FilmError> {
    if n_perforations == 0 {
        return Err(FilmError::NoPerforations);
    }
    let made = length_as_made(gauge, n_perforations);
    Ok(Percent::from_fraction(1.0 - crate::error::checked_length(measured)? / made))
}
