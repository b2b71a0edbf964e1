//! Plots and drawings as SVG: scales, ticks, and one file for each kind of picture.
//!
//! Every shape carries plain presentation attributes, so that a drawing stands by itself on paper; on a page the
//! style sheet's classes overrule them and bring the dark, the daylight and the print colours. Nothing is told by
//! colour alone, and labels are set in the drawing's own units: a plot is about 360 units wide, a phone's width.

pub mod bars;
pub mod buzz;
pub mod frame;
pub mod levels;
pub mod life;
pub mod path;
pub mod plan;
pub mod proving;
pub mod response;
pub mod shapes;
pub mod spectrum;
pub mod speed;
pub mod survival;
pub mod timeline;
pub mod trend;
pub mod weights;

/// The width of a plot in its own units: about that of a phone's page, so that labels are read at their own size.
pub const PLOT_WIDTH: f64 = 360.0;

/// Maps values to places along a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// The value at the start.
    pub low: f64,
    /// The value at the end.
    pub high: f64,
    /// Where the start is drawn.
    pub from: f64,
    /// Where the end is drawn.
    pub to: f64,
}

impl Scale {
    /// Returns where a value is drawn; a span of nothing is drawn at its start.
    pub fn at(&self, value: f64) -> f64 {
        let span = self.high - self.low;
        if span.abs() < f64::EPSILON {
            return self.from;
        }
        self.from + (value - self.low) / span * (self.to - self.from)
    }
}

/// The least span that is drawn: whatever is smaller is nothing on any axis of hours, footage or chances.
const LEAST_SPAN: f64 = 1e-12;

/// Returns round numbers from nought to at least `highest`, about `wanted` steps apart of 1, 2 or 5 times a ten.
///
/// A span of nothing, or of next to nothing, gets an axis to 1.
pub fn ticks(highest: f64, wanted: u32) -> Vec<f64> {
    let highest = if highest.is_finite() && highest >= LEAST_SPAN { highest } else { 1.0 };
    let rough = highest / f64::from(wanted.max(1));
    let ten = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * ten)
        .find(|step| *step >= rough * 0.999)
        .unwrap_or(10.0 * ten);
    let count = (highest / step - 1e-9).ceil().max(1.0) as u32;
    (0..=count).map(|at| f64::from(at) * step).collect()
}

/// Returns a coordinate with at most one decimal: finer is lost on any screen and swells the page.
pub fn coordinate(value: f64) -> String {
    crate::wording::tenths(value)
}

/// Returns a picture as a drawing of its own, on white, for a file.
pub fn standalone(picture: &crate::Picture) -> String {
    let svg = picture.svg.clone().into_string();
    let on_white = match svg.find('>') {
        Some(end) => {
            format!("{}<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>{}", &svg[..=end], &svg[end + 1..])
        }
        None => svg,
    };
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{on_white}\n")
}

/// Cuts a text to so many characters, with an ellipsis if anything was lost.
pub fn shortened(text: &str, longest: usize) -> String {
    if text.chars().count() <= longest {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(longest.saturating_sub(1)).collect();
    short.truncate(short.trim_end().len());
    short.push('…');
    short
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_reach_the_highest_value() {
        assert_eq!(ticks(7.3, 4), vec![0.0, 2.0, 4.0, 6.0, 8.0]);
        assert_eq!(ticks(0.9, 3), vec![0.0, 0.5, 1.0]);
        assert_eq!(ticks(40.0, 4), vec![0.0, 10.0, 20.0, 30.0, 40.0]);
    }

    #[test]
    fn ticks_of_nothing_still_give_an_axis() {
        for bad in [0.0, -3.0, f64::NAN, f64::INFINITY] {
            let marks = ticks(bad, 4);
            assert!(marks.len() >= 2 && marks.iter().all(|mark| mark.is_finite()), "{bad}: {marks:?}");
        }
    }

    #[test]
    fn a_scale_of_no_span_does_not_divide_by_nought() {
        let scale = Scale { low: 3.0, high: 3.0, from: 10.0, to: 90.0 };
        assert_eq!(scale.at(3.0), 10.0);
    }

    #[test]
    fn a_long_label_is_cut_at_a_character_not_a_byte() {
        assert_eq!(shortened("éééé", 3), "éé…");
        assert_eq!(shortened("abc", 3), "abc");
    }
}
