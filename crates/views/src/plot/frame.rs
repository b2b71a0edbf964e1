//! The frame of a plot with two axes: grid, figures, names, and where a value is drawn.
//!
//! Shapes inside a frame use these classes, so that one style sheet serves every plot: `curve` (a line), `spread` (an
//! area about it), `floor` (a thin line), `limit` (dashed), `left-out` (a struck-out stretch), `dot` (a reading),
//! `leader` (from a label to its place). A script reads values off a plot by the frame's data attributes:
//! `data-x="low high from to linear|log"`, and the same for `data-y`.

use super::{PLOT_WIDTH, Scale, coordinate as c};
use maud::{Markup, html};

/// Left edge of the field: figures of an axis stand before it.
pub const LEFT: f64 = 48.0;
/// Right edge of the field.
pub const RIGHT: f64 = 352.0;
/// Height of the strip under the field for the figures of the lower axis.
const UNDER: f64 = 34.0;

/// About the width of a letter of the axes, in the drawing's units.
const LETTER: f64 = 6.8;

/// One axis.
#[derive(Clone, Debug)]
pub struct Axis {
    /// Where values are drawn; of a logarithmic axis, their logarithms.
    scale: Scale,
    log: bool,
    ticks: Vec<(f64, String)>,
    name: String,
}

impl Axis {
    /// An axis with even steps over at least `low` to `high`.
    pub fn linear(name: impl Into<String>, low: f64, high: f64, wanted: u32) -> Self {
        let (low, high) = sound_span(low, high);
        let step = super::ticks(high - low, wanted).get(1).copied().unwrap_or(1.0);
        let (first, last) = ((low / step + 1e-9).floor(), (high / step - 1e-9).ceil());
        let count = (last - first).clamp(1.0, 50.0) as u32;
        let ticks: Vec<f64> = (0..=count).map(|at| (first + f64::from(at)) * step).collect();
        let decimals = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
        let named = ticks.iter().map(|value| (*value, figure(*value, decimals))).collect();
        let scale = Scale { low: first * step, high: (first + f64::from(count)) * step, from: 0.0, to: 0.0 };
        Self { scale, log: false, ticks: named, name: name.into() }
    }

    /// An axis with a figure at each ten, over `low` to `high`; both above nought.
    pub fn logarithmic(name: impl Into<String>, low: f64, high: f64) -> Self {
        let low = if low.is_finite() && low > 0.0 { low } else { 1e-3 };
        let high = if high.is_finite() && high > low * 1.01 { high } else { low * 10.0 };
        let (first, last) = (low.log10().ceil() as i32, high.log10().floor() as i32);
        let tens = (first..=last).map(|ten| 10_f64.powi(ten));
        let mut ticks: Vec<f64> = tens.collect();
        if ticks.len() < 2 {
            let within = |value: &f64| (low..=high).contains(value);
            let more = (first - 1..=last + 1).flat_map(|ten| [1.0, 2.0, 5.0].map(|n| n * 10_f64.powi(ten)));
            ticks = more.filter(within).collect();
        }
        let named = ticks.into_iter().map(|value| (value, thousands(value))).collect();
        let scale = Scale { low: low.log10(), high: high.log10(), from: 0.0, to: 0.0 };
        Self { scale, log: true, ticks: named, name: name.into() }
    }

    /// Where a value is drawn, brought to the nearer end if it lies outside.
    pub fn at(&self, value: f64) -> f64 {
        let value = if self.log { value.max(f64::MIN_POSITIVE).log10() } else { value };
        self.scale.at(value.clamp(self.scale.low, self.scale.high))
    }

    /// The least value on the axis.
    pub fn low(&self) -> f64 {
        if self.log { 10_f64.powf(self.scale.low) } else { self.scale.low }
    }

    /// The greatest value on the axis.
    pub fn high(&self) -> f64 {
        if self.log { 10_f64.powf(self.scale.high) } else { self.scale.high }
    }

