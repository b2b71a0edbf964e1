//! The walk as a list of steps, for terminal and paper; the page shows each step by itself.

use crate::{
    common,
    sheet::{Block, Card, Sheet},
    wording,
    words::{Mark, Words},
};
use booth::{Answer, Walk, WalkKind, WalkStep};
use jiff::civil::Date;

/// The name of a walk.
pub const fn name(walk: WalkKind) -> &'static str {
    match walk {
        WalkKind::BeforeShowing => "Before the showing",
        WalkKind::AfterShowing => "After the showing",
        WalkKind::EveryReel => "At every reel",
        WalkKind::Due => "What is due",
        WalkKind::All => "All care",
    }
}

/// Shows a walk step by step.
pub fn sheet(answer: &Answer<Walk<'_>>, today: Date) -> Sheet {
    let walk = &answer.value;
    let mut sheet = Sheet::new(format!("{}: {}", walk.about.name, name(walk.walk).to_lowercase()));
    sheet.lead(summary(walk));
    sheet.push(Block::Cards(walk.steps.iter().map(|step| step_card(step, today)).collect()));
    common::reasons(&mut sheet, answer);
    sheet
}

/// Says how many steps there are, how many are done, and how long the rest takes.
pub fn summary(walk: &Walk<'_>) -> String {
    let steps = wording::counted(walk.steps.len(), "step");
    let minutes = wording::minutes(walk.minutes_left.ceil());
    match (walk.steps.len(), walk.n_done()) {
        (0, _) => "There is nothing to do on this walk.".to_owned(),
        (all, done) if all == done => format!("{steps}, all written down this evening."),
        (_, 0) => format!("{steps} along the film path, about {minutes}."),
        (_, done) => {
            format!("{steps} along the film path; {done} written down this evening, about {minutes} left.")
        }
    }
}

fn step_card(step: &WalkStep<'_>, today: Date) -> Card {
    let mut lines: Vec<Words> = Vec::new();
    lines.extend(step.preparation.map(Words::from));
    lines.extend(step.cautions.iter().map(|caution| Words::new().strong("Caution: ").plain(&caution.words)));
    lines.push(step.task.steps.as_str().into());
    if let Some(part) = step.part {
        lines.extend(part_lines(part));
    }
    lines.extend(step.pass_on.as_deref().map(Words::from));
    if let Some(record) = step.already {
        let said = crate::film_path::outcome(record.outcome);
        let when = wording::moment(record.at, today);
        lines.push(Words::new().strong(format!("Written down: {said}")).quiet(format!(" ({when})")));
    }
    Card {
        title: format!("{}. {}", step.number, step.task.name).into(),
        mark: step.due.as_ref().map(|item| Mark::from(item.state)).filter(|mark| !mark.is_calm()),
        lines,
        ways: Vec::new(),
        data: vec![("task", step.task.id.to_string())],
    }
}

/// What to look for, how to clean and oil a part.
pub fn part_lines(part: &machine::Part) -> Vec<Words> {
    [("Look for", &part.look_for), ("Clean", &part.clean), ("Oil", &part.oil)]
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(name, text)| Words::new().quiet(format!("{name}: ")).plain(text))
        .collect()
}
