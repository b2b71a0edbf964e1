//! Seats: nearest, farthest, steepest, widest; sight lines over heads, row by row; how many are good.

use serde::Serialize;
use units::{Degrees, Metres, Times};

use crate::answer::{Judgement, Missing, Working};
use crate::beam::{self, LightPath};
use crate::estimate::{Estimate, reach};
use crate::lens::LensAnswer;
use crate::screen::ScreenSurface;
use crate::setting::{PictureGiven, SeatsGiven};

/// How far an eye sees over the head in front.
///
/// # Reference
///
/// 150, 120, 90 and 60 mm: from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SightLine {
    /// Under 60 mm: the picture's lower edge is behind the head in front.
    Hidden,
    /// 60 mm: the least, between heads and with hats off.
    Least,
    /// 90 mm: acceptable.
    Acceptable,
    /// 120 mm: good.
    Good,
    /// 150 mm: over a hat.
    Ideal,
}

impl SightLine {
    /// The class of a clearance over the head in front.
    pub fn of(clearance: Metres) -> Self {
        match clearance.as_millimetres() {
            c if c >= 150.0 => Self::Ideal,
            c if c >= 120.0 => Self::Good,
            c if c >= 90.0 => Self::Acceptable,
            c if c >= 60.0 => Self::Least,
            _ => Self::Hidden,
        }
    }
}

/// One row of seats.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Row {
    /// Counted from the screen, from 1.
    pub row: u32,
    /// From the screen to the eyes.
    #[serde(rename = "distance_m")]
    pub distance: Estimate<Metres>,
    /// The floor's height above that of the first row.
    #[serde(rename = "floor_m")]
    pub floor: Estimate<Metres>,
    /// The distance in widths of the picture.
    pub picture_widths: Estimate<Times>,
    /// The angle that the picture's width takes, from the middle seat.
    #[serde(rename = "picture_angle_degrees")]
    pub picture_angle: Estimate<Degrees>,
    /// How far up the eye turns to the picture's upper edge.
    #[serde(rename = "up_to_top_degrees")]
    pub up_to_top: Estimate<Degrees>,
    /// From the outermost seat: how far it lies off the screen's normal at the picture's middle.
    #[serde(rename = "outermost_degrees")]
    pub outermost: Estimate<Degrees>,
    /// By how much the line to the picture's lower edge clears the eye in front (the C value); none for the first row.
    #[serde(rename = "c_value_mm", serialize_with = "millimetres")]
    pub clearance: Option<Estimate<Metres>>,
    /// What the clearance is worth, at its likely value; the first row sees over nobody.
    pub sight_line: SightLine,
    /// Seats in the row.
    pub seats: u32,
    /// Seats of it that are good in distance, angle, height and sight line.
    pub good: CountBand,
}

#[expect(clippy::ref_option, reason = "serde hands every field over by reference")]
fn millimetres<S: serde::Serializer>(length: &Option<Estimate<Metres>>, out: S) -> Result<S::Ok, S::Error> {
    length.map(|length| length.map(|metres| Times::new(metres.as_millimetres()))).serialize(out)
}

/// A count that lies between two limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct CountBand {
    /// The least.
    pub low: u32,
    /// What it most likely is.
    pub likely: u32,
    /// The most.
    pub high: u32,
}

impl std::iter::Sum for CountBand {
    fn sum<I: Iterator<Item = Self>>(counts: I) -> Self {
        counts.fold(Self::default(), |sum, count| Self {
            low: sum.low + count.low,
            likely: sum.likely + count.likely,
            high: sum.high + count.high,
        })
    }
}

/// What is asked of a good seat.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GoodSeat {
    /// Not nearer than so many picture widths.
    pub nearest_widths: Times,
    /// Not farther than so many picture widths.
    pub farthest_widths: Times,
    /// The eye turns up no more than this to the picture's upper edge.
    #[serde(rename = "up_to_top_degrees")]
    pub up_to_top: Degrees,
    /// No farther off the screen's normal.
    #[serde(rename = "off_normal_degrees")]
    pub off_normal: Degrees,
    /// The least clearance over the head in front.
    #[serde(rename = "c_value_mm", serialize_with = "whole_millimetres")]
    pub clearance: Metres,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands every field over by reference")]
