//! How long parts last: the list, the curve, and a failure that moves them.

use crate::booth::{Booth, Browser, LAPTOP, PHONE, program};
use serde_json::Value;

const KIND: &str = "portable-16mm-halogen";

/// The life of the usual lamp, as the command line tells it.
fn lamp(booth: &Booth) -> Value {
    let answer = booth.ask(&["lives", "show", "lamp", "--machine-type", KIND]);
    answer["parts"][0].clone()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[tokio::test]
async fn the_list_leads_to_the_curve_on_which_each_fitted_part_stands() {
    let booth = Booth::demo();
    let lamp = lamp(&booth);
    for screen in [PHONE, LAPTOP] {
        let browser = Browser::with(screen).await;
        browser.open(&booth.url("/lives")).await;
        browser.is_sound("parts and lives").await;
        browser.picture("lives").await;
        browser.press(&format!("a[href='/lives/{KIND}/lamp']")).await;
        browser.until("the lamp's life is shown", "return !!document.querySelector('svg.life')").await;
        browser.is_sound("a part's life").await;
        assert!(
            browser.text(".lead").await.contains(lamp["sentence"].as_str().unwrap()),
            "page and command line say the same"
        );
        let fitted = lamp["fitted"].as_array().unwrap();
        let known = fitted.iter().filter(|fitted| fitted["age"].is_number()).count();
        let marked =
            browser.script("return document.querySelectorAll('svg.life [data-fitted]').length").await;
        assert_eq!(marked, Value::from(known));
        // Each mark stands at its own age, as the axis has it.
        let ages = browser.script(AGES_DRAWN).await;
        let mut drawn: Vec<f64> = ages.as_array().unwrap().iter().map(number).collect();
        let mut told: Vec<f64> = fitted.iter().filter_map(|fitted| fitted["age"].as_f64()).collect();
        drawn.sort_by(f64::total_cmp);
        told.sort_by(f64::total_cmp);
        let end = number(&lamp["believed"].as_array().unwrap().last().unwrap()["age"]);
        assert!(
            drawn.iter().zip(&told).all(|(drawn, told)| (drawn - told).abs() < 0.005 * end),
            "{drawn:?} {told:?}"
        );
        browser.picture("life-of-a-lamp").await;
        browser.close().await;
    }
}

/// Reads each mark's age off the drawing by the axis that the frame tells.
const AGES_DRAWN: &str = "
    const svg = document.querySelector('svg.life');
    const [low, high, from, to] = svg.dataset.x.split(' ').map(Number);
    const lines = [...svg.querySelectorAll('[data-fitted] line')];
    return lines.map(line => low + (line.getAttribute('x1') - from) / (to - from) * (high - low));
";

#[tokio::test]
async fn a_lamp_that_failed_shortens_what_is_believed() {
    let booth = Booth::demo();
    let before = lamp(&booth);
    let machine = before["fitted"][0]["machine"].as_str().unwrap().to_owned();
    let browser = Browser::with(PHONE).await;
    browser.open(&booth.url(&format!("/lives/{KIND}/lamp"))).await;
    let said = browser.text(".lead").await;

    let fitted = ["logbook", "add", "fitted", &machine, "lamp", "lamp-new", "--age", "0"];
    let done = program()
        .args(fitted)
        .args(["--replaces", "failed", "--who", "isa", "--data"])
        .arg(booth.data())
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));

    let after = lamp(&booth);
    assert_eq!(number(&after["failures_seen"]), number(&before["failures_seen"]) + 1.0);
    let half = |lamp: &Value| number(&lamp["half_life"]["median"]);
    assert!(half(&after) < half(&before), "{} {}", half(&after), half(&before));
    browser.open(&booth.url(&format!("/lives/{KIND}/lamp"))).await;
    assert_ne!(browser.text(".lead").await, said);
    browser.close().await;
}

#[tokio::test]
async fn what_dark_costs_can_be_said_and_moves_the_best_age() {
    let booth = Booth::demo();
    let browser = Browser::with(LAPTOP).await;
    browser.open(&booth.url(&format!("/lives/{KIND}/lamp?dark=200"))).await;
    browser.is_sound("a part's life with dear dark").await;
    let dear = booth.ask(&["lives", "show", "lamp", "--machine-type", KIND, "--dark-minute", "200"]);
    assert!(browser.text(".lead").await.contains(dear["parts"][0]["sentence"].as_str().unwrap()));
    assert!(number(&dear["parts"][0]["change"]["best_age"]) < number(&lamp(&booth)["change"]["best_age"]));
    browser.open(&booth.url(&format!("/lives/{KIND}/lamp?dark=much"))).await;
    assert!(browser.text("#dark-refused").await.contains("Write minutes of work"));
    browser.open(&booth.url(&format!("/lives/{KIND}/lamb"))).await;
    assert!(browser.text("main").await.contains("lamp"), "what there is is named");
    browser.close().await;
}
