//! Which lens for this throw and screen, and the reverse.

use serde::Serialize;
use units::{Degrees, Metres, Times};

use crate::answer::{Judgement, Missing, Working};
use crate::estimate::{Estimate, reach};
use crate::focus::{self, FocusDepth, focus_depth};
use crate::keystone::{self, Keystone};
use crate::picture::{Format, formats};
use crate::setting::PictureGiven;

/// What was worked out from the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SolvedFor {
    /// Throw and screen were given: the lens.
    Lens,
    /// Lens and screen were given: the throw.
    Throw,
    /// Throw and lens were given: the picture.
    Picture,
    /// Only the throw was given: the picture with any lens that is commonly carried.
    PictureWithAnyLens,
}

/// How the picture sits on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fit {
    /// The screen's width.
    #[serde(rename = "screen_width_m")]
    pub screen_width: Estimate<Metres>,
    /// The picture's width beside the screen's: above 1 it spills over the edge.
    pub fills: Estimate<Times>,
    /// `within`: it fits; `above`: it spills over; `cannot-tell`: it may.
    pub judgement: Judgement,
}

/// The picture with one lens that is commonly carried.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LensRow {
    /// Focal length.
    pub focal_mm: f64,
    /// The picture's width.
    #[serde(rename = "width_m")]
    pub width: Estimate<Metres>,
    /// The picture's height.
    #[serde(rename = "height_m")]
    pub height: Estimate<Metres>,
    /// How it fits the screen, if that is known.
    pub fit: Option<Fit>,
}

/// The picture in one format.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FormatRow {
    /// The format and its plate.
    #[serde(flatten)]
    pub format: Format,
    /// The picture's width.
    #[serde(rename = "width_m")]
    pub width: Estimate<Metres>,
    /// The picture's height.
    #[serde(rename = "height_m")]
    pub height: Estimate<Metres>,
}

/// Throw, lens and picture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LensAnswer {
    /// The format and its plate.
    #[serde(flatten)]
    pub format: Format,
    /// What was worked out.
    pub solved_for: SolvedFor,
    /// From lens to screen.
    #[serde(rename = "throw_m")]
    pub throw: Estimate<Metres>,
    /// The lens, in metres; [`LensAnswer::focal_mm`] for people.
    #[serde(rename = "focal_length_mm", serialize_with = "millimetres")]
    pub focal: Estimate<Metres>,
    /// The picture's width.
    #[serde(rename = "picture_width_m")]
    pub width: Estimate<Metres>,
    /// The picture's height.
    #[serde(rename = "picture_height_m")]
    pub height: Estimate<Metres>,
    /// The angle from the lens between the picture's left and right edge.
    #[serde(rename = "picture_angle_degrees")]
    pub angle: Estimate<Degrees>,
    /// How the picture sits on the screen, if that is known.
    pub fit: Option<Fit>,
    /// Keystone from the beam's downward angle, where the heights of lens and picture are known.
    pub keystone_down: Option<Keystone>,
    /// Keystone from the beam's sideways angle, where the offset is known.
    pub keystone_sideways: Option<Keystone>,
    /// How exactly film and screen must lie, where the f-number is known.
    pub focus: Option<FocusDepth>,
    /// The lenses that are commonly carried, at this throw.
    pub lenses: Vec<LensRow>,
    /// The other formats of the gauge, with this throw and lens.
    pub formats: Vec<FormatRow>,
    /// The sums.
    pub workings: Vec<Working>,
    /// What to beware of.
    pub caveats: Vec<String>,
}

fn millimetres<S: serde::Serializer>(length: &Estimate<Metres>, out: S) -> Result<S::Ok, S::Error> {
    length.map(|metres| Times::new(metres.as_millimetres())).serialize(out)
}

const THROW: Working = Working {
    gives: "lens, throw and picture",
    formula: "throw = focal length x (1 + picture width / (plate width x spread))",
    source: "the thin-lens formula, as in Clerc, Photography: Theory and Practice",
};

