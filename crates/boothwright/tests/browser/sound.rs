//! A recording comes in, by file and by microphone, and says on the page what it says on the command line.

use crate::booth::{Booth, Browser, LAPTOP, PHONE, file_chosen, program};
use serde_json::Value;
use std::path::Path;

/// The parts of a recording whose truth is known: Turnstone's drum at sound speed and 0.4 % fast, and the pull-down.
const DRUM: (f64, f64) = (1.9388, 0.30);
const CLAW: (f64, f64) = (24.096, 0.05);

/// Makes a recording of known flutter.
fn make(path: &Path, seconds: f64) {
    let line = |(hz, percent): (f64, f64)| format!("{hz}:{percent}");
    let made = program()
        .args(["sound", "make"])
        .arg(path)
        .args(["--seconds", &seconds.to_string(), "--speed-error", "0.4", "--noise", "46"])
        .args(["--line", &line(DRUM), "--line", &line(CLAW)])
        .output()
        .unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
}

/// The figures of the recording whose page is open.
pub async fn figures(browser: &Browser) -> Value {
    let script = "const done = arguments[arguments.length - 1];
        fetch(document.querySelector('[data-figures]').dataset.figures).then(a => a.text()).then(done)";
    let text = browser.client.execute_async(script, vec![]).await.unwrap();
    // Read here and not in the page, so that no digit is lost on the way.
    serde_json::from_str(text.as_str().unwrap()).unwrap()
}

pub async fn wait_for_reading(browser: &Browser) {
    browser
        .until(
            "the recording is measured",
            "return location.pathname.startsWith('/sound/recordings/') && !!document.querySelector('[data-figures]')",
        )
        .await;
}

#[tokio::test]
async fn a_recording_that_is_sent_says_what_it_says_on_the_command_line() {
    let booth = Booth::demo();
    let recordings = tempfile::tempdir().unwrap();
    let wav = recordings.path().join("flutter.wav");
    make(&wav, 60.0);
    let name = wav.to_str().unwrap();
    let said = booth.ask(&["sound", "flutter", name, "--machine", "turnstone"]);

    let browser = Browser::with(LAPTOP).await;
    browser.open(&booth.url("/sound?machine=turnstone")).await;
    browser.is_sound("sound").await;
    browser.picture("sound").await;
    file_chosen(&browser, "#field-recording", &wav).await;
    browser.press("#sound-form button.main").await;
    wait_for_reading(&browser).await;
    browser.is_sound("a recording").await;
    browser.picture("sound-flutter").await;

    let shown = figures(&browser).await;
    for (key, value) in said.as_object().unwrap().iter().filter(|(key, _)| *key != "file") {
        assert_eq!(&shown[key], value, "{key}");
    }
    let deepest = said["lines"].as_array().unwrap().iter().max_by(|a, b| {
        let depth = |line: &Value| line["depth_peak_percent"].as_f64().unwrap();
        depth(a).total_cmp(&depth(b))
    });
    let deepest = deepest.unwrap();
    assert!((deepest["hz"].as_f64().unwrap() - DRUM.0).abs() < 0.02, "{deepest}");
    assert_eq!(deepest["parts"][0]["part"], "drum");
    let page = browser.text("main").await;
    assert!(page.contains("Sound drum and flywheel"), "{page}");

    // Closer: the plot is drawn anew from the figures, and a point is read off it.
    browser.press("[data-closer=spectrum]").await;
    let read = browser.text(".closer .reading").await;
    assert!(read.contains("Sound drum and flywheel") && read.contains("1.9"), "{read}");
    browser.press(".closer .row button").await;
    browser.is_sound("a plot, closer").await;
    browser.picture("sound-closer").await;

    browser.press("form[data-form=sound-reading] button.main").await;
    browser.until("the trend is shown", "return location.pathname.includes('/trend/')").await;
    assert!(browser.text("[role=status][data-entry]").await.contains("Written down"));
    browser.picture("sound-written").await;
    let readings =
        booth.ask(&["logbook", "list", "--machine", "turnstone", "--kind", "reading", "--limit", "5"]);
    let written: Vec<_> =
        readings.as_array().unwrap().iter().filter(|one| one["fields"]["recording"].is_string()).collect();
    let weighted = written.iter().find(|one| one["fields"]["quantity"] == "flutter-weighted").unwrap();
    let value = weighted["fields"]["value"].as_f64().unwrap();
    assert!((value - said["weighted_quasi_peak_percent"].as_f64().unwrap()).abs() < 1e-3, "{weighted}");
    browser.close().await;
}

