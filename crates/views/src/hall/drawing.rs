//! The hall drawn to scale: from above (plan) and from the side (section).

use crate::sheet::{Picture, Table};
use maud::{Markup, html};
use units::Metres;
use venue::{LensAnswer, PictureGiven, SeatsGiven, SightAnswer};

/// Units of the drawing between its edge and the hall.
const MARGIN: f64 = 14.0;
/// Height taken where nobody has measured the ceiling.
const TAKEN_HEIGHT: f64 = 4.0;

/// What is drawn, in metres from the screen, the middle line and the floor.
struct Hall {
    length: f64,
    width: f64,
    height: f64,
    throw: f64,
    lens_height: f64,
    offset: f64,
    picture_width: f64,
    picture_height: f64,
    bottom: f64,
}

impl Hall {
    fn new(
        picture: &PictureGiven,
        seats: &SeatsGiven,
        lens: &LensAnswer,
        sight: Option<&SightAnswer>,
    ) -> Self {
        let likely = |estimate: venue::Estimate<Metres>| estimate.likely().metres();
        let throw = likely(lens.throw);
        let farthest = sight.map_or(0.0, |sight| likely(sight.farthest) + 0.5);
        let picture_width = likely(lens.width);
        let bottom = picture.screen_bottom.or(sight.map(|sight| sight.screen_bottom)).map_or(1.2, likely);
        let picture_height = likely(lens.height);
        let height = seats.hall_height.map_or(TAKEN_HEIGHT, likely);
        Self {
            length: picture.hall_length.map_or(throw + 1.0, likely).max(throw).max(farthest),
            width: seats.hall_width.map_or((throw * 0.6).max(picture_width * 1.4), likely).max(picture_width),
            height: height.max(bottom + picture_height),
            throw,
            lens_height: picture.lens_height.map_or(1.2, likely),
            offset: picture.side_offset.map_or(0.0, likely),
            picture_width,
            picture_height,
            bottom,
        }
    }

    /// Drawing units to a metre, so that the hall's length fills the width of a plot.
    fn scale(&self) -> f64 {
        (crate::plot::PLOT_WIDTH - 2.0 * MARGIN) / self.length.max(1.0)
    }
}

fn at(value: f64) -> String {
    crate::plot::coordinate(value)
}

fn points(corners: &[(f64, f64)]) -> String {
    corners.iter().map(|(x, y)| format!("{},{}", at(*x), at(*y))).collect::<Vec<_>>().join(" ")
}

/// Draws the hall from above and from the side, to scale.
pub fn drawing(
    picture: &PictureGiven,
    seats: &SeatsGiven,
    lens: &LensAnswer,
    sight: Option<&SightAnswer>,
) -> Picture {
    let hall = Hall::new(picture, seats, lens, sight);
    let (plan_high, section_high) = (hall.width * hall.scale(), hall.height * hall.scale());
    // Each part has a line of text above it.
    let section_top = MARGIN + 16.0 + plan_high + 30.0;
    let all_high = section_top + section_high + 34.0;
    let svg = html! {
        svg.plot.hall viewBox={ "0 0 " (at(crate::plot::PLOT_WIDTH)) " " (at(all_high)) } role="img"
            aria-label="The hall from above and from the side, to scale" {
            (plan(&hall, sight, MARGIN + 16.0))
            (section(&hall, sight, section_top))
            (rule(&hall, section_top + section_high + 14.0))
        }
    };
    let title = "The hall from above and from the side, to scale".to_owned();
    Picture { title, svg, twin: twin(&hall, sight), wide: false }
}

/// From above: the screen at the left, the beam, the rows.
fn plan(hall: &Hall, sight: Option<&SightAnswer>, top: f64) -> Markup {
    let scale = hall.scale();
    let middle = top + hall.width / 2.0 * scale;
    let x = |metres: f64| MARGIN + metres * scale;
    let half = hall.picture_width / 2.0 * scale;
    let lens = (x(hall.throw), middle + hall.offset * scale);
    html! {
        text.axis x=(at(MARGIN)) y=(at(top - 5.0)) font-size="12" { "From above" }
        rect.grid x=(at(MARGIN)) y=(at(top)) width=(at(hall.length * scale)) height=(at(hall.width * scale))
            fill="none" stroke="#888" {}
        polygon.spread points=(points(&[(x(0.0), middle - half), (x(0.0), middle + half), lens]))
            fill="#b4501e" fill-opacity="0.3" {}
        @if let Some(sight) = sight {
            @for row in &sight.rows {
                (seats_of(row, x(row.distance.likely().metres()), middle, scale, hall.width))
            }
        }
        line.limit x1=(at(x(0.0))) x2=(at(x(0.0))) y1=(at(middle - half)) y2=(at(middle + half))
            stroke="#000" stroke-width="4" {}
        circle.dot cx=(at(lens.0)) cy=(at(lens.1)) r="5" fill="#000" {}
    }
}

