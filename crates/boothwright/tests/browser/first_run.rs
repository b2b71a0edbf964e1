//! A booth is set up from nothing.

use crate::booth::{Booth, Browser, PHONE};

#[tokio::test]
async fn seven_questions_set_up_a_booth() {
    let booth = Booth::empty();
    let browser = Browser::with(PHONE).await;
    browser.open(&booth.url("/")).await;
    browser.until("the questions are asked", "return location.pathname === '/first-run'").await;
    browser.is_sound("the first questions").await;
    browser.picture("first-run").await;

    // What cannot be right is said at its field, and what was typed stays.
    browser.fill("[name=booth]", "Harbour film club").await;
    browser.fill("[name=zone]", "Europe/Atlantis").await;
    browser.press("#first-run button.main").await;
    browser.until("the problem is said", "return document.querySelectorAll('.problem').length > 0").await;
    assert_eq!(
        browser.script("return document.querySelector('[name=booth]').value").await,
        "Harbour film club"
    );
    browser.picture("first-run-problems").await;

    browser.fill("[name=person]", "Ines Vale").await;
    browser.fill("[name=zone]", "Europe/Lisbon").await;
    browser.fill("[name=machine]", "Puffin").await;
    browser.script("document.querySelector('[name=machine_type]').value = 'portable-16mm-halogen'").await;
    browser.fill("[name=meter_hours]", "812,5").await;
    browser.press("#first-run button.main").await;
    browser.until("the film path is shown", "return location.pathname.startsWith('/machines/')").await;
    browser.is_sound("the film path").await;
    browser.picture("first-path").await;

    let machines = booth.ask(&["machines"]);
    let machines = machines["machines"].as_array().or(machines.as_array()).unwrap();
    assert_eq!(machines.len(), 1);
    assert_eq!(machines[0]["name"], "Puffin");
    browser.close().await;
}
