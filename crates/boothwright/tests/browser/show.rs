//! A show of two reels from the first picture to the report, by a clock that the test holds in its hand.

use crate::booth::{Booth, Browser, LAPTOP, PHONE};
use serde_json::Value;
use std::time::{Duration, Instant};

/// After the show, so that nothing that is tapped lies in the server's future.
const AFTERWARDS: &str = "2026-11-27T17:00:00+00:00[Atlantic/Faroe]";
const SHOWING: &str = "2026-11-27-ferry-saloon";
/// 15:00 on that day, when the showing starts.
const STARTS_MS: f64 = 1_795_791_600_000.0;

/// A page of the show whose clock stands where the test puts it.
struct Page<'b> {
    browser: &'b Browser,
    plan: Value,
}

impl<'b> Page<'b> {
    async fn open(browser: &'b Browser, booth: &Booth) -> Self {
        browser.open(&booth.url(&format!("/diary/{SHOWING}/show"))).await;
        Self::open_here(browser).await
    }

    /// The page that the browser shows already.
    async fn open_here(browser: &'b Browser) -> Self {
        browser.find("#show-taps").await;
        let state = browser.script("return JSON.parse(document.getElementById('show').dataset.state)").await;
        assert_eq!(state["starts_ms"].as_f64().unwrap(), STARTS_MS);
        Self { browser, plan: state["plan"].clone() }
    }

    /// Seconds of a reel by the plan.
    fn of_reel(&self, place: usize, key: &str) -> f64 {
        self.plan["reels"][place - 1][key].as_f64().unwrap()
    }

    /// Sets the clock to so many seconds after the planned start.
    async fn at(&self, seconds: f64) {
        let set = format!(
            "window.boothwright.clock = () => {}; window.boothwright.show.draw()",
            STARTS_MS + seconds * 1000.0
        );
        self.browser.script(&set).await;
    }

    async fn standing(&self) -> Value {
        self.browser.script("return window.boothwright.show.standing()").await
    }

    /// Taps a button as soon as the page believes a second tap.
    async fn tap(&self, mark: &str) {
        self.browser.press(&format!("#show-taps button[data-mark={mark}]:not(:disabled)")).await;
    }

    async fn take_back(&self) {
        self.browser.press("#show-taps button[data-undo]:not(:disabled)").await;
    }

    async fn phase(&self, phase: &str) {
        let script = format!("return window.boothwright.show.standing().phase === '{phase}'");
        self.browser.until(phase, &script).await;
    }

    async fn all_sent(&self) {
        self.browser.until("the outbox is empty", "return document.getElementById('outbox').hidden").await;
    }
}

fn near(value: &Value, expected: f64) {
    let value = value.as_f64().unwrap();
    assert!((value - expected).abs() < 0.002, "{value} for {expected}");
}

/// The big figure, read back in seconds.
async fn count(browser: &Browser) -> f64 {
    seconds_of(&browser.text("#show-count").await)
}

fn seconds_of(figure: &str) -> f64 {
    let (sign, figure) = figure.strip_prefix('-').map_or((1.0, figure), |rest| (-1.0, rest));
    sign * figure.split(':').fold(0.0, |sum, part| sum * 60.0 + part.parse::<f64>().unwrap())
}

/// Checks that the page and the server say the same of one moment.
async fn agrees_with_the_server(page: &Page<'_>) {
    page.all_sent().await;
    let asked = "return fetch(document.getElementById('show').dataset.address + '/state').then(answer => answer.json())";
    let state = page.browser.script(asked).await;
    let now = state["now_ms"].as_f64().unwrap();
    page.at((now - STARTS_MS) / 1000.0).await;
    page.browser
        .until("the marks have come back", "return window.boothwright.show.standing().reel > 0")
        .await;
    let (here, there) = (page.standing().await, &state["standing"]);
    for key in ["phase", "reel", "next"] {
        assert_eq!(here[key], there[key], "{key}");
    }
    assert_eq!(here["ahead"]["cue"], there["ahead"]["cue"]);
    for key in ["shown_seconds", "reel_left_seconds", "programme_left_seconds", "drift_seconds"] {
        near(&here[key], there[key].as_f64().unwrap());
    }
}

