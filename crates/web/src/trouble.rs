//! What went wrong, as a page: what it was, what would be right, and ways on.

use axum::{
    http::StatusCode,
    response::{IntoResponse, Response},
};
use store::StoreError;

/// Why a request could not be answered as asked.
///
/// It travels as an extension of an otherwise empty response; [`crate::guard::show_trouble`] makes the page of it, for
/// only there theme and booth are known.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Trouble {
    /// The status of the answer.
    pub status: StatusCode,
    /// What it is, in a few words.
    pub title: String,
    /// What was wrong.
    pub what: String,
    /// What would be right, or what to do now.
    pub would_be_right: String,
    /// Ways on: address and words.
    pub ways: Vec<(String, String)>,
}

impl Trouble {
    /// Makes a trouble; the way to Tonight is always offered.
    pub fn new(
        status: StatusCode,
        title: impl Into<String>,
        what: impl Into<String>,
        would_be_right: impl Into<String>,
    ) -> Self {
        Self {
            status,
            title: title.into(),
            what: what.into(),
            would_be_right: would_be_right.into(),
            ways: Vec::new(),
        }
    }

    /// Adds a way on.
    #[must_use]
    pub fn way(mut self, href: impl Into<String>, words: impl Into<String>) -> Self {
        self.ways.push((href.into(), words.into()));
        self
    }

    /// Something named in the address is not there.
    pub fn not_found(what: impl Into<String>, would_be_right: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, "Not found", what, would_be_right)
    }

    /// The request cannot be understood.
    pub fn not_understood(what: impl Into<String>, would_be_right: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, "Not understood", what, would_be_right)
    }

    /// No machine of this name.
    pub fn no_machine(machine: &str) -> Self {
        Self::not_found(
            format!("There is no machine \"{machine}\" in this booth."),
            "Choose one of the booth's machines, or add it.",
        )
        .way("/machines", "Machines")
    }
}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Self {
        tracing::error!(%error, "the logbook could not be used");
        let status = match error {
            StoreError::SaysOtherwise { .. } => StatusCode::CONFLICT,
            StoreError::AttachmentTooLarge { .. } => StatusCode::PAYLOAD_TOO_LARGE,
            StoreError::NoAttachment { .. } | StoreError::BadAttachmentId { .. } => StatusCode::NOT_FOUND,
            StoreError::Busy { .. } => StatusCode::SERVICE_UNAVAILABLE,
            StoreError::DiskFull { .. } => StatusCode::INSUFFICIENT_STORAGE,
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        };
        let words = error.to_string();
        let (what, right) = words.split_once("; ").unwrap_or((&words, "Try again"));
        Self::new(status, "The logbook could not do this", sentence(what), sentence(right))
    }
}

/// Makes a sentence of an error's words: a capital in front, a full stop at the end.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    let end = if words.ends_with('.') { "" } else { "." };
    format!("{first}{}{end}", letters.as_str())
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        let mut response = self.status.into_response();
        response.extensions_mut().insert(self);
        response
    }
}

/// What a page's handler returns.
pub type Answered = Result<Response, Trouble>;
