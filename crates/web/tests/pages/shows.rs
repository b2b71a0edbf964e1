//! A programme is made, laid over its machines, refused where it must be; and taps of a show become entries once.

use crate::desk::Server;
use axum::http::StatusCode;
use serde_json::Value;

const TONIGHT: &str = "2026-11-25-brannick-hall";

fn programme<'a>(id: &'a str, reels: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("title", "School matinée"),
        ("item-1-title", "Two halves"),
        ("item-1-reels", reels),
        ("item-1-gauge", "16mm"),
        ("item-1-speed", "24"),
        ("item-1-sound", "optical"),
        ("item-1-cues", "smpte-301"),
        ("item-1-head", "8 s"),
        ("machine", "turnstone"),
        ("machine", "dunlin"),
        ("by", "isa"),
        ("id", id),
    ]
}

#[tokio::test]
async fn a_programme_is_made_laid_over_two_machines_and_changed() {
    let server = Server::demo();
    let before = server.count();
    let given = programme("01990000-0000-7000-8000-00000000bb01", "400 ft\n800 ft");
    let answer = server.post("/programmes/new", &given).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    assert_eq!(server.post("/programmes/new", &given).await.status, StatusCode::SEE_OTHER);
    assert_eq!(server.count(), before + 1, "sent twice, written once");
    let page = server.get("/programmes/school-matin-e").await;
    assert_eq!(page.status, StatusCode::OK);
    let text = page.text_of("main");
    // Printed running times of 16 mm at 24 frames a second: 400 ft 11:06.7, 800 ft 22:13.3.
    for said in ["11:07", "22:13", "33:20", "change over: motor at 395 ft + 2 frames", "On Turnstone alone"] {
        assert!(text.contains(said), "{said} in {text}");
    }
    assert!(server.get("/programmes").await.text_of("main").contains("School matinée"));
    assert_eq!(server.get("/programmes/nowhere").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_reel_that_cannot_be_is_refused_beside_its_field() {
    let server = Server::demo();
    let before = server.count();
    for reels in ["400", "lots", "0", "400 ft / 8 s"] {
        let page =
            server.post("/programmes/new", &programme("01990000-0000-7000-8000-00000000bb02", reels)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{reels}");
        assert_eq!(page.attributes(".field.wrong", "data-field"), ["item-1-reels"], "{reels}");
    }
    assert_eq!(server.count(), before);
}

#[tokio::test]
async fn taps_are_written_once_and_taken_back_with_what_they_wrote() {
    let server = Server::demo();
    let show = format!("/diary/{TONIGHT}/show");
    let before = server.count();
    let now = 1_795_608_000_000_i64; // noon of 25 November 2026, as the server's clock stands
    let tap = async |id: &str, mark: &str, reel: &str, ago_s: i64| {
        let at = (now - ago_s * 1000).to_string();
        let fields = [("id", id), ("by", "isa"), ("mark", mark), ("reel", reel), ("at_ms", at.as_str())];
        server.post(&show, &fields).await.status
    };
    assert_eq!(tap("01990000-0000-7000-8000-0000000c0100", "started", "1", 900).await, StatusCode::SEE_OTHER);
    assert_eq!(tap("01990000-0000-7000-8000-0000000c0100", "started", "1", 900).await, StatusCode::SEE_OTHER);
    assert_eq!(server.count(), before + 1);
    assert_eq!(tap("01990000-0000-7000-8000-0000000c0200", "stopped", "1", 600).await, StatusCode::SEE_OTHER);
    assert_eq!(tap("01990000-0000-7000-8000-0000000c0300", "resumed", "1", 500).await, StatusCode::SEE_OTHER);
    assert_eq!(server.count(), before + 4, "the stoppage is written beside the tap");
    let state: Value = serde_json::from_slice(&server.get(&format!("{show}/state")).await.body).unwrap();
    assert_eq!(state["standing"]["phase"], "running");
    assert_eq!(state["standing"]["shown_seconds"], 800.0);
    assert_eq!(tap("01990000-0000-7000-8000-0000000c0400", "ended", "1", 100).await, StatusCode::SEE_OTHER);
    assert_eq!(server.count(), before + 7, "the end, one machine's hours, and that it was held");
    let report = server.get(&format!("{show}/report")).await;
    assert!(report.text_of("main").contains("1:40"), "{}", report.text_of("main"));

    let undo = [
        ("id", "01990000-0000-7000-8000-0000000c0500"),
        ("by", "isa"),
        ("undo", "01990000-0000-7000-8000-0000000c0400"),
    ];
    assert_eq!(server.post(&format!("{show}/undo"), &undo).await.status, StatusCode::SEE_OTHER);
    assert_eq!(server.count(), before + 10, "three entries are withdrawn");
    let state: Value = serde_json::from_slice(&server.get(&format!("{show}/state")).await.body).unwrap();
    assert_eq!(state["standing"]["phase"], "running");
}

/// Two hands tap the end in the same moment, then two take it back: it counts once.
#[tokio::test(flavor = "multi_thread")]
async fn an_end_that_two_hands_tap_counts_once() {
    let server = Server::demo();
    let show = format!("/diary/{TONIGHT}/show");
    let before = server.count();
    let now = 1_795_608_000_000_i64; // noon of 25 November 2026, as the server's clock stands
    let tap = async |id: &str, mark: &str, ago_s: i64| {
        let at = (now - ago_s * 1000).to_string();
        let fields = [("id", id), ("by", "isa"), ("mark", mark), ("reel", "1"), ("at_ms", at.as_str())];
        server.post(&show, &fields).await.status
    };
    tap("01990000-0000-7000-8000-0000000e0100", "started", 900).await;
    let ends = ["01990000-0000-7000-8000-0000000e0200", "01990000-0000-7000-8000-0000000e0300"];
    let (one, other) = tokio::join!(tap(ends[0], "ended", 100), tap(ends[1], "ended", 100));
    assert_eq!((one, other), (StatusCode::SEE_OTHER, StatusCode::SEE_OTHER));
    assert_eq!(server.count(), before + 5, "three taps, one machine's hours once, held once");

    let (first, taken) = (ends[0], server.count());
    let take_back = async |id: &str| {
        let fields = [("id", id), ("by", "isa"), ("undo", first)];
        server.post(&format!("{show}/undo"), &fields).await.status
    };
    assert_eq!(take_back("01990000-0000-7000-8000-0000000e0400").await, StatusCode::SEE_OTHER);
    let once = server.count();
    assert!(once > taken);
    assert_eq!(take_back("01990000-0000-7000-8000-0000000e0500").await, StatusCode::SEE_OTHER);
    assert_eq!(server.count(), once, "what is taken back is not taken back again");
}

#[tokio::test]
async fn a_tap_that_says_nothing_and_a_showing_that_is_not_there_are_refused() {
    let server = Server::demo();
    let before = server.count();
    let show = format!("/diary/{TONIGHT}/show");
    for (mark, reel) in [("jumped", "1"), ("started", "0"), ("", "")] {
        let fields =
            [("id", "01990000-0000-7000-8000-0000000c0600"), ("by", "isa"), ("mark", mark), ("reel", reel)];
        assert_eq!(server.post(&show, &fields).await.status, StatusCode::BAD_REQUEST, "{mark} {reel}");
    }
    let other = [
        ("id", "01990000-0000-7000-8000-0000000c0700"),
        ("by", "isa"),
        ("undo", "01990000-0000-7000-8000-0000000c0800"),
    ];
    assert_eq!(server.post(&format!("{show}/undo"), &other).await.status, StatusCode::BAD_REQUEST);
    assert_eq!(server.get("/diary/never/show").await.status, StatusCode::NOT_FOUND);
    assert_eq!(server.count(), before);
}

/// A show of fifty minutes on one machine that is over: its first tap and its last.
async fn shown(server: &Server) -> [&'static str; 2] {
    let now = 1_795_608_000_000_i64; // noon of 25 November 2026, as the server's clock stands
    let marks = ["01990000-0000-7000-8000-0000000d0100", "01990000-0000-7000-8000-0000000d0200"];
    for (id, mark, ago_s) in [(marks[0], "started", 3600), (marks[1], "ended", 600)] {
        let at = (now - ago_s * 1000).to_string();
        let fields = [("id", id), ("by", "isa"), ("mark", mark), ("reel", "1"), ("at_ms", at.as_str())];
        let answer = server.post(&format!("/diary/{TONIGHT}/show"), &fields).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER);
    }
    assert!(report(server).await.contains("Lasted50:00"));
    marks
}

async fn report(server: &Server) -> String {
    server.get(&format!("/diary/{TONIGHT}/show/report")).await.text_of("main")
}

#[tokio::test]
async fn hours_and_end_follow_a_mark_that_is_corrected_after_the_show() {
    let server = Server::demo();
    let [_, end] = shown(&server).await;
    let before = server.count();
    // It ended ten minutes earlier than somebody tapped.
    let form = [
        ("mark", "ended"),
        ("reel", "1"),
        ("showing", TONIGHT),
        ("happened_day", "2026-11-25"),
        ("happened_time", "11:40"),
        ("correction_why", "tapped late"),
        ("by", "isa"),
        ("id", "01990000-0000-7000-8000-0000000d0300"),
    ];
    let page = server.post(&format!("/logbook/{end}/correct"), &form).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER, "{}", page.text());
    assert!(report(&server).await.contains("Lasted40:00"), "{}", report(&server).await);
    assert_eq!(server.count(), before + 3, "the correction, and what follows: the run and the end");
}

#[tokio::test]
async fn hours_and_end_go_with_a_mark_that_is_taken_back_after_the_show() {
    let server = Server::demo();
    let [start, _] = shown(&server).await;
    let before = server.count();
    let form = [("why", "a rehearsal"), ("by", "isa"), ("id", "01990000-0000-7000-8000-0000000d0400")];
    assert_eq!(server.post(&format!("/logbook/{start}/withdraw"), &form).await.status, StatusCode::SEE_OTHER);
    assert_eq!(server.count(), before + 3, "the taking back, the run and the end");
    assert!(!report(&server).await.contains("Lasted"), "{}", report(&server).await);
}