#[tokio::test]
async fn a_show_of_two_reels_runs_to_its_report_through_a_stoppage_and_a_lost_server() {
    let mut booth = Booth::demo_at(AFTERWARDS);
    let browser = Browser::with(PHONE).await;
    let page = Page::open(&browser, &booth).await;
    browser.is_sound("the show").await;
    assert!(browser.text("#show-next").await.contains("Lace reel 1 on Turnstone"));
    browser.picture("show-waiting").await;

    // Two minutes late.
    page.at(120.0).await;
    page.tap("started").await;
    page.phase("running").await;
    page.at(130.0).await;
    let motor = page.of_reel(1, "motor_seconds");
    assert!((count(&browser).await - (motor - 10.0)).abs() < 0.051);
    near(&page.standing().await["drift_seconds"], 120.0);
    assert!(browser.text("#show-drift").await.contains("2:00 later"));
    browser.picture("show-running").await;

    // A pause that nobody meant, taken back: as if it had never been.
    page.at(140.0).await;
    page.tap("paused").await;
    page.phase("paused").await;
    page.at(145.0).await;
    page.take_back().await;
    page.phase("running").await;
    near(&page.standing().await["shown_seconds"], 25.0);

    // The screen goes dark for forty seconds.
    page.at(300.0).await;
    page.tap("stopped").await;
    page.phase("stopped").await;
    page.at(340.0).await;
    assert!((count(&browser).await - 40.0).abs() < 0.051);
    browser.picture("show-stopped").await;
    page.tap("resumed").await;
    page.phase("running").await;
    near(&page.standing().await["shown_seconds"], 180.0);
    page.all_sent().await;
    browser.script("window.boothwright.show.draw()").await;

    // Something is wrong: the desk knows the show, and the way back leads to it.
    browser.press("#show-wrong").await;
    browser.find("input[name=show][value=running]:checked").await;
    browser.find(&format!("input[name=showing][value='{SHOWING}']")).await;
    browser.press("[data-group] summary").await;
    browser.press("details[open] button[name=symptom]").await;
    browser.press("#back-to-show").await;
    let page = Page::open_here(&browser).await;
    page.at(345.0).await;
    page.phase("running").await;

    // Near the cues the server is lost; the page goes on by itself.
    let first = 160.0;
    booth.lose_the_server();
    page.at(first + motor - 5.0).await;
    assert!(browser.text("#show-next").await.starts_with("Stand by: at the first mark, the motor of Dunlin"));
    assert_eq!(browser.text("#show-what").await, "To the motor cue");
    browser.picture("show-motor").await;
    page.at(first + motor - 0.4).await;
    assert!(browser.text("#show-next").await.starts_with("Now: start the motor of Dunlin"));
    page.at(first + motor + 4.0).await;
    assert!(
        browser.text("#show-next").await.starts_with("Stand by: at the second mark, change over to Dunlin")
    );
    page.at(first + motor + 1.0).await;
    assert!(browser.text("#show-next").await.starts_with("Now: start the motor of Dunlin"));
    assert_eq!(browser.text("#show-what").await, "To the changeover");
    let between = page.of_reel(1, "changeover_seconds") - motor;
    assert!((count(&browser).await - (between - 1.0)).abs() < 0.051);
    let changed = first + page.of_reel(1, "picture_seconds");
    page.at(changed).await;
    page.tap("changed-over").await;
    browser.until("reel 2 runs", "return window.boothwright.show.standing().reel === 2").await;
    page.at(changed + 20.0).await;
    near(&page.standing().await["shown_seconds"], 20.0);
    assert!(browser.text("#outbox").await.contains("to send"));
    browser.picture("show-lost").await;
    booth.serve();
    page.all_sent().await;

    // A second phone, and the first one opened again, show the same.
    let second = Browser::with(LAPTOP).await;
    let other = Page::open(&second, &booth).await;
    page.at(changed + 30.0).await;
    other.at(changed + 30.0).await;
    assert_eq!(page.standing().await, other.standing().await);
    near(&other.standing().await["shown_seconds"], 30.0);
    second.is_sound("the show on a laptop").await;
    second.picture("show-running").await;
    let page = Page::open(&browser, &booth).await;
    page.at(changed + 30.0).await;
    assert_eq!(page.standing().await, other.standing().await);
    agrees_with_the_server(&page).await;

    // The end is tapped too early on the second phone, taken back there, and tapped again on the first.
    let over = changed + page.of_reel(2, "picture_seconds");
    other.at(changed + 40.0).await;
    other.tap("ended").await;
    other.phase("over").await;
    other.all_sent().await;
    assert!(booth.ask(&["show", "report", SHOWING])["held_minutes"].is_number());
    page.phase("over").await;
    other.take_back().await;
    other.phase("running").await;
    other.all_sent().await;
    assert!(booth.ask(&["show", "report", SHOWING])["held_minutes"].is_null());
    page.phase("running").await;
    page.at(over).await;
    page.tap("ended").await;
    page.phase("over").await;
    page.all_sent().await;
    browser.picture("show-over").await;

    the_report_is_true(&booth, &browser, &page, over).await;
    second.close().await;
    browser.close().await;
}

