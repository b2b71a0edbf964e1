//! Dark or daylight.

use crate::{
    trouble::{Answered, Trouble},
    typed::Posted,
    visit::THEME_COOKIE,
    write::is_own_path,
};
use axum::{
    http::{HeaderValue, header},
    response::{IntoResponse, Redirect},
};

/// Switches the inks of this browser and goes back to the page.
pub async fn switch(posted: Posted) -> Answered {
    let to = match posted.typed.get("to") {
        Some("dark") => "dark",
        Some("daylight") => "daylight",
        _ => return Err(Trouble::not_understood("There are two themes.", "Choose dark or daylight.")),
    };
    let back = posted.typed.get("back").filter(|back| is_own_path(back)).unwrap_or("/");
    let mut response = Redirect::to(back).into_response();
    let cookie = format!("{THEME_COOKIE}={to}; Path=/; Max-Age=31536000; SameSite=Strict; HttpOnly");
    if let Ok(cookie) = HeaderValue::from_str(&cookie) {
        response.headers_mut().append(header::SET_COOKIE, cookie);
    }
    Ok(response)
}