fn whole_millimetres<S: serde::Serializer>(length: &Metres, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_f64(length.as_millimetres().round())
}

impl GoodSeat {
    /// What is asked, with this screen.
    fn on(surface: Option<ScreenSurface>) -> Self {
        Self {
            nearest_widths: Times::new(2.0),
            farthest_widths: Times::new(6.0),
            up_to_top: Degrees::new(35.0),
            off_normal: surface.unwrap_or(ScreenSurface::Matt).widest_angle(),
            clearance: Metres::from_millimetres(60.0),
        }
    }
}

/// The seats of a hall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SightAnswer {
    /// Every row that has seats.
    pub rows: Vec<Row>,
    /// What is asked of a good seat.
    pub asked: GoodSeat,
    /// Seats in all.
    pub seats: u32,
    /// Good seats in all.
    pub good: CountBand,
    /// Seats that would be good if nobody sat in front of them.
    pub good_without_heads: CountBand,
    /// The first row's distance.
    #[serde(rename = "nearest_m")]
    pub nearest: Estimate<Metres>,
    /// The last row's distance.
    #[serde(rename = "farthest_m")]
    pub farthest: Estimate<Metres>,
    /// The farthest that an eye turns up.
    #[serde(rename = "steepest_degrees")]
    pub steepest: Estimate<Degrees>,
    /// The farthest off the normal that a seat lies.
    #[serde(rename = "widest_degrees")]
    pub widest: Estimate<Degrees>,
    /// The height of the picture's lower edge that was taken.
    #[serde(rename = "screen_bottom_m")]
    pub screen_bottom: Estimate<Metres>,
    /// The beam over the rows, where the lens's height is known.
    pub light_path: Option<LightPath>,
    /// The sums.
    pub workings: Vec<Working>,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// By how much the line from an eye to the focus clears the eye of the row in front.
///
/// `C = D (N + R) / (D + T) - R`: the C value, from memory, where D is the distance of the front eye from the focus, R
/// its height above the focus, N the riser and T the tread between the two rows.
pub fn sight_line_clearance(distance: Metres, height_above: Metres, riser: Metres, tread: Metres) -> Metres {
    let (d, r, n, t) = (distance.metres(), height_above.metres(), riser.metres(), tread.metres());
    Metres::new(d * (n + r) / (d + t) - r)
}

const NEEDED: Missing = Missing {
    question: "the seats",
    needs: "the distance of the first row, the number of rows (or the hall's length), and the seats in a row (or the hall's width)",
    fields: &["first-row", "rows", "hall-length", "seats-across", "hall-width"],
};

/// What was given or is customary, for the sums over the rows.
struct Hall {
    first: Estimate<Metres>,
    rows: u32,
    spacing: Estimate<Metres>,
    riser: Estimate<Metres>,
    eye: Estimate<Metres>,
    bottom: Estimate<Metres>,
    /// The farthest seat from the middle line, and seats to a row.
    half_width: Metres,
    across: u32,
    seat_width: Metres,
    first_seat: Metres,
    staggered: bool,
}

/// A height of seated eyes above the floor: 1.1 to 1.25 m; common practice, no source.
fn usual_eye() -> Estimate<Metres> {
    Estimate::between(Metres::new(1.1), Metres::new(1.2), Metres::new(1.25))
}

/// From one row to the next: 0.8 to 1.0 m; common practice, no source.
fn usual_spacing() -> Estimate<Metres> {
    Estimate::between(Metres::new(0.8), Metres::new(0.9), Metres::new(1.0))
}

/// The height of the picture's lower edge: 1.2 m or more from a flat floor; common practice, no source.
fn usual_bottom() -> Estimate<Metres> {
    Estimate::between(Metres::new(1.0), Metres::new(1.2), Metres::new(1.5))
}

