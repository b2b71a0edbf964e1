//! The walk: step by step, with script and without, once each, whatever is lost on the way.

use crate::desk::{Answer, Server, filled};
use axum::http::StatusCode;
use logbook::{Fact, fact::Outcome};

const WALK: &str = "/machines/whimbrel/walk?for=before-showing";

/// The form of one step, as the page has it.
fn step_form(page: &Answer, step: usize) -> Vec<(String, String)> {
    page.form(&format!("#step-{step} form"))
}

/// The value of the broad button of a step.
fn main_button(page: &Answer, step: usize) -> String {
    page.attributes(&format!("#step-{step} button.broad"), "value").remove(0)
}

#[tokio::test]
async fn a_whole_walk_without_script_leaves_one_entry_for_each_step() {
    let server = Server::demo();
    let before = server.count();
    let first = server.get(WALK).await;
    let tasks = first.attributes("section[data-task]", "data-task");
    assert!(tasks.len() > 10, "{tasks:?}");
    for step in 1..=tasks.len() {
        let page = server.get(WALK).await;
        let form = step_form(&page, step);
        let value = main_button(&page, step);
        let answer = server.post(WALK, &filled(&form, &[("outcome", &value)])).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
        let next = if step < tasks.len() { format!("step-{}", step + 1) } else { "step-end".to_owned() };
        assert_eq!(answer.location(), format!("{WALK}#{next}"));
        server.pass_seconds(20);
    }
    assert_eq!(server.count(), before + tasks.len() as u64);
    let page = server.get(WALK).await;
    assert_eq!(page.attributes("section[data-recorded]", "data-step").len(), tasks.len());
    assert!(page.text_of("#step-end .lead").contains("all written down"));
    let walks: Vec<Answer> = vec![page];
    assert_eq!(walks[0].attributes(".walk-steps", "data-walk"), ["whimbrel-before-showing-2026-11-25"]);
}

#[tokio::test]
async fn the_script_s_repeated_posts_are_one_entry_and_keep_their_own_time() {
    let server = Server::demo();
    let page = server.get(WALK).await;
    let form = step_form(&page, 2);
    let value = main_button(&page, 2);
    let id = "01900000-0000-7000-8000-00000000beef";
    let before = server.count();
    for kept in ["600.5", "660.5"] {
        let sent =
            filled(&form, &[("id", id), ("outcome", &value), ("note", "stiff"), ("kept_seconds", kept)]);
        let answer = server.post_from_script(WALK, &sent).await;
        assert_eq!(answer.status, StatusCode::OK, "{}", answer.text());
        let said: serde_json::Value = serde_json::from_str(&answer.text()).unwrap();
        assert_eq!(said["entry"], id);
        server.pass_seconds(60);
    }
    assert_eq!(server.count(), before + 1);
    let entry = server.entry(id);
    assert_eq!(
        entry.recorded.unix_ms - entry.happened.unix_ms,
        600_500,
        "it happened when it was said, not when it was sent"
    );
}

#[tokio::test]
async fn a_second_word_at_a_step_corrects_the_first() {
    let server = Server::demo();
    let page = server.get(WALK).await;
    let form = step_form(&page, 1);
    let (one, two) = ("01900000-0000-7000-8000-000000000001", "01900000-0000-7000-8000-000000000002");
    let value = main_button(&page, 1);
    server.post_from_script(WALK, &filled(&form, &[("id", one), ("outcome", &value)])).await;
    let again = [("id", two), ("outcome", "attention"), ("note", "latch is loose"), ("corrects", one)];
    for _ in 0..2 {
        let answer = server.post_from_script(WALK, &filled(&form, &again)).await;
        assert_eq!(answer.status, StatusCode::OK, "{}", answer.text());
    }
    let Fact::Corrects(corrects) = server.entry(two).fact else { panic!("not a correction") };
    let Fact::CareDone(done) = *corrects.with else { panic!("not care") };
    assert_eq!((corrects.entry.to_string().as_str(), done.outcome), (one, Outcome::Attention));
    let page = server.get(WALK).await;
    assert!(page.text_of("#step-1 .recorded").contains("wants attention"));
    assert!(page.text_of("#step-1 .recorded").contains("latch is loose"));
}

#[tokio::test]
async fn without_script_too_a_second_word_corrects_the_first() {
    let server = Server::demo();
    let page = server.get(WALK).await;
    let value = main_button(&page, 3);
    server.post(WALK, &filled(&step_form(&page, 3), &[("outcome", &value)])).await;
    let page = server.get(WALK).await;
    let form = step_form(&page, 3);
    assert!(form.iter().any(|(name, _)| name == "corrects"), "{form:?}");
    let answer = server.post(WALK, &filled(&form, &[("outcome", "skipped")])).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    assert!(matches!(server.latest().fact, Fact::Corrects(_)));
}

