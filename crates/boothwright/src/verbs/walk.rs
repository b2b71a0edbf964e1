//! `walk`: along the film path of a machine, step by step.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::{WalkKind, WalkStep};
use clap::{Args, ValueEnum, builder::PossibleValue};
use logbook::{
    MachineId,
    fact::{CareDone, Outcome as Found},
    ids::TaskId,
};
use std::io::{self, IsTerminal, Write};

/// Walk the film path of a machine, step by step
#[derive(Debug, Args)]
pub struct Walk {
    /// The machine
    machine: String,
    /// Which walk
    #[arg(long = "for", value_enum, default_value = "before-showing")]
    kind: Which,
    /// Only list the steps, ask nothing
    #[arg(long)]
    list: bool,
}

/// Which walk, as the command line spells it.
#[derive(Debug, Clone, Copy)]
struct Which(WalkKind);

impl ValueEnum for Which {
    fn value_variants<'a>() -> &'a [Self] {
        const ALL: &[Which] = &[
            Which(WalkKind::BeforeShowing),
            Which(WalkKind::AfterShowing),
            Which(WalkKind::EveryReel),
            Which(WalkKind::Due),
            Which(WalkKind::All),
        ];
        ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.0.as_str()))
    }
}

/// What the person says at a step.
enum Said {
    Found(Found, String),
    Leave,
}

impl Walk {
    /// Walks, or lists the steps.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let answer = booth::walk(&desk.booth, &desk.library, &self.machine, self.kind.0, &desk.now)
            .map_err(Failure::not_known)?;
        if common.json {
            return print::json(&views::json::walk(&answer));
        }
        if self.list || !io::stdin().is_terminal() {
            return print::sheet(&views::walk::sheet(&answer, desk.today()));
        }
        let who = desk.who(common)?;
        let machine = desk.machine(&self.machine)?;
        let walk = format!("walk-{}", uuid::Uuid::now_v7().simple());
        let total = answer.value.steps.len();
        for step in answer.value.steps.iter().filter(|step| step.already.is_none()) {
            let Said::Found(found, note) = ask(step, total)? else { break };
            // Each answer is written at once: what was said is kept, whatever comes next.
            let fact = care(&machine, &walk, step.task.id.as_str(), found, note);
            desk.write(who.clone(), desk.when(), fact.into())?;
        }
        desk.refresh()?;
        let walked = booth::walk(&desk.booth, &desk.library, &self.machine, self.kind.0, &desk.now)
            .map_err(Failure::not_known)?;
        print::text(&format!("{}\n", views::walk::summary(&walked.value)))
    }
}

fn care(machine: &MachineId, walk: &str, task: &str, outcome: Found, note: String) -> CareDone {
    CareDone {
        machine: machine.clone(),
        task: TaskId::new(task),
        slot: None,
        outcome,
        note,
        minutes: None,
        includes: Vec::new(),
        used: Vec::new(),
        photos: Vec::new(),
        walk: walk.to_owned(),
    }
}

/// Shows a step and takes the answer.
fn ask(step: &WalkStep<'_>, total: usize) -> Result<Said, Failure> {
    let at = step.part.map_or("the machine", |part| part.name.as_str());
    let mut text =
        format!("\n{} of {total}: {at}: {}\n{}\n", step.number, step.task.name, step.task.steps.trim());
    for caution in step.cautions {
        text.push_str(&format!("  Caution: {}\n", caution.words));
    }
    if let Some(pass_on) = &step.pass_on {
        text.push_str(&format!("  {pass_on}\n"));
    }
    print::text(&text)?;
    loop {
        let choices: Vec<_> = step.outcomes.iter().map(|found| letter(*found)).collect();
        print::text(&format!("[{}], then a note if you like; q leaves: ", choices.join(", ")))?;
        io::stdout().flush().map_err(world)?;
        let mut line = String::new();
        if io::stdin().read_line(&mut line).map_err(world)? == 0 {
            return Ok(Said::Leave);
        }
        let (first, note) = line.trim().split_once(' ').unwrap_or((line.trim(), ""));
        if first == "q" {
            return Ok(Said::Leave);
        }
        let chosen =
            step.outcomes.iter().find(|found| letter(**found).starts_with(first) && !first.is_empty());
        if let Some(found) = chosen {
            return Ok(Said::Found(*found, note.trim().to_owned()));
        }
    }
}

fn letter(found: Found) -> &'static str {
    match found {
        Found::Fine => "fine",
        Found::Done => "done",
        Found::Attention => "attention",
        Found::CannotTell => "cannot tell",
        Found::Skipped => "skip",
    }
}

#[expect(clippy::needless_pass_by_value, reason = "it is the end of the error")]
fn world(error: io::Error) -> Failure {
    Failure::new(Kind::World, format!("the terminal cannot be read: {error}"))
}