/// The width of a stacking chair's place; common practice, no source.
const USUAL_SEAT: Metres = Metres::new(0.5);
/// The width of an aisle when nobody has said: common practice, no source; the local fire rule comes first.
const USUAL_AISLE: Metres = Metres::new(1.2);
/// What stays free between the last row's eyes and the back wall: common practice, no source.
const BEHIND_LAST_ROW: Metres = Metres::new(1.0);
/// More rows than any hall has.
const MOST_ROWS: u32 = 100;

impl Hall {
    fn new(given: &SeatsGiven, picture: &PictureGiven) -> Result<Self, Missing> {
        let first = given.first_row.ok_or(NEEDED)?;
        let spacing = given.row_spacing.unwrap_or_else(usual_spacing);
        let rows = match (given.rows, picture.hall_length) {
            (Some(rows), _) => rows,
            (None, Some(length)) => rows_between(first, spacing, length),
            (None, None) => return Err(NEEDED),
        };
        let seat_width = given.seat_width.map_or(USUAL_SEAT, Estimate::likely);
        let aisle = given.aisle_width.map_or(USUAL_AISLE, Estimate::likely);
        let (first_seat, free) = match given.aisles {
            Aisles::Centre => (aisle / 2.0, aisle),
            Aisles::Sides => (Metres::ZERO, aisle * 2.0),
            Aisles::None => (Metres::ZERO, Metres::ZERO),
        };
        let between_walls = given
            .hall_width
            .map(|width| ((width.likely() - free) / seat_width + 1.0e-9).floor().max(0.0) as u32);
        let across = given.seats_across.or(between_walls).ok_or(NEEDED)?;
        Ok(Self {
            first,
            rows: rows.min(MOST_ROWS),
            spacing,
            riser: given.riser.unwrap_or(Metres::ZERO.into()),
            eye: given.eye_height.unwrap_or_else(usual_eye),
            bottom: picture.screen_bottom.unwrap_or_else(usual_bottom),
            half_width: first_seat + seat_width * (f64::from(across) / 2.0 - 0.5).max(0.0),
            across,
            seat_width,
            first_seat,
            staggered: given.staggered,
        })
    }

    /// Distance, riser, eye, lower edge, picture width and height, as inputs of every row's sums.
    fn inputs(&self, lens: &LensAnswer) -> [Estimate<Times>; 6] {
        [
            self.first.bare(),
            self.spacing.bare(),
            self.riser.bare(),
            self.eye.bare(),
            self.bottom.bare(),
            lens.width.bare(),
        ]
    }

    fn row(&self, number: u32, lens: &LensAnswer, asked: &GoodSeat) -> Row {
        let before = f64::from(number - 1);
        let ratio = lens.format.screen_ratio();
        let half_width = self.half_width.metres();
        let look = move |[first, spacing, riser, eye, bottom, width]: [f64; 6]| {
            let (distance, floor) = (first + before * spacing, before * riser);
            let height = width / ratio;
            [
                distance,
                floor,
                distance / width,
                2.0 * (width / 2.0 / distance).atan().to_degrees(),
                ((bottom + height - floor - eye) / distance).atan().to_degrees(),
                (half_width / distance).atan().to_degrees(),
            ]
        };
        let [distance, floor, widths, picture_angle, up_to_top, outermost] = reach(self.inputs(lens), look);
        let clearance = self.clearance(number);
        let good = self.good(number, lens, asked, true);
        Row {
            row: number,
            distance: distance.of(),
            floor: floor.of(),
            picture_widths: widths,
            picture_angle: picture_angle.of(),
            up_to_top: up_to_top.of(),
            outermost: outermost.of(),
            clearance,
            sight_line: clearance.map_or(SightLine::Ideal, |clearance| SightLine::of(clearance.likely())),
            seats: self.across,
            good,
        }
    }

