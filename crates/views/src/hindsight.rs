//! Were the chances right? What would have been said before past showings, and what came.

use crate::{
    address::Place,
    common,
    plot::proving::reliability,
    sheet::{Block, Sheet, Table},
    words::Words,
};
use booth::{Answer, Hindsight, hindsight::LookedBack};
use serde_json::json;

/// Shows how chances fared.
pub fn sheet(answer: &Answer<Hindsight<'_>>) -> Sheet {
    let found = &answer.value;
    let mut sheet = Sheet::new("Were the chances right?");
    sheet.lead(found.sentence.as_str());
    if let Some(calibration) = &found.calibration {
        let score = |value: f64, of_mean: f64| {
            Words::new()
                .strong(format!("{value:.4}"))
                .quiet(format!("; {of_mean:.4} had each been given the average; less is better"))
        };
        sheet.push(Block::Facts(vec![
            ("Brier score".to_owned(), score(calibration.brier.value, calibration.brier_of_mean)),
            ("Log score".to_owned(), score(calibration.log_score.value, calibration.log_score_of_mean)),
            (
                "Hazard by this record".to_owned(),
                Words::new().strong(format!("{:.2} times what was reckoned", found.record.factor())),
            ),
        ]));
        let title = "Chances given before showings, and what came";
        sheet.push(Block::Picture(Box::new(reliability(title, &calibration.steps))));
        sheet.push(Block::Table(stopped(&found.showings)));
    }
    common::reasons(&mut sheet, answer);
    sheet
}

/// The showings that stopped, the last one first, with what would have been said before them.
fn stopped(showings: &[LookedBack<'_>]) -> Table {
    let heads = ["Showing", "When", "Chance given"];
    let mut table = Table::new("Showings that stopped", &heads, "None stopped.").tight();
    for one in showings.iter().rev().filter(|one| one.stopped) {
        let cells = vec![
            Words::new().link(Place::Showing(one.id.clone()), one.showing.title.as_str()),
            one.day.date().strftime("%a %-d %b %Y").to_string().into(),
            one.chance.in_words().into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}

/// The same as JSON.
pub fn json(found: &Hindsight<'_>) -> serde_json::Value {
    let showing = |one: &LookedBack<'_>| {
        json!({
            "showing": one.id,
            "title": one.showing.title,
            "day": one.day.date().to_string(),
            "chance": one.chance,
            "stopped": one.stopped,
        })
    };
    json!({
        "sentence": found.sentence,
        "calibration": found.calibration,
        "record": found.record,
        "factor": found.record.factor(),
        "not_foretold": found.not_foretold,
        "older": found.older,
        "showings": found.showings.iter().map(showing).collect::<Vec<_>>(),
    })
}
