//! Writing down, correcting, taking back; planning and holding a showing; photos.

use crate::desk::{Server, filled, own_post};
use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use logbook::{
    Fact,
    fact::{Outcome, RunKind},
};
use store::EntryStore;

#[tokio::test]
async fn a_form_that_is_sent_twice_is_written_once() {
    let server = Server::demo();
    let before = server.count();
    let form = server.get("/log/ran?machine=turnstone&back=/machines/turnstone").await.form("form.entry");
    let sent = filled(&form, &[("run", "test"), ("hours", "0:06")]);
    let first = server.post("/log/ran", &sent).await;
    assert_eq!(first.status, StatusCode::SEE_OTHER, "{}", first.text());
    server.pass_seconds(3);
    let second = server.post("/log/ran", &sent).await;
    assert_eq!((second.status, second.location()), (StatusCode::SEE_OTHER, first.location()));
    assert_eq!(server.count(), before + 1);
    let Fact::Ran(ran) = server.latest().fact else { panic!("not a run") };
    assert_eq!((ran.run, ran.machine.as_str()), (RunKind::Test, "turnstone"));
    assert!((ran.hours.hours() - 0.1).abs() < 1e-12);
    let page = server.get(&first.location()).await;
    assert_eq!(page.attributes("[role=status][data-entry]", "data-entry").len(), 1);
}

#[tokio::test]
async fn a_form_that_comes_again_with_other_words_changes_nothing_and_says_so() {
    let server = Server::demo();
    let form = server.get("/log/noted").await.form("form.entry");
    let first = server.post("/log/noted", &filled(&form, &[("words", "ticks in reel 2")])).await;
    assert_eq!(first.status, StatusCode::SEE_OTHER);
    let count = server.count();
    let second = server.post("/log/noted", &filled(&form, &[("words", "ticks in reel 3")])).await;
    assert_eq!(second.status, StatusCode::CONFLICT);
    assert!(second.attributes("main p.ways a", "href").iter().any(|href| href.ends_with("/correct")));
    assert_eq!(server.count(), count);
}

#[tokio::test]
async fn a_refused_form_keeps_what_was_typed_and_names_each_field() {
    let server = Server::demo();
    let before = server.count();
    let form = server.get("/log/reading?machine=turnstone").await.form("form.entry");
    let typed = filled(&form, &[("value", "much"), ("method", "my own meter"), ("happened_day", "some day")]);
    let answer = server.post("/log/reading", &typed).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(answer.attributes(".field.wrong", "data-field"), ["quantity", "value", "happened"]);
    let again = answer.form("form.entry");
    assert!(again.contains(&("value".to_owned(), "much".to_owned())));
    assert!(again.contains(&("method".to_owned(), "my own meter".to_owned())));
    let id = |form: &[(String, String)]| form.iter().find(|(name, _)| name == "id").unwrap().1.clone();
    assert_eq!(id(&again), id(&form), "the same form keeps its id");
    assert_eq!(server.count(), before);
}

#[tokio::test]
async fn the_gate_s_refusal_stands_beside_its_field() {
    let server = Server::demo();
    let form = server.get("/log/ran?machine=turnstone").await.form("form.entry");
    let typed = filled(&form, &[("run", "test"), ("hours", "1"), ("happened_day", "2031-01-01")]);
    let answer = server.post("/log/ran", &typed).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(answer.attributes(".field.wrong", "data-field"), ["happened"]);
}

#[tokio::test]
async fn an_entry_is_corrected_and_taken_back_and_stays_readable() {
    let server = Server::demo();
    let form = server.get("/log/ran?machine=turnstone").await.form("form.entry");
    let written = server.post("/log/ran", &filled(&form, &[("run", "test"), ("hours", "12")])).await;
    let id = server.latest().id.to_string();
    assert_eq!(written.status, StatusCode::SEE_OTHER);
    let hours = |text: &str| text.trim_end_matches(" h").parse::<f64>().unwrap();
    let wrong = hours(&server.get("/machines/turnstone").await.text_of("dl.facts dd strong"));

    let form = server.get(&format!("/logbook/{id}/correct")).await.form("form#correction");
    assert!(form.contains(&("hours".to_owned(), "12".to_owned())), "{form:?}");
    let no_reason = server.post(&format!("/logbook/{id}/correct"), &filled(&form, &[("hours", "2")])).await;
    assert_eq!(no_reason.status, StatusCode::UNPROCESSABLE_ENTITY);
    let sent = filled(&form, &[("hours", "2"), ("correction_why", "misread")]);
    for _ in 0..2 {
        let answer = server.post(&format!("/logbook/{id}/correct"), &sent).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    }
    let right = hours(&server.get("/machines/turnstone").await.text_of("dl.facts dd strong"));
    assert!((wrong - right - 10.0).abs() <= 1.0, "{wrong} → {right}");
    let page = server.get(&format!("/logbook/{id}")).await;
    assert_eq!(page.attributes("[data-settled-by]", "data-settled-by").len(), 1);
    assert!(page.text_of("main p.lead").contains("12 h"), "the entry itself stays as it was written");

    let form = page.attributes("a#correct", "href");
    let form = server.get(&form[0]).await.form("form[action$=withdraw]");
    let answer =
        server.post(&format!("/logbook/{id}/withdraw"), &filled(&form, &[("why", "wrong machine")])).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let page = server.get(&format!("/logbook/{id}")).await;
    assert_eq!(page.attributes("[data-settled-by]", "data-settled-by").len(), 2);
    assert!(page.attributes("a#correct", "href").is_empty());
}

