//! What a minute of dark screen is worth to the owner, asked for with a question that is asked again.

use crate::typed::Typed;
use booth::parts_lives::{DARK_MINUTE_WORTH, read_dark_minute};
use maud::{Markup, html};

/// What a minute of dark screen is worth in minutes of work.
pub struct DarkMinute {
    /// What was asked for; what is usual where nothing was, or nothing that can be read.
    pub worth: f64,
    refusal: Option<&'static str>,
}

impl DarkMinute {
    /// How the field is called in an address.
    pub const KEY: &'static str = "dark";

    /// Reads what was typed.
    pub fn of(typed: &Typed) -> Self {
        match typed.get(Self::KEY).map(read_dark_minute) {
            None => Self { worth: DARK_MINUTE_WORTH, refusal: None },
            Some(Ok(worth)) => Self { worth, refusal: None },
            Some(Err(_)) => Self {
                worth: DARK_MINUTE_WORTH,
                refusal: Some("Write minutes of work from 0.1 to 1000, such as 10."),
            },
        }
    }

    /// The field, with what is wrong about what was typed.
    pub fn field(&self) -> Markup {
        html! {
            label for="dark" { "A minute of dark screen is worth so many minutes of work" }
            input #dark name=(Self::KEY) inputmode="decimal" value=(self.worth)
                aria-describedby=[self.refusal.map(|_| "dark-refused")];
            @if let Some(refusal) = self.refusal { p.problem #dark-refused { (refusal) } }
        }
    }
}
