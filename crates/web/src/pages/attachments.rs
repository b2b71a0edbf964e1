//! Photos and recordings: kept as they came, served only as what they are.

use crate::{
    desk::Desk,
    trouble::{Answered, Trouble},
    write::{self, NotWritten},
};
use axum::{
    body::Bytes,
    extract::{Path, State},
    http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header},
    response::IntoResponse,
};
use std::sync::Arc;
use store::{AttachmentId, MediaType};

/// Takes one photo as the bare body, sent ahead of the entry that will name it, and answers with its name.
pub async fn take(State(desk): State<Arc<Desk>>, headers: HeaderMap, body: Bytes) -> Answered {
    let declared = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or("");
    if !declared.starts_with("image/") && declared != "application/octet-stream" {
        return Err(Trouble::new(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "Not a photo",
            "What was sent is not a photo.",
            "Send a JPEG, PNG, WebP or HEIC file as the body.",
        ));
    }
    let name = write::blocking(move || write::keep_photo(&desk, &body)).await.map_err(|not_written| {
        match not_written {
            NotWritten::Trouble(trouble) => *trouble,
            NotWritten::Problems(problems) => {
                let words = problems.first().map_or("", |problem| problem.words.as_str());
                Trouble::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "Not a photo", words, "Choose another file.")
            }
        }
    })?;
    let body = serde_json::json!({ "attachment": name }).to_string();
    Ok((StatusCode::CREATED, [(header::CONTENT_TYPE, "application/json")], body).into_response())
}

/// Serves an attachment. Only pictures are shown in the browser; all else is handed over as a file.
pub async fn show(State(desk): State<Arc<Desk>>, Path(name): Path<String>) -> Answered {
    let id: AttachmentId = name.parse()?;
    let (bytes, media) = tokio::task::spawn_blocking(move || {
        let media = desk.attachments().describe(id)?.media;
        Ok::<_, store::StoreError>((desk.attachments().get(id)?, media))
    })
    .await
    .map_err(|_| Trouble::not_found("The attachment could not be read.", "Try again."))??;
    Ok((headers_of(media, &name), bytes).into_response())
}

fn headers_of(media: MediaType, name: &str) -> HeaderMap {
    let shown = if media.is_picture() { "inline" } else { "attachment" };
    let mut headers = HeaderMap::new();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(media.as_str()));
    if let Ok(disposition) = HeaderValue::from_str(&format!("{shown}; filename=\"{name}\"")) {
        headers.insert(header::CONTENT_DISPOSITION, disposition);
    }
    // A name is the hash of its bytes: what it names never changes.
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("private, max-age=31536000, immutable"));
    let policy = HeaderName::from_static("content-security-policy");
    headers.insert(policy, HeaderValue::from_static("default-src 'none'; sandbox; frame-ancestors 'none'"));
    headers
}