/// The day on which a task falls due, by the list on the page.
async fn due_date(server: &Server, machine: &str, task: &str) -> String {
    let page = server.get(&format!("/due?machine={machine}")).await;
    page.attributes(&format!("tr[data-task={task}][data-machine={machine}]"), "data-due").remove(0)
}

#[tokio::test]
async fn a_new_showing_moves_a_due_date_and_cancelling_moves_it_back() {
    let server = Server::demo();
    // The lamp of the booth's machine is counted in hours lit: more showings bring its change nearer.
    let page = server.get("/due?machine=dunlin").await;
    let by_hours: Vec<String> = page.attributes("tr[data-state=ok]", "data-task");
    let mut before = Vec::new();
    for task in &by_hours {
        before.push(due_date(&server, "dunlin", task).await);
    }
    let mut planned = Vec::new();
    for day in ["2026-11-26", "2026-11-27", "2026-11-28"] {
        let form = server.get("/diary/new").await.form("form.entry");
        let with = [
            ("title", "A very long day"),
            ("start_day", day),
            ("start_time", "06:00"),
            ("length_minutes", "480"),
            ("on_machine", "dunlin"),
        ];
        let answer = server.post("/diary/new", &filled(&form, &with)).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
        let Fact::ShowingPlanned(showing) = server.latest().fact else { panic!("not planned") };
        planned.push(showing.showing.to_string());
    }
    let mut after = Vec::new();
    for task in &by_hours {
        after.push(due_date(&server, "dunlin", task).await);
    }
    assert!(before.iter().zip(&after).all(|(before, after)| before.is_empty() || after <= before));
    assert!(before.iter().zip(&after).any(|(before, after)| after < before), "no due date moved: {before:?}");
    assert!(server.get("/diary").await.text().contains("A very long day"));
    for showing in planned {
        let page = server.get(&format!("/diary/{showing}/cancelled")).await;
        let form = page.form("form[data-form=showing-cancelled]");
        let answer =
            server.post(&format!("/diary/{showing}/cancelled"), &filled(&form, &[("why", "storm")])).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    }
    let mut at_last = Vec::new();
    for task in &by_hours {
        at_last.push(due_date(&server, "dunlin", task).await);
    }
    assert_eq!(at_last, before);
}

#[tokio::test]
async fn a_showing_is_changed_and_held_with_its_runs() {
    let server = Server::demo();
    let form = server.get("/diary/new").await.form("form.entry");
    let with = [
        ("title", "Matinée"),
        ("start_day", "2026-11-25"),
        ("start_time", "10:00"),
        ("length_minutes", "90"),
        ("on_machine", "dunlin"),
        ("hours-of-dunlin", "1:30"),
        // The test's clock stands at noon.
        ("past_is_meant", "yes"),
    ];
    server.post("/diary/new", &filled(&form, &with)).await;
    let Fact::ShowingPlanned(planned) = server.latest().fact else { panic!("not planned") };
    let address = format!("/diary/{}", planned.showing);
    let form = server.get(&format!("{address}/change")).await.form("form[data-form=showing-planned]");
    assert!(form.contains(&("title".to_owned(), "Matinée".to_owned())));
    assert!(form.contains(&("on_machine".to_owned(), "dunlin".to_owned())));
    let answer = server.post(&format!("{address}/change"), &filled(&form, &[("start_time", "10:30")])).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let Fact::ShowingPlanned(changed) = server.latest().fact else { panic!("not planned") };
    assert_eq!((changed.showing, changed.starts.hour(), changed.starts.minute()), (planned.showing, 10, 30));
    let count = server.count();
    let form = server.get(&format!("{address}/held")).await.form("form[data-form=showing-held]");
    let sent = filled(&form, &[("lasted_minutes", "92"), ("audience", "31")]);
    for _ in 0..2 {
        let answer = server.post(&format!("{address}/held"), &sent).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    }
    assert_eq!(server.count(), count + 2, "one entry for the showing, one for the machine's run");
    assert!(server.get(&address).await.text_of("main").contains("Held; lasted 1 h 32 min."));
}

