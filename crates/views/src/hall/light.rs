//! Light on the screen, beside what the standard aims at, and what would help.

use super::figures::{number, percent};
use super::{facts, workings};
use crate::sheet::{Block, Sheet, Table};
use units::{Luminance, show};
use venue::{Estimate, Judgement, LightAnswer};

/// Luminance in both systems, with its limits.
fn luminance(estimate: Estimate<Luminance>) -> String {
    let likely = show::luminance(estimate.likely());
    if estimate.is_exact() {
        return likely;
    }
    let shown = |light: Luminance| format!("{:.0}", light.candelas_per_square_metre());
    format!("{likely}, {} to {} cd/m²", shown(estimate.low()), shown(estimate.high()))
}

/// Lays out the light on the screen.
pub fn light(answer: &LightAnswer) -> Sheet {
    let mut sheet = Sheet::new("Light");
    let verdict = match answer.judgement {
        Judgement::Below => "Too dark",
        Judgement::Within => "Light enough",
        Judgement::Above => "Brighter than the standard asks",
        Judgement::CannotTell => "It may miss the standard",
    };
    sheet.lead(format!("{verdict}: {} on the screen.", luminance(answer.luminance)));
    let aim = format!(
        "{} to {}, at best {}",
        show::luminance(answer.aim.low),
        show::luminance(answer.aim.high),
        show::luminance(answer.aim.aim)
    );
    let mut rows = vec![
        ("The standard asks", aim),
        ("From the lens", format!("{} lm, shutter running", number(answer.machine, 0))),
        ("On the screen", format!("{} lx expected", number(answer.illuminance, 0))),
        ("Screen gain", number(answer.gain, 2)),
        ("Corner by the lens alone", percent(answer.corner_by_lens)),
    ];
    if answer.measured.is_some() {
        rows.push(("Expected", luminance(answer.expected)));
    }
    rows.extend(answer.evenness.map(|even| {
        let verdict = match even.judgement {
            Judgement::Below => "too uneven",
            Judgement::CannotTell => "may be too uneven",
            Judgement::Within => "even enough",
            Judgement::Above => "the edge is brighter than the centre: align the lamp",
        };
        ("Edge to centre", format!("{}, at least {:.0}: {verdict}", percent(even.edge), even.least))
    }));
    rows.extend(answer.stray.map(|stray| {
        let verdict = match stray.judgement {
            Judgement::Above => "too much: find the leak; never cover an exit sign, shade it from the screen",
            Judgement::CannotTell => "more than a good hall has",
            Judgement::Within | Judgement::Below => "dark enough",
        };
        ("Stray light", format!("{} of the picture's: {verdict}", percent(stray.stray)))
    }));
    sheet.push(facts(rows));
    if !answer.remedies.is_empty() {
        sheet.push(Block::Table(remedies(answer)));
    }
    sheet.caveats(answer.caveats.iter().cloned());
    sheet.because(workings(&answer.workings));
    sheet
}

fn remedies(answer: &LightAnswer) -> Table {
    let mut table =
        Table::new("What would help", &["Change", "#Light grows", "Enough by itself", "At the price of"], "")
            .tight();
    for remedy in &answer.remedies {
        let enough = match remedy.enough {
            venue::Enough::Yes => "yes",
            venue::Enough::Perhaps => "perhaps",
            venue::Enough::No => "no",
        };
        let cells = vec![
            remedy.change.clone().into(),
            format!("× {}", number(remedy.gain, 2)).into(),
            enough.into(),
            remedy.price.into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}