    /// The C value of a row over the one in front; over the second in front where seats are staggered.
    fn clearance(&self, number: u32) -> Option<Estimate<Metres>> {
        let over = self.rows_looked_over();
        let front = f64::from(number.checked_sub(over + 1)?);
        let inputs =
            [self.first.bare(), self.spacing.bare(), self.riser.bare(), self.eye.bare(), self.bottom.bare()];
        let over = f64::from(over);
        let [clearance] = reach(inputs, |[first, spacing, riser, eye, bottom]| {
            let metres = Metres::new;
            let front_eye = eye + front * riser - bottom;
            let distance = metres(first + front * spacing);
            [sight_line_clearance(distance, metres(front_eye), metres(over * riser), metres(over * spacing))
                .metres()]
        });
        Some(clearance.of())
    }

    const fn rows_looked_over(&self) -> u32 {
        if self.staggered { 2 } else { 1 }
    }

    /// How many seats of a row are good, wherever the inputs lie; with or without the heads in front.
    fn good(&self, number: u32, lens: &LensAnswer, asked: &GoodSeat, with_heads: bool) -> CountBand {
        let before = f64::from(number - 1);
        let over = self.rows_looked_over();
        let ratio = lens.format.screen_ratio();
        let count = move |[first, spacing, riser, eye, bottom, width]: [f64; 6]| {
            let (distance, floor) = (first + before * spacing, before * riser);
            let up = ((bottom + width / ratio - floor - eye) / distance).atan().to_degrees();
            let sees = !with_heads || number <= over || {
                let front = before - f64::from(over);
                let metres = Metres::new;
                let clearance = sight_line_clearance(
                    metres(first + front * spacing),
                    metres(eye + front * riser - bottom),
                    metres(f64::from(over) * riser),
                    metres(f64::from(over) * spacing),
                );
                // A tenth of a millimetre forgives the noise of binary fractions.
                clearance.metres() >= asked.clearance.metres() - 1.0e-4
            };
            let widths = distance / width;
            let near_enough = widths <= asked.farthest_widths.times() + 1.0e-9;
            let far_enough = widths >= asked.nearest_widths.times() - 1.0e-9;
            let fits = sees && near_enough && far_enough && up <= asked.up_to_top.degrees();
            [if fits { f64::from(self.within(distance * asked.off_normal.as_radians().tan())) } else { 0.0 }]
        };
        let [good] = reach(self.inputs(lens), count);
        CountBand {
            low: good.low().times() as u32,
            likely: good.likely().times() as u32,
            high: good.high().times() as u32,
        }
    }

    /// Seats of a row whose middle lies within so many metres of the middle line.
    fn within(&self, reach_m: f64) -> u32 {
        let half = f64::from(self.across) / 2.0;
        let lies = |seat: u32| {
            // The seat's middle, from the middle of the row, with the aisle between the halves.
            let from_middle = (f64::from(seat) + 0.5 - half) * self.seat_width.metres();
            from_middle.abs() + self.first_seat.metres() <= reach_m + 1.0e-9
        };
        (0..self.across).filter(|&seat| lies(seat)).count() as u32
    }
}

fn rows_between(first: Estimate<Metres>, spacing: Estimate<Metres>, length: Estimate<Metres>) -> u32 {
    let room = length.likely() - BEHIND_LAST_ROW - first.likely();
    if room < Metres::ZERO { 0 } else { (room / spacing.likely() + 1.0e-9).floor() as u32 + 1 }
}

crate::screen::words! {
    /// Where people walk between the seats.
    Aisles {
        /// One aisle in the middle.
        Centre = "centre", "in the middle";
        /// An aisle along each wall.
        Sides = "sides", "along both walls";
        /// Seats from wall to wall.
        None = "none", "none";
    }
}