/// The throw for a picture: `f (1 + W / a)` by the thin-lens formula.
pub fn throw_for(format: &Format, focal: Estimate<Metres>, width: Estimate<Metres>) -> Estimate<Metres> {
    let plate = format.thrown_width().metres();
    let [throw] = reach([focal.bare(), width.bare()], |[focal, width]| [focal * (1.0 + width / plate)]);
    throw.of()
}

fn focal_for(format: &Format, throw: Estimate<Metres>, width: Estimate<Metres>) -> Estimate<Metres> {
    let plate = format.thrown_width().metres();
    let [focal] = reach([throw.bare(), width.bare()], |[throw, width]| [throw / (1.0 + width / plate)]);
    focal.of()
}

/// The picture's width and height. No picture is thrown from within the focal length.
fn picture_for(format: &Format, throw: Estimate<Metres>, focal: Estimate<Metres>) -> [Estimate<Metres>; 2] {
    let (plate, height) = (format.thrown_width().metres(), format.plate_height.metres());
    let size = |[throw, focal]: [f64; 2]| {
        let times = (throw / focal - 1.0).max(0.0);
        [plate * times, height * times]
    };
    reach([throw.bare(), focal.bare()], size).map(Estimate::of)
}

/// Focal lengths in millimetres that are commonly carried for a gauge: common practice, no source.
const fn commonly_carried(gauge: film::Gauge) -> &'static [f64] {
    match gauge {
        film::Gauge::Mm16 => &[25.0, 35.0, 38.0, 50.0, 65.0, 75.0, 100.0],
        film::Gauge::Mm35 => &[50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 120.0],
        film::Gauge::Super8 | film::Gauge::Standard8 => &[12.5, 15.0, 20.0, 25.0, 30.0],
    }
}

/// Any lens that is commonly carried.
fn any_lens(gauge: film::Gauge) -> Estimate<Metres> {
    let mm = |value: Option<&f64>| Metres::from_millimetres(value.copied().unwrap_or(50.0));
    let all = commonly_carried(gauge);
    Estimate::between(mm(all.first()), mm(all.get(all.len() / 2)), mm(all.last()))
}

/// The part of the screen's width that a picture of this shape may take: all of it, or less where the screen is low.
fn usable_width(given: &PictureGiven) -> Option<Estimate<Metres>> {
    let (width, height) = (given.screen_width, given.screen_height);
    let ratio = given.format.screen_ratio();
    let by_height = height.map(|height| height.map(|height| height * ratio));
    match (width, by_height) {
        (Some(width), Some(by_height)) => Some(Estimate::between(
            width.low().min(by_height.low()),
            width.likely().min(by_height.likely()),
            width.high().min(by_height.high()),
        )),
        (width, by_height) => width.or(by_height),
    }
}

/// How much larger than the screen a picture may be before it counts as spilling over: common practice, no source. A
/// black border takes this much.
const BORDER: Times = Times::new(1.02);

fn fit(width: Estimate<Metres>, screen: Estimate<Metres>) -> Fit {
    let [fills] = reach([width.bare(), screen.bare()], |[width, screen]| [width / screen]);
    Fit { screen_width: screen, fills, judgement: Judgement::of(fills, Times::ZERO, BORDER) }
}

