#![doc = include_str!("../README.md")]

mod aside;
mod assets;
mod dark_minute;
mod desk;
mod fields;
mod forms;
mod guard;
mod layout;
mod pages;
mod recent;
mod serve;
mod trouble;
mod typed;
mod visit;
mod write;

pub use desk::{Clock, Desk};
pub use guard::{CONTENT_SECURITY_POLICY, LARGEST_BODY};
pub use serve::{Limits, serve, serve_within};

use axum::{
    Router,
    extract::DefaultBodyLimit,
    middleware,
    routing::{MethodRouter, get, post},
};
use std::sync::Arc;
use tower_http::csrf::CsrfLayer;

/// Returns the pages over a desk.
///
/// From the outside in: headers of every answer, troubles made into pages, each request answered on a thread of its
/// own, requests under foreign names refused, posts from foreign pages refused, bodies limited.
pub fn router(desk: Arc<Desk>) -> Router {
    use pages as page;
    Router::new()
        .route("/", get(page::tonight::show))
        .route("/path", get(page::film_path::choose))
        .route("/due", get(page::due::show))
        .route("/more", get(page::about::more))
        .route("/about", get(page::about::show))
        .route("/theme", post(page::theme::switch))
        .route("/first-run", get(page::first_run::show).post(page::first_run::take))
        .route("/machines", get(page::machines::show))
        .route("/machines/{machine}", get(page::machine::show))
        .route("/machines/{machine}/path", get(page::film_path::show))
        .route("/machines/{machine}/path/{slot}", get(page::part::show))
        .route("/machines/{machine}/walk", get(page::walk::show).post(page::walk::take))
        .route("/machines/{machine}/trend", get(page::sound_trend::choose))
        .route("/machines/{machine}/trend/{quantity}", get(page::sound_trend::show))
        .route("/machines/{machine}/trend/{quantity}/figures", get(page::sound_trend::figures))
        .route("/sound", get(page::sound::show).merge(recordings_in()))
        .route("/sound/recordings/{recording}", get(page::sound_result::show))
        .route("/sound/recordings/{recording}/figures", get(page::sound_result::figures))
        .route("/sound/recordings/{recording}/write", post(page::sound_result::write))
        .route("/diary", get(page::diary::show))
        .route("/diary/new", get(page::diary::new).post(page::diary::take_new))
        .route("/diary/{showing}", get(page::showing::show))
        .route("/diary/{showing}/outlook", get(page::outlook::show))
        .route("/diary/{showing}/show", get(page::show::show).post(page::show_tap::take))
        .route("/diary/{showing}/show/state", get(page::show::figures))
        .route("/diary/{showing}/show/undo", post(page::show_tap::undo))
        .route("/diary/{showing}/show/report", get(page::show::report))
        .route("/programmes", get(page::programmes::list))
        .route("/programmes/figures", get(page::programmes::figures))
        .route("/calculators", get(page::calculators::list))
        .route("/calculators/{sum}", get(page::calculators::show))
        .route("/calculators/{sum}/figures", get(page::calculators::figures))
        .route("/programmes/{programme}", get(page::programmes::show).post(page::programmes::take))
        .route("/diary/{showing}/{deed}", get(page::showing::form).post(page::showing::take))
        .route("/faults", get(page::fault::list))
        .route("/faults/new", get(page::fault::start).post(page::fault::open))
        .route("/faults/{fault}", get(page::fault_case::show).post(page::fault_deed::take))
        .route("/faults/{fault}/request", get(page::fault_request::show))
        .route("/plan", get(page::plan::show))
        .route("/plan/pins", post(page::plan::pin))
        .route("/plan/files/{name}", get(page::plan::file))
        .route("/prints", get(page::prints::list))
        .route("/prints/{print}", get(page::prints::show))
        .route("/prints/{print}/report", get(page::prints::report))
        .route("/prints/{print}/handled", get(page::prints::handled).post(page::prints::take_handled))
        .route("/prints/{print}/reels/{reel}", get(page::print_bench::show).post(page::print_bench::take))
        .route("/halls", get(page::hall::choose))
        .route("/halls/figures", get(page::hall::figures))
        .route("/halls/{place}", get(page::hall::show).post(page::hall::take))
        .route("/stores", get(page::stores::show))
        .route("/shopping", get(page::stores::shopping))
        .route("/shopping.csv", get(page::stores::shopping_csv))
        .route("/stores/{item}", get(page::stores::item))
        .route("/lives", get(page::lives::show))
        .route("/lives/{type}/{slot}", get(page::lives::part))
        .route("/log", get(page::log::choose))
        .route("/log/{kind}", get(page::log::show).post(page::log::take))
        .route("/logbook", get(page::logbook::show))
        .route("/logbook/{entry}", get(page::entry::show))
        .route("/logbook/{entry}/correct", get(page::correct::show).post(page::correct::take))
        .route("/logbook/{entry}/withdraw", post(page::correct::withdraw))
        .route("/attachments", post(page::attachments::take))
        .route("/attachments/{name}", get(page::attachments::show))
        .route("/assets/{name}", get(assets::serve))
        .fallback(page::about::nothing_here)
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(CsrfLayer::new())
        .layer(middleware::from_fn_with_state(Arc::clone(&desk), guard::own_host_only))
        .layer(middleware::from_fn(aside::answer))
        .layer(middleware::from_fn_with_state(Arc::clone(&desk), guard::show_trouble))
        .layer(middleware::from_fn(guard::add_headers))
        .with_state(desk)
}

/// Where recordings come in: they are larger than anything else and never whole in memory.
fn recordings_in() -> MethodRouter<Arc<Desk>> {
    post(pages::sound::take).layer(DefaultBodyLimit::max(pages::sound::LARGEST_RECORDING))
}