/// The smallest PNG: its signature and an IHDR chunk are enough for telling what it is.
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\0\0\0\0:~\x9bU";

fn multipart(fields: &[(&str, &str)], photo: &[u8]) -> Vec<u8> {
    let mut body = Vec::new();
    for (name, value) in fields {
        body.extend(
            format!("--cut\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").bytes(),
        );
    }
    body.extend(b"--cut\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"x.html\"\r\nContent-Type: text/html\r\n\r\n");
    body.extend(photo);
    body.extend(b"\r\n--cut--\r\n");
    body
}

#[tokio::test]
async fn a_photo_is_kept_and_served_only_as_what_it_is() {
    let server = Server::demo();
    let form = server.get("/log/noted").await.form("form.entry");
    let fields = filled(&form, &[("words", "a burr on the gate")]);
    let post = |photo: &[u8]| {
        Request::post("/log/noted")
            .header(header::HOST, "localhost")
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=cut")
            .body(Body::from(multipart(&fields, photo)))
            .unwrap()
    };
    let refused = server.send(post(b"<script>alert(1)</script>")).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(refused.attributes(".field.wrong", "data-field"), ["photo"]);
    let answer = server.send(post(PNG)).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let Fact::Noted(noted) = server.latest().fact else { panic!("not a note") };
    let address = format!("/attachments/{}", noted.photos[0]);
    let page = server.get(&format!("/logbook/{}", server.latest().id)).await;
    assert_eq!(page.attributes(".photos img", "src"), std::slice::from_ref(&address));
    let photo = server.get(&address).await;
    assert_eq!((photo.status, &photo.body[..]), (StatusCode::OK, PNG));
    let of = |name: &str| photo.headers.get(name).unwrap().to_str().unwrap().to_owned();
    assert_eq!(of("content-type"), "image/png");
    assert!(of("content-security-policy").contains("sandbox"));
}

#[tokio::test]
async fn a_photo_sent_ahead_by_the_script_gets_its_name() {
    let server = Server::demo();
    let request = |bytes: &'static [u8]| {
        own_post("/attachments")
            .header(header::CONTENT_TYPE, "image/png")
            .header(header::ACCEPT, "application/json")
            .body(Body::from(bytes))
            .unwrap()
    };
    let mut sent = request(PNG);
    sent.headers_mut().remove(header::CONTENT_TYPE);
    sent.headers_mut().insert(header::CONTENT_TYPE, "image/png".parse().unwrap());
    let answer = server.send(sent).await;
    assert_eq!(answer.status, StatusCode::CREATED, "{}", answer.text());
    let said: serde_json::Value = serde_json::from_str(&answer.text()).unwrap();
    assert_eq!(said["attachment"].as_str().unwrap().len(), 64);
    let mut evil = request(b"<html>");
    evil.headers_mut().insert(header::CONTENT_TYPE, "image/png".parse().unwrap());
    let answer = server.send(evil).await;
    assert_eq!(answer.status, StatusCode::UNSUPPORTED_MEDIA_TYPE);
    assert!(answer.text().contains("\"problem\""));
}

#[tokio::test]
async fn what_another_program_writes_is_seen_at_once() {
    let server = Server::demo();
    assert!(!server.get("/machines/turnstone").await.text().contains("smells warm"));
    let mut entry = server.latest();
    entry.id = logbook::EntryId(uuid::Uuid::from_u128(0x0190_0000_0000_7000_8000_0000_0000_00aa));
    entry.fact = logbook::fact::Noted {
        about: Some(logbook::fact::About::Machine("turnstone".into())),
        words: "smells warm".to_owned(),
        photos: Vec::new(),
    }
    .into();
    server.store.append(&[entry]).unwrap();
    assert!(server.get("/machines/turnstone").await.text().contains("smells warm"));
}

#[tokio::test]
async fn before_the_night_ends_it_is_still_the_evening_before() {
    let server = Server::demo();
    server.pass_seconds(13 * 3600);
    let page = server.get("/").await;
    assert!(page.text_of("main").contains("Wednesday 25 November 2026"), "{}", page.text_of("main"));
}

