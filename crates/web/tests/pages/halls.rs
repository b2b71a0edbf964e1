//! A hall is set up from nothing, read, refused where it must be, and found again.

use crate::desk::Server;
use axum::http::StatusCode;

const GIVEN: [(&str, &str); 12] = [
    ("gauge", "16mm"),
    ("throw", "40 ft"),
    ("screen-width", "2,4 m"),
    ("machine-light", "400"),
    ("screen", "matt"),
    ("first-row", "4.8 m"),
    ("rows", "7"),
    ("seats-across", "12"),
    ("hall-width", "8 m"),
    ("lens-height", "5ft 3in"),
    ("screen-bottom", "1.7 m"),
    ("amplifier", "15 W"),
];

fn query(pairs: &[(&str, &str)]) -> String {
    let pairs = pairs.iter().map(|(key, text)| format!("{key}={}", views::address::escaped(text)));
    pairs.collect::<Vec<_>>().join("&")
}

#[tokio::test]
async fn every_hall_of_the_demo_shows_its_answers_without_an_error() {
    let server = Server::demo();
    for place in ["brannick-hall", "orvane-pier-store", "nessary-institute"] {
        let page = server.get(&format!("/halls/{place}")).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.attributes(".field.wrong", "data-field").is_empty(), "{place}");
        assert_eq!(page.attributes("svg.hall", "role"), ["img"], "{place}");
        let told = page.text_of("#hall-answers");
        assert!(!told.contains("Not told yet"), "{place}: {told}");
        assert!(told.contains("licensed electrician"), "{place}: the caution stands beside the sum");
    }
    let list = server.get("/halls").await;
    assert!(list.text_of("main").contains("Brannick Hall"));
    assert_eq!(server.get("/halls/nowhere").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_hall_is_set_up_from_nothing_and_found_again() {
    let server = Server::demo();
    let before = server.count();
    let mut given = GIVEN.to_vec();
    given.extend([
        ("hall-name", "Reading Room"),
        ("note", "keys next door"),
        ("by", "isa"),
        ("id", "01990000-0000-7000-8000-00000000aa01"),
        ("happened_day", "2026-11-25"),
        ("happened_time", "11:00"),
    ]);
    let answer = server.post("/halls/new", &given).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    assert_eq!(server.count(), before + 2, "the hall and its set-up");
    let again = server.post("/halls/new", &given).await;
    assert_eq!(again.status, StatusCode::SEE_OTHER);
    assert_eq!(server.count(), before + 2, "what is sent again is written once");
    let page = server.get("/halls/reading-room").await;
    assert_eq!(page.attributes("#field-throw", "value"), ["40 ft"]);
    assert!(page.text_of("main").contains("keys next door"));
}

#[tokio::test]
async fn nonsense_is_refused_beside_its_field_and_nothing_is_written() {
    let server = Server::demo();
    let before = server.count();
    let given = [
        ("throw", "0 m"),
        ("screen-width", "9 m"),
        ("hall-width", "8 m"),
        ("mains-volts", "0 V"),
        ("lens", "5O"),
        ("by", "isa"),
        ("id", "01990000-0000-7000-8000-00000000aa02"),
        ("happened_day", "2026-11-25"),
    ];
    let answer = server.post("/halls/brannick-hall", &given).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let mut wrong = answer.attributes(".field.wrong", "data-field");
    wrong.sort_unstable();
    assert_eq!(wrong, ["lens", "mains-volts", "screen-width", "throw"]);
    assert!(answer.text_of("main").contains("for example 12 m or 40 ft"));
    assert_eq!(server.count(), before);
}

#[tokio::test]
async fn a_key_is_answered_even_with_many_ranges() {
    let server = Server::demo();
    let ranges = [
        ("throw", "11 to 13 m"),
        ("lens", "48 to 52 mm"),
        ("first-row", "about 4 m"),
        ("rows", "12"),
        ("row-spacing", "0.8 to 1 m"),
        ("machine-light", "300 to 500"),
        ("amplifier", "10 to 20 W"),
        ("mains-volts", "230"),
        ("load", "400 to 500"),
    ];
    let address = format!("/halls/figures?{}", query(&ranges));
    let answer = server.get(&address).await;
    assert_eq!(answer.status, StatusCode::OK);
    let told: serde_json::Value = serde_json::from_slice(&answer.body).unwrap();
    assert_eq!(told["problems"], serde_json::json!({}));
    assert!(told["answers"].as_str().unwrap().contains("svg"));
}
