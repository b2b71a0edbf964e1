//! Drawings: the film touches each part where the type file says; plots hold whatever the logbook holds.

use jiff::civil::{Date, date};
use logbook::{MachineId, ids::SlotId};
use machine::{DrawnPlace, FilmSide, Shape};
use units::Hours;
use views::{
    Mark,
    plot::{bars, path, timeline},
};

/// All coordinates of path data, in pairs.
fn points(line: &str) -> Vec<(f64, f64)> {
    let numbers: Vec<f64> = line
        .split([' ', 'M', 'C'])
        .filter(|text| !text.is_empty())
        .map(|text| text.parse().unwrap())
        .collect();
    numbers.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

#[test]
fn the_film_touches_every_part_on_its_side_in_every_shipped_type() {
    for kind in machine::shipped().iter() {
        let on_film: Vec<&DrawnPlace> = kind.film_path().map(|part| &part.place).collect();
        assert!(on_film.len() > 10, "{}", kind.id);
        let line = path::film_line(on_film.iter().copied());
        // After the first point each curve has two control points and its end.
        let knots: Vec<(f64, f64)> =
            points(&line).into_iter().enumerate().filter(|(at, _)| at % 3 == 0).map(|(_, at)| at).collect();
        let expected: Vec<(f64, f64)> = on_film.iter().map(|place| place.touch_point()).collect();
        assert_eq!(knots, expected, "{}", kind.id);
    }
}

#[test]
fn the_film_leaves_an_upper_side_along_it() {
    let place = |x, y, side| DrawnPlace { x, y, shape: Shape::Roller, size: 40, on_film: true, side };
    let places = [
        place(100, 300, FilmSide::Through),
        place(300, 100, FilmSide::Over),
        place(600, 300, FilmSide::Through),
    ];
    let points = points(&path::film_line(places.iter()));
    let (before, at, after) = (points[2], points[3], points[4]);
    assert_eq!(at, (300.0, 80.0));
    assert_eq!((before.1, after.1), (80.0, 80.0), "the curve is level where it touches the top");
    assert!(before.0 < at.0 && at.0 < after.0);
}

#[test]
fn no_film_and_one_part_are_drawn_without_a_fuss() {
    assert_eq!(path::film_line(std::iter::empty()), "");
    let place =
        DrawnPlace { x: 5, y: 6, shape: Shape::Spool, size: 10, on_film: true, side: FilmSide::Through };
    assert_eq!(path::film_line(std::iter::once(&place)), "M5 6");
}

#[test]
fn a_part_s_state_is_told_in_words_and_by_a_sign() {
    let place =
        DrawnPlace { x: 50, y: 60, shape: Shape::Sprocket, size: 40, on_film: true, side: FilmSide::Over };
    let part = |number, mark| path::Drawn {
        slot: SlotId::new("s"),
        number,
        name: "Upper sprocket".into(),
        mark,
        place,
    };
    let drawn =
        path::film_path("Path", &MachineId::new("wren"), &[part(1, Mark::Overdue), part(2, Mark::UpToDate)]);
    let svg = drawn.svg.into_string();
    assert!(svg.contains("aria-label=\"1 Upper sprocket: overdue\""), "{svg}");
    assert!(svg.contains('◆') && svg.matches("class=\"badge\"").count() == 1, "{svg}");
    assert_eq!(drawn.twin.rows.len(), 2);
}

#[test]
fn every_shape_is_drawn() {
    for shape in machine::shipped()
        .iter()
        .flat_map(|kind| kind.parts.iter().map(|part| part.place.shape).collect::<Vec<_>>())
    {
        let drawn = views::plot::shapes::shape(shape, 100.0, 100.0, 40.0).into_string();
        assert!(drawn.starts_with('<') && !drawn.contains("NaN"), "{shape:?}: {drawn}");
    }
}

fn weeks(hours: &[(f64, f64)]) -> Vec<bars::Week> {
    let monday = date(2026, 6, 1);
    hours
        .iter()
        .enumerate()
        .map(|(at, (showing, other))| bars::Week {
            monday: monday.checked_add(jiff::ToSpan::weeks(i64::try_from(at).unwrap())).unwrap(),
            showing: Hours::new(*showing),
            other: Hours::new(*other),
        })
        .collect()
}

#[test]
fn bars_are_as_tall_as_their_hours() {
    let drawn = bars::hours_by_week("Hours", &weeks(&[(2.0, 0.0), (4.0, 0.0)])).svg.into_string();
    let heights: Vec<f64> = drawn
        .split("class=\"bar\"")
        .skip(1)
        .take(2)
        .map(|bar| bar.split("height=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap())
        .collect();
    assert!((heights[1] / heights[0] - 2.0).abs() < 0.01, "{heights:?}");
}

#[test]
fn no_weeks_no_hours_and_absurd_hours_still_make_a_plot() {
    for hours in [&[][..], &[(0.0, 0.0)], &[(1e9, 3.0), (f64::NAN, 0.0)], &[(-1.0, 2.0)]] {
        let drawn = bars::hours_by_week("Hours", &weeks(hours)).svg.into_string();
        assert!(drawn.starts_with("<svg") && drawn.ends_with("</svg>"), "{drawn}");
    }
}

fn row(label: &str, date: Date, mark: Mark) -> timeline::Row {
    timeline::Row { label: label.into(), date, mark, href: "/due".into() }
}

#[test]
fn what_is_past_stands_at_today_and_what_is_far_at_the_edge() {
    let (today, until) = (date(2026, 11, 25), date(2027, 1, 20));
    let rows = [
        row("past", date(2026, 1, 1), Mark::Overdue),
        row("today", today, Mark::Due),
        row("last", until, Mark::Soon),
        row("far", date(2031, 1, 1), Mark::Soon),
    ];
    let drawn = timeline::due_dates("Due", today, until, &rows, &[date(2026, 12, 4)]);
    let svg = drawn.svg.into_string();
    let ends: Vec<&str> = svg
        .split("class=\"reach\"")
        .skip(1)
        .map(|line| line.split("x2=\"").nth(1).unwrap().split('"').next().unwrap())
        .collect();
    assert_eq!(ends, ["14", "14", "346", "346"]);
    assert!(svg.contains("later →"));
    assert_eq!(svg.matches("class=\"showing\"").count(), 1);
    assert_eq!(drawn.twin.rows.len(), 4);
}