#[tokio::test]
async fn a_refused_step_tells_the_script_why() {
    let server = Server::demo();
    let page = server.get(WALK).await;
    let form = step_form(&page, 1);
    let sent = filled(&form, &[("task", "polish-the-moon"), ("outcome", "done")]);
    let answer = server.post_from_script(WALK, &sent).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let said: serde_json::Value = serde_json::from_str(&answer.text()).unwrap();
    assert!(!said["problem"].as_str().unwrap().is_empty());
}

#[tokio::test]
async fn cautions_stand_at_their_step() {
    let server = Server::demo();
    let page = server.get("/machines/turnstone/walk?for=all").await;
    let library = machine::shipped();
    let kind = library.get("portable-16mm-halogen").unwrap();
    let html = page.html();
    for task in &kind.care {
        let selector = crate::desk::css(&format!("section[data-task={}] .cautions li", task.id));
        assert_eq!(html.select(&selector).count(), task.cautions.len(), "{}", task.id);
    }
    for walk in booth::WalkKind::ALL {
        let page = server.get(&format!("/machines/turnstone/walk?for={}", walk.as_str())).await;
        assert_eq!(page.status, StatusCode::OK, "{}", walk.as_str());
    }
}

#[tokio::test]
async fn a_technician_s_work_is_passed_on_and_not_offered_as_done() {
    let server = Server::demo();
    let page = server.get("/machines/turnstone/walk?for=all").await;
    let library = machine::shipped();
    let kind = library.get("portable-16mm-halogen").unwrap();
    let technicians = kind.care.iter().filter(|task| task.who == machine::Hand::Technician);
    let mut seen = 0;
    for task in technicians {
        seen += 1;
        let buttons =
            page.attributes(&format!("section[data-task={}] button[name=outcome]", task.id), "value");
        assert_eq!(buttons, ["skipped"], "{}", task.id);
    }
    assert!(seen > 0);
}

#[tokio::test]
async fn a_second_showing_of_the_evening_has_a_walk_of_its_own() {
    let server = Server::demo();
    for time in ["14:00", "16:30"] {
        let form = server.get("/diary/new").await.form("form.entry");
        let with = [
            ("title", "A short programme"),
            ("start_day", "2026-11-25"),
            ("start_time", time),
            ("length_minutes", "30"),
            ("on_machine", "whimbrel"),
        ];
        let answer = server.post("/diary/new", &filled(&form, &with)).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    }
    let name = |page: &Answer| page.attributes(".walk-steps", "data-walk").remove(0);
    let first = server.get(WALK).await;
    let value = main_button(&first, 1);
    let written = server.post(WALK, &filled(&step_form(&first, 1), &[("outcome", &value)])).await;
    assert_eq!(written.status, StatusCode::SEE_OTHER, "{}", written.text());
    assert_eq!(name(&server.get(WALK).await), name(&first), "the walk can be taken up again");
    server.pass_seconds(3 * 3600);
    let second = server.get(WALK).await;
    assert_ne!(name(&second), name(&first));
    let written = server.post(WALK, &filled(&step_form(&second, 1), &[("outcome", &value)])).await;
    assert_eq!(written.status, StatusCode::SEE_OTHER, "{}", written.text());
    let Fact::CareDone(done) = server.latest().fact else { panic!("a correction of the first walk") };
    assert_eq!(done.walk, name(&second));
}

#[tokio::test]
async fn the_walk_says_on_which_machine_it_is() {
    let server = Server::demo();
    let page = server.get(WALK).await;
    assert_eq!(page.text_of("h1"), "Whimbrel · before the showing");
    assert!(page.attributes("h1", "class").is_empty(), "it is seen, not only read aloud");
}

#[tokio::test]
async fn attention_in_a_walk_leads_somewhere() {
    let server = Server::demo();
    let first = server.get(WALK).await;
    assert!(first.text_of("#to-settle[hidden]").contains("To settle"));
    let form = step_form(&first, 1);
    server.post(WALK, &filled(&form, &[("outcome", "attention"), ("note", "latch is loose")])).await;
    let page = server.get(WALK).await;
    assert!(page.attributes("#to-settle[hidden]", "id").is_empty());
    let ways = page.attributes("[data-settle='1']:not([hidden]) a", "href");
    assert!(ways[0].starts_with("/faults/new?machine=whimbrel&at="), "{ways:?}");
    assert!(ways[1].starts_with("/log/fitness-set?machine=whimbrel"), "{ways:?}");
    for way in &ways {
        assert_eq!(server.get(way).await.status, StatusCode::OK, "{way}");
    }
    let machine = server.get("/machines/whimbrel").await;
    assert!(machine.text_of("main").contains("latch is loose"), "the machine page says it");
    let machines = server.get("/machines").await;
    assert!(machines.text_of("[data-machine=whimbrel]").contains("attention:"));
}
