//! The rules of thumb of the outlook, each with its source, in one place.

use crate::answer::COMMON_PRACTICE;

/// The source tag of a figure that we chose.
pub(super) const OUR_CHOICE: &str = "our choice, no source";

/// Stoppages that no part explains: one in so many showings, before the booth has a record of its own.
pub(super) const UNEXPLAINED_ONE_IN: f64 = 100.0;
/// How long such a stoppage lasts, in seconds, before the booth has a record of its own.
pub(super) const UNEXPLAINED_SECONDS: f64 = 120.0;
/// A fault that stands open strikes in one showing of so many.
pub const OPEN_FAULT_ONE_IN: f64 = 20.0;
/// Care that is overdue multiplies the hazard of its parts by this.
pub const OVERDUE_HAZARD_TIMES: f64 = 2.0;
/// To strike a lamp once in a rehearsal takes so many minutes.
pub const STRIKE_REHEARSAL_MINUTES: f64 = 3.0;
/// To fetch a spare from a machine that stays at home and lay it ready takes so many minutes.
pub const FETCH_MINUTES: f64 = 2.0;
/// To set up and thread a second machine takes so many minutes.
pub const STANDBY_MINUTES: f64 = 25.0;
/// Where another machine stands threaded, it takes over within so many minutes.
pub const COVER_PAUSE_MINUTES: f64 = 5.0;

/// The rules in words.
pub(super) const ALL: &[(&str, &str)] = &[
    (
        "one stoppage in 100 showings has no part to blame, until the booth's own record says otherwise",
        COMMON_PRACTICE,
    ),
    ("a fault that stands open strikes in about 1 of 20 showings", OUR_CHOICE),
    ("overdue care doubles the hazard of its parts", COMMON_PRACTICE),
    (
        "a lost showing counts for what is left of it: all from the strike, half from any moment after",
        OUR_CHOICE,
    ),
    ("where another machine stands threaded, it takes over within 5 min", COMMON_PRACTICE),
];
