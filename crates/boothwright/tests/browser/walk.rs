//! A walk along a whole film path on a phone, with the server lost in the middle.

use crate::booth::{Booth, Browser, PHONE};
use serde_json::Value;
use std::collections::BTreeMap;

/// The steps of a walk: their tasks, in order.
async fn tasks(browser: &Browser) -> Vec<String> {
    let script =
        "return [...document.querySelectorAll('.walk-steps section[data-task]')].map(s => s.dataset.task)";
    serde_json::from_value(browser.script(script).await).unwrap()
}

/// A tap that falls into the page's own scrolling can be lost; whoever sees that nothing happened taps again.
const TAPS: usize = 3;

/// Says that the step is in order, or leaves it out where it is a technician's.
async fn say(browser: &Browser, step: usize) {
    // Beyond the first step the page puts the focus on the step's heading once it has settled.
    let shown = format!(
        "const step = document.getElementById('step-{step}');
         return step.checkVisibility() && ({step} === 1 || step.contains(document.activeElement))"
    );
    browser.until(&format!("step {step} is shown"), &shown).await;
    let recorded = format!("return Boolean(document.getElementById('step-{step}').dataset.recorded)");
    for _ in 0..TAPS {
        browser.press(&format!("#step-{step} .results button.broad[type=submit]")).await;
        for _ in 0..10 {
            if browser.script(&recorded).await == Value::Bool(true) {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        }
    }
    panic!("step {step} was tapped {TAPS} times and nothing was kept");
}

fn entries_by_task(booth: &Booth, walk: &str) -> BTreeMap<String, usize> {
    let listed =
        booth.ask(&["logbook", "list", "--machine", "turnstone", "--kind", "care-done", "--limit", "500"]);
    let mut tasks = BTreeMap::new();
    for entry in listed.as_array().unwrap() {
        if entry["fields"]["walk"] == Value::String(walk.to_owned()) {
            *tasks.entry(entry["fields"]["task"].as_str().unwrap().to_owned()).or_default() += 1;
        }
    }
    tasks
}

#[tokio::test]
async fn a_walk_survives_the_loss_of_the_server_and_writes_each_step_once() {
    let mut booth = Booth::demo();
    let browser = Browser::with(PHONE).await;
    browser.open(&booth.url("/machines/turnstone/walk?for=before-showing")).await;
    browser.is_sound("the walk").await;
    let tasks = tasks(&browser).await;
    assert!(tasks.len() >= 8, "a walk before a showing has more steps than {}", tasks.len());
    let walk = browser.script("return document.querySelector('.walk-steps').dataset.walk").await;
    let walk = walk.as_str().unwrap().to_owned();
    let lost_at = tasks.len() / 2;
    for step in 1..=lost_at {
        say(&browser, step).await;
        if step == 1 {
            browser.picture("walk-step-2").await;
        }
    }
    browser
        .until(
            "everything was sent",
            "return Number(document.getElementById('outbox').dataset.waiting || 0) === 0",
        )
        .await;

    booth.lose_the_server();
    for step in lost_at + 1..=tasks.len() {
        say(&browser, step).await;
    }
    let waiting = browser.script("return Number(document.getElementById('outbox').dataset.waiting)").await;
    assert_eq!(waiting.as_u64().unwrap(), (tasks.len() - lost_at) as u64);
    assert!(browser.text("#outbox").await.contains("to send"));
    browser.picture("walk-kept").await;

    // The tab is closed and the phone put away; later somebody opens another page of the booth.
    browser.open("about:blank").await;
    booth.serve();
    browser.open(&booth.url("/machines/turnstone/walk?for=before-showing")).await;
    browser.until("the outbox is empty", "return document.getElementById('outbox').hidden").await;

    let written = entries_by_task(&booth, &walk);
    let expected: BTreeMap<_, _> = tasks.iter().map(|task| (task.clone(), 1)).collect();
    assert_eq!(written, expected, "one entry for each step");

    // The page knows what was written, and saying it again would be a correction, not a second entry.
    browser.open(&booth.url("/machines/turnstone/walk?for=before-showing#step-end")).await;
    assert!(!browser.text("#step-end").await.contains("not written down"));
    browser.picture("walk-end").await;
    let verified = booth.ask(&["logbook", "verify"]);
    assert_eq!(verified["in_order"], Value::Bool(true));
    browser.close().await;
}