#[tokio::test]
async fn a_booth_is_set_up_from_nothing_with_seven_questions() {
    let server = Server::empty();
    assert_eq!(server.get("/").await.location(), "/first-run");
    for page in ["/due", "/diary", "/machines", "/logbook", "/path", "/more", "/about"] {
        assert_eq!(server.get(page).await.status, StatusCode::OK, "{page}");
    }
    let page = server.get("/first-run").await;
    assert_eq!(page.attributes("form#first-run .field", "data-field").len(), 7);
    let form = page.form("form#first-run");
    let with = [
        ("booth", "Village hall"),
        ("person", "Ada Quill"),
        ("zone", "Atlantic/Faroe"),
        ("machine", "Wren"),
        ("machine_type", "portable-16mm-halogen"),
        ("meter_hours", "812,5"),
    ];
    let bad = server
        .post("/first-run", &filled(&form, &[("booth", "Village hall"), ("zone", "Middle/Earth")]))
        .await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(server.count(), 0);
    for _ in 0..2 {
        let answer = server.post("/first-run", &filled(&form, &with)).await;
        assert_eq!(
            (answer.status, answer.location().as_str()),
            (StatusCode::SEE_OTHER, "/machines/wren/path"),
            "{}",
            answer.text()
        );
    }
    assert_eq!(server.count(), 3);
    assert!(server.get("/machines/wren").await.text_of("main").contains("812.5 h"));
    assert_eq!(server.get("/machines/wren/path").await.status, StatusCode::OK);
    assert!(server.get("/").await.html().select(&crate::desk::css("p.invented")).next().is_none());
    let walk = server.get("/machines/wren/walk?for=before-showing").await;
    assert!(!walk.attributes("section[data-task]", "data-task").is_empty());
}

#[tokio::test]
async fn care_written_down_counts_at_once() {
    let server = Server::demo();
    let page = server.get("/due?machine=turnstone").await;
    let task = page.attributes("tr[data-state=due]", "data-task").remove(0);
    let form = server.get(&format!("/log/care-done?machine=turnstone&task={task}")).await.form("form.entry");
    let answer = server.post("/log/care-done", &filled(&form, &[("outcome", "done")])).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let Fact::CareDone(done) = server.latest().fact else { panic!("not care") };
    assert_eq!((done.outcome, done.task.as_str()), (Outcome::Done, task.as_str()));
    let page = server.get("/due?machine=turnstone").await;
    assert_eq!(page.attributes(&format!("tr[data-task={task}]"), "data-state"), ["ok"]);
}

#[tokio::test]
async fn a_correction_keeps_a_showing_that_is_too_old_to_be_offered() {
    let server = Server::demo();
    let month_ago = jiff::civil::date(2026, 10, 20);
    let old_run = |entry: &logbook::Entry| match &entry.fact {
        Fact::Ran(ran) if entry.happened.date() < month_ago => ran.showing.clone().map(|id| (entry.id, id)),
        _ => None,
    };
    let (run, showing) = server.store.entries().unwrap().iter().find_map(old_run).unwrap();
    let page = format!("/logbook/{run}/correct");
    let form = server.get(&page).await.form("form#correction");
    assert!(form.contains(&("showing".to_owned(), showing.to_string())), "{form:?}");
    let with = [("hours", "2"), ("correction_why", "misread")];
    let answer = server.post(&page, &filled(&form, &with)).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let Fact::Corrects(corrects) = server.latest().fact else { panic!("not a correction") };
    let Fact::Ran(ran) = *corrects.with else { panic!("not a run") };
    assert_eq!(ran.showing, Some(showing));
}

#[tokio::test]
async fn a_new_a_used_and_an_unknown_part_are_told_apart() {
    let server = Server::demo();
    for (age, hours, written) in [("new", "", Some(0.0)), ("used", "120", Some(120.0)), ("unknown", "", None)]
    {
        let form =
            server.get("/log/part-fitted?machine=turnstone&slot=exciter-lamp").await.form("form.entry");
        assert!(form.contains(&("age".to_owned(), "new".to_owned())), "{form:?}");
        let with = [("replaces.why", "failed"), ("age", age), ("age_hours", hours)];
        let answer = server.post("/log/part-fitted", &filled(&form, &with)).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{age}: {}", answer.text());
        let Fact::PartFitted(fitted) = server.latest().fact else { panic!("not fitted") };
        assert_eq!(fitted.age_hours.map(units::Hours::hours), written, "{age}");
        let page = format!("/logbook/{}/correct", server.latest().id);
        assert!(
            server.get(&page).await.form("form#correction").contains(&("age".to_owned(), age.to_owned()))
        );
    }
    let form = server.get("/log/part-fitted?machine=turnstone&slot=exciter-lamp").await.form("form.entry");
    let with = [("replaces.why", "failed"), ("age", "used"), ("age_hours", "")];
    let answer = server.post("/log/part-fitted", &filled(&form, &with)).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text_of(".problems li").starts_with("Hours it had run already: say how long"));
}