    fn laid(mut self, from: f64, to: f64) -> Self {
        (self.scale.from, self.scale.to) = (from, to);
        self
    }

    fn data(&self) -> String {
        let Scale { from, to, .. } = self.scale;
        format!(
            "{} {} {} {} {}",
            self.low(),
            self.high(),
            c(from),
            c(to),
            if self.log { "log" } else { "linear" }
        )
    }
}

/// A span that can be drawn, whatever came in.
fn sound_span(low: f64, high: f64) -> (f64, f64) {
    match (low.is_finite() && high.is_finite(), high > low) {
        (false, _) => (0.0, 1.0),
        (true, true) => (low, high),
        (true, false) => (low - 0.5, low + 0.5),
    }
}

fn figure(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.trim_start_matches(['-', '0', '.']).is_empty() { "0".to_owned() } else { text }
}

fn thousands(value: f64) -> String {
    if value >= 1000.0 { format!("{}k", value / 1000.0) } else { format!("{}", (value * 1e6).round() / 1e6) }
}

/// The middle of a name that is to stand at `x`, moved so that its end is not cut off at the drawing's edge.
fn within(x: f64, name: &str) -> f64 {
    x.min(PLOT_WIDTH - 1.0 - name.chars().count() as f64 * LETTER / 2.0)
}

/// Two axes about a field.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The axis along the bottom.
    pub x: Axis,
    /// The axis up the side.
    pub y: Axis,
    top: f64,
    bottom: f64,
}

impl Frame {
    /// Lays a field of a height under a strip for labels.
    pub fn new(x: Axis, y: Axis, labels: f64, height: f64) -> Self {
        let (top, bottom) = (24.0 + labels, 24.0 + labels + height);
        Self { x: x.laid(LEFT, RIGHT), y: y.laid(bottom, top), top, bottom }
    }

    /// The upper edge of the field.
    pub const fn top(&self) -> f64 {
        self.top
    }

    /// The lower edge of the field.
    pub const fn bottom(&self) -> f64 {
        self.bottom
    }

