//! Survival as a picture: the law, the lives' own steps, and their band.

use crate::failure::{Failure, Kind, Outcome};
use lives::{Lives, curve, fit::Fit};
use std::{fs, path::Path};

/// Writes the picture as SVG.
pub fn write(file: &Path, lives: &Lives, fit: &Fit) -> Outcome {
    let steps = curve::turnbull_or_kaplan_meier(lives, fit.confidence);
    let picture = views::plot::survival::survival(&fit.life, &steps);
    fs::write(file, views::plot::standalone(&picture))
        .map_err(|error| Failure::new(Kind::World, format!("cannot write {}: {error}", file.display())))
}
