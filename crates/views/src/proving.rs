//! What came out of the proving ground, as words, tables and plots.

use crate::{
    plot::proving::{reliability, stoppages},
    sheet::{Block, Picture, Sheet, Table},
    words::Words,
};
use prove::{Compared, Figure, PolicyReport, Report};

/// The plots, each with the name of its file without ending.
pub fn pictures(report: &Report) -> Vec<(String, Picture)> {
    let mut made = vec![("stoppages".to_owned(), stoppages(&report.policies))];
    for policy in &report.policies {
        let Some(calibration) = &policy.calibration else { continue };
        let title = format!("Chances given by {} and what came", policy.policy.words());
        made.push((
            format!("reliability-{}", policy.policy.as_str()),
            reliability(&title, &calibration.steps),
        ));
    }
    made
}

/// The whole report.
pub fn sheet(report: &Report) -> Sheet {
    let mut sheet = Sheet::new("Proving ground");
    let words = format!(
        "{} booths, {} years each, seed {}; the same booths and the same luck for every policy. In brackets: intervals of 95 % over booths. The booths are simulated, and their prices invented.",
        report.booths, report.years, report.seed
    );
    sheet.push(Block::Say(words.into()));
    sheet.push(Block::Table(table(report)));
    for compared in &report.compared {
        sheet.push(Block::Say(compared_words(compared).into()));
    }
    for policy in &report.policies {
        calibration(policy, &mut sheet);
    }
    sheet
}

/// One figure of a policy.
type Pick = fn(&PolicyReport) -> Figure;

fn table(report: &Report) -> Table {
    let mut heads = vec![String::new()];
    heads.extend(report.policies.iter().map(|policy| format!("#{}", policy.policy.as_str())));
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let mut table = Table::new("What each policy did", &heads, "No policy was played.");
    let rows: [(&str, Pick); 9] = [
        ("Stoppages in 1,000 showings", |policy| policy.stoppages_per_1000),
        ("of these by parts", |policy| policy.part_stoppages_per_1000),
        ("Lost showings in 1,000", |policy| policy.lost_per_1000),
        ("Dark minutes in 1,000 showings", |policy| policy.dark_minutes_per_1000),
        ("Found at a strike beforehand, in 1,000", |policy| policy.found_before_per_1000),
        ("Bench hours in a year", |policy| policy.bench_hours_per_year),
        ("Technician's hours in a year", |policy| policy.technician_hours_per_year),
        ("Parts fitted in a year", |policy| policy.parts_per_year),
        ("Cost of a year, in credits", |policy| policy.credits_per_year),
    ];
    for (name, pick) in rows {
        let mut cells: Vec<Words> = vec![name.into()];
        cells.extend(report.policies.iter().map(|policy| Words::from(figure(pick(policy)))));
        table.push(cells, Vec::new());
    }
    table
}

fn figure(figure: Figure) -> String {
    let decimals = usize::from(figure.value.abs() < 100.0);
    format!("{:.decimals$} ({:.decimals$} to {:.decimals$})", figure.value, figure.low, figure.high)
}

fn compared_words(compared: &Compared) -> String {
    let share = |figure: Figure| {
        format!("{:.0} % ({:.0} to {:.0})", 100.0 * figure.value, 100.0 * figure.low, 100.0 * figure.high)
    };
    format!(
        "Beside the handbook's intervals the {} had {} of the stoppages, {} of those by parts and {} of the lost showings, at {} of the cost.",
        compared.policy.as_str(),
        share(compared.stoppages),
        share(compared.part_stoppages),
        share(compared.lost),
        share(compared.cost)
    )
}

fn calibration(policy: &PolicyReport, sheet: &mut Sheet) {
    let Some(calibration) = &policy.calibration else { return };
    let words = format!(
        "Before {} showings the {} gave a chance of a stoppage: {:.2} % on average; {:.2} % stopped. Brier score {:.5} ({:.5} to {:.5}; {:.5} by giving each the average), log score {:.4} ({:.4} to {:.4}; {:.4}). {} of {} tenths lie within their band of 95 %; within the bands that all tenths keep together 95 times in 100 (99.5 % each, Bonferroni): {}.",
        calibration.showings,
        policy.policy.as_str(),
        100.0 * calibration.mean_given,
        100.0 * calibration.came,
        calibration.brier.value,
        calibration.brier.low,
        calibration.brier.high,
        calibration.brier_of_mean,
        calibration.log_score.value,
        calibration.log_score.low,
        calibration.log_score.high,
        calibration.log_score_of_mean,
        calibration.steps_within,
        calibration.steps.len(),
        if calibration.all_within_joint_band { "all" } else { "not all" }
    );
    sheet.push(Block::Say(words.into()));
    sheet.push(Block::Table(crate::plot::proving::steps(
        &format!("Chances given by the {}", policy.policy.as_str()),
        &calibration.steps,
    )));
}
