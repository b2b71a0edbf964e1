//! `plan solve`: a model in a file.

use crate::{
    desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use plan::{Effort, Model, ModelError, Plan as Answer};
use std::path::PathBuf;

/// Plan a model written as JSON (docs/plan.md has its form)
#[derive(Debug, Args)]
pub struct Solve {
    /// The model
    file: PathBuf,
    /// Steps in which the bound is raised; left out: by the model's size
    #[arg(long, value_name = "N")]
    price_steps: Option<usize>,
    /// Sweeps in which the plan is mended
    #[arg(long, value_name = "N")]
    sweeps: Option<usize>,
    /// Beginnings of the diary that the proof keeps side by side; 0: none is tried
    #[arg(long, value_name = "N")]
    nodes: Option<u64>,
    /// Threads; they change how long it takes, not what comes out
    #[arg(long, value_name = "N")]
    threads: Option<usize>,
    /// What the order of trying things is drawn from
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
}

impl Solve {
    /// Plans, and prints the plan.
    pub fn run(&self, as_json: bool) -> Outcome {
        let Self { file, price_steps, sweeps, nodes, threads, seed } = self;
        let text = desk::as_text(file, desk::read_whole(file)?)?;
        let model: Model = serde_json::from_str(&text)
            .map_err(|error| Failure::new(Kind::Refused, format!("`{}`: {error}", file.display())))?;
        let usual = Effort::for_model(&model);
        let effort = Effort {
            price_steps: price_steps.unwrap_or(usual.price_steps),
            sweeps: sweeps.unwrap_or(usual.sweeps),
            nodes: nodes.unwrap_or(usual.nodes),
            threads: threads.unwrap_or(usual.threads),
            seed: seed.unwrap_or(usual.seed),
        };
        let answer = plan::solve(&model, &effort).map_err(refused)?;
        print::either(as_json, &answer, words)
    }
}

fn refused(error: ModelError) -> Failure {
    let hint = match &error {
        ModelError::Pins(_) => "take one of the pins out, or give what it needs",
        ModelError::Faulty(_) | ModelError::Choices(_) => "docs/plan.md has the form of a model",
    };
    Failure::new(Kind::Refused, error).hinted(hint)
}

/// Says a plan: what it costs, then the diary, the bench, and what could not be helped.
fn words(answer: &Answer) -> String {
    let mut text = format!("The plan costs {:.2}; ", answer.cost.0);
    text += &if answer.proven {
        "no plan costs less.\n".to_owned()
    } else {
        format!("no plan costs less than {:.2}.\n", answer.bound.0)
    };
    text += "\nShowings\n";
    for showing in &answer.showings {
        for seat in &showing.machines {
            text += &format!("  {}: {}\n    {}\n", showing.showing, seat.machine, seat.because.words);
        }
    }
    text += "\nBench\n";
    for session in &answer.sessions {
        let (used, there) = (session.minutes_used.0, session.minutes.0);
        text += &format!("  {} {}: {used} of {there} minutes\n", session.slot, session.who);
        for doing in &session.work {
            let hours = doing.hours_since.hours();
            let (work, machine) = (&doing.work, &doing.machine);
            text += &format!("    {work} on {machine} at {hours:.1} h\n      {}\n", doing.because.words);
        }
    }
    for left in &answer.left {
        text += &format!("  not done: {} on {}\n    {}\n", left.work, left.machine, left.because.words);
    }
    for it in &answer.overdue {
        let (machine, showing, work) = (&it.machine, &it.showing, &it.work);
        text += &format!("  past its limit: {work}, {machine} at {showing}: {}\n", it.because);
    }
    for it in &answer.unstaffed {
        text += &format!("  {} lacks {} machine(s): {}\n", it.showing, it.missing, it.because);
    }
    for caveat in &answer.caveats {
        text += &format!("  mind: {caveat}\n");
    }
    text
}
