//! A fault from the middle of a showing to its cause, and another that ends in a repair request.

use crate::booth::{Booth, Browser, LAPTOP, PHONE};
use serde_json::{Value, json};

/// Forty minutes into the evening's showing.
const DURING_THE_SHOW: &str = "2026-11-25T20:10:00+00:00[Atlantic/Faroe]";
/// A case that goes on for longer than this has lost its way.
const MOST_STEPS: usize = 25;
/// What is wrong in truth, which nobody at the machine knows.
const CAUSE: &str = "amplifier-fuse";

/// What the page tells to do: the sort of thing, and the id of the step where it is one.
async fn told(browser: &Browser) -> (String, Option<String>) {
    let script = "const now = document.getElementById('now');
        return [now.dataset.do, now.querySelector('[data-step]')?.dataset.step ?? null]";
    serde_json::from_value(browser.script(script).await).unwrap()
}

/// Presses something and waits until the page that follows is there.
async fn press_on(browser: &Browser, css: &str) {
    browser.script("document.body.dataset.old = 'yes'").await;
    browser.press(css).await;
    browser
        .until(
            "the next page is there",
            "return document.readyState === 'complete' && !document.body.dataset.old",
        )
        .await;
}

/// Opens a fault by what is noticed; returns its id.
async fn start(browser: &Browser, booth: &Booth, words: &str, symptom: &str) -> String {
    browser.open(&booth.url("/machines/turnstone")).await;
    press_on(browser, "a#wrong").await;
    browser.is_sound("what is wrong").await;
    browser.picture("fault-start").await;
    browser.fill("#field-words", words).await;
    press_on(browser, "form.search button").await;
    browser.is_sound("what was looked for").await;
    browser.picture("fault-found").await;
    browser.press("input[name=show][value=running]").await;
    browser.press("input[name=print_sort][value=lent]").await;
    press_on(browser, &format!("button[name=symptom][value={symptom}]")).await;
    let path = browser.script("return location.pathname").await;
    path.as_str().unwrap().strip_prefix("/faults/").unwrap().to_owned()
}

/// What a person answers who stands before a machine whose amplifier fuse has blown, by the trouble table.
fn truth(step: &str) -> &'static str {
    let library = machine::shipped();
    let trouble = &library.get("portable-16mm-halogen").unwrap().trouble;
    if let Some(check) = trouble.check(step) {
        return if check.finds(CAUSE).value() > 0.5 { "yes" } else { "no" };
    }
    if let Some(remedy) = trouble.remedy(step) {
        return if remedy.cures(CAUSE).value() > 0.5 { "helped" } else { "did-not-help" };
    }
    "no"
}

async fn answer(browser: &Browser, answer: &str) {
    press_on(browser, &format!("#now .answers button[value={answer}]")).await;
}

/// The chance of the blown fuse, as its bar shows it.
async fn bar(browser: &Browser) -> i64 {
    let script =
        "return Number(document.querySelector('.odds li[data-cause=amplifier-fuse] progress')?.value ?? 0)";
    browser.script(script).await.as_i64().unwrap()
}

fn stock_of(booth: &Booth, item: &str) -> i64 {
    let moved = booth.ask(&["logbook", "list", "--kind", "fault-tried", "--limit", "500"]);
    let used = |entry: &Value| -> i64 {
        let used = entry["fields"]["used"].as_array().cloned().unwrap_or_default();
        used.iter().filter(|one| one["item"] == item).map(|one| one["count"].as_i64().unwrap()).sum()
    };
    moved.as_array().unwrap().iter().map(used).sum()
}

