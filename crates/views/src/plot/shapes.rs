//! What each shape of a machine type looks like in the drawing: plain outlines that read at a thumb's size.

use super::coordinate as c;
use machine::Shape;
use maud::{Markup, html};

/// Draws a shape with its middle at `(x, y)`; `size` is its diameter or longer side.
pub fn shape(shape: Shape, x: f64, y: f64, size: f64) -> Markup {
    let half = size / 2.0;
    match shape {
        Shape::Spool => spool(x, y, half),
        Shape::Roller => circle(x, y, half),
        Shape::Drum => html! { (circle(x, y, half)) (circle(x, y, half * 0.55)) (dot(x, y)) },
        Shape::Sprocket => toothed(x, y, half, "3 4"),
        Shape::Gear => toothed(x, y, half, "6 5"),
        Shape::Motor => html! { (rect(x, y, size, size * 0.8, 6.0)) (circle(x, y, half * 0.5)) },
        Shape::Box => rect(x, y, size, size * 0.66, 4.0),
        Shape::Plate => rect(x, y, (size * 0.22).max(10.0), size, 2.0),
        Shape::Head => rect(x, y, size * 0.7, size * 0.7, 5.0),
        Shape::Arm => rect(x, y, size, (size * 0.16).max(8.0), 5.0),
        Shape::Shoe | Shape::Mirror => arc(x, y, half),
        Shape::Loop => html! {
            circle.shape.open cx=(c(x)) cy=(c(y)) r=(c(half)) fill="none" stroke="#000" stroke-dasharray="5 5" {}
        },
        Shape::Lever => path(&format!(
            "M{} {} L{} {} L{} {} Z",
            c(x - half),
            c(y + half * 0.5),
            c(x + half),
            c(y),
            c(x - half),
            c(y - half * 0.5)
        )),
        Shape::Shutter => html! {
            (path(&format!("M{0} {1} L{2} {1} A{3} {3} 0 0 1 {0} {4} Z", c(x), c(y), c(x + half), c(half), c(y + half))))
            (path(&format!("M{0} {1} L{2} {1} A{3} {3} 0 0 1 {0} {4} Z", c(x), c(y), c(x - half), c(half), c(y - half))))
            (circle(x, y, half))
        },
        Shape::Lens => html! {
            (rect(x, y, size, size * 0.6, 3.0))
            (path(&format!("M{0} {1} Q{2} {3} {0} {4}", c(x - half * 0.4), c(y - size * 0.3), c(x + half * 0.1), c(y), c(y + size * 0.3))))
        },
        Shape::Lamp => html! {
            (circle(x, y, half))
            (path(&format!("M{} {} l{} {} M{} {} l{} {}",
                c(x - half * 0.5), c(y - half * 0.5), c(half), c(half),
                c(x + half * 0.5), c(y - half * 0.5), c(-half), c(half))))
        },
        Shape::Belt => html! {
            (open_path(&format!("M{} {} h{} M{} {} h{}",
                c(x - half), c(y - 7.0), c(size), c(x - half), c(y + 7.0), c(size))))
        },
        Shape::Cable => open_path(&format!(
            "M{} {} q{} {} {} 0 t{} 0",
            c(x - half),
            c(y),
            c(half / 2.0),
            c(-half),
            c(half),
            c(half)
        )),
        Shape::Oil => path(&format!(
            "M{0} {1} C{2} {3} {4} {5} {0} {5} C{6} {5} {7} {3} {0} {1} Z",
            c(x),
            c(y - half),
            c(x + half * 0.4),
            c(y),
            c(x + half * 1.1),
            c(y + half),
            c(x - half * 1.1),
            c(x - half * 0.4)
        )),
    }
}

fn circle(x: f64, y: f64, radius: f64) -> Markup {
    html! { circle.shape cx=(c(x)) cy=(c(y)) r=(c(radius)) fill="#fff" stroke="#000" stroke-width="2" {} }
}

fn dot(x: f64, y: f64) -> Markup {
    html! { circle.hub cx=(c(x)) cy=(c(y)) r="3" fill="#000" {} }
}

fn toothed(x: f64, y: f64, radius: f64, teeth: &str) -> Markup {
    html! {
        circle.teeth cx=(c(x)) cy=(c(y)) r=(c(radius)) fill="none" stroke="#000" stroke-width="6"
            stroke-dasharray=(teeth) {}
        (circle(x, y, (radius - 2.0).max(3.0)))
    }
}

/// A spool: a wide flange with three openings round its hub.
fn spool(x: f64, y: f64, radius: f64) -> Markup {
    let openings = (0..3).map(|at| f64::from(at) * std::f64::consts::TAU / 3.0 - std::f64::consts::FRAC_PI_2);
    html! {
        (circle(x, y, radius))
        @for angle in openings {
            circle.opening cx=(c(x + radius * 0.55 * angle.cos())) cy=(c(y + radius * 0.55 * angle.sin()))
                r=(c(radius * 0.22)) fill="none" stroke="#000" {}
        }
        (dot(x, y))
    }
}

fn rect(x: f64, y: f64, width: f64, height: f64, corner: f64) -> Markup {
    html! {
        rect.shape x=(c(x - width / 2.0)) y=(c(y - height / 2.0)) width=(c(width)) height=(c(height)) rx=(c(corner))
            fill="#fff" stroke="#000" stroke-width="2" {}
    }
}

fn arc(x: f64, y: f64, half: f64) -> Markup {
    open_path(&format!(
        "M{} {} A{r} {r} 0 0 1 {} {}",
        c(x - half),
        c(y + half * 0.4),
        c(x + half),
        c(y + half * 0.4),
        r = c(half * 1.1)
    ))
}

fn path(d: &str) -> Markup {
    html! { path.shape d=(d) fill="#fff" stroke="#000" stroke-width="2" {} }
}

fn open_path(d: &str) -> Markup {
    html! { path.shape.open d=(d) fill="none" stroke="#000" stroke-width="4" stroke-linecap="round" {} }
}
