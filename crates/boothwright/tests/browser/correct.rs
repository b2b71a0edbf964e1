//! An entry is wrong, is found again and put right; both stay readable.

use crate::booth::{Booth, Browser, LAPTOP};

#[tokio::test]
async fn a_wrong_entry_is_found_and_corrected() {
    let booth = Booth::demo();
    let before = booth.ask(&["machines", "dunlin"]);
    let written = booth.ask(&[
        "logbook",
        "add",
        "--who",
        "isa",
        "--at",
        "2026-11-25T16:00:00",
        "ran",
        "dunlin",
        "7.5 h",
        "--for",
        "test",
    ]);
    let id = written["entry"].as_str().unwrap();

    let browser = Browser::with(LAPTOP).await;
    browser.open(&booth.url("/logbook?machine=dunlin&kind=ran")).await;
    browser.is_sound("the logbook").await;
    browser.picture("logbook").await;
    browser.open(&booth.url(&format!("/logbook/{id}"))).await;
    browser.press(&format!("a[href='/logbook/{id}/correct']")).await;
    browser.is_sound("correcting").await;
    browser.fill("#correction [name=hours]", "0.75").await;
    browser.fill("#correction [name=correction_why]", "Misread: three quarters of an hour.").await;
    browser.picture("correct").await;
    browser.press("#correction button.main").await;
    browser.until("the entry is shown again", "return !location.pathname.endsWith('/correct')").await;

    browser.open(&booth.url(&format!("/logbook/{id}"))).await;
    let page = browser.text("main").await;
    assert!(
        page.contains("Misread: three quarters of an hour."),
        "the correction stands at the entry: {page}"
    );
    assert!(page.contains("7.5"), "what was first written stays readable: {page}");
    browser.picture("corrected").await;

    let after = booth.ask(&["machines", "dunlin"]);
    let tested = |answer: &serde_json::Value| answer["clocks"]["testing_hours"].as_f64().unwrap();
    assert!(
        (tested(&after) - tested(&before) - 0.75).abs() < 1e-9,
        "{} to {}",
        tested(&before),
        tested(&after)
    );
    browser.close().await;
}
