//! The fault desk's pages: what is offered where a fault was written in words, closing, and forms that come again.

use crate::desk::{Server, css, filled};
use axum::http::StatusCode;

/// Opens a fault at a machine of the demo and returns its page's address.
async fn opened(server: &Server, symptom: &str) -> String {
    let form = server.get("/faults/new?machine=turnstone").await.form("form.entry");
    let with = [("symptom", symptom), ("show", "over"), ("print_sort", "disposable")];
    let answer = server.post("/faults/new", &filled(&form, &with)).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    answer.location().split('?').next().unwrap().to_owned()
}

#[tokio::test]
async fn a_fault_in_words_is_met_with_what_fits_them_and_the_rest_in_groups() {
    let server = Server::demo();
    let form = server.get("/log/fault-opened?machine=turnstone").await.form("form.entry");
    let words = [("words", "Held piano notes waver, about twice a second. Speech is fine.")];
    let answer = server.post("/log/fault-opened", &filled(&form, &words)).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let logbook::Fact::FaultOpened(opened) = server.latest().fact else { panic!("a fault") };
    let fault = format!("/faults/{}", opened.fault);
    let page = server.get(&fault).await;
    assert_eq!(page.status, StatusCode::OK);
    let fitting = page.attributes("#fitting button", "value");
    assert!((1..=3).contains(&fitting.len()), "{fitting:?}");
    assert!(
        fitting.iter().any(|symptom| symptom.contains("wow") || symptom.contains("flutter")),
        "{fitting:?}"
    );
    assert!(!page.attributes("form[role=search]", "action").is_empty());
    let groups = page.attributes("details.noticed", "data-group");
    assert!(groups.len() >= 4, "{groups:?}");
    let html = page.html();
    let loose = html.select(&css("#now .noticed-list button")).count();
    let grouped = html.select(&css("details.noticed button")).count();
    assert_eq!(loose - grouped, fitting.len(), "every sighting but those that fit lies in a group");
    assert!(page.attributes("details.noticed[open]", "data-group").is_empty(), "the groups are folded");
    let sought = server.get(&format!("{fault}?words=burning")).await;
    let found = sought.attributes("#fitting button", "value");
    assert!(found.iter().any(|symptom| symptom.contains("smell")), "{found:?}");
}

#[tokio::test]
async fn closing_offers_open_faults_with_their_dates_and_the_known_causes_first() {
    let server = Server::demo();
    let fault = opened(&server, "no-sound").await;
    let id = fault.rsplit('/').next().unwrap().to_owned();
    let page = server.get("/log/fault-closed").await;
    let open = page.attributes("#field-fault option:not([value=\"\"])", "value");
    assert!(open.contains(&id) && open.iter().all(|one| *one == id || one == "fault-29"), "{open:?}");
    let older = page.attributes("#older a", "href");
    assert!(older.len() > 20, "{older:?}");
    assert!(page.text_of("#older").contains("Closed Fri 6 Nov: Whimbrel"), "{}", page.text_of("#older"));
    let corrected = server.get(&older[0]).await;
    assert!(corrected.status == StatusCode::OK && corrected.text().contains("name=\"cause\""));
    assert!(page.text_of("#field-fault").contains("since Wed 25 Nov"), "{}", page.text_of("#field-fault"));

    let page = server.get(&format!("/log/fault-closed?fault={id}")).await;
    let causes = page.attributes("#field-cause_id option:not([value=\"\"])", "value");
    assert!(causes.contains(&"exciter-dead".to_owned()) && causes.len() > 3, "{causes:?}");
    let form = page.form("form.entry");
    let with = [("cause_id", "exciter-dead"), ("remedy_id", "change-exciter")];
    let answer = server.post("/log/fault-closed", &filled(&form, &with)).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let (_, _, body) = logbook::wire::encode_fact(&server.latest().fact);
    assert!(body.contains("exciter-dead") && body.contains("Change the exciter lamp"), "{body}");
    // More may be said about an older one: it lies under a fold, and the first list is left empty then.
    let page = server.get("/log/fault-noted").await;
    assert!(page.text_of("details").contains("An older one"));
    let form = page.form("form.entry");
    let mut sent = filled(&form, &[("words", "it was a loose plug")]);
    sent.push(("fault", "fault-05"));
    let answer = server.post("/log/fault-noted", &sent).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
}

#[tokio::test]
async fn an_answer_that_comes_again_counts_once_and_another_one_under_its_id_is_refused() {
    let server = Server::demo();
    let fault = opened(&server, "no-sound").await;
    let mut page = server.get(&fault).await;
    for _ in 0..10 {
        if !page.attributes("form[data-deed=check]", "action").is_empty() {
            break;
        }
        let deed = page.attributes("#now form", "data-deed").remove(0);
        let form = page.form("#now form");
        let said = if deed == "remedy" { ("result", "did-not-help") } else { ("answer", "no") };
        assert_eq!(server.post(&fault, &filled(&form, &[said])).await.status, StatusCode::SEE_OTHER);
        page = server.get(&fault).await;
    }
    let form = page.form("form[data-deed=check]");
    let before = server.count();
    let yes = filled(&form, &[("answer", "yes")]);
    assert_eq!(server.post(&fault, &yes).await.status, StatusCode::SEE_OTHER);
    assert_eq!(server.post(&fault, &yes).await.status, StatusCode::SEE_OTHER, "the same once more");
    let other = server.post(&fault, &filled(&form, &[("answer", "no")])).await;
    assert_eq!(other.status, StatusCode::CONFLICT, "{}", other.text());
    assert!(other.attributes("main a", "href").contains(&fault), "{}", other.text());
    assert_eq!(server.count(), before + 1);

    // The same of a step back, of a request and of an opening.
    let undo = server.get(&fault).await.form("form[data-deed=undo]");
    let undo = filled(&undo, &[]);
    assert_eq!(server.post(&fault, &undo).await.status, StatusCode::SEE_OTHER);
    assert_eq!(server.post(&fault, &undo).await.status, StatusCode::SEE_OTHER, "taken back once");
    let request = server.get(&fault).await.form("form[data-deed=request]");
    let request = filled(&request, &[("request", "write")]);
    assert_eq!(server.post(&fault, &request).await.status, StatusCode::SEE_OTHER);
    assert_eq!(server.post(&fault, &request).await.status, StatusCode::SEE_OTHER, "written once");
    assert_eq!(server.count(), before + 3);
    let form = server.get("/faults/new?machine=turnstone").await.form("form.entry");
    let opening = |symptom| filled(&form, &[("symptom", symptom), ("show", "over"), ("print_sort", "lent")]);
    assert_eq!(server.post("/faults/new", &opening("no-sound")).await.status, StatusCode::SEE_OTHER);
    assert_eq!(server.post("/faults/new", &opening("no-sound")).await.status, StatusCode::SEE_OTHER);
    assert_eq!(server.post("/faults/new", &opening("squeal")).await.status, StatusCode::CONFLICT);
    assert_eq!(server.count(), before + 4);
}
