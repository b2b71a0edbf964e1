//! Two faults through the command line: one mended by a spare, after a wrong answer taken back; one passed on.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;

/// Runs the program at a moment, and returns its exit code, output and errors.
fn run(data: &Path, now: &str, words: &[&str]) -> (i32, String, String) {
    let done = Command::cargo_bin("boothwright")
        .unwrap()
        .args(words)
        .env("BOOTHWRIGHT_NOW", format!("2026-03-07T{now}:00+00:00[Europe/Lisbon]"))
        .env("BOOTHWRIGHT_DATA", data)
        .env_remove("BOOTHWRIGHT_WHO")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (done.status.code().unwrap(), text(done.stdout), text(done.stderr))
}

/// Runs it, which must succeed, and reads its JSON.
fn json(data: &Path, now: &str, words: &[&str]) -> Value {
    let mut words = words.to_vec();
    words.push("--json");
    let (code, out, errors) = run(data, now, &words);
    assert_eq!(code, 0, "{words:?}: {errors}");
    serde_json::from_str(&out).unwrap()
}

fn does(sheet: &Value) -> &str {
    sheet["next"]["do"].as_str().unwrap()
}

/// A booth with one 16 mm machine and two exciter lamps in the case.
fn begun() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let setting_up: [&[&str]; 4] = [
        &["logbook", "begin", "Harbour Cinema", "Ines Prado", "--zone", "Europe/Lisbon"],
        &["logbook", "add", "machine", "heron", "portable-16mm-halogen", "--hours-before", "120"],
        &[
            "logbook",
            "add",
            "entry",
            "stock-counted",
            r#"{"item":"exciter-lamp","count":2,"name":"Exciter lamp"}"#,
        ],
        &[
            "logbook",
            "add",
            "showing",
            "matinee",
            "2026-03-07T18:00",
            "2h",
            "Shore birds",
            "--machine",
            "heron",
        ],
    ];
    for words in setting_up {
        let (code, _, errors) = run(data, "17:00", words);
        assert_eq!(code, 0, "{words:?}: {errors}");
    }
    folder
}

/// Answers as the truth is: the exciter lamp has burnt out, and everything else is in order.
fn answer_truly(data: &Path, now: &str, sheet: &Value) -> Value {
    let next = &sheet["next"];
    let id = next["id"].as_str().unwrap();
    if next["kind"] == "remedy" {
        let result = if id == "change-exciter" { "helped" } else { "no" };
        return json(data, now, &["fault", "tried", "mute", id, result]);
    }
    let found = ["exciter-glow", "exciter-look-cold", "exciter-swap"].contains(&id);
    json(data, now, &["fault", "answer", "mute", id, if found { "yes" } else { "no" }])
}