/// Throw, lens and picture: two of them give the third. Missing when neither throw nor lens is known, or only one of
/// lens and screen.
pub(crate) fn answer(given: &PictureGiven, f_number: Option<Estimate<Times>>) -> Result<LensAnswer, Missing> {
    let format = &given.format;
    let usable = usable_width(given);
    let (solved_for, throw, focal) = match (given.throw, given.focal, usable) {
        (Some(throw), Some(focal), _) => (SolvedFor::Picture, throw, focal),
        (Some(throw), None, Some(width)) => (SolvedFor::Lens, throw, focal_for(format, throw, width)),
        (None, Some(focal), Some(width)) => (SolvedFor::Throw, throw_for(format, focal, width), focal),
        (Some(throw), None, None) => (SolvedFor::PictureWithAnyLens, throw, any_lens(format.gauge)),
        (None, _, _) => return Err(NEEDED),
    };
    // A picture that was asked for is not worked out again from a range of lenses: that would widen it.
    let [width, height] = match (solved_for, usable) {
        (SolvedFor::Lens | SolvedFor::Throw, Some(width)) => {
            [width, width.map(|width| width / format.screen_ratio())]
        }
        _ => picture_for(format, throw, focal),
    };
    let half = |[width, throw]: [f64; 2]| [2.0 * (width / 2.0 / throw).atan().to_degrees()];
    let [angle] = reach([width.bare(), throw.bare()], half);
    let fit = given.screen_width.map(|screen| fit(width, screen));
    let thrown = Thrown { throw, width, height };
    let enlargement = width.map(|width| Times::new(width / format.thrown_width()));
    Ok(LensAnswer {
        format: *format,
        solved_for,
        throw,
        focal,
        width,
        height,
        angle: angle.of(),
        fit,
        keystone_down: keystone::downward(given, &thrown),
        keystone_sideways: keystone::sideways(given, &thrown),
        focus: f_number.map(|f_number| focus_depth(f_number, focus::blur(), enlargement)),
        lenses: lenses(format, throw, given.screen_width),
        formats: other_formats(format, throw, focal),
        workings: vec![
            THROW,
            Working { gives: "plate", formula: "opening of the aperture plate", source: format.source },
            keystone::WORKING,
            focus::WORKING,
        ],
        caveats: caveats(given, solved_for, throw, fit),
    })
}

/// A picture as it is thrown.
pub(crate) struct Thrown {
    pub(crate) throw: Estimate<Metres>,
    pub(crate) width: Estimate<Metres>,
    pub(crate) height: Estimate<Metres>,
}

const NEEDED: Missing = Missing {
    question: "which lens, throw and picture",
    needs: "two of these: the throw, the lens, the width of the screen",
    fields: &["throw", "lens", "screen-width"],
};

fn lenses(format: &Format, throw: Estimate<Metres>, screen: Option<Estimate<Metres>>) -> Vec<LensRow> {
    let row = |&focal_mm: &f64| {
        let focal = Metres::from_millimetres(focal_mm);
        let [width, height] = picture_for(format, throw, focal.into());
        LensRow { focal_mm, width, height, fit: screen.map(|screen| fit(width, screen)) }
    };
    commonly_carried(format.gauge).iter().map(row).collect()
}

fn other_formats(format: &Format, throw: Estimate<Metres>, focal: Estimate<Metres>) -> Vec<FormatRow> {
    let row = |format: Format| {
        let [width, height] = picture_for(&format, throw, focal);
        FormatRow { format, width, height }
    };
    formats(format.gauge).into_iter().map(row).collect()
}

fn caveats(
    given: &PictureGiven,
    solved_for: SolvedFor,
    throw: Estimate<Metres>,
    fit: Option<Fit>,
) -> Vec<String> {
    let mut caveats = Vec::new();
    match solved_for {
        SolvedFor::Lens => caveats.push(
            "a marked focal length is true to a few per cent: try the nearest lens on the screen before the evening".to_owned(),
        ),
        SolvedFor::PictureWithAnyLens => caveats.push(
            "neither lens nor screen is given: the picture is told for every lens that is commonly carried".to_owned(),
        ),
        SolvedFor::Throw | SolvedFor::Picture => {}
    }
    if given.format.spread > 1.0 {
        caveats.push("the focal length is that of the lens behind the anamorphic attachment; some attachments need a least throw".to_owned());
    }
    if let Some(length) = given.hall_length.filter(|length| throw.low() > length.high()) {
        caveats.push(format!(
            "the throw is longer than the hall ({:.1}): the machine stands outside it, behind a port",
            length.high()
        ));
    }
    if fit.is_some_and(|fit| fit.judgement == Judgement::Above) {
        caveats.push(
            "the picture is wider than the screen: take a longer lens, or move the machine nearer".to_owned(),
        );
    }
    if let Some(Fit { fills, judgement: Judgement::Within, .. }) = fit
        && fills.high() < Times::new(0.8)
    {
        caveats.push(
            "the picture leaves more than a fifth of the screen empty: a shorter lens would fill it"
                .to_owned(),
        );
    }
    caveats
}

impl LensAnswer {
    /// The focal length in millimetres.
    pub fn focal_mm(&self) -> Estimate<Times> {
        self.focal.map(|focal| Times::new(focal.as_millimetres()))
    }
}
