//! Every page is whole: reachable, labelled, without a foreign or inline word of script or style.

use crate::desk::{Answer, Server, css};
use axum::http::StatusCode;
use std::collections::{BTreeSet, VecDeque};

const PAGES: [&str; 26] = [
    "/",
    "/path",
    "/due",
    "/due?machine=dunlin",
    "/diary",
    "/diary/new",
    "/machines",
    "/machines/turnstone",
    "/machines/turnstone/path",
    "/machines/turnstone/path/exciter-lamp",
    "/machines/turnstone/walk?for=before-showing",
    "/machines/whimbrel/walk?for=all",
    "/logbook",
    "/logbook?machine=turnstone&kind=ran&words=turnstone",
    "/log",
    "/log/ran?machine=turnstone",
    "/log/care-done?machine=turnstone",
    "/log/part-fitted?machine=turnstone",
    "/log/reading?machine=turnstone",
    "/log/booth-named",
    "/sound",
    "/sound?measure=response&machine=turnstone",
    "/machines/turnstone/trend",
    "/machines/turnstone/trend/flutter-weighted",
    "/about",
    "/more",
];

#[tokio::test]
async fn every_page_stands_and_is_marked_as_invented() {
    let server = Server::demo();
    for page in PAGES {
        let answer = server.get(page).await;
        assert_eq!(answer.status, StatusCode::OK, "{page}");
        assert_eq!(answer.attributes("html", "lang"), ["en-GB"], "{page}");
        let html = answer.html();
        assert_eq!(html.select(&css("main#main")).count(), 1, "{page}");
        assert_eq!(html.select(&css("h1")).count(), 1, "{page}");
        assert_eq!(answer.text_of("p.invented"), "Demo data: invented", "{page}");
        assert!(!answer.text_of("title").is_empty(), "{page}");
    }
}

#[tokio::test]
async fn nothing_is_inline_and_nothing_foreign_is_loaded() {
    let server = Server::demo();
    for page in PAGES {
        let answer = server.get(page).await;
        let html = answer.html();
        assert_eq!(html.select(&css("style, script:not([src]), iframe, object, embed")).count(), 0, "{page}");
        for one in html.select(&css("*")) {
            for (name, value) in one.value().attrs() {
                assert!(name != "style" && !name.starts_with("on"), "{page}: {name}={value}");
                if ["src", "href", "action", "srcset", "data"].contains(&name) {
                    assert!(value.starts_with('/') || value.starts_with('#'), "{page}: {name}={value}");
                    assert!(!value.starts_with("//"), "{page}: {name}={value}");
                }
            }
        }
    }
}

#[tokio::test]
async fn every_field_has_a_label_and_every_id_is_its_own() {
    let server = Server::demo();
    let showing = server.get("/diary").await.attributes(".card[data-showing] h3 a", "href").remove(0);
    let entry = format!("/logbook/{}", server.latest().id);
    let further = [
        showing.clone(),
        format!("{showing}/held"),
        format!("{showing}/change"),
        format!("{showing}/cancelled"),
        entry.clone(),
        format!("{entry}/correct"),
    ];
    for page in PAGES.into_iter().map(str::to_owned).chain(further) {
        let answer = server.get(&page).await;
        assert_eq!(answer.status, StatusCode::OK, "{page}");
        let html = answer.html();
        for field in html.select(&css("input:not([type=hidden]), select, textarea")) {
            let by_id = field
                .attr("id")
                .is_some_and(|id| html.select(&css("label[for]")).any(|label| label.attr("for") == Some(id)));
            let inside = field
                .ancestors()
                .any(|above| above.value().as_element().is_some_and(|one| one.name() == "label"));
            assert!(by_id || inside, "{page}: {}", field.html());
        }
        let mut seen = BTreeSet::new();
        for one in html.select(&css("[id]")) {
            assert!(
                seen.insert(one.attr("id").unwrap().to_owned()),
                "{page}: twice {}",
                one.attr("id").unwrap()
            );
        }
    }
}

