//! Response, noise, focus and buzz track: a recording sent on the page says what it says on the command line.

use crate::{
    booth::{Booth, Browser, LAPTOP, PHONE, Screen, file_chosen},
    sound::{figures, wait_for_reading},
};
use serde_json::Value;
use std::{f64::consts::TAU, fs, path::Path};

const RATE: u32 = 16_000;
/// Full scale of a 16 bit sample.
const FULL: f64 = 32_767.0;

/// Writes samples as WAV, mono, 16 bit PCM (RIFF, Multimedia Programming Interface 1.0).
fn write(path: &Path, samples: &[f64]) {
    let bytes = 2 * u32::try_from(samples.len()).unwrap();
    let mut wav = Vec::from(*b"RIFF");
    wav.extend((36 + bytes).to_le_bytes());
    wav.extend(b"WAVEfmt \x10\0\0\0\x01\0\x01\0");
    wav.extend(RATE.to_le_bytes());
    wav.extend((2 * RATE).to_le_bytes());
    wav.extend(b"\x02\0\x10\0data");
    wav.extend(bytes.to_le_bytes());
    wav.extend(samples.iter().flat_map(|one| ((one * FULL).round() as i16).to_le_bytes()));
    fs::write(path, wav).unwrap();
}

fn gain(db: f64) -> f64 {
    10_f64.powf(db / 20.0)
}

/// Noise of even spread, the same every time.
struct Hiss(u64);

impl Hiss {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}

/// Samples of so many seconds: what `at` says of each second, over a hiss of a peak level.
fn samples(seconds: f64, hiss_db: f64, at: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut hiss = Hiss(7);
    let n = (seconds * f64::from(RATE)) as u32;
    (0..n).map(|n| at(f64::from(n) / f64::from(RATE)) + gain(hiss_db) * hiss.next()).collect()
}

/// A multi-frequency film whose treble falls off above 3 kHz; a step is four seconds.
fn response(path: &Path) {
    const STEPS: [(f64, f64); 11] = [
        (400.0, 0.0),
        (50.0, -1.5),
        (100.0, 0.0),
        (200.0, 0.0),
        (500.0, 0.0),
        (1000.0, 0.0),
        (2000.0, -0.5),
        (3000.0, -1.0),
        (4000.0, -2.0),
        (5000.0, -5.0),
        (6000.0, -7.0),
    ];
    let all = samples(44.0, -66.0, |second| {
        let (hz, db) = STEPS[(second / 4.0) as usize];
        gain(-12.0 + db) * (TAU * hz * second).sin()
    });
    write(path, &all);
}

/// Hiss, hum of 50 Hz mains at 100 Hz, and a line once a frame.
fn noise(path: &Path) {
    let all = samples(20.0, -62.0, |second| {
        gain(-48.0) * (TAU * 100.0 * second).sin() + gain(-58.0) * (TAU * 24.0 * second).sin()
    });
    write(path, &all);
}

/// A high tone while somebody turns the focus: past its best, and not quite back.
fn focus(path: &Path) {
    let all = samples(30.0, -60.0, |second| {
        let off = ((second - 12.0) / 4.0).powi(2).min(14.0);
        let settled = if second > 20.0 { 2.4 } else { off };
        gain(-14.0 - settled) * (TAU * 5000.0 * second).sin()
    });
    write(path, &all);
}

/// Only the tone of 300 Hz is heard.
fn buzz_track(path: &Path) {
    write(path, &samples(20.0, -62.0, |second| gain(-34.0) * (TAU * 300.0 * second).sin()));
}

/// One measurement: its word on the page and on the command line, how its film is made, what else is asked of it on
/// the page and on the command line.
struct Measurement {
    page: &'static str,
    verb: &'static str,
    make: fn(&Path),
    fields: &'static [(&'static str, &'static str)],
    options: &'static [&'static str],
}

const ALL: [Measurement; 4] = [
    Measurement { page: "response", verb: "response", make: response, fields: &[], options: &[] },
    Measurement {
        page: "noise",
        verb: "noise",
        make: noise,
        fields: &[("reference", "-12")],
        options: &["--reference", "-12"],
    },
    Measurement { page: "focus", verb: "focus", make: focus, fields: &[], options: &[] },
    Measurement {
        page: "buzz-track",
        verb: "buzztrack",
        make: buzz_track,
        fields: &[("first_lies", "picture")],
        options: &["--first-lies", "picture"],
    },
];