#[test]
fn picture_fine_but_no_sound_goes_from_the_emergency_step_to_the_spare_and_the_closed_case() {
    let folder = begun();
    let data = folder.path();
    let start = [
        "fault",
        "start",
        "heron",
        "--symptom",
        "No sound at all",
        "--words",
        "picture is fine but no sound",
    ];
    let more = ["--showing", "matinee", "--running", "--print-sort", "lent", "--name", "mute"];
    let opened = json(data, "18:20", &[&start[..], &more[..]].concat());
    assert_eq!((does(&opened), opened["clock"].as_str()), ("at-once", Some("show-running")));
    assert!(opened["next"]["words"][0].as_str().unwrap().contains("exciter lamp glowing"), "{opened}");

    json(data, "18:21", &["fault", "mark", "mute", "done-at-once"]);
    let mut sheet = json(data, "20:05", &["fault", "mark", "mute", "show-over"]);
    assert_eq!(sheet["clock"], "after-show");
    assert_eq!(does(&sheet), "step");

    // A wrong answer, taken back: the odds stand as before.
    let before = sheet["odds"].clone();
    let wrong = json(data, "20:06", &["fault", "answer", "mute", "exciter-glow", "no"]);
    assert_ne!(wrong["odds"], before);
    sheet = json(data, "20:07", &["fault", "undo", "mute"]);
    assert_eq!(sheet["odds"], before);
    assert!(sheet["taken_back"].is_string());

    for _ in 0..25 {
        if does(&sheet) != "step" {
            break;
        }
        sheet = answer_truly(data, "20:10", &sheet);
    }
    assert_eq!(does(&sheet), "close", "{sheet}");
    assert_eq!(sheet["next"]["remedy"]["id"], "change-exciter");
    assert_eq!(sheet["next"]["causes"][0]["cause"], "exciter-dead");

    let closed = json(data, "20:30", &["fault", "close", "mute", "--cause", "exciter-dead"]);
    assert_eq!(does(&closed), "closed");
    let (_, entries, _) = run(data, "20:31", &["logbook", "list", "--json", "--kind", "fault-tried"]);
    assert!(
        entries.contains(r#""item": "exciter-lamp""#) || entries.contains(r#""item":"exciter-lamp""#),
        "{entries}"
    );

    // It is closed: nothing more is answered, and the case is a page to learn from.
    let (code, _, errors) = run(data, "20:32", &["fault", "answer", "mute", "exciter-glow", "yes"]);
    assert!(code == 3 && errors.contains("closed already"), "{code} {errors}");
    let (_, why, _) = run(data, "20:33", &["fault", "explain", "mute"]);
    assert!(why.contains("What changed the odds") && why.contains("exciter"), "{why}");
    let listed = json(data, "20:34", &["fault", "list", "--all"]);
    assert_eq!(listed["faults"][0]["cause"], "exciter-dead");
    let learnt = json(data, "20:35", &["fault", "learnt", "heron"]);
    assert_eq!(learnt["cases"], 1);
    assert!(learnt["type_change"].as_str().unwrap().contains(r#"id = "change-exciter""#), "{learnt}");
}

#[test]
fn what_no_operator_may_mend_ends_in_a_request_for_repair() {
    let folder = begun();
    let data = folder.path();
    let start = ["fault", "start", "heron", "--symptom", "no-sound", "--name", "dumb"];
    let mut sheet = json(data, "21:00", &start);
    for _ in 0..40 {
        let next = &sheet["next"];
        if does(&sheet) != "step" {
            break;
        }
        let id = next["id"].as_str().unwrap().to_owned();
        // The amplifier is at fault: whatever an operator looks at is in order, and nothing he does helps.
        sheet = if next["kind"] == "remedy" {
            json(data, "21:10", &["fault", "tried", "dumb", &id, "no", "--no-spare"])
        } else {
            json(data, "21:10", &["fault", "answer", "dumb", &id, "no"])
        };
    }
    assert_eq!(does(&sheet), "pass-on", "{sheet}");
    let request = json(data, "21:30", &["fault", "request", "dumb"]);
    assert!(request["to"].as_str().unwrap().contains("technician"), "{request}");
    assert!(!request["tried"].as_array().unwrap().is_empty());
    assert!(!request["likely"].as_array().unwrap().is_empty());
    let sheet = json(data, "21:31", &["fault", "next", "dumb"]);
    assert_eq!(sheet["next"]["written"], true);
}

#[test]
fn names_that_are_not_known_are_answered_with_near_ones() {
    let folder = begun();
    let data = folder.path();
    let refused = |words: &[&str], says: &str| {
        let (code, _, errors) = run(data, "21:00", words);
        assert!(code == 2 && errors.contains(says), "{words:?}: {code} {errors}");
    };
    refused(&["fault", "start", "heron", "--symptom", "no-sond"], "`no-sound`");
    refused(&["fault", "start", "hern", "--symptom", "no-sound"], "heron");
    refused(&["fault", "next", "mute"], "no fault is open");
    json(data, "21:00", &["fault", "start", "heron", "--symptom", "no-sound", "--name", "mute"]);
    refused(&["fault", "next", "nute"], "mute");
    refused(&["fault", "answer", "mute", "exciter-glows", "yes"], "`exciter-glow`");
    refused(&["fault", "answer", "mute", "exciter-glow", "perhaps"], "cannot-tell");
    refused(&["fault", "undo", "mute"], "nothing was answered");
    let symptoms = json(data, "21:00", &["fault", "symptoms", "heron", "no", "sound"]);
    let found = symptoms["symptoms"].as_array().unwrap();
    assert!(found.iter().any(|symptom| symptom["symptom"] == "no-sound"));
}

/// The shipped portable under another name, as a booth's own file.
fn own_type(data: &Path) -> std::path::PathBuf {
    let (_, text) = machine::SHIPPED.iter().find(|(name, _)| name.contains("portable")).unwrap();
    let text = text.replacen("id = \"portable-16mm-halogen\"", "id = \"our-portable\"", 1);
    let folder = data.join("types");
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("our-portable.toml");
    std::fs::write(&file, text).unwrap();
    file
}

#[test]
fn a_type_file_that_is_broken_in_the_middle_of_a_case_is_named_and_its_last_edition_stands_in() {
    let folder = begun();
    let data = folder.path();
    let file = own_type(data);
    let added = ["logbook", "add", "machine", "teal", "our-portable", "--hours-before", "10"];
    assert_eq!(run(data, "17:10", &added).0, 0);
    let start = ["fault", "start", "teal", "--symptom", "no-sound", "--name", "still"];
    let before = json(data, "20:00", &start);
    let whole = std::fs::read_to_string(&file).unwrap();
    let line = whole.lines().position(|line| line.starts_with("minutes = ")).unwrap() + 1;
    std::fs::write(&file, whole.replacen("minutes = ", "minutes = much", 1)).unwrap();

    let (code, out, errors) = run(data, "20:05", &["fault", "next", "still", "--json"]);
    assert_eq!(code, 0, "{errors}");
    let sheet: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(sheet["odds"], before["odds"], "the last edition stands in");
    let place = format!("our-portable.toml, line {line}: ");
    assert!(errors.contains(&place) && errors.contains("types check"), "{errors}");
    let caveats = sheet["caveats"].to_string();
    assert!(caveats.contains(&place) && caveats.contains("go on with that"), "{caveats}");
    let answered = json(data, "20:06", &["fault", "answer", "still", "exciter-glow", "yes"]);
    assert_ne!(answered["odds"], before["odds"], "the case goes on");

    // A file that was never whole stops nothing but its own machines, and they say why.
    std::fs::remove_dir_all(data.join("types/last-good")).unwrap();
    let (code, _, errors) = run(data, "20:07", &["fault", "next", "still"]);
    assert!(code == 2 && errors.contains(&place) && errors.contains("mend it"), "{code} {errors}");
    json(data, "20:08", &["fault", "start", "heron", "--symptom", "no-sound", "--name", "other"]);

    std::fs::write(&file, whole).unwrap();
    let (code, _, errors) = run(data, "20:09", &["fault", "next", "still"]);
    assert!(code == 0 && !errors.contains("our-portable.toml"), "{code} {errors}");
}

#[test]
fn closing_without_a_cause_says_which_are_known() {
    let folder = begun();
    let data = folder.path();
    json(data, "21:00", &["fault", "start", "heron", "--symptom", "no-sound", "--name", "mute"]);
    let (code, _, errors) = run(data, "21:05", &["fault", "close", "mute"]);
    assert!(code == 0 && errors.contains("exciter-dead (") && errors.contains("--cause"), "{code} {errors}");
}
