//! `programme`: the programmes that are kept, their running times and changeovers, and whether each reel goes on.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::show;
use clap::{Args, Subcommand};
use logbook::{MachineId, ProgrammeId, booth::Programme as Kept};
use serde_json::json;
use views::{Place, Sheet, Table, Words};

/// Programmes of reels: running times, changeovers, take-up
#[derive(Debug, Args)]
pub struct Programme {
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// The programmes that are kept
    List,
    /// Lay a programme over its machines: times, cues, threading, take-up, splits
    Check {
        /// The programme, by its short name
        programme: String,
        /// Only on these machines (left out: those that the programme or its showing names)
        #[arg(long = "machine", value_name = "MACHINE")]
        machines: Vec<String>,
    },
}

impl Programme {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        match &self.question {
            Question::List => list(common, &desk),
            Question::Check { programme, machines } => check(common, &desk, programme, machines),
        }
    }
}

fn list(common: &Common, desk: &Desk) -> Outcome {
    if common.json {
        let all = desk.booth.programmes.iter().map(|(id, kept)| {
            let n_reels: usize = kept.items.iter().map(|item| item.reels.len()).sum();
            json!({ "programme": id, "title": kept.title, "reels": n_reels, "showings": kept.showings, "entry": kept.kept.1 })
        });
        return print::json(&all.collect::<Vec<_>>());
    }
    let mut table =
        Table::new("Programmes", &["Name", "Title", "#Reels", "For"], "No programme is kept yet.");
    for (id, kept) in &desk.booth.programmes {
        let n_reels: usize = kept.items.iter().map(|item| item.reels.len()).sum();
        let mut showings = Words::new();
        for showing in &kept.showings {
            showings = showings.link(Place::Showing(showing.clone()), showing.to_string()).plain(" ");
        }
        let cells =
            vec![id.to_string().into(), kept.title.as_str().into(), n_reels.to_string().into(), showings];
        table.push(cells, vec![]);
    }
    let mut sheet = Sheet::new("Programmes");
    sheet.push(views::Block::Table(table));
    print::sheet(&sheet)
}

fn check(common: &Common, desk: &Desk, programme: &str, machines: &[String]) -> Outcome {
    let kept = desk.booth.programmes.get(programme).ok_or_else(|| {
        let there: Vec<&str> = desk.booth.programmes.keys().map(ProgrammeId::as_str).collect();
        Failure::new(Kind::Usage, format!("there is no programme `{programme}` in this booth"))
            .hinted(format!("there are: {}", there.join(", ")))
    })?;
    let named: Vec<MachineId> =
        machines.iter().map(|machine| desk.machine(machine)).collect::<Result<_, _>>()?;
    let kept =
        Kept { machines: if named.is_empty() { kept.machines.clone() } else { named }, ..kept.clone() };
    let showing = kept.showings.iter().find_map(|id| desk.booth.showings.get(id));
    let otherwise: Vec<MachineId> = showing
        .map(|showing| showing.machines.iter().map(|(id, _)| id.clone()).collect())
        .unwrap_or_default();
    let answer = show::plan_of_programme(&desk.booth, &desk.library, &kept, &otherwise)
        .map_err(|error| Failure::new(Kind::Refused, error))?;
    let checks = show::checks(&desk.booth, &desk.library, &answer.value);
    if common.json {
        return print::json(&json!({
            "programme": programme,
            "plan": answer.value,
            "take_up": checks,
            "because": answer.because,
            "caveats": answer.caveats,
        }));
    }
    let mut sheet = Sheet::new(kept.title.clone());
    views::show::plan(&mut sheet, &answer, &checks);
    print::sheet(&sheet)
}
