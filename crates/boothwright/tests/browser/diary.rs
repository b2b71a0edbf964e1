//! A showing comes into the diary, and what is due moves.

use crate::booth::{Booth, Browser, PHONE};
use serde_json::Value;

/// Returns the day on which a task of a machine falls due, as the page shows it.
async fn due_day(browser: &Browser, booth: &Booth, machine: &str, task: &str) -> String {
    browser.open(&booth.url(&format!("/due?machine={machine}"))).await;
    let script = format!(
        "return document.querySelector('[data-task=\"{task}\"][data-machine=\"{machine}\"]').dataset.due"
    );
    browser.script(&script).await.as_str().unwrap().to_owned()
}

/// Finds a task that a long showing tomorrow would bring forward: by hours, and not due before.
fn movable(booth: &Booth) -> (String, f64, String) {
    let due = booth.ask(&["due", "turnstone"]);
    let found = due.as_array().unwrap().iter().find_map(|item| {
        let hours = item["remaining_hours"].as_f64().filter(|hours| (4.0..13.0).contains(hours))?;
        let date = item["forecast_date"].as_str().filter(|date| *date > "2026-11-27")?;
        (item["state"] == "ok").then(|| (item["task"].as_str().unwrap().to_owned(), hours, date.to_owned()))
    });
    found.expect("the demo has care of Turnstone that falls due within thirteen hours of running")
}

#[tokio::test]
async fn a_new_showing_brings_a_due_date_forward() {
    let booth = Booth::demo();
    let browser = Browser::with(PHONE).await;
    let (task, hours, forecast) = movable(&booth);
    let before = due_day(&browser, &booth, "turnstone", &task).await;
    assert_eq!(before, forecast, "page and command line say the same");

    browser.open(&booth.url("/diary/new")).await;
    browser.is_sound("a new showing").await;
    browser.fill("[name=title]", "A long night of shorts").await;
    browser.script("document.querySelector('[name=start_day]').value = '2026-11-26'").await;
    browser.script("document.querySelector('[name=start_time]').value = '05:30'").await;
    browser.script("document.querySelector('[name=on_machine][value=turnstone]').checked = true").await;
    // Longer than what is left, so that the task falls due in this very showing.
    let minutes = (hours * 60.0).ceil() as u32 + 30;
    browser.fill("[name=length_minutes]", &minutes.to_string()).await;
    browser.script("document.querySelector('select[name=by]').value = 'isa'").await;
    browser.picture("new-showing").await;
    browser.press("form[data-form=showing-planned] button.main").await;
    browser.until("the diary is shown", "return location.pathname === '/diary'").await;
    assert!(browser.text("main").await.contains("A long night of shorts"));
    browser.picture("diary").await;

    let after = due_day(&browser, &booth, "turnstone", &task).await;
    assert_eq!(after, "2026-11-26", "{task} was due on {before}, with {hours} h left");
    let due = booth.ask(&["due", "turnstone"]);
    let item =
        due.as_array().unwrap().iter().find(|item| item["task"] == Value::String(task.clone())).unwrap();
    assert_eq!(item["forecast_date"], "2026-11-26");
    assert!(item["forecast_showing"].as_str().unwrap().contains("2026-11-26"));
    browser.close().await;
}