    /// Draws the whole: the grid under `content`.
    pub fn draw(&self, class: &str, title: &str, content: &Markup) -> Markup {
        html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (PLOT_WIDTH) " " (c(self.bottom + UNDER)) }
                class={ "plot " (class) } role="img" aria-label=(title) font-family="sans-serif" font-size="12"
                data-x=(self.x.data()) data-y=(self.y.data()) {
                (self.grid())
                (content)
            }
        }
    }

    fn grid(&self) -> Markup {
        html! {
            text.axis x="2" y="11" fill="#444" { (self.y.name) }
            @for (value, name) in &self.y.ticks {
                @let y = self.y.at(*value);
                line.grid x1=(LEFT) x2=(RIGHT) y1=(c(y)) y2=(c(y)) stroke="#999" stroke-width="0.5" {}
                text.axis x=(LEFT - 4.0) y=(c(y + 4.0)) text-anchor="end" fill="#444" { (name) }
            }
            @for (value, name) in &self.x.ticks {
                @let x = self.x.at(*value);
                line.grid x1=(c(x)) x2=(c(x)) y1=(c(self.top)) y2=(c(self.bottom)) stroke="#999" stroke-width="0.5" {}
                text.axis x=(c(within(x, name))) y=(c(self.bottom + 14.0)) text-anchor="middle" fill="#444" { (name) }
            }
            text.axis x=(RIGHT) y=(c(self.bottom + 29.0)) text-anchor="end" fill="#444" { (self.x.name) }
        }
    }

    /// Writes a name over a place along the field, no nearer to the edge than it is long.
    pub fn name_above(&self, x: f64, name: &str) -> Markup {
        let x = within(self.x.at(x), name);
        html! { text.axis x=(c(x)) y=(c(self.top - 3.0)) text-anchor="middle" fill="#444" { (name) } }
    }

    /// Draws a line through points.
    pub fn curve(&self, class: &str, width: f64, points: impl IntoIterator<Item = (f64, f64)>) -> Markup {
        let path = self.path(points);
        html! { @if !path.is_empty() {
            path class=(class) d=(path) fill="none" stroke="#000" stroke-width=(width) stroke-linejoin="round" {}
        } }
    }

    /// Draws an area between a low and a high value for each place along.
    pub fn spread(&self, class: &str, points: &[(f64, f64, f64)]) -> Markup {
        let there = points.iter().map(|(x, _, high)| (*x, *high));
        let back = points.iter().rev().map(|(x, low, _)| (*x, *low));
        let path = self.path(there.chain(back));
        html! { @if points.len() > 1 {
            path class=(class) d={ (path) "Z" } fill="#000" fill-opacity="0.18" stroke="none" {}
        } }
    }

    /// Draws a dashed line across the field, with its name at its right end.
    pub fn limit(&self, value: f64, name: &str) -> Markup {
        if !(self.y.low()..=self.y.high()).contains(&value) {
            return html! {};
        }
        let y = self.y.at(value);
        html! {
            line.limit x1=(LEFT) x2=(RIGHT) y1=(c(y)) y2=(c(y)) stroke="#000" stroke-width="1.2" stroke-dasharray="6 4" {}
            text.label x=(RIGHT - 2.0) y=(c(y - 3.0)) text-anchor="end" fill="#000" { (name) }
        }
    }

    fn path(&self, points: impl IntoIterator<Item = (f64, f64)>) -> String {
        let mut path = String::new();
        for (x, y) in points.into_iter().filter(|(x, y)| x.is_finite() && y.is_finite()) {
            path.push(if path.is_empty() { 'M' } else { 'L' });
            path.push_str(&c(self.x.at(x)));
            path.push(' ');
            path.push_str(&c(self.y.at(y)));
        }
        path
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_axis_holds_its_ends_and_names_its_steps() {
        let axis = Axis::linear("%", -0.31, 0.42, 4);
        assert!(axis.low() <= -0.31 && axis.high() >= 0.42, "{axis:?}");
        let names: Vec<&str> = axis.ticks.iter().map(|(_, name)| name.as_str()).collect();
        assert_eq!(names, ["-0.4", "-0.2", "0", "0.2", "0.4", "0.6"]);
    }

    #[test]
    fn a_logarithmic_axis_names_its_tens() {
        let names = |axis: &Axis| axis.ticks.iter().map(|(_, name)| name.clone()).collect::<Vec<_>>();
        assert_eq!(names(&Axis::logarithmic("Hz", 0.1, 250.0)), ["0.1", "1", "10", "100"]);
        assert_eq!(names(&Axis::logarithmic("Hz", 30.0, 12_000.0)), ["100", "1k", "10k"]);
        assert_eq!(names(&Axis::logarithmic("%", 0.15, 0.9)), ["0.2", "0.5"]);
    }

    #[test]
    fn the_last_figure_of_an_axis_is_not_cut_off() {
        let drawn = within(RIGHT, "3240") + 2.0 * LETTER;
        assert!(drawn < PLOT_WIDTH, "{drawn}");
        assert_eq!(within(100.0, "3240"), 100.0);
    }

    #[test]
    fn values_that_are_none_still_give_a_frame() {
        for (low, high) in [(f64::NAN, 1.0), (0.0, f64::INFINITY), (2.0, 2.0)] {
            let frame =
                Frame::new(Axis::linear("s", low, high, 4), Axis::logarithmic("%", low, high), 0.0, 100.0);
            let drawn =
                frame.draw("test", "nothing", &frame.curve("curve", 1.0, [(low, high)])).into_string();
            assert!(!drawn.contains("NaN") && !drawn.contains("inf"), "{drawn}");
        }
    }
}
