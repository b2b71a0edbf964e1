//! The rules of thumb of the outlook, each with its source, in one place.

use crate::answer::COMMON_PRACTICE;

/// The source tag of a figure that we chose.
pub(super) const OUR_CHOICE: &str = "our choice, no source";

/// Stoppages that no part explains: one in so many showings, before the booth has a record of its own.
pub(super) const UNEXPLAINED_ONE_IN: f64 = 100.0;
/// How long such a stoppage lasts, in seconds, before the booth has a record of its own.
pub(super) const UNEXPLAINED_SECONDS: f64 = 120.0;
/// A part that was fitted or moved is left loose once in so many, before the booth has a record of its own.
pub(super) const LOOSE_ONE_IN: f64 = 100.0;
/// A fault that stands open and was met in words only strikes in one showing of so many.
pub const OPEN_FAULT_ONE_IN: f64 = 20.0;
/// A fault that stops a show, and was not mended, comes back in one showing of so many, until showings without it say
/// otherwise.
pub const STOPPING_FAULT_ONE_IN: f64 = 2.0;
/// A machine of which a reading is past the limit beyond which no film is to run stops one showing in so many, until
/// showings without it say otherwise.
pub const PAST_LIMIT_ONE_IN: f64 = 10.0;
/// A film break that is met in hand takes so long: 2 to 4 min for a practised operator.
pub(super) const FILM_BREAK_SECONDS: f64 = 180.0;
/// A loop lost at torn perforations takes so long: the restorer does it, or both loops are made anew.
pub(super) const LOST_LOOP_SECONDS: f64 = 30.0;
/// To mend a place on a print takes so many minutes …
pub(super) const MEND_PLACE_MINUTES: f64 = 4.0;
/// … and to wind to the places of a reel and back, so many.
pub(super) const WIND_TO_PLACES_MINUTES: f64 = 6.0;
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
    (
        "a part that was just fitted is left loose once in 100 times, until the booth's own record says otherwise; a run without an audience shows it",
        OUR_CHOICE,
    ),
    (
        "an open fault that stops a show comes back in 1 of 2 showings, and one met in words only in 1 of 20, until showings since say otherwise; one for which nobody would stop is no stoppage",
        OUR_CHOICE,
    ),
    (
        "a machine of which a reading is past the limit beyond which no film is to run stops 1 showing in 10, until showings since say otherwise; before that limit the trend says how likely it is passed by the end",
        OUR_CHOICE,
    ),
    (
        "a doubtful splice or a tear parts in 1 of 60 passes, three torn perforations lose the loop of a one-tooth claw in 1 of 8; more on shrunken film",
        COMMON_PRACTICE,
    ),
    ("a film break takes 3 min, a lost loop half a minute", COMMON_PRACTICE),
    ("overdue care doubles the hazard of its parts", COMMON_PRACTICE),
    (
        "a lost showing counts for what is left of it: all from the strike, half from any moment after",
        OUR_CHOICE,
    ),
    ("where another machine stands threaded, it takes over within 5 min", COMMON_PRACTICE),
];
