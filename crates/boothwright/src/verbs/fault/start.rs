//! `fault start`: a fault is open.

use super::common::{Did, say, word, write};
use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Outcome},
};
use booth::desk::{find_symptom, symptoms_of};
use clap::Args;
use logbook::{
    FaultId, PrintId, ShowingId,
    fact::{FaultOpened, PrintSort},
    ids::{SlotId, SymptomId},
};

/// Open a fault by what is seen, heard or smelt
#[derive(Debug, Args)]
pub struct Start {
    /// The machine
    machine: String,
    /// What is noticed: an id or words of it (`fault symptoms MACHINE`); several may be given
    #[arg(long, required = true, value_name = "SYMPTOM")]
    symptom: Vec<String>,
    /// In your own words; left out: the symptom's
    #[arg(long)]
    words: Option<String>,
    /// The showing in which it was met
    #[arg(long)]
    showing: Option<String>,
    /// An audience waits
    #[arg(long)]
    running: bool,
    /// What sort of print is in the machine: disposable, lent, only
    #[arg(long, value_name = "SORT")]
    print_sort: Option<String>,
    /// Which print it is
    #[arg(long)]
    print: Option<String>,
    /// Where, if that is known
    #[arg(long)]
    slot: Option<String>,
    /// A short name for the fault; left out: one is made
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
}

impl Start {
    /// Opens it, and says what comes first.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let machine = desk.machine(&self.machine)?;
        let (kind, _) = symptoms_of(&desk.booth, &desk.library, machine.as_str(), "")?;
        let found =
            self.symptom.iter().map(|asked| find_symptom(kind, asked)).collect::<Result<Vec<_>, _>>()?;
        let names: Vec<&str> = found.iter().map(|symptom| symptom.name.as_str()).collect();
        let print_sort = self.print_sort.as_deref().map(sort).transpose()?;
        let fact = FaultOpened {
            fault: FaultId::new(self.name.clone().unwrap_or_else(|| made_up(machine.as_str()))),
            machine,
            slot: self.slot.as_ref().map(SlotId::new),
            words: self.words.clone().unwrap_or_else(|| names.join("; ")),
            showing: self.showing.as_ref().map(ShowingId::new),
            symptoms: found.iter().map(|symptom| SymptomId::new(symptom.id.as_str())).collect(),
            print_sort,
            print: self.print.as_ref().map(PrintId::new),
            show_running: self.running,
        };
        let fault = fact.fault.clone();
        let entry = write(common, &desk, fact)?;
        let did = Did { entry: Some(entry), words: format!("Fault {fault} is open."), ..Did::default() };
        say(common, &mut desk, &fault, &did)
    }
}

fn sort(asked: &str) -> Result<PrintSort, Failure> {
    let words = [("disposable", PrintSort::Disposable), ("lent", PrintSort::Lent), ("only", PrintSort::Only)];
    word("--print-sort", asked, &words)
}

/// A short name that no other fault has: the machine's and some letters.
fn made_up(machine: &str) -> String {
    let id = uuid::Uuid::now_v7().simple().to_string();
    let tail = id.get(id.len() - 6..).unwrap_or(&id);
    let head: String = machine.chars().take(24).collect();
    format!("{head}-{tail}")
}