/// A row from above: one stroke as long as its seats, thick where they are good, so that shade alone tells nothing.
fn seats_of(row: &venue::Row, x: f64, middle: f64, scale: f64, hall_width: f64) -> Markup {
    let reach = |seats: u32| (f64::from(seats) * 0.25).min(hall_width / 2.0) * scale;
    let (all, good) = (reach(row.seats), reach(row.good.likely));
    html! {
        line.reach data-row=(row.row) x1=(at(x)) x2=(at(x)) y1=(at(middle - all)) y2=(at(middle + all))
            stroke="#666" stroke-width="1.2" stroke-dasharray="2 2" {}
        @if row.good.likely > 0 {
            line.limit x1=(at(x)) x2=(at(x)) y1=(at(middle - good)) y2=(at(middle + good))
                stroke="#000" stroke-width="3" {}
        }
    }
}

/// From the side: floor, screen, beam, rows, lens.
fn section(hall: &Hall, sight: Option<&SightAnswer>, top: f64) -> Markup {
    let scale = hall.scale();
    let x = |metres: f64| MARGIN + metres * scale;
    let y = |metres: f64| top + (hall.height - metres) * scale;
    let lens = (x(hall.throw), y(hall.lens_height));
    let upper = hall.bottom + hall.picture_height;
    html! {
        text.axis x=(at(MARGIN)) y=(at(top - 5.0)) font-size="12" { "From the side" }
        rect.grid x=(at(MARGIN)) y=(at(top)) width=(at(hall.length * scale)) height=(at(hall.height * scale))
            fill="none" stroke="#888" {}
        polygon.spread points=(points(&[(x(0.0), y(upper)), (x(0.0), y(hall.bottom)), lens]))
            fill="#b4501e" fill-opacity="0.3" {}
        @if let Some(sight) = sight {
            @for row in &sight.rows {
                @let (distance, floor) = (row.distance.likely().metres(), row.floor.likely().metres());
                line.reach x1=(at(x(distance))) x2=(at(x(distance))) y1=(at(y(floor))) y2=(at(y(floor + 1.1)))
                    stroke="#666" {}
                circle.reach cx=(at(x(distance))) cy=(at(y(floor + 1.2))) r=(at((0.12 * scale).max(1.5)))
                    fill="none" stroke="#666" {}
            }
        }
        line.limit x1=(at(x(0.0))) x2=(at(x(0.0))) y1=(at(y(upper))) y2=(at(y(hall.bottom)))
            stroke="#000" stroke-width="4" {}
        line.reach x1=(at(lens.0)) x2=(at(lens.0)) y1=(at(lens.1)) y2=(at(y(0.0))) stroke="#666" {}
        circle.dot cx=(at(lens.0)) cy=(at(lens.1)) r="5" fill="#000" {}
    }
}

/// A rule of some whole metres under the drawing.
fn rule(hall: &Hall, y: f64) -> Markup {
    let metres = [10.0, 5.0, 2.0, 1.0].into_iter().find(|metres| metres * 2.0 <= hall.length).unwrap_or(1.0);
    let long = metres * hall.scale();
    html! {
        line.today x1=(at(MARGIN)) x2=(at(MARGIN + long)) y1=(at(y)) y2=(at(y)) stroke="#000" {}
        text.axis x=(at(MARGIN + long + 6.0)) y=(at(y + 4.0)) font-size="12" { (metres) " m" }
    }
}

fn twin(hall: &Hall, sight: Option<&SightAnswer>) -> Table {
    let mut table = Table::new("The hall in figures", &["What", "#Metres"], "");
    let mut row = |what: &str, metres: f64| {
        table.push(vec![what.into(), format!("{metres:.2}").into()], Vec::new());
    };
    row("Throw", hall.throw);
    row("Picture, wide", hall.picture_width);
    row("Picture, high", hall.picture_height);
    row("Picture's lower edge above the floor", hall.bottom);
    row("Lens above the floor", hall.lens_height);
    row("Hall, long", hall.length);
    row("Hall, wide", hall.width);
    if let Some(sight) = sight {
        row("First row", sight.nearest.likely().metres());
        row("Last row", sight.farthest.likely().metres());
    }
    table
}
