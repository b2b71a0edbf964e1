//! Every page on a phone and on a laptop: whole, within the screen, from this computer alone.

use crate::booth::{Booth, Browser, LAPTOP, PHONE, Screen};

const PAGES: &[(&str, &str)] = &[
    ("tonight", "/"),
    ("path", "/machines/turnstone/path"),
    ("part", "/machines/turnstone/path/sound-drum"),
    ("walk", "/machines/dunlin/walk?for=before-showing"),
    ("diary", "/diary"),
    ("programmes", "/programmes"),
    ("new-programme", "/programmes/new"),
    ("due", "/due"),
    ("machines", "/machines"),
    ("machine", "/machines/turnstone"),
    ("logbook", "/logbook"),
    ("sound-choose", "/sound?measure=noise"),
    ("log", "/log"),
    ("log-ran", "/log/ran?machine=turnstone"),
    ("about", "/about"),
    ("more", "/more"),
];

async fn look_at_every_page(screen: Screen) {
    let booth = Booth::demo();
    let browser = Browser::with(screen).await;
    for (name, path) in PAGES {
        browser.open(&booth.url(path)).await;
        browser.is_sound(name).await;
        assert!(
            browser.text("body").await.to_lowercase().contains("invented"),
            "{name}: not marked as invented"
        );
        let dark = "const c = getComputedStyle(document.body).backgroundColor.match(/\\d+/g).map(Number);
            return c[0] + c[1] + c[2] < 120";
        assert_eq!(browser.script(dark).await, true, "{name}: a bright page in a dark booth");
        browser.picture(name).await;
    }
    let headings = browser.script("return document.querySelectorAll('h1').length").await;
    assert_eq!(headings, 1);
    browser.close().await;
}

#[tokio::test]
async fn every_page_is_whole_on_a_phone() {
    look_at_every_page(PHONE).await;
}

#[tokio::test]
async fn every_page_is_whole_on_a_laptop() {
    look_at_every_page(LAPTOP).await;
}