#[tokio::test]
async fn the_page_records_and_reads_the_flutter_that_the_microphone_hears() {
    const SECONDS: f64 = 24.0;
    let booth = Booth::demo();
    let recordings = tempfile::tempdir().unwrap();
    let wav = recordings.path().join("microphone.wav");
    make(&wav, 60.0);
    let said = booth.ask(&["sound", "flutter", wav.to_str().unwrap()]);

    let browser = Browser::hearing(PHONE, &wav).await;
    browser.open(&booth.url("/sound?machine=turnstone")).await;
    browser.is_sound("sound").await;
    browser.picture("sound").await;
    browser.press("[data-recorder=start]").await;
    browser
        .until(
            "it records",
            "return parseInt(document.querySelector('[data-recorder=time]').textContent) >= 2",
        )
        .await;
    browser.picture("sound-recording").await;
    tokio::time::sleep(std::time::Duration::from_secs_f64(SECONDS - 2.0)).await;
    browser.press("[data-recorder=stop]").await;
    let told = browser.text("[data-recorder=said]").await;
    assert!(told.contains("Recorded"), "{told}");
    assert!(!told.contains("leaves"), "the browser meddles: {told}");
    browser.press("#sound-form button.main").await;
    wait_for_reading(&browser).await;
    browser.is_sound("a recording").await;
    browser.picture("sound-heard").await;

    let heard = figures(&browser).await;
    assert!(heard["recorded_seconds"].as_f64().unwrap() > 15.0);
    let of = |all: &Value, key: &str| all[key].as_f64().unwrap();
    // The browser's fake device resamples and knows its own clock; its flutter is that of the file.
    assert!((of(&heard, "speed_error_percent") - of(&said, "speed_error_percent")).abs() < 0.05, "{heard}");
    let (here, there) = (of(&heard, "weighted_quasi_peak_percent"), of(&said, "weighted_quasi_peak_percent"));
    assert!((here / there - 1.0).abs() < 0.1, "{here} % heard, {there} % in the file");
    let drum = heard["lines"].as_array().unwrap().iter().any(|line| {
        (of(line, "hz") - DRUM.0).abs() < 0.05 && (of(line, "depth_peak_percent") / DRUM.1 - 1.0).abs() < 0.1
    });
    assert!(drum, "{}", heard["lines"]);
    browser.close().await;
}

#[tokio::test]
async fn the_demo_shows_the_drum_wearing_and_when_to_act() {
    let booth = Booth::demo();
    for screen in [PHONE, LAPTOP] {
        let browser = Browser::with(screen).await;
        browser.open(&booth.url("/machines/turnstone/trend")).await;
        browser.is_sound("trends").await;
        browser.picture("trends").await;
        browser.open(&booth.url("/machines/turnstone/trend/flutter-weighted")).await;
        browser.is_sound("a trend").await;
        browser.picture("trend").await;
        browser.press("[data-closer=trend]").await;
        let read = browser.text(".closer .reading").await;
        assert!(read.contains("2026-11-22") && read.contains("0.3"), "the last reading first: {read}");
        let drawn = "const of = (css) => document.querySelectorAll(`.closer svg ${css}`).length;
            return [of('.limit') >= 2, of('.spread') === 1, of('.curve') === 1]";
        assert_eq!(browser.script(drawn).await, serde_json::json!([true, true, true]), "limits, band, line");
        browser.picture_of("trend-closer", ".closer").await;
        let page = browser.text("main").await;
        assert!(page.contains("at which to act"), "{page}");
        let kept = browser.script("return document.querySelectorAll('[data-recording]').length").await;
        assert!(kept.as_u64().unwrap() >= 3, "{kept} recordings");
        assert!(page.contains("Sound drum and flywheel") && page.contains("baseline"), "{page}");
        browser.press("[data-recording] a").await;
        wait_for_reading(&browser).await;
        browser.is_sound("a kept recording").await;
        browser.picture("trend-recording").await;
        browser.picture_of("trend-recording-speed", ".found figure").await;
        browser.picture_of("trend-recording-spectrum", ".found figure:has(svg.spectrum)").await;
        // The line of the drum has a trend of its own.
        browser.open(&booth.url("/machines/turnstone/trend/flutter-weighted")).await;
        browser.press("#lines + p a").await;
        browser.until("the line's trend is shown", "return location.search === '?part=sound-drum'").await;
        browser.is_sound("a line's trend").await;
        let page = browser.text("main").await;
        assert!(page.contains("Sound drum and flywheel") && page.contains("at which to act"), "{page}");
        browser.picture("trend-line").await;
        browser.open(&booth.url("/machines/turnstone/trend/screen-luminance")).await;
        assert!(browser.text("main").await.contains("the change of projection lamp on"));
        browser.picture("trend-light").await;
        browser.picture_of("trend-light-plot", "figure").await;
        browser.close().await;
    }
    let trend = booth.ask(&["sound", "trend", "turnstone", "flutter-weighted"]);
    let date = trend["forecast"]["early"]["date"].as_str().unwrap();
    assert!(date > "2026-11-25" && date < "2027-12-31", "{date}");
}
