//! The service plan: drawn, pinned, planned again, carried away as a file.

use crate::booth::{Booth, Browser, LAPTOP, PHONE};
use serde_json::Value;

/// The first piece of care on the page that nobody has pinned: machine, task and day.
async fn first_care(browser: &Browser) -> (String, String, String) {
    let found = browser
        .script(
            "const form = document.querySelector('[data-session] form[data-form=plan-pinned]');
             return [form.elements.machine.value, form.elements.task.value, form.elements.on.value]",
        )
        .await;
    let text = |at: usize| found[at].as_str().unwrap().to_owned();
    (text(0), text(1), text(2))
}

/// The day on which the plan of the command line puts a piece of care, with its pin.
fn planned_for(plan: &Value, machine: &str, task: &str) -> Vec<(String, bool)> {
    let sessions = plan["sessions"].as_array().unwrap();
    let work = sessions.iter().flat_map(|session| {
        let day = session["starts"].as_str().unwrap()[..10].to_owned();
        session["work"].as_array().unwrap().iter().map(move |work| (day.clone(), work))
    });
    work.filter(|(_, work)| work["machine"] == machine && work["what"] == task)
        .map(|(day, work)| (day, !work["pin"].is_null()))
        .collect()
}

#[tokio::test]
async fn a_pinned_choice_is_kept_when_the_plan_is_made_again() {
    let booth = Booth::demo();
    let browser = Browser::with(LAPTOP).await;
    browser.open(&booth.url("/plan")).await;
    browser.is_sound("the plan").await;
    browser.picture("plan").await;
    browser.picture_of("plan-again", "#plan-before").await;
    let sentence = browser.text("#plan-sentence").await;
    assert!(sentence.contains("showings"), "{sentence}");
    let (machine, task, day) = first_care(&browser).await;

    // Another day than the plan chose: three days on.
    let script = format!(
        "const form = document.querySelector('[data-session] form[data-form=plan-pinned]');
         const day = new Date('{day}T12:00Z'); day.setUTCDate(day.getUTCDate() + 3);
         form.closest('details').open = true;
         form.elements.on.value = day.toISOString().slice(0, 10);
         return form.elements.on.value"
    );
    let wanted = browser.script(&script).await.as_str().unwrap().to_owned();
    browser.press("[data-session] form[data-form=plan-pinned] button").await;
    browser.until("the pin is written", "return location.search.includes('written=')").await;
    let place = format!("[data-session='{wanted}'] [data-work='{task}'][data-machine='{machine}']");
    assert!(browser.text(&place).await.contains("pinned"), "the page keeps it");
    let plan = booth.ask(&["plan", "show"]);
    assert!(
        planned_for(&plan, &machine, &task).contains(&(wanted.clone(), true)),
        "so does the command line"
    );

    browser.open(&booth.url("/plan?days=21")).await;
    assert!(browser.text(&place).await.contains("pinned"), "planned again, it is kept");

    browser.press(&format!("{place} [data-unpin] button")).await;
    browser.until("the pin is taken out", "return location.search.includes('written=')").await;
    assert!(booth.ask(&["plan", "unpin"]).as_array().unwrap().is_empty());
    browser.close().await;
}

#[tokio::test]
async fn the_plan_goes_to_a_calendar_and_reads_on_a_phone() {
    let booth = Booth::demo();
    let browser = Browser::with(PHONE).await;
    browser.open(&booth.url("/plan")).await;
    browser.is_sound("the plan on a phone").await;
    browser.picture("plan-phone").await;
    let space = "const button = [...document.querySelectorAll('form.entry button')].find(b => b.innerText === 'Plan again');
         const next = button.closest('form').nextElementSibling;
         return next.getBoundingClientRect().top - button.getBoundingClientRect().bottom";
    let space = browser.script(space).await.as_f64().unwrap();
    assert!(space >= 16.0, "what stands under the button does not cling to it: {space} px");
    browser.picture_of("plan-again", "#plan-before").await;
    let fetch = |name: &str| {
        format!(
            "const answer = await fetch('/plan/files/{name}'); return [answer.headers.get('content-type'), await answer.text()]"
        )
    };
    let calendar = browser.script(&format!("return (async () => {{ {} }})()", fetch("plan.ics"))).await;
    assert!(calendar[0].as_str().unwrap().starts_with("text/calendar"));
    let text = calendar[1].as_str().unwrap();
    assert!(text.starts_with("BEGIN:VCALENDAR\r\n") && text.ends_with("END:VCALENDAR\r\n"));
    let plan = booth.ask(&["plan", "show"]);
    let n = plan["showings"].as_array().unwrap().len() + plan["sessions"].as_array().unwrap().len();
    assert_eq!(text.matches("BEGIN:VEVENT\r\n").count(), n, "one event for each showing and session");
    assert!(text.split("\r\n").all(|line| line.len() <= 75));
    let table = browser.script(&format!("return (async () => {{ {} }})()", fetch("plan.csv"))).await;
    assert!(
        table[1].as_str().unwrap().starts_with("kind,starts,ends,place,machine,what,minutes,because\r\n")
    );
    browser.close().await;
}
