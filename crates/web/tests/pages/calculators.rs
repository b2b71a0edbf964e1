//! The daily sums on their pages: the answers of printed tables, formula and source beside them, and bad input refused
//! beside its field. And a programme that is reckoned as it is typed.

use crate::desk::Server;
use axum::http::StatusCode;
use serde_json::Value;

/// A sum, what is typed, and what is looked for.
type Asked = (&'static str, &'static [(&'static str, &'static str)], &'static str);

fn query(pairs: &[(&str, &str)]) -> String {
    let pairs = pairs.iter().map(|(key, text)| format!("{key}={}", views::address::escaped(text)));
    pairs.collect::<Vec<_>>().join("&")
}

#[tokio::test]
async fn every_sum_answers_with_its_formula_and_source() {
    let server = Server::demo();
    let list = server.get("/calculators").await.text_of("main");
    for name in ["Running time", "Length of film", "What is on a reel", "Speed of film", "Picture and sound"]
    {
        assert!(list.contains(name), "{name} in {list}");
    }
    // Running times: a printed table of 8 mm and Super 8 lengths and times (60 m of Super 8 at 18 fps: 13:07) and the
    // exact time of 400 ft of 16 mm. Advance: SMPTE 41, clause 4 (26 frames). Speed: SMPTE 41, clause 3 (7.2 in/s,
    // which are 182.88 mm/s, and 36 ft/min). Reel: the worked roll of PH22.91's 3 to 10 oz is in film's own tests.
    let asked: [Asked; 7] = [
        ("time", &[("of", "400 ft")], "runs 11:06.7"),
        ("time", &[("of", "60 m"), ("gauge", "super8"), ("fps", "18")], "runs 13:07"),
        ("time", &[("of", "16000 frames")], "runs 11:06.7"),
        ("length", &[("of", "11:06.7")], "fits a 400 ft spool"),
        ("reel", &[("outer", "13 3/4 in"), ("hub", "4.875 in")], "within 3 to 10 oz all through"),
        ("speed", &[], "182.88 mm/s (36.00 ft/min)"),
        ("advance", &[], "26 frames ahead of"),
    ];
    for (sum, given, answer) in asked {
        let page = server.get(&format!("/calculators/{sum}?{}", query(given))).await;
        assert_eq!(page.status, StatusCode::OK, "{sum}");
        let told = page.text_of("#sum-answer");
        for words in [answer, "Formula", "Source"] {
            assert!(told.contains(words), "{sum}: {words} in {told}");
        }
        let figures = server.get(&format!("/calculators/{sum}/figures?{}", query(given))).await;
        let figures: Value = serde_json::from_slice(&figures.body).unwrap();
        assert!(figures["answers"].as_str().unwrap().contains(answer), "{sum}: {figures}");
    }
    assert_eq!(server.get("/calculators/nothing").await.status, StatusCode::NOT_FOUND);
    let fresh = server.get("/calculators/time").await;
    assert_eq!((fresh.status, fresh.attributes(".field.wrong", "data-field").len()), (StatusCode::OK, 0));
}

#[tokio::test]
async fn what_cannot_be_is_refused_beside_its_field_with_what_would_be_right() {
    let server = Server::demo();
    let asked: [Asked; 9] = [
        ("time", &[("of", "4oo ft")], "of"),
        ("time", &[("of", "400")], "of"),
        ("time", &[("of", "-3 ft")], "of"),
        ("time", &[("of", "400 ft"), ("fps", "0")], "fps"),
        ("time", &[("of", "400 ft"), ("fps", "twenty")], "fps"),
        ("length", &[("of", "soon")], "of"),
        ("reel", &[("outer", "100 mm"), ("hub", "120 mm")], "outer"),
        ("reel", &[("outer", "300 mm"), ("holds", "400 ft"), ("hub", "120 mm")], "holds"),
        ("advance", &[("gauge", "super8"), ("sound", "loud")], "sound"),
    ];
    for (sum, given, field) in asked {
        let page = server.get(&format!("/calculators/{sum}?{}", query(given))).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{sum} {given:?}");
        assert_eq!(page.attributes(".field.wrong", "data-field"), [field], "{sum} {given:?}");
    }
    // Mixed units and a comma for a point are understood.
    for of in ["12ft 6in", "3,8 m", "12' 6\"", "1/2 ft"] {
        let page = server.get(&format!("/calculators/time?{}", query(&[("of", of)]))).await;
        assert_eq!(page.status, StatusCode::OK, "{of}: {}", page.text_of("main"));
    }
}

#[tokio::test]
async fn a_programme_is_reckoned_as_it_is_typed() {
    let server = Server::demo();
    let before = server.count();
    let figures = async |pairs: &[(&str, &str)]| -> Value {
        let answer = server.get(&format!("/programmes/figures?{}", query(pairs))).await;
        assert_eq!(answer.status, StatusCode::OK, "{}", answer.text());
        serde_json::from_slice(&answer.body).unwrap()
    };
    let whole = [
        ("item-1-title", "Two halves"),
        ("item-1-reels", "400 ft\n800 ft"),
        ("item-1-gauge", "16mm"),
        ("item-1-speed", "24"),
        ("item-1-sound", "optical"),
        ("item-1-cues", "smpte-301"),
        ("item-1-head", "8 s"),
        ("machine", "turnstone"),
        ("machine", "dunlin"),
    ];
    let told = figures(&whole).await;
    let answers = told["answers"].as_str().unwrap();
    // Printed running times of 16 mm at 24 frames a second: 400 ft 11:06.7, 800 ft 22:13.3.
    for words in ["11:07", "22:13", "33:20", "change over", "PH22.91"] {
        assert!(answers.contains(words), "{words} in {answers}");
    }
    assert_eq!(told["problems"], serde_json::json!({}));
    // Nothing yet: neither answers nor complaints. Half a length: a word beside the field, the last answers stay.
    let nothing = figures(&[("item-1-gauge", "16mm"), ("item-1-speed", "24")]).await;
    assert_eq!((&nothing["answers"], &nothing["problems"]), (&"".into(), &serde_json::json!({})));
    for reels in ["400", "4oo ft", "0 ft", "400 ft / 8 s"] {
        let mut half = whole;
        half[1].1 = reels;
        let told = figures(&half).await;
        assert!(told["answers"].is_null() && told["problems"]["item-1-reels"].is_string(), "{reels}: {told}");
    }
    assert_eq!(server.count(), before, "nothing is written by typing");
    // The page asks there, and without script its button still keeps the programme.
    let page = server.get("/programmes/new").await;
    assert_eq!(page.attributes("form[data-figures]", "data-figures"), ["/programmes/figures"]);
}
