//! Why the desk says what it says.

use crate::{
    sheet::{Block, Sheet, Table},
    words::Words,
};
use booth::desk::{Change, FaultSheet, NextStep};

/// So many causes are moved by one answer, in words.
const MOST_SHIFTS: usize = 4;

/// Shows the odds, what changed them, what is ruled out, and what the steps are worth.
pub fn explain(fault: &FaultSheet) -> Sheet {
    let mut sheet = Sheet::new(format!("Why: {}", fault.words));
    let mut odds =
        Table::new("The odds", &["Cause", "Chance", "#Per cent", "Id"], "Nothing bears on what was noticed.");
    for odd in &fault.odds {
        let percent = format!("{:.0}", odd.chance.value() * 100.0);
        let cells = [odd.name.clone(), odd.in_words.clone(), percent, odd.cause.clone()];
        odds.push(cells.into_iter().map(Words::from).collect(), vec![("cause", odd.cause.clone())]);
    }
    sheet.push(Block::Table(odds));
    sheet.say(format!("Something that is not listed: {}.", fault.unlisted.in_words()));
    if !fault.changed.is_empty() {
        sheet.heading("What changed the odds");
        sheet.push(Block::List(fault.changed.iter().map(change).collect()));
    }
    if !fault.ruled_out.is_empty() {
        sheet.heading("Ruled out");
        sheet.push(Block::List(
            fault.ruled_out.iter().map(|cause| Words::from(cause.name.as_str())).collect(),
        ));
    }
    if !fault.unlikely.is_empty() {
        sheet.heading("Unlikely by what was seen");
        sheet
            .push(Block::List(fault.unlikely.iter().map(|cause| Words::from(cause.name.as_str())).collect()));
    }
    steps(&mut sheet, fault);
    sheet.say(format!(
        "Spent so far {:.0} min, expected from here {:.0} min, preparation and a call for service counted in.",
        fault.spent_minutes, fault.still_expected_minutes
    ));
    sheet.caveats(fault.set_aside.iter().chain(&fault.caveats).cloned());
    sheet
}

fn change(change: &Change) -> Words {
    let shifts = change.shifts.iter().take(MOST_SHIFTS);
    let shifts = shifts.map(|shift| {
        format!("{} from {} to {}", shift.name, shift.before.in_words(), shift.after.in_words())
    });
    Words::new().strong(change.words.clone()).plain(": ").plain(shifts.collect::<Vec<_>>().join("; "))
}

fn steps(sheet: &mut Sheet, fault: &FaultSheet) {
    let first = match &fault.next {
        NextStep::Step(step) => Some(&**step),
        _ => None,
    };
    let all: Vec<_> = first.into_iter().chain(&fault.others).collect();
    if all.is_empty() {
        return;
    }
    let heads = ["Step", "#Minutes", "#Costs", "#Saves", "#Bits", "Id"];
    let mut table = Table::new("The next step, and others", &heads, "There is none.");
    for step in all {
        let cells = [
            step.name.clone(),
            format!("{:.1}", step.time_seconds / 60.0),
            format!("{:.1}", step.cost_minutes),
            format!("{:.1}", step.saves_minutes),
            format!("{:.2}", step.narrows_bits),
            step.id.clone(),
        ];
        table.push(cells.into_iter().map(Words::from).collect(), vec![("step", step.id.clone())]);
    }
    sheet.heading("Steps");
    sheet.push(Block::Table(table));
}
