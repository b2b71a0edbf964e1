//! Who may ask and who may write.

use crate::desk::{Server, own_post};
use axum::{
    body::Body,
    http::{Method, Request, StatusCode, header},
};

#[tokio::test]
async fn every_answer_carries_the_headers() {
    let server = Server::demo();
    let post = server
        .send(own_post("/log/ran").header("sec-fetch-site", "cross-site").body(Body::empty()).unwrap())
        .await;
    for answer in
        [server.get("/").await, server.get("/nowhere").await, server.get("/assets/booth.css").await, post]
    {
        let of = |name: &str| answer.headers.get(name).unwrap().to_str().unwrap().to_owned();
        assert_eq!(of("content-security-policy"), web::CONTENT_SECURITY_POLICY);
        assert_eq!(of("x-content-type-options"), "nosniff");
        assert_eq!(of("referrer-policy"), "same-origin");
        assert_eq!(of("cross-origin-resource-policy"), "same-origin");
    }
}

#[test]
fn the_policy_allows_nothing_inline_and_nothing_foreign() {
    let policy = web::CONTENT_SECURITY_POLICY;
    assert!(policy.starts_with("default-src 'none'"));
    for needed in ["form-action 'self'", "frame-ancestors 'none'", "base-uri 'none'", "script-src 'self'"] {
        assert!(policy.contains(needed), "{needed}");
    }
    for loose in ["unsafe", "*", "http:", "https:", "data:"] {
        assert!(!policy.contains(loose), "{loose}");
    }
}

/// All addresses that take posts.
const POSTS: [&str; 13] = [
    "/theme",
    "/first-run",
    "/log/ran",
    "/log/noted",
    "/diary/new",
    "/diary/x/change",
    "/diary/x/held",
    "/diary/x/cancelled",
    "/machines/turnstone/walk",
    "/logbook/00000000-0000-7000-8000-000000000000/correct",
    "/logbook/00000000-0000-7000-8000-000000000000/withdraw",
    "/attachments",
    "/nowhere",
];

#[tokio::test]
async fn no_page_of_another_site_can_write() {
    let server = Server::demo();
    let before = server.count();
    let form = "id=01900000-0000-7000-8000-000000000001&words=evil";
    let post = |path: &str| {
        Request::post(path)
            .header(header::HOST, "127.0.0.1:7316")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
    };
    for path in POSTS {
        let foreign = [
            post(path).header("sec-fetch-site", "cross-site").header(header::ORIGIN, "https://evil.example"),
            post(path).header("sec-fetch-site", "same-site").header(header::ORIGIN, "http://127.0.0.1:9999"),
            post(path).header(header::ORIGIN, "https://evil.example"),
            post(path).header(header::ORIGIN, "http://127.0.0.1:9999"),
            post(path).header(header::ORIGIN, "null"),
        ];
        for request in foreign {
            let answer = server.send(request.body(Body::from(form)).unwrap()).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}");
            assert!(answer.text_of("main p.lead").contains("another site"), "{path}");
        }
    }
    assert_eq!(server.count(), before);
}

