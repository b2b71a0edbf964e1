//! `--plot`: a picture in a file, as a drawing (SVG) or as dots (PNG).

use crate::failure::{Failure, Kind, Outcome};
use std::{fs, path::Path};
use views::Picture;

/// The form of a picture, after its file's ending.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A drawing of lines and letters.
    Svg,
    /// Dots.
    #[cfg(feature = "png")]
    Png,
}

impl Form {
    /// Reads it off the name of the file.
    pub fn of(plot: &Path) -> Result<Self, Failure> {
        let ending = plot.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        match ending.as_deref() {
            Some("svg") => Ok(Self::Svg),
            #[cfg(feature = "png")]
            Some("png") => Ok(Self::Png),
            _ => Err(Failure::new(Kind::Usage, format!("{}: cannot be drawn", plot.display()))
                .hinted(format!("name a file that ends in {ENDINGS}"))),
        }
    }
}

#[cfg(feature = "png")]
const ENDINGS: &str = ".svg or .png";
#[cfg(not(feature = "png"))]
const ENDINGS: &str = ".svg; this program was built without PNG";

/// Writes a picture as a file that stands by itself.
pub fn draw(plot: &Path, picture: &Picture) -> Outcome {
    let drawing = views::plot::standalone(picture);
    let bytes = match Form::of(plot)? {
        Form::Svg => drawing.into_bytes(),
        #[cfg(feature = "png")]
        Form::Png => dots(&drawing).map_err(|why| {
            Failure::new(Kind::World, format!("cannot draw {}: {why}", plot.display()))
                .hinted("name a file that ends in .svg")
        })?,
    };
    fs::write(plot, bytes)
        .map_err(|error| Failure::new(Kind::World, format!("cannot write {}: {error}", plot.display())))
}

/// Dots for each unit of the drawing: a plot as wide as a phone's page becomes 1080 dots wide, enough for paper.
#[cfg(feature = "png")]
const SCALE: f32 = 3.0;

/// Paints a drawing, with a font of the program's own, so that it looks the same everywhere.
#[cfg(feature = "png")]
fn dots(drawing: &str) -> Result<Vec<u8>, String> {
    use resvg::{
        tiny_skia::{Pixmap, Transform},
        usvg::{Options, Tree, fontdb::Database},
    };
    let mut fonts = Database::new();
    fonts.load_font_data(dejavu::sans::regular().to_vec());
    fonts.set_sans_serif_family("DejaVu Sans");
    let options = Options { fontdb: fonts.into(), ..Options::default() };
    let tree = Tree::from_str(drawing, &options).map_err(|error| error.to_string())?;
    let too_large = || "it is too large".to_owned();
    let size = tree.size().to_int_size().scale_by(SCALE).ok_or_else(too_large)?;
    let mut dots = Pixmap::new(size.width(), size.height()).ok_or_else(too_large)?;
    resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut dots.as_mut());
    dots.encode_png().map_err(|error| error.to_string())
}
