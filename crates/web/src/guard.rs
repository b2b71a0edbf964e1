//! What stands between the network and the pages: who may ask, what may be sent, and what browsers may do with it.

use crate::{desk::Desk, layout, trouble::Trouble, typed, visit::Visit};
use axum::{
    extract::{Request, State},
    http::{HeaderMap, HeaderName, HeaderValue, StatusCode, Uri, header},
    middleware::Next,
    response::{IntoResponse, Response},
};
use std::sync::Arc;

/// The largest body that is taken: a photo of a phone with room to spare.
pub const LARGEST_BODY: usize = 24 * 1024 * 1024;

/// What a page may load and do (Content Security Policy Level 3): only what this server itself serves; no inline
/// script or style, no frame around it, no form that posts elsewhere.
pub const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
     img-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; \
     frame-ancestors 'none'";

/// The headers of every answer.
pub const HEADERS: [(HeaderName, &str); 6] = [
    (header::CONTENT_SECURITY_POLICY, CONTENT_SECURITY_POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (HeaderName::from_static("permissions-policy"), "camera=(self), microphone=(self), geolocation=()"),
];

/// Adds the headers of every answer.
pub async fn add_headers(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    for (name, value) in HEADERS {
        response.headers_mut().entry(name).or_insert(HeaderValue::from_static(value));
    }
    let cache = HeaderValue::from_static("private, no-cache");
    response.headers_mut().entry(header::CACHE_CONTROL).or_insert(cache);
    response
}

/// Refuses requests that name a host which is not this machine's own.
pub async fn own_host_only(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    match named_host(request.headers(), request.uri()) {
        Some(host) if is_own(&host, desk.hosts()) => next.run(request).await,
        named => {
            let named = named.unwrap_or_else(|| "no host".to_owned());
            Trouble::new(
                StatusCode::MISDIRECTED_REQUEST,
                "Wrong address",
                format!("This server was asked under the name \"{named}\", which is not its own."),
                "Use the address that the program printed when it began to serve, such as http://127.0.0.1:8016.",
            )
            .into_response()
        }
    }
}

/// Returns the host that a request names, without the port.
fn named_host(headers: &HeaderMap, uri: &Uri) -> Option<String> {
    let authority = match uri.authority() {
        Some(authority) => authority.as_str(),
        None => headers.get(header::HOST)?.to_str().ok()?,
    };
    let host = match authority.rsplit_once(':') {
        Some((host, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) => host,
        _ => authority,
    };
    Some(host.trim_end_matches('.').to_ascii_lowercase())
}

/// Returns whether a host is a loopback name (RFC 6761, section 6.3; RFC 1122, section 3.2.1.3) or one of those given.
fn is_own(host: &str, further: &[String]) -> bool {
    matches!(host, "localhost" | "127.0.0.1" | "[::1]")
        || further.iter().any(|own| own.eq_ignore_ascii_case(host))
}

/// Turns whatever went wrong further in into a page, or into JSON for a script.
pub async fn show_trouble(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    let asked = parts.clone();
    let mut response = next.run(Request::from_parts(parts, body)).await;
    let Some(trouble) = response.extensions_mut().remove::<Trouble>().or_else(|| plain_trouble(&response))
    else {
        return response;
    };
    if wants_json(&asked.headers) {
        return layout::trouble_as_json(&trouble);
    }
    // Whoever asks under a foreign name learns nothing of the booth, not even what it is called.
    let is_foreign = trouble.status == StatusCode::MISDIRECTED_REQUEST;
    let page = tokio::task::spawn_blocking(move || {
        let visit = if is_foreign { None } else { Visit::of(&desk, &asked).ok() };
        layout::trouble_page(visit.as_ref(), &trouble)
    });
    page.await.unwrap_or_else(|_| StatusCode::INTERNAL_SERVER_ERROR.into_response())
}

fn wants_json(headers: &HeaderMap) -> bool {
    headers
        .get(header::ACCEPT)
        .and_then(|accept| accept.to_str().ok())
        .is_some_and(|accept| accept.contains("application/json"))
}

/// Words for the refusals of layers that know no pages.
fn plain_trouble(response: &Response) -> Option<Trouble> {
    let status = response.status();
    let is_page = response.headers().get(header::CONTENT_TYPE).is_some_and(|kind| {
        kind.as_bytes().starts_with(b"text/html") || kind.as_bytes().starts_with(b"application/json")
    });
    if is_page || !(status.is_client_error() || status.is_server_error()) {
        return None;
    }
    Some(match status {
        StatusCode::FORBIDDEN => Trouble::new(
            status,
            "Refused",
            "This was sent by a page of another site, so nothing was written.",
            "Open the page here and send it from there.",
        ),
        StatusCode::METHOD_NOT_ALLOWED => Trouble::new(
            status,
            "Not possible here",
            "This address cannot be used in that way.",
            "Open the page first and use its form.",
        ),
        StatusCode::PAYLOAD_TOO_LARGE => typed::too_large(),
        StatusCode::NOT_FOUND => Trouble::not_found("There is no page at this address.", "Go on from here."),
        _ => Trouble::new(status, "This did not work", status.to_string(), "Go back and try again."),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn host_of(header: &'static str) -> Option<String> {
        let mut headers = HeaderMap::new();
        headers.insert(header::HOST, HeaderValue::from_static(header));
        named_host(&headers, &Uri::from_static("/due"))
    }

    #[test]
    fn loopback_names_are_own_with_any_port() {
        for host in ["localhost", "localhost:8016", "127.0.0.1:80", "[::1]:8016", "LOCALHOST.:1"] {
            assert!(is_own(&host_of(host).unwrap(), &[]), "{host}");
        }
    }

    #[test]
    fn other_names_are_not_own_unless_given() {
        for host in
            ["evil.example", "localhost.evil.example:8016", "127.0.0.1.evil.example", "10.0.0.7", "", ":8016"]
        {
            assert!(!is_own(&host_of(host).unwrap(), &[]), "{host}");
        }
        assert!(is_own(&host_of("booth.local:8016").unwrap(), &["booth.local".to_owned()]));
    }

    #[test]
    fn no_host_is_nobody() {
        assert_eq!(named_host(&HeaderMap::new(), &Uri::from_static("/")), None);
    }
}
