//! One request's surroundings: the booth as it stands, the theme, who writes, and the time.

use crate::{
    desk::{Desk, Folded},
    trouble::Trouble,
};
use axum::{
    extract::FromRequestParts,
    http::{HeaderMap, header, request::Parts},
};
use booth::{KeptBeliefs, Present};
use jiff::{ZonedDateTime, civil::Date};
use logbook::{Booth, EntryId, PersonId};
use machine::Library;
use std::sync::Arc;
use units::civil::Evening;

/// The inks of a page.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Theme {
    /// Near-black with warm ink, for the booth.
    #[default]
    Dark,
    /// For the workshop by day.
    Daylight,
}

impl Theme {
    /// Returns its name in cookies and style sheets.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dark => "dark",
            Self::Daylight => "daylight",
        }
    }

    /// Returns the other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Dark => Self::Daylight,
            Self::Daylight => Self::Dark,
        }
    }
}

/// The cookie that keeps the theme.
pub const THEME_COOKIE: &str = "theme";
/// The cookie that keeps who wrote last from this browser.
pub const WRITER_COOKIE: &str = "writer";

/// What every page knows of the request that asked for it.
pub struct Visit {
    /// The desk.
    pub desk: Arc<Desk>,
    /// The booth as it stands.
    pub folded: Arc<Folded>,
    /// The inks.
    pub theme: Theme,
    /// Who wrote last from this browser, if the booth knows the person.
    pub writer: Option<PersonId>,
    /// The time on the booth's clock.
    pub now: ZonedDateTime,
    /// The path and query of the request.
    pub address: String,
    /// The entry that was just written, if this page follows one.
    pub written: Option<EntryId>,
}

impl Visit {
    /// Gathers a request's surroundings.
    pub fn of(desk: &Arc<Desk>, parts: &Parts) -> Result<Self, Trouble> {
        let folded = desk.folded()?;
        let theme = match cookie(&parts.headers, THEME_COOKIE).as_deref() {
            Some("daylight") => Theme::Daylight,
            _ => Theme::Dark,
        };
        let writer = cookie(&parts.headers, WRITER_COOKIE)
            .filter(|name| folded.booth.people.contains_key(name.as_str()))
            .map(PersonId::new);
        let now = desk.now(&folded.booth);
        let address = parts.uri.path_and_query().map_or("/", |whole| whole.as_str()).to_owned();
        let written = query_value(parts.uri.query().unwrap_or(""), "written");
        let written = written.and_then(|id| id.parse().ok());
        Ok(Self { desk: Arc::clone(desk), folded, theme, writer, now, address, written })
    }

    /// Returns the booth.
    pub fn booth(&self) -> &Booth {
        &self.folded.booth
    }

    /// Returns the machine types.
    pub fn library(&self) -> &Library {
        self.desk.library()
    }

    /// Returns the booth at the moment of the request, with what was found in it for earlier ones.
    pub fn present(&self) -> Present<'_> {
        Present::with(self.booth(), Arc::clone(&self.folded.register), self.library(), &self.now)
    }

    /// Returns the beliefs about parts that were worked out so far.
    pub fn beliefs(&self) -> &KeptBeliefs {
        self.desk.beliefs()
    }

    /// Returns the date of the evening that it is: before the night ends it is still the day before.
    pub fn today(&self) -> Date {
        Evening::of(self.now.datetime(), self.booth().settings.night_ends).date()
    }

    /// Returns who writes: the last writer of this browser, else the first keeper, else the first person.
    pub fn probable_writer(&self) -> Option<PersonId> {
        let keeper = || {
            let people = &self.booth().people;
            people
                .iter()
                .find(|(_, person)| person.role == logbook::fact::Role::Keeper)
                .or_else(|| people.iter().next())
                .map(|(id, _)| id.clone())
        };
        self.writer.clone().or_else(keeper)
    }
}

impl FromRequestParts<Arc<Desk>> for Visit {
    type Rejection = Trouble;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Trouble> {
        let (desk, copy) = (Arc::clone(desk), parts.clone());
        // Folding a big logbook takes a while and reads the disk: not on a thread that serves others.
        tokio::task::spawn_blocking(move || Self::of(&desk, &copy)).await.unwrap_or_else(|_| {
            Err(Trouble::new(
                axum::http::StatusCode::INTERNAL_SERVER_ERROR,
                "Something broke",
                "The logbook could not be read for this page.",
                "Try again; if it happens again, check the logbook with `boothwright logbook verify`.",
            ))
        })
    }
}

/// Returns a cookie's value, if it is a plain name.
fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|line| line.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(key, _)| *key == name)
        .map(|(_, value)| crate::typed::unescaped(value))
}

/// Returns the first value of a name in a query.
pub fn query_value(query: &str, name: &str) -> Option<String> {
    crate::typed::Typed::from_query(query).get(name).map(str::to_owned)
}
