//! Style, script and icon, built into the program: nothing is ever loaded from elsewhere.

use crate::trouble::{Answered, Trouble};
use axum::{
    extract::Path,
    http::{HeaderMap, StatusCode, header},
    response::IntoResponse,
};
use rust_embed::RustEmbed;

#[derive(RustEmbed)]
#[folder = "$CARGO_MANIFEST_DIR/assets"]
struct Assets;

/// Serves one file of the assets; a browser that has it already is told so.
pub async fn serve(Path(name): Path<String>, headers: HeaderMap) -> Answered {
    let file = Assets::get(&name).ok_or_else(|| {
        Trouble::not_found(format!("There is no file \"{name}\" here."), "Go on from here.")
    })?;
    let tag = format!("\"{}\"", short_hex(&file.metadata.sha256_hash()));
    if headers.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes()) {
        return Ok((StatusCode::NOT_MODIFIED, [(header::ETAG, tag)]).into_response());
    }
    let kind = file.metadata.mimetype().to_owned();
    let headers = [(header::CONTENT_TYPE, kind), (header::ETAG, tag)];
    Ok((headers, file.data.into_owned()).into_response())
}

/// The first bytes of a hash as hex: enough to tell two editions of a file apart.
fn short_hex(hash: &[u8; 32]) -> String {
    store::hex(hash).chars().take(24).collect()
}