/// The seats. Missing when the first row, or the number of rows, is not known.
pub(crate) fn answer(
    given: &SeatsGiven,
    picture: &PictureGiven,
    surface: Option<ScreenSurface>,
    lens: &LensAnswer,
) -> Result<SightAnswer, Missing> {
    let hall = Hall::new(given, picture)?;
    let asked = GoodSeat::on(surface);
    let rows: Vec<Row> = (1..=hall.rows).map(|number| hall.row(number, lens, &asked)).collect();
    let (Some(first), Some(last)) = (rows.first().copied(), rows.last().copied()) else {
        return Err(NEEDED);
    };
    let steepest = rows.iter().map(|row| row.up_to_top).fold(first.up_to_top, higher);
    let widest = rows.iter().map(|row| row.outermost).fold(first.outermost, higher);
    let light_path = picture
        .lens_height
        .map(|lens_height| beam::over_rows(lens_height, hall.bottom, lens.throw, &rows, hall.eye));
    Ok(SightAnswer {
        asked,
        seats: rows.iter().map(|row| row.seats).sum(),
        good: rows.iter().map(|row| row.good).sum(),
        good_without_heads: rows.iter().map(|row| hall.good(row.row, lens, &asked, false)).sum(),
        nearest: first.distance,
        farthest: last.distance,
        steepest,
        widest,
        screen_bottom: hall.bottom,
        workings: workings(),
        caveats: caveats(given, picture, &rows, lens, &asked),
        light_path,
        rows,
    })
}

fn higher(one: Estimate<Degrees>, other: Estimate<Degrees>) -> Estimate<Degrees> {
    Estimate::between(
        one.low().max(other.low()),
        one.likely().max(other.likely()),
        one.high().max(other.high()),
    )
}

fn workings() -> Vec<Working> {
    vec![
        Working {
            gives: "sight line",
            formula: "C = D (N + R) / (D + T) - R, to the picture's lower edge; D and R from the front eye, N riser, T tread",
            source: "the C value and its classes 150, 120, 90, 60 mm: from memory",
        },
        Working {
            gives: "good distance",
            formula: "2 to 6 picture widths",
            source: "not nearer than twice the width: Theatre Catalog 1947, p. 589; to six widths: from memory (Theatre Catalog 1945, p. 510, has four)",
        },
        Working {
            gives: "good angle",
            formula: "35° up to the picture's upper edge; 25 to 35° off the normal by the screen",
            source: "35° up: from memory; off the normal: common practice, no source",
        },
        beam::WORKING,
    ]
}

fn caveats(
    given: &SeatsGiven,
    picture: &PictureGiven,
    rows: &[Row],
    lens: &LensAnswer,
    asked: &GoodSeat,
) -> Vec<String> {
    let mut caveats =
        vec!["how many people may sit, and how wide aisles must be, is for the local fire rule".to_owned()];
    let mut taken = |missing: bool, words: &str| {
        if missing {
            caveats.push(words.to_owned());
        }
    };
    taken(given.eye_height.is_none(), "eyes are taken 1.1 to 1.25 m above the floor");
    taken(given.row_spacing.is_none(), "rows are taken 0.8 to 1.0 m apart");
    taken(picture.screen_bottom.is_none(), "the picture's lower edge is taken 1.0 to 1.5 m above the floor");
    if let Some(hidden) = rows.iter().find(|row| row.sight_line == SightLine::Hidden) {
        caveats.push(format!(
            "from row {} the picture's lower edge is behind the head in front: raise the screen, stagger the seats or raise the rows",
            hidden.row
        ));
    }
    let behind =
        rows.iter().filter(|row| row.distance.likely() > lens.throw.likely() - Metres::new(1.0)).count();
    if behind > 0 && given.rows.is_some() {
        caveats.push(format!("{behind} of the rows lie beside or behind the machine"));
    }
    if Judgement::of(
        rows.first().map_or(asked.nearest_widths.into(), |row| row.picture_widths),
        asked.nearest_widths,
        Times::new(f64::MAX),
    ) == Judgement::Below
    {
        caveats.push("the first row is nearer than two picture widths".to_owned());
    }
    caveats
}
