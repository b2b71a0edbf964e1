//! Every request is answered on a thread of its own, so that no page that takes long or breaks takes others with it.

use crate::trouble::Trouble;
use axum::{
    extract::Request,
    http::{Method, StatusCode},
    middleware::Next,
    response::{IntoResponse, Response},
};
use std::time::Duration;
use tokio::{runtime::Handle, task, time};

/// So long a page may be reckoned; the largest booth that is measured takes a tenth of a second for its slowest one.
const LONGEST: Duration = Duration::from_mins(1);

/// Answers aside from the threads that take requests in; a panic becomes a trouble in words.
pub async fn answer(request: Request, next: Next) -> Response {
    answer_within(LONGEST, request, next).await
}

async fn answer_within(longest: Duration, request: Request, next: Next) -> Response {
    // What is sent may take as long as the sender keeps sending; what is only asked for may not.
    let only_asks = matches!(*request.method(), Method::GET | Method::HEAD);
    let here = Handle::current();
    let answered = task::spawn_blocking(move || here.block_on(next.run(request)));
    let answered = if only_asks {
        match time::timeout(longest, answered).await {
            Ok(answered) => answered,
            Err(_) => return too_long().into_response(),
        }
    } else {
        answered.await
    };
    answered.unwrap_or_else(|_| broke().into_response())
}

fn broke() -> Trouble {
    with_ways(Trouble::new(
        StatusCode::INTERNAL_SERVER_ERROR,
        "Something broke",
        "This page could not be worked out: that is a fault of the program, not yours.",
        "The logbook is whole; what the program said on its terminal helps to mend it. Other pages go on.",
    ))
}

fn too_long() -> Trouble {
    with_ways(Trouble::new(
        StatusCode::SERVICE_UNAVAILABLE,
        "It took too long",
        format!("This page was not worked out within {} seconds.", LONGEST.as_secs()),
        "Other pages go on. What was written last may be the reason: look at it in the logbook.",
    ))
}

fn with_ways(trouble: Trouble) -> Trouble {
    trouble.way("/logbook", "Logbook").way("/diary", "Diary").way("/machines", "Machines")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]

    use super::*;
    use axum::{Router, body::Body, middleware, routing::get};
    use tower::ServiceExt;

    async fn breaks() -> &'static str {
        panic!("a page that breaks, on purpose")
    }

    fn router() -> Router {
        let within = |request: Request, next: Next| answer_within(Duration::from_millis(1500), request, next);
        Router::new()
            .route("/breaks", get(breaks))
            .route(
                "/hangs",
                get(|| async { std::thread::sleep(Duration::from_secs(4)) })
                    .post(|| async { std::thread::sleep(Duration::from_secs(2)) }),
            )
            .route("/well", get(|| async { "well" }))
            .layer(middleware::from_fn(within))
    }

    async fn asked(router: &Router, request: Request) -> (StatusCode, Option<Trouble>) {
        let mut response = router.clone().oneshot(request).await.unwrap();
        (response.status(), response.extensions_mut().remove())
    }

    fn page(path: &str) -> Request {
        Request::get(path).body(Body::empty()).unwrap()
    }

    #[tokio::test]
    async fn a_page_that_breaks_or_hangs_is_told_in_words_and_others_go_on() {
        let router = router();
        let (status, trouble) = asked(&router, page("/breaks")).await;
        assert_eq!(
            (status, trouble.unwrap().title.as_str()),
            (StatusCode::INTERNAL_SERVER_ERROR, "Something broke")
        );
        let (hangs, well) = tokio::join!(asked(&router, page("/hangs")), asked(&router, page("/well")));
        assert_eq!(well.0, StatusCode::OK);
        assert_eq!(hangs.0, StatusCode::SERVICE_UNAVAILABLE);
        assert!(hangs.1.unwrap().ways.iter().any(|(href, _)| href == "/logbook"));
    }

    #[tokio::test]
    async fn what_is_sent_is_not_cut_off_by_the_time_for_pages() {
        let post = Request::post("/hangs").body(Body::empty()).unwrap();
        assert_eq!(asked(&router(), post).await.0, StatusCode::OK);
    }
}