/// Sends a film of each kind on the page, and compares every figure with the command line's.
async fn each_says_the_same(screen: Screen) {
    let booth = Booth::demo();
    let recordings = tempfile::tempdir().unwrap();
    let browser = Browser::with(screen).await;
    for one in &ALL {
        let wav = recordings.path().join(format!("{}.wav", one.page));
        (one.make)(&wav);
        let mut asked = vec!["sound", one.verb, wav.to_str().unwrap(), "--machine", "turnstone"];
        asked.extend(one.options);
        let said = booth.ask(&asked);

        let fields: Vec<String> = one.fields.iter().map(|(name, value)| format!("&{name}={value}")).collect();
        let fields = fields.concat();
        browser.open(&booth.url(&format!("/sound?measure={}&machine=turnstone{fields}", one.page))).await;
        browser.is_sound(one.page).await;
        file_chosen(&browser, "#field-recording", &wav).await;
        browser.press("#sound-form button.main").await;
        wait_for_reading(&browser).await;
        browser.is_sound(one.page).await;
        browser.picture(&format!("sound-{}", one.page)).await;
        browser.picture_of(&format!("sound-{}-plot", one.page), ".found figure").await;
        let shown = figures(&browser).await;
        for (key, value) in said.as_object().unwrap().iter().filter(|(key, _)| *key != "file") {
            assert_eq!(&shown[key], value, "{}: {key}", one.page);
        }
        truth(one.page, &said, &browser).await;
        browser.press("form[data-form=sound-reading] button.main").await;
        browser.until("the trend is shown", "return location.pathname.includes('/trend/')").await;
    }
    browser.close().await;
}

/// What each film holds by its making, and how its page shows it.
async fn truth(page: &str, said: &Value, browser: &Browser) {
    let shown = browser.text("main").await;
    let figure = |key: &str| said[key].as_f64().unwrap_or(f64::NAN);
    match page {
        "response" => {
            let tones = said["tones"].as_array().unwrap();
            let level = |hz: f64| {
                let near = |tone: &&Value| (tone["hz"].as_f64().unwrap() / hz - 1.0).abs() < 0.01;
                tones.iter().find(near).unwrap()["level_db"].as_f64().unwrap()
            };
            assert!((level(5000.0) + 5.0).abs() < 0.2 && (level(400.0)).abs() < 0.2, "{tones:?}");
            // 16 mm is held flat to 5 kHz within 3 dB.
            assert!(shown.contains("Outside 3 dB") && shown.contains("5000 Hz"), "{shown}");
            browser.press("[data-closer=response]").await;
            let read = browser.text(".closer .reading").await;
            assert!(read.contains("Hz") && read.contains("dB"), "{read}");
            let band = "return document.querySelectorAll('.closer svg .spread').length";
            assert_eq!(browser.script(band).await, 1, "the characteristic is drawn closer too");
            browser.picture_of("sound-response-closer", ".closer").await;
        }
        "noise" => {
            assert!((figure("mains_hz") - 50.0).abs() < 0.1, "{said}");
            assert!(shown.contains("hum of 50 Hz mains"), "{shown}");
        }
        "focus" => {
            assert!((figure("end_below_best_db") - 2.4).abs() < 0.3, "{said}");
        }
        _ => {
            assert!((figure("louder_hz") - 300.0).abs() < 1.0 && said["move_towards"] == "edge", "{said}");
            assert!(shown.contains("towards the edge"), "{shown}");
            let drawn = browser.text(".found svg.buzz").await;
            assert!(drawn.contains("move the beam this way"), "{drawn}");
        }
    }
}

#[tokio::test]
async fn the_rest_of_the_chain_says_the_same_on_a_phone() {
    each_says_the_same(PHONE).await;
}

#[tokio::test]
async fn the_rest_of_the_chain_says_the_same_on_a_laptop() {
    each_says_the_same(LAPTOP).await;
}