#[tokio::test]
async fn the_picture_is_fine_but_there_is_no_sound() {
    // By the computer's clock: answers are told apart by when they were given.
    let booth = Booth::demo_today();
    let browser = Browser::with(PHONE).await;
    let fault = start(&browser, &booth, "no sound", "no-sound").await;

    // The show runs: first what the hands do now.
    assert_eq!(told(&browser).await.0, "at-once");
    assert_eq!(browser.text(".clock").await, "The show runs");
    assert!(browser.text("#now").await.contains("Volume"), "the order of the drill");
    browser.is_sound("what is done at once").await;
    browser.picture("fault-at-once").await;
    answer(&browser, "done-at-once").await;

    // It did not help; the audience sees the rest without sound and goes home.
    browser.press("#other > summary").await;
    press_on(&browser, "#clock").await;
    assert_eq!(browser.text(".clock").await, "After the show");

    let (mut took_back, mut used) = (false, String::new());
    for _ in 0..MOST_STEPS {
        let (sort, step) = told(&browser).await;
        if sort != "step" {
            break;
        }
        let step = step.unwrap();
        browser.is_sound("a step").await;
        let right = truth(&step);
        let is_question =
            browser.script("return Boolean(document.querySelector('#now button[name=answer]'))").await;
        if is_question == json!(true) && !took_back {
            // The other answer by mistake: the odds move, and move back.
            browser.picture("fault-step").await;
            let before = bar(&browser).await;
            answer(&browser, if right == "yes" { "no" } else { "yes" }).await;
            let wrong = bar(&browser).await;
            browser.is_sound("the wrong answer").await;
            press_on(&browser, "#take-back").await;
            assert_eq!(
                told(&browser).await.1.as_deref(),
                Some(step.as_str()),
                "the same step is asked again"
            );
            assert_eq!(bar(&browser).await, before);
            assert_ne!(wrong, before, "an answer moves the odds");
            took_back = true;
        }
        if right == "helped" {
            browser.picture("fault-remedy").await;
            let spare = "return document.querySelector('#use-spare')?.value ?? ''";
            used = browser.script(spare).await.as_str().unwrap().to_owned();
            assert!(!used.is_empty(), "the store has a fuse for {step}");
            browser.press("#use-spare").await;
        }
        answer(&browser, right).await;
    }
    assert!(took_back, "there was a question");

    // It runs again: the cause is confirmed.
    assert_eq!(told(&browser).await.0, "close");
    browser.is_sound("the end").await;
    browser.picture("fault-close").await;
    browser.press("#now input[name=cause][value=amplifier-fuse]").await;
    press_on(&browser, "#confirm").await;
    assert_eq!(told(&browser).await.0, "closed");
    browser.is_sound("the finished case").await;
    browser.picture("fault-closed").await;
    browser.picture_of("fault-closed-below", "#changed").await;
    assert!(browser.text("#tried").await.contains("it helped"));

    // All of it stands in the logbook, the spare has left the store, and the chain holds.
    assert_eq!(stock_of(&booth, &used), 1);
    let closed = booth.ask(&["logbook", "list", "--kind", "fault-closed", "--limit", "500"]);
    let own = closed.as_array().unwrap().iter().find(|entry| entry["fields"]["fault"] == json!(fault));
    assert_eq!(own.unwrap()["fields"]["cause_id"], json!(CAUSE));
    assert_eq!(booth.ask(&["logbook", "verify"])["in_order"], json!(true));
    browser.open(&booth.url("/faults")).await;
    browser.is_sound("the faults").await;
    browser.picture("faults").await;
    browser.close().await;
}

#[tokio::test]
async fn a_burning_smell_ends_in_a_repair_request() {
    let booth = Booth::demo_at(DURING_THE_SHOW);
    let browser = Browser::with(PHONE).await;
    start(&browser, &booth, "burning", "burning-smell").await;
    // Danger comes before everything: stop first, and nothing is run again to see.
    assert_eq!(told(&browser).await.0, "make-safe");
    browser.is_sound("stop").await;
    browser.picture("fault-stop").await;
    answer(&browser, "made-safe").await;
    for _ in 0..MOST_STEPS {
        match told(&browser).await.0.as_str() {
            "at-once" => answer(&browser, "done-at-once").await,
            "step" => {
                press_on(
                    &browser,
                    "#now .answers button[value=no], #now .answers button[value=did-not-help]",
                )
                .await;
            }
            _ => break,
        }
    }
    assert_eq!(told(&browser).await.0, "pass-on");
    browser.picture("fault-pass-on").await;
    press_on(&browser, "#write-request").await;
    browser.is_sound("the repair request").await;
    browser.picture("fault-request").await;
    let page = browser.text("main").await;
    for part in ["A smell of burning", "Likely", "technician"] {
        assert!(page.contains(part), "the request says `{part}`: {page}");
    }
    let requests = booth.ask(&["logbook", "list", "--kind", "repair-requested", "--limit", "10"]);
    assert_eq!(requests.as_array().unwrap().len(), 1);
    browser.close().await;
}

#[tokio::test]
async fn the_desk_fits_a_laptop() {
    let booth = Booth::demo_at(DURING_THE_SHOW);
    let browser = Browser::with(LAPTOP).await;
    browser.open(&booth.url("/faults/new?machine=turnstone")).await;
    let shows = "return document.querySelector('input[name=show]:checked').value";
    assert_eq!(browser.script(shows).await, json!("running"), "the diary says that a show runs");
    start(&browser, &booth, "no sound", "no-sound").await;
    answer(&browser, "done-at-once").await;
    for _ in 0..3 {
        let (sort, _) = told(&browser).await;
        browser.is_sound("the case").await;
        if sort != "step" {
            break;
        }
        press_on(&browser, "#now .answers button[value=no], #now .answers button[value=did-not-help]").await;
    }
    browser.script("document.querySelectorAll('details').forEach(one => one.open = true)").await;
    browser.is_sound("the case, unfolded").await;
    browser.picture("fault-case").await;
    browser.close().await;
}
