//! `fault request`: the request for repair.

use super::common::{at_desk, write};
use crate::{cli::Common, desk::Desk, failure::Outcome, print};
use clap::Args;
use serde::Serialize;

/// Write the request for repair
#[derive(Debug, Args)]
pub struct Request {
    /// The fault, or the beginning of its name
    fault: String,
    /// Only show it, write nothing
    #[arg(long)]
    show: bool,
    /// What else to say
    #[arg(long, default_value = "")]
    note: String,
}

/// The request, and the entry that keeps it.
#[derive(Serialize)]
struct Written<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    entry: Option<String>,
    fault: String,
    machine: String,
    #[serde(flatten)]
    request: &'a booth::desk::RequestLines,
}

impl Request {
    /// Writes it.
    pub fn run(&self, common: &Common) -> Outcome {
        let desk = Desk::open(common, false)?;
        let open = at_desk(&desk, &self.fault)?;
        let mut request = open.request();
        if !self.note.is_empty() {
            request.words = format!("{} {}", request.words, self.note);
        }
        let entry = if self.show { None } else { Some(write(common, &desk, request.clone().fact(open.id))?) };
        if common.json {
            let entry = entry.map(|entry| entry.id.to_string());
            let (fault, machine) = (open.id.to_string(), open.machine.to_string());
            return print::json(&Written { entry, fault, machine, request: &request });
        }
        print::sheet(&views::desk::request(&open.sheet(), &request))
    }
}
