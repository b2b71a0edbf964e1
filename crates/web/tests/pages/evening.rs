//! The evening: what stands on Tonight, on the showing's page and on the show page before the first picture.

use crate::desk::{Answer, Server, filled};
use axum::http::StatusCode;

/// Sets a booth up from nothing, with one xenon machine.
async fn new_booth(server: &Server, with: &[(&str, &str)]) -> Answer {
    let form = server.get("/first-run").await.form("form#first-run");
    let usual = [
        ("booth", "Village hall"),
        ("person", "Ada Quill"),
        ("zone", "Europe/Paris"),
        ("machine", "Wren"),
        ("machine_type", "booth-35mm-xenon"),
    ];
    let mut all: Vec<(&str, &str)> =
        usual.into_iter().filter(|(name, _)| with.iter().all(|(own, _)| own != name)).collect();
    all.extend_from_slice(with);
    server.post("/first-run", &filled(&form, &all)).await
}

async fn plan(server: &Server, day: &str, time: &str, more: &[(&str, &str)]) -> Answer {
    let form = server.get("/diary/new").await.form("form.entry");
    let mut all = vec![
        ("title", "The Ferryman"),
        ("length_minutes", "37"),
        ("start_day", day),
        ("start_time", time),
        ("on_machine", "wren"),
    ];
    all.extend_from_slice(more);
    server.post("/diary/new", &filled(&form, &all)).await
}

#[tokio::test]
async fn a_new_booth_earns_no_praise() {
    let server = Server::empty();
    assert_eq!(new_booth(&server, &[]).await.status, StatusCode::SEE_OTHER);
    // The tests' clock stands at 13:00 in Paris: 40 minutes, so the house opens in 5.
    assert_eq!(plan(&server, "2026-11-25", "13:40", &[]).await.status, StatusCode::SEE_OTHER);
    let page = server.get("/").await;
    let said = page.text_of("main");
    assert!(said.contains("Nothing is known yet of the care of Wren"), "{said}");
    assert!(said.contains("rests on the machine type alone"), "{said}");
    assert!(!said.contains("nothing worth doing"), "{said}");
    assert!(!said.contains("up to date"), "{said}");
    assert!(page.text_of(".card[data-machine=wren]").contains("no record"), "{said}");
    assert!(said.contains("checks that matter most, "), "{said}");
    assert!(
        said.contains("Spool-box doors and fire-trap rollers"),
        "what safety hangs on comes first: {said}"
    );
}

#[tokio::test]
async fn the_last_hours_begin_with_large_buttons() {
    let server = Server::empty();
    new_booth(&server, &[]).await;
    plan(&server, "2026-11-25", "15:30", &[]).await;
    let ways = server.get("/").await.attributes(".now-ways a", "href");
    assert_eq!(ways.len(), 2, "{ways:?}");
    assert_eq!(ways[0], "/machines/wren/walk?for=before-showing");
    assert!(ways[1].ends_with("/show"), "{ways:?}");
    let wide = Server::empty();
    new_booth(&wide, &[]).await;
    plan(&wide, "2026-11-25", "20:30", &[]).await;
    assert!(
        wide.get("/").await.attributes(".now-ways a", "href").is_empty(),
        "seven hours before it there is time"
    );
}

#[tokio::test]
async fn something_is_wrong_is_reached_from_every_page() {
    let server = Server::demo();
    for page in ["/", "/due", "/diary", "/machines", "/logbook", "/stores", "/prints", "/log"] {
        assert_eq!(
            server.get(page).await.attributes("header.top a.wrong", "href"),
            ["/faults/new"],
            "{page}"
        );
    }
}

#[tokio::test]
async fn an_attention_stands_on_every_page_of_the_evening_until_it_is_settled() {
    let server = Server::empty();
    new_booth(&server, &[]).await;
    plan(&server, "2026-11-25", "15:30", &[]).await;
    let walk = "/machines/wren/walk?for=before-showing";
    let page = server.get(walk).await;
    let step = page.attributes("section[data-task=doors-and-traps]", "data-step").remove(0);
    let form = page.form(&format!("#step-{step} form"));
    server.post(walk, &filled(&form, &[("outcome", "attention")])).await;
    let showing = server.get("/").await.attributes("a#run-now", "href").remove(0).replace("/show", "");
    for page in ["/", &showing, "/machines", "/machines/wren"] {
        let said = server.get(page).await.text_of("main");
        assert!(said.contains("attention: Spool-box doors and fire-trap rollers"), "{page}: {said}");
        assert!(said.contains("Do not run before this is settled"), "{page}: {said}");
    }
    let form = server.get("/log/fitness-set?machine=wren").await.form("form.entry");
    server.pass_seconds(60);
    let decided =
        server.post("/log/fitness-set", &filled(&form, &[("fitness", "fit"), ("why", "door mended")])).await;
    assert_eq!(decided.status, StatusCode::SEE_OTHER, "{}", decided.text());
    assert!(!server.get("/").await.text_of("main").contains("attention: Spool-box"), "somebody decided");
}

#[tokio::test]
async fn the_hours_of_a_lamp_are_asked_and_never_guessed() {
    let path = "/machines/wren/path/xenon-lamp";
    let unknown = Server::empty();
    new_booth(&unknown, &[]).await;
    let said = unknown.get(path).await.text_of("main");
    assert!(said.contains("its hours are not known: take it as possibly past its limit"), "{said}");
    let known = Server::empty();
    assert_eq!(new_booth(&known, &[("lamp_hours", "820")]).await.status, StatusCode::SEE_OTHER);
    let said = known.get(path).await.text_of("main");
    assert!(!said.contains("its hours are not known"), "{said}");
    assert!(said.contains("820 h"), "{said}");
}

#[tokio::test]
async fn a_town_is_taken_where_it_is_the_only_one() {
    let server = Server::empty();
    assert_eq!(new_booth(&server, &[("zone", "Paris")]).await.status, StatusCode::SEE_OTHER);
    let none = Server::empty();
    assert_eq!(new_booth(&none, &[("zone", "Atlantis")]).await.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_showing_that_has_begun_already_is_asked_back() {
    let server = Server::empty();
    new_booth(&server, &[]).await;
    let past = plan(&server, "2026-11-25", "11:00", &[]).await;
    assert_eq!(past.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(past.text_of("main").contains("has passed already"), "{}", past.text());
    assert_eq!(past.attributes("input[name=past_is_meant]", "value"), ["yes"]);
    let meant = plan(&server, "2026-11-25", "11:00", &[("past_is_meant", "yes")]).await;
    assert_eq!(meant.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_reel_that_must_not_run_is_left_out_with_a_tap_before_the_first_picture() {
    let server = Server::demo();
    let diary = server.get("/diary").await;
    let html = diary.html();
    let card = html
        .select(&crate::desk::css(".card[data-showing]"))
        .find(|card| card.text().collect::<String>().contains("do not show reel"))
        .expect("the demo has a showing whose print is too far shrunk");
    let showing = card.attr("data-showing").unwrap().to_owned();
    let show = format!("/diary/{showing}/show");
    let first = server.get(&show).await;
    assert_eq!(first.status, StatusCode::OK, "{}", first.text());
    assert!(first.attributes("#show", "data-phase").is_empty(), "no tap before it is read");
    assert!(first.text_of("#barred").contains("Do not show"), "{}", first.text());
    let on = first.attributes("a#know-barred", "href").remove(0);
    let page = server.get(&on).await;
    assert_eq!(page.attributes("#show", "data-phase"), ["waiting"]);
    assert!(page.text_of("main").contains("do not show reel"), "it stays above the clock");
}
