//! Tonight: what is likely to go wrong, what to do in the minutes that are left, and that doing it changes the answer.

use crate::booth::{Booth, Browser, LAPTOP, PHONE, Screen};
use serde_json::Value;

/// The outlook of the evening's showing, as the command line tells it.
fn outlook(booth: &Booth) -> Value {
    booth.ask(&["tonight"])["outlooks"][0].clone()
}

fn stops(outlook: &Value) -> f64 {
    1.0 - outlook["before"]["clean"]["chance"].as_f64().unwrap()
}

/// The dark seconds to expect of a machine's lamp.
fn dark_of_lamp(outlook: &Value, machine: &str) -> f64 {
    let weights = outlook["weights"].as_array().unwrap();
    let lamp = weights.iter().find(|weight| weight["slot"] == "lamp" && weight["machine"] == machine);
    lamp.unwrap()["expected_dark_seconds"].as_f64().unwrap()
}

/// The machine at which a deed is advised.
fn advised(outlook: &Value, deed: &str) -> String {
    let deeds = outlook["deeds"].as_array().unwrap();
    let found =
        deeds.iter().find(|one| one["do"] == deed).unwrap_or_else(|| panic!("no {deed} in {deeds:?}"));
    found["machine"].as_str().unwrap().to_owned()
}

async fn tonight(booth: &Booth, screen: Screen) -> Browser {
    let browser = Browser::with(screen).await;
    browser.open(&booth.url("/")).await;
    browser.is_sound("tonight").await;
    browser
}

/// Fills the form that the page led to, and comes back to Tonight.
async fn write_it_down(browser: &Browser, kind: &str) {
    browser.script("document.querySelector('select[name=by]').value = 'isa'").await;
    browser.press(&format!("form[data-form={kind}] button.main")).await;
    browser
        .until(
            "Tonight is shown again",
            "return location.pathname === '/' && location.search.includes('written=')",
        )
        .await;
    browser.is_sound("tonight, once it is done").await;
}

#[tokio::test]
async fn tonight_says_what_may_go_wrong_and_fitting_the_lamp_changes_the_answer() {
    let booth = Booth::demo();
    let before = outlook(&booth);
    let browser = tonight(&booth, PHONE).await;
    browser.picture("tonight").await;
    let said = all_said(&browser).await;
    assert!(
        said.contains(before["sentence"].as_str().unwrap()),
        "page and command line say the same: {said}"
    );
    for words in [
        "The chance of a stoppage in ",
        " is about 1 in ",
        "Most to be feared",
        "You have 55 minutes",
        "fit a new",
    ] {
        assert!(said.contains(words), "`{words}` is missing: {said}");
    }
    let machine = advised(&before, "change");
    let card = format!("[data-deed=change][data-machine={machine}]");
    assert!(
        said.contains(&browser.text(&format!("{card} h3")).await["Fit".len()..]),
        "the sentence names the deed: {said}"
    );

    browser.press(&format!("{card} a")).await;
    browser
        .until("the form is shown", "return !!document.querySelector('form[data-form=part-fitted]')")
        .await;
    assert_eq!(
        browser.script("return document.querySelector('[name=slot]').value").await,
        "lamp",
        "the form knows which part"
    );
    browser.script("document.querySelector('[name=\"replaces.why\"]').value = 'planned'").await;
    write_it_down(&browser, "part-fitted").await;
    browser.picture("tonight-lamp-fitted").await;

    let after = outlook(&booth);
    assert!(stops(&after) < stops(&before), "{} {}", stops(&after), stops(&before));
    assert!(dark_of_lamp(&after, &machine) < 0.1 * dark_of_lamp(&before, &machine));
    let now = all_said(&browser).await;
    assert!(now.contains(after["sentence"].as_str().unwrap()), "{now}");
    assert_ne!(now, said, "doing it changes the answer");
    let gone = format!("return !document.querySelector('{card}')");
    assert_eq!(browser.script(&gone).await, Value::Bool(true), "what is done is not advised again");
    browser.close().await;
}

/// The sentences of the page, one after the other.
async fn all_said(browser: &Browser) -> String {
    let all = "return [...document.querySelectorAll('main p')].map(one => one.innerText.trim()).join(' ')";
    browser.script(all).await.as_str().unwrap_or_default().to_owned()
}

#[tokio::test]
async fn a_lamp_struck_in_a_rehearsal_changes_the_answer() {
    let booth = Booth::demo();
    let before = outlook(&booth);
    let machine = advised(&before, "rehearse");
    let browser = tonight(&booth, LAPTOP).await;
    browser.picture("tonight").await;
    browser.script("document.querySelectorAll('details').forEach(one => one.open = true)").await;
    browser.press(&format!("a[href^='/log/ran?'][href*='machine={machine}'][href*='rehearsal']")).await;
    browser.until("the form is shown", "return !!document.querySelector('form[data-form=ran]')").await;
    browser.fill("[name=hours]", "0.05").await;
    write_it_down(&browser, "ran").await;
    browser.picture("tonight-struck").await;

    let after = outlook(&booth);
    // Of lamps, six in ten die at the strike by the machine type: four in ten of the chance are left.
    let left = dark_of_lamp(&after, &machine) / dark_of_lamp(&before, &machine);
    assert!((0.35..0.45).contains(&left), "{left}");
    assert!(stops(&after) < stops(&before));
    let now = all_said(&browser).await;
    assert!(now.contains(after["sentence"].as_str().unwrap()), "{now}");
    browser.close().await;
}