#[tokio::test]
async fn no_foreign_name_reaches_this_server() {
    let server = Server::demo();
    let booth_name = server.get("/").await.text_of("header .name");
    assert!(booth_name.len() > 3, "{booth_name}");
    for host in
        ["evil.example", "127.0.0.1.evil.example:7316", "localhost.evil.example", "192.168.1.7:7316", ""]
    {
        for method in [Method::GET, Method::POST] {
            let request = Request::builder().method(method).uri("/due").header(header::HOST, host);
            let answer = server.send(request.body(Body::empty()).unwrap()).await;
            assert_eq!(answer.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
            assert!(!answer.text().contains("turnstone"), "{host}");
            assert!(!answer.text().contains(&booth_name), "{host}");
        }
    }
    let nameless = server.send(Request::get("/due").body(Body::empty()).unwrap()).await;
    assert_eq!(nameless.status, StatusCode::MISDIRECTED_REQUEST);
    for host in ["localhost:7316", "127.0.0.1:1", "[::1]:7316"] {
        let request = Request::get("/due").header(header::HOST, host).body(Body::empty()).unwrap();
        assert_eq!(server.send(request).await.status, StatusCode::OK, "{host}");
    }
}

#[tokio::test]
async fn reading_never_writes() {
    let server = Server::demo();
    let before = server.count();
    for path in POSTS {
        let answer = server.get(path).await;
        assert!(answer.status != StatusCode::INTERNAL_SERVER_ERROR, "{path}");
    }
    assert_eq!(server.count(), before);
}

#[tokio::test]
async fn a_body_that_is_too_large_or_no_form_is_refused_in_words() {
    let server = Server::demo();
    let before = server.count();
    let huge = vec![b'a'; web::LARGEST_BODY + 1];
    let answer = server.send(own_post("/log/noted").body(Body::from(huge.clone())).unwrap()).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(answer.text_of("main p.lead").contains("larger"));
    let photo = Request::post("/attachments")
        .header(header::HOST, "localhost")
        .header(header::CONTENT_TYPE, "image/jpeg")
        .header(header::ACCEPT, "application/json");
    let answer = server.send(photo.body(Body::from(huge)).unwrap()).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(answer.text().contains("\"problem\""), "{}", answer.text());
    let json = Request::post("/log/noted")
        .header(header::HOST, "localhost")
        .header(header::CONTENT_TYPE, "text/plain");
    let answer = server.send(json.body(Body::from("words=x")).unwrap()).await;
    assert_eq!(answer.status, StatusCode::UNSUPPORTED_MEDIA_TYPE);
    let delete =
        Request::delete("/due").header(header::HOST, "localhost").header("sec-fetch-site", "same-origin");
    let answer = server.send(delete.body(Body::empty()).unwrap()).await;
    assert_eq!(answer.status, StatusCode::METHOD_NOT_ALLOWED);
    assert!(!answer.text_of("main p.lead").is_empty());
    assert_eq!(server.count(), before);
}

#[tokio::test]
async fn broken_forms_are_refused_and_never_break_the_server() {
    let server = Server::demo();
    let before = server.count();
    for body in ["", "%", "id", "id=&id=&&&=", "id=%00%ff&words=%ff", "a=b;c=d", "words=\u{0}"] {
        for path in POSTS.into_iter().filter(|path| *path != "/theme") {
            let answer = server.send(own_post(path).body(Body::from(body.to_owned())).unwrap()).await;
            assert!(answer.status.is_client_error(), "{path} {body:?}: {}", answer.status);
        }
    }
    let multipart = "multipart/form-data; boundary=x";
    for body in ["", "--x", "--x\r\nContent-Disposition: form-data; name=\"id\"\r\n\r\n", "--y--"] {
        let request = Request::post("/log/noted")
            .header(header::HOST, "localhost")
            .header(header::CONTENT_TYPE, multipart);
        let answer = server.send(request.body(Body::from(body)).unwrap()).await;
        assert!(answer.status.is_client_error(), "{body:?}: {}", answer.status);
    }
    assert_eq!(server.count(), before);
}

#[tokio::test]
async fn the_theme_is_kept_and_sends_nobody_elsewhere() {
    let server = Server::demo();
    assert_eq!(server.get("/").await.attributes("html", "data-theme"), ["dark"]);
    let answer = server.post("/theme", &[("to", "daylight"), ("back", "/due?machine=dunlin")]).await;
    assert_eq!((answer.status, answer.location().as_str()), (StatusCode::SEE_OTHER, "/due?machine=dunlin"));
    let cookie = answer.headers.get(header::SET_COOKIE).unwrap().to_str().unwrap().to_owned();
    assert!(cookie.contains("SameSite=Strict"), "{cookie}");
    let request = Request::get("/").header(header::HOST, "localhost").header(header::COOKIE, cookie);
    let page = server.send(request.body(Body::empty()).unwrap()).await;
    assert_eq!(page.attributes("html", "data-theme"), ["daylight"]);
    for back in ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)"] {
        let answer = server.post("/theme", &[("to", "dark"), ("back", back)]).await;
        assert_eq!(answer.location(), "/", "{back}");
    }
}
