//! A hall is set up from nothing: lens, light and seats are read while one types, and kept for the next visit.

use crate::booth::{Booth, Browser, LAPTOP, PHONE, Screen};

const GIVEN: [(&str, &str, &str); 10] = [
    ("lens", "throw", "40 ft"),
    ("lens", "screen-width", "2,4 m"),
    ("lens", "lens-height", "5ft 3in"),
    ("lens", "screen-bottom", "1.7 m"),
    ("light", "machine-light", "480 to 520 lm"),
    ("sight", "first-row", "4.8 m"),
    ("sight", "rows", "7"),
    ("sight", "seats-across", "12"),
    ("sight", "hall-width", "8 m"),
    ("sight", "eye-height", "1.2 m"),
];

/// What makes no sense is refused beside its field as it is typed, with what would be right.
const REFUSED: [(&str, &str, &str, &str); 4] = [
    ("lens", "throw", "0 m", "for example 12 m"),
    ("lens", "throw", "far", "is not a length"),
    ("power", "mains-volts", "0 V", "for example 230 V"),
    ("power", "mains-volts", "volts", "a number should stand"),
];

async fn unfold(browser: &Browser, group: &str) {
    let script = format!("document.querySelector('[data-group={group}]').open = true");
    browser.script(&script).await;
}

async fn told(browser: &Browser, answer: &str, words: &str) {
    let script =
        format!("return document.querySelector('[data-answer=\"{answer}\"]').innerText.includes('{words}')");
    browser.until(&format!("{answer} says {words}"), &script).await;
}

async fn set_up(screen: Screen) {
    let booth = Booth::demo();
    let browser = Browser::with(screen).await;
    browser.open(&booth.url("/halls")).await;
    browser.is_sound("the halls").await;
    browser.press(".ways a.main").await;
    browser.fill("#field-hall-name", "Reading Room").await;
    for (group, key, text, right) in REFUSED {
        unfold(&browser, group).await;
        browser.fill(&format!("#field-{key}"), text).await;
        let script =
            format!("return document.querySelector('#field-{key}-problem').textContent.includes('{right}')");
        browser.until(&format!("{key} {text} is refused with {right}"), &script).await;
        browser.fill(&format!("#field-{key}"), "").await;
    }
    for (group, key, text) in GIVEN {
        unfold(&browser, group).await;
        browser.fill(&format!("#field-{key}"), text).await;
    }
    browser.script("const s = document.querySelector('#field-screen'); s.value = 'matt'; s.dispatchEvent(new Event('input', { bubbles: true }))").await;
    // A picture wider than the hall is told beside a field, and a length in feet and inches is understood.
    unfold(&browser, "sight").await;
    browser.fill("#field-hall-width", "2.1 m").await;
    browser
        .until(
            "a screen wider than the hall is refused",
            "return document.querySelector('#field-screen-width-problem').textContent.includes('the hall')",
        )
        .await;
    browser.fill("#field-hall-width", "26ft 3in").await;
    told(&browser, "Lens and picture", "fills the screen from 12.19 m").await;
    told(&browser, "Light", "Light enough").await;
    told(&browser, "Seats", "of 84 seats are good").await;
    browser.until("no field is wrong", "return document.querySelectorAll('.field.wrong').length === 0").await;
    let took = browser.script("return document.querySelector('#hall-answers').dataset.reckoned").await;
    println!("the last key's figures stood on the page after {took} ms");
    browser.is_sound("a hall").await;
    browser.picture_of("hall-drawing", "#hall-answers").await;
    browser.picture_of("hall-fields", "#hall-form").await;
    browser.press("#hall-form button.main").await;
    browser.until("it is kept", "return location.pathname === '/halls/reading-room'").await;
    told(&browser, "Seats", "of 84 seats are good").await;
    browser.press(".foot form button").await;
    let daylight =
        "return document.readyState === 'complete' && document.documentElement.dataset.theme === 'daylight'";
    browser.until("the page is in daylight inks", daylight).await;
    browser.picture_of("hall-other-inks", "#hall-answers").await;
    let lens = booth.ask(&["venue", "lens", "--hall", "reading-room"]);
    let focal = lens["focal_length_mm"]["likely"].as_f64().unwrap();
    assert!((focal - 48.8).abs() < 0.1, "{focal}");
    browser.close().await;
}

#[tokio::test]
async fn a_hall_is_set_up_on_a_phone() {
    set_up(PHONE).await;
}

#[tokio::test]
async fn a_hall_is_set_up_on_a_laptop() {
    set_up(LAPTOP).await;
}