/// The addresses on this server to which a page leads.
fn leads_to(answer: &Answer) -> Vec<String> {
    let links = answer.attributes("a[href], img[src], link[href], script[src]", "href").into_iter();
    let all = links.chain(answer.attributes("img[src], script[src]", "src"));
    all.map(|href| href.split('#').next().unwrap().to_owned()).filter(|href| !href.is_empty()).collect()
}

#[tokio::test]
async fn no_link_leads_nowhere() {
    const ENOUGH: usize = 450;
    let server = Server::demo();
    let mut seen: BTreeSet<String> = BTreeSet::from(["/".to_owned()]);
    let mut open: VecDeque<String> = seen.iter().cloned().collect();
    let mut looked_at = 0;
    while let Some(address) = open.pop_front() {
        let answer = server.get(&address).await;
        assert!(answer.status.is_success() || answer.status.is_redirection(), "{address}: {}", answer.status);
        looked_at += 1;
        if looked_at == ENOUGH {
            break;
        }
        let is_page =
            answer.headers.get("content-type").is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
        for next in if is_page { leads_to(&answer) } else { Vec::new() } {
            if seen.insert(next.clone()) {
                open.push_back(next);
            }
        }
    }
    assert!(looked_at > 300, "only {looked_at} addresses were found");
}

#[tokio::test]
async fn the_drawing_shows_every_part_with_its_state_in_words() {
    let server = Server::demo();
    let answer = server.get("/machines/turnstone/path").await;
    let kind = machine::shipped();
    let kind = kind.get("portable-16mm-halogen").unwrap();
    let drawn = answer.attributes("svg.path a.part", "data-slot");
    let along = answer.attributes("ol.along a", "data-slot");
    let expected: Vec<String> = kind.parts.iter().map(|part| part.id.to_string()).collect();
    assert_eq!(along, expected);
    assert_eq!(drawn.into_iter().collect::<BTreeSet<_>>(), expected.into_iter().collect());
    for words in answer.attributes("svg.path a.part", "aria-label") {
        assert!(words.contains(": "), "{words}");
    }
    for radius in answer.attributes("svg.path circle.hit", "r") {
        assert!(radius.parse::<f64>().unwrap() >= 24.0, "a target narrower than 48");
    }
}

#[tokio::test]
async fn what_is_missing_is_a_page_with_ways_on() {
    let server = Server::demo();
    let nowhere = [
        "/nowhere",
        "/machines/nobody",
        "/machines/nobody/path",
        "/machines/turnstone/path/wing",
        "/machines/nobody/walk",
        "/diary/never",
        "/logbook/not-an-id",
        "/logbook/00000000-0000-7000-8000-000000000000",
        "/log/magic",
        "/log/ran?machine=nobody",
        "/attachments/0000000000000000000000000000000000000000000000000000000000000000",
        "/attachments/..%2f..%2fetc%2fpasswd",
        "/assets/nothing.js",
    ];
    for address in nowhere {
        let answer = server.get(address).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{address}");
        assert!(!answer.text_of("main p.lead").is_empty(), "{address}");
        assert!(!answer.attributes("main p.ways a", "href").is_empty(), "{address}");
    }
    for address in ["/diary?from=soon", "/logbook?from=yesterday", "/machines/turnstone/walk?for=fun"] {
        let answer = server.get(address).await;
        assert_eq!(answer.status, StatusCode::BAD_REQUEST, "{address}");
        assert!(!answer.text_of("main p.lead").is_empty(), "{address}");
    }
}

#[tokio::test]
async fn words_from_the_logbook_cannot_become_markup() {
    let server = Server::demo();
    let form = server.get("/log/noted").await.form("form.entry");
    let nasty = "<script>alert(1)</script><img src=x onerror=alert(1)>\" onclick=\"x";
    let answer = server
        .post("/log/noted", &crate::desk::filled(&form, &[("words", nasty), ("about.machine", "turnstone")]))
        .await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    for page in ["/logbook", "/machines/turnstone", &answer.location()] {
        let shown = server.get(page).await;
        assert!(shown.text().contains("&lt;script&gt;alert(1)"), "{page}");
        assert_eq!(
            shown.html().select(&css("img[onerror], [onclick], script:not([src])")).count(),
            0,
            "{page}"
        );
    }
}
