//! What a person typed into a form: names and values, and files, as they came.

use crate::{desk::Desk, trouble::Trouble};
use axum::{
    RequestExt,
    extract::{FromRequest, Multipart, Request},
    http::{HeaderMap, StatusCode, header},
};
use std::sync::Arc;

/// Names and values in the order in which they came; a name may come more than once.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Typed(Vec<(String, String)>);

impl Typed {
    /// Reads a query or a urlencoded body (WHATWG URL, application/x-www-form-urlencoded).
    pub fn from_query(query: &str) -> Self {
        let pairs = query.split('&').filter(|pair| !pair.is_empty()).map(|pair| {
            let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
            (unescaped(&name.replace('+', " ")), unescaped(&value.replace('+', " ")))
        });
        Self(pairs.collect())
    }

    /// Returns the first value of a name that is not empty, trimmed.
    pub fn get(&self, name: &str) -> Option<&str> {
        let mut values = self.0.iter().filter(|(key, _)| key == name).map(|(_, value)| value.trim());
        values.find(|value| !value.is_empty())
    }

    /// Returns the first value of a name as it came.
    pub fn raw(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// Returns all values of a name that are not empty.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.0.iter().filter(move |(key, _)| key == name).map(|(_, v)| v.trim()).filter(|v| !v.is_empty())
    }

    /// Adds a value.
    pub fn push(&mut self, name: impl Into<String>, value: impl Into<String>) {
        self.0.push((name.into(), value.into()));
    }

    /// Sets a value if the name has none yet.
    pub fn set_if_missing(&mut self, name: &str, value: impl FnOnce() -> String) {
        if self.raw(name).is_none() {
            self.push(name, value());
        }
    }

    /// Writes all pairs but those of one name as a query, to be put behind another one: each begins with `&`.
    pub fn as_query_without(&self, name: &str) -> String {
        let mut query = String::new();
        for (key, value) in self.0.iter().filter(|(key, value)| key != name && !value.is_empty()) {
            query.push('&');
            query.push_str(&views::address::escaped(key));
            query.push('=');
            query.push_str(&views::address::escaped(value));
        }
        query
    }
}

/// A file that came with a form.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Upload {
    /// The field.
    pub field: String,
    /// The bytes.
    pub bytes: axum::body::Bytes,
}

/// A posted form with its files, whether it came urlencoded or as multipart.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Posted {
    /// What was typed.
    pub typed: Typed,
    /// The files; empty ones are left out.
    pub uploads: Vec<Upload>,
    /// A script sent it and wants JSON back.
    pub wants_json: bool,
}

impl FromRequest<Arc<Desk>> for Posted {
    type Rejection = Trouble;

    async fn from_request(request: Request, _: &Arc<Desk>) -> Result<Self, Trouble> {
        let wants_json = names(request.headers(), &header::ACCEPT, "application/json");
        let is_multipart = names(request.headers(), &header::CONTENT_TYPE, "multipart/form-data");
        let is_urlencoded =
            names(request.headers(), &header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        if is_multipart {
            let multipart = request.extract::<Multipart, _>().await.map_err(|error| {
                Trouble::not_understood(error.body_text(), "Send the form again from its page.")
            })?;
            return read_multipart(multipart, wants_json).await;
        }
        if !is_urlencoded {
            return Err(Trouble::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "Not a form",
                "What was sent is not a form.",
                "Send it as application/x-www-form-urlencoded or multipart/form-data.",
            ));
        }
        let body: String =
            request.extract().await.map_err(|error: axum::extract::rejection::StringRejection| {
                body_trouble(error.status(), &error.body_text())
            })?;
        Ok(Self { typed: Typed::from_query(&body), uploads: Vec::new(), wants_json })
    }
}

/// Returns whether a header's value has a part.
fn names(headers: &HeaderMap, name: &header::HeaderName, part: &str) -> bool {
    headers.get(name).and_then(|value| value.to_str().ok()).is_some_and(|value| value.contains(part))
}

async fn read_multipart(mut multipart: Multipart, wants_json: bool) -> Result<Posted, Trouble> {
    let mut posted = Posted { wants_json, ..Posted::default() };
    let trouble =
        |error: axum::extract::multipart::MultipartError| body_trouble(error.status(), &error.body_text());
    while let Some(field) = multipart.next_field().await.map_err(trouble)? {
        let name = field.name().unwrap_or_default().to_owned();
        if field.file_name().is_some() {
            let bytes = field.bytes().await.map_err(trouble)?;
            if !bytes.is_empty() {
                posted.uploads.push(Upload { field: name, bytes });
            }
        } else {
            let value = field.text().await.map_err(trouble)?;
            posted.typed.push(name, value);
        }
    }
    Ok(posted)
}

fn body_trouble(status: StatusCode, what: &str) -> Trouble {
    if status == StatusCode::PAYLOAD_TOO_LARGE {
        return too_large();
    }
    Trouble::not_understood(format!("{what}."), "Go back and send the form again.")
}

/// What was sent is larger than this server takes.
pub fn too_large() -> Trouble {
    Trouble::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        "Too large",
        "What was sent is larger than this server takes.",
        "Take a smaller photo (under 24 MB) or a shorter note, and send it again.",
    )
}

/// Undoes percent-escapes; what is not UTF-8 is replaced.
pub fn unescaped(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while let Some(&byte) = bytes.get(at) {
        let escaped = (byte == b'%')
            .then(|| text.get(at + 1..at + 3).and_then(|digits| u8::from_str_radix(digits, 16).ok()))
            .flatten();
        out.push(escaped.unwrap_or(byte));
        at += if escaped.is_some() { 3 } else { 1 };
    }
    String::from_utf8_lossy(&out).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_urlencoded_body_is_read_as_the_standard_says() {
        let typed = Typed::from_query("a=1+2&b=%C3%A9&a=&empty&c=x%3Dy&bad=%zz%4");
        assert_eq!(typed.raw("a"), Some("1 2"));
        assert_eq!(typed.all("a").collect::<Vec<_>>(), ["1 2"]);
        assert_eq!(typed.get("b"), Some("é"));
        assert_eq!(typed.get("empty"), None);
        assert_eq!(typed.get("c"), Some("x=y"));
        assert_eq!(typed.get("bad"), Some("%zz%4"));
    }

    #[test]
    fn what_is_escaped_for_an_address_is_read_back() {
        for text in ["gate & claw", "50 %", "+é/?#", "日本"] {
            assert_eq!(unescaped(&views::address::escaped(text)), text);
        }
    }
}