async fn the_report_is_true(booth: &Booth, browser: &Browser, page: &Page<'_>, over: f64) {
    let report = booth.ask(&["show", "report", SHOWING]);
    assert_eq!(report["phase"], "over");
    near(&report["held_minutes"], (over - 120.0) / 60.0);
    assert_eq!(report["stoppages"].as_array().unwrap().len(), 1);
    near(&report["dark_seconds"], 40.0);
    assert_eq!(report["stoppages"][0]["machine"], "turnstone");
    for (place, machine) in [(1, "turnstone"), (2, "dunlin")] {
        let ran = ["head_seconds", "picture_seconds", "tail_seconds"].map(|key| page.of_reel(place, key));
        let hours = ran.iter().sum::<f64>() / 3600.0;
        let marked = report["machines"].as_array().unwrap().iter().find(|one| one["machine"] == machine);
        near(&marked.unwrap()["marked_hours"], hours);
        let written = booth.ask(&["logbook", "list", "--machine", machine, "--kind", "ran", "--limit", "5"]);
        let of_show: Vec<&Value> =
            written.as_array().unwrap().iter().filter(|one| one["fields"]["showing"] == SHOWING).collect();
        // The run of the end that was taken back stays in the log, and counts no more.
        assert_eq!(of_show.len(), 2, "{machine}");
        assert!(
            of_show.iter().any(|one| (one["fields"]["hours"].as_f64().unwrap() - hours).abs() < 1.0 / 3600.0)
        );
    }
    let tapped = booth.ask(&["logbook", "verify"]);
    assert_eq!(tapped["in_order"], Value::Bool(true));
    browser.press("#show-report").await;
    browser.find("[data-machine=dunlin]").await;
    browser.is_sound("the report").await;
    let text = browser.text("main").await;
    assert!(text.contains("0:40") && text.contains("Stopped in reel 1"), "{text}");
    browser.picture("show-report").await;
}

