//! A reel is inspected at the rewind bench, and whoever would show it is told not to.

use crate::booth::{Booth, Browser, LAPTOP, PHONE, Screen};
use serde_json::json;

async fn says(browser: &Browser, words: &str) {
    let script = format!("return document.querySelector('main').innerText.includes('{words}')");
    browser.until(&format!("the page says {words}"), &script).await;
}

/// Chooses in a list as a person would, so that the page hears of it.
async fn choose(browser: &Browser, css: &str, value: &str) {
    browser.find(css).await.select_by_value(value).await.unwrap();
}

/// A print of several reels that nobody has looked at.
fn not_inspected(booth: &Booth) -> String {
    let rows = booth.ask(&["prints", "list"]);
    let row = rows.as_array().unwrap().iter().find(|row| row["reels_not_inspected"] == json!(3));
    row.unwrap()["print"].as_str().unwrap().to_owned()
}

async fn find_damage(browser: &Browser) {
    choose(browser, "#field-edge", "safety").await;
    choose(browser, "#field-base", "acetate").await;
    // A button without a place asks for it.
    browser.press("[data-line='perforations 4']").await;
    browser
        .until(
            "the place is asked for",
            "return document.querySelector('#bench-problem').textContent.includes('Where?')",
        )
        .await;
    browser.fill("#bench-at", "40 ft + 12").await;
    browser.fill("#bench-to", "41 ft").await;
    browser.press("[data-line='perforations 4']").await;
    browser.fill("#bench-at", "60,5 m").await;
    browser.press("[data-line='splice tape weak']").await;
    browser.fill("#field-shrunk_middle", "1.2 %").await;
    choose(browser, "#field-leader", "yes").await;
}

async fn inspect(screen: Screen) {
    let booth = Booth::demo();
    let browser = Browser::with(screen).await;
    browser.open(&booth.url("/prints")).await;
    browser.is_sound("the prints").await;
    browser.picture("prints").await;
    let clean = not_inspected(&booth);
    browser.open(&booth.url(&format!("/prints/{clean}"))).await;
    says(&browser, "Nobody has inspected").await;
    browser.press("a[data-inspect='2']").await;
    browser.is_sound("the bench").await;
    browser.picture("print-bench").await;
    find_damage(&browser).await;
    browser.picture_of("print-bench-buttons", ".bench-buttons").await;
    // What cannot be read is told, and nothing is lost.
    browser.fill("#field-shrunk_tail", "lots").await;
    browser.press("#bench-form button.main").await;
    browser
        .until(
            "a slip is told",
            "return document.querySelector('#bench-problem').textContent.includes('no shrinkage')",
        )
        .await;
    browser.fill("#field-shrunk_tail", "").await;
    browser.press("#bench-form button.main").await;
    browser.until("it is kept", &format!("return location.pathname === '/prints/{clean}'")).await;
    says(&browser, "Do not show reel 2").await;
    browser.is_sound("the print").await;
    browser.picture("print").await;
    browser.picture_of("print-reel", "#reel-2").await;
    let print = booth.ask(&["prints", "show", &clean]);
    let reel = &print["reels"][1];
    assert_eq!(reel["at_best"]["gravity"], json!("must-not"), "{reel}");
    assert_eq!(reel["last_inspection"]["found"][0]["from_frame"], json!(40 * 40 + 12));
    assert_eq!(reel["last_inspection"]["found"][0]["to_frame"], json!(41 * 40));
    assert_eq!(reel["shrinkage_percent"], json!(1.2));
    browser.press("a[href$='/report']").await;
    says(&browser, "Condition report").await;
    browser.is_sound("the report").await;
    browser.picture("print-report").await;
    // The invented booth has a print with a damaged reel 2, for a coming showing: its page warns.
    let rows = booth.ask(&["prints", "list"]);
    let damaged = rows
        .as_array()
        .unwrap()
        .iter()
        .find(|row| row["do_not_show_reels"] == json!([2]) && row["print"] != json!(clean));
    let showing = damaged.unwrap()["next_showing"]["showing"].as_str().unwrap().to_owned();
    browser.open(&booth.url(&format!("/diary/{showing}"))).await;
    says(&browser, "Do not show").await;
    browser.is_sound("a showing with a damaged print").await;
    browser.picture("print-showing").await;
    let damaged = damaged.unwrap()["print"].as_str().unwrap();
    browser.open(&booth.url(&format!("/prints/{damaged}"))).await;
    says(&browser, "Between the two it ran").await;
    browser.picture_of("print-damaged", "#reel-2").await;
    browser.close().await;
}

#[tokio::test]
async fn a_reel_is_inspected_on_a_phone_and_not_to_be_run() {
    inspect(PHONE).await;
}

#[tokio::test]
async fn a_reel_is_inspected_on_a_laptop_and_not_to_be_run() {
    inspect(LAPTOP).await;
}

#[tokio::test]
async fn an_inspection_outlives_a_lost_connection() {
    let mut booth = Booth::demo();
    let browser = Browser::with(PHONE).await;
    let clean = not_inspected(&booth);
    browser.open(&booth.url(&format!("/prints/{clean}/reels/2"))).await;
    find_damage(&browser).await;
    booth.lose_the_server();
    browser.press("#bench-form button.main").await;
    browser.until("it is kept here", "return !document.querySelector('#bench-kept').hidden").await;
    booth.serve();
    browser.until("it is sent", &format!("return location.pathname === '/prints/{clean}'")).await;
    says(&browser, "Do not show reel 2").await;
    let print = booth.ask(&["prints", "show", &clean]);
    assert_eq!(print["reels"][1]["last_inspection"]["found"].as_array().unwrap().len(), 2);
    browser.close().await;
}