#[tokio::test]
async fn the_clock_is_true_after_its_tab_lay_in_the_background() {
    let booth = Booth::demo_today();
    let kept = booth.ask(&["programme", "list"]);
    let showing = kept[0]["showings"][0].as_str().unwrap();
    let browser = Browser::with(PHONE).await;
    browser.open(&booth.url(&format!("/diary/{showing}/show"))).await;
    browser.until("the clock is set by the server's", "return window.boothwright.show.answers() >= 3").await;
    browser.press("#show-taps button[data-mark=started]:not(:disabled)").await;
    browser.until("it runs", "return window.boothwright.show.standing().phase === 'running'").await;
    let look = "return [window.boothwright.show.standing().shown_seconds, document.getElementById('show-count').textContent, performance.timeOrigin + performance.now(), window.boothwright.show.now() - Date.now()]";
    let before = browser.script(look).await;

    let front = browser.client.window().await.unwrap();
    let further = browser.client.new_window(true).await.unwrap();
    browser.client.switch_to_window(further.handle).await.unwrap();
    browser.open("about:blank").await;
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(12) {
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
    browser.client.close_window().await.unwrap();
    browser.client.switch_to_window(front).await.unwrap();
    // The page draws as it comes to the front; then the figure on it is that of the moment.
    tokio::time::sleep(Duration::from_millis(400)).await;
    let after = browser.script(look).await;
    let passed = |at: usize| after[at].as_f64().unwrap() - before[at].as_f64().unwrap();
    assert!(passed(2) > 12_000.0);
    // Server and browser go by the same clock here, so that the truth is known.
    for look in [&before, &after] {
        assert!(look[3].as_f64().unwrap().abs() < 100.0, "the page's clock is off by {} ms", look[3]);
    }
    let off = passed(0) - passed(2) / 1000.0;
    assert!(off.abs() < 0.1, "off by {off} s after {} s in the background", passed(2) / 1000.0);
    let figure = |of: &Value| seconds_of(of[1].as_str().unwrap());
    // Two figures, each rounded to tenths and drawn ten times a second.
    let shown = (figure(&before) - figure(&after)) - passed(2) / 1000.0;
    assert!(shown.abs() < 0.3, "the figure is off by {shown} s");
    browser.close().await;
}

/// What a test lays over the page: the device's clock runs ahead by `ahead` milliseconds, and every turn of the big
/// figure is noted with the true time at which it was drawn. What the page itself does is left as it is.
const WATCHED: &str = "
    const real = Date.now.bind(Date);
    const count = document.getElementById('show-count');
    window.watched = { real, ahead: 0, hidden: [], turns: [] };
    Date.now = () => real() + window.watched.ahead;
    new MutationObserver(() => window.watched.turns.push([real(), count.textContent, document.hidden]))
        .observe(count, { childList: true, characterData: true, subtree: true });
    document.addEventListener('visibilitychange', () => {
        window.watched.hidden.push(document.hidden);
        if (!document.hidden) return;
        // What was drawn before belongs to the time before.
        window.watched.turns.length = 0;
        window.watched.ahead += window.watched.sleeps;
    });";

/// How far the figures drawn since the last look are off, at worst, in seconds, and how many there were; the truth is
/// `ahead_ms` beyond the computer's clock.
async fn worst_turn(browser: &Browser, began_ms: f64, counts_to: f64, ahead_ms: f64) -> (f64, usize) {
    let turns = browser.script("return window.watched.turns.splice(0).filter(turn => !turn[2])").await;
    let off = |turn: &Value| {
        let shown = (turn[0].as_f64().unwrap() + ahead_ms - began_ms) / 1000.0;
        (seconds_of(turn[1].as_str().unwrap()) - (counts_to - shown)).abs()
    };
    let turns = turns.as_array().unwrap();
    (turns.iter().map(off).fold(0.0, f64::max), turns.len())
}

#[tokio::test]
async fn two_hours_in_the_background_and_a_wrong_clock_cost_the_count_no_tenth() {
    const SLEEPS_MS: f64 = 7_200_000.0;
    let mut booth = Booth::demo_today();
    let kept = booth.ask(&["programme", "list"]);
    let showing = kept[0]["showings"][0].as_str().unwrap();
    let browser = Browser::with(PHONE).await;
    browser.open(&booth.url(&format!("/diary/{showing}/show"))).await;
    let answered = "return window.boothwright.show.answers() >= 3";
    browser.until("the clock is set by the server's", answered).await;

    // A phone whose clock is forty seconds fast: the page finds out from the server's.
    browser.script(WATCHED).await;
    browser.script("window.watched.ahead = 40000; window.watched.sleeps = 0").await;
    let corrected = "return Math.abs(window.boothwright.show.now() - window.watched.real()) < 50";
    browser.until("the page counts by the server's clock", corrected).await;
    browser.press("#show-taps button[data-mark=started]:not(:disabled)").await;
    browser.until("it is sent", "return document.getElementById('outbox').hidden").await;
    let asked = "return fetch(document.getElementById('show').dataset.address + '/state').then(answer => answer.json())";
    let state = browser.script(asked).await;
    let began = state["marks"][0]["at_ms"].as_f64().unwrap();
    let reel = &state["plan"]["reels"][0];
    let motor = reel["motor_seconds"].as_f64().unwrap();
    browser.script("window.watched.turns.splice(0)").await;
    tokio::time::sleep(Duration::from_secs(2)).await;
    let (off, n_turns) = worst_turn(&browser, began, motor, 0.0).await;
    assert!(n_turns >= 10, "the figure turned only {n_turns} times");
    assert!(off < 0.1, "off by {off} s with a clock that is 40 s fast");

    // The server is lost and the tab lies in the background while two hours pass on the device's clock.
    booth.lose_the_server();
    browser.script(&format!("window.watched.sleeps = {SLEEPS_MS}")).await;
    let page = browser.client.window().await.unwrap();
    let further = browser.client.new_window(true).await.unwrap();
    browser.client.switch_to_window(further.handle).await.unwrap();
    browser.open("about:blank").await;
    tokio::time::sleep(Duration::from_secs(3)).await;
    browser.client.close_window().await.unwrap();
    browser.client.switch_to_window(page).await.unwrap();
    tokio::time::sleep(Duration::from_secs(2)).await;
    let seen = browser.script("return window.watched.hidden").await;
    assert_eq!(seen, serde_json::json!([true, false]), "the tab lay in the background once");
    let changeover = reel["changeover_seconds"].as_f64().unwrap();
    let (off, n_turns) = worst_turn(&browser, began, changeover, SLEEPS_MS).await;
    assert!(n_turns >= 10, "the figure turned only {n_turns} times");
    assert!(off < 0.1, "off by {off} s after two hours in the background");

    // The server's clock did not leap: when it is there again, the page goes by it, two hours wrong as the phone is.
    booth.serve();
    browser.until("the page counts by the server's clock again", corrected).await;
    browser.script("window.boothwright.show.draw(); window.watched.turns.splice(0)").await;
    tokio::time::sleep(Duration::from_secs(1)).await;
    let (off, _) = worst_turn(&browser, began, motor, 0.0).await;
    assert!(off < 0.1, "off by {off} s with a clock that is two hours fast");
    browser.close().await;
}
