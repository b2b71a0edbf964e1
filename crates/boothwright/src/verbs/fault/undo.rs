//! `fault undo`: the last answer is taken back.

use super::common::{Did, at_desk, say, write};
use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
};
use clap::Args;
use logbook::{EntryId, FaultId, fact::Withdraws};

/// Take back the last answer
#[derive(Debug, Args)]
pub struct Undo {
    /// The fault, or the beginning of its name
    fault: String,
    /// Another one than the last: its entry, as `fault next --json` has it under `done`
    #[arg(long, value_name = "ENTRY")]
    entry: Option<String>,
    /// Why
    #[arg(long, default_value = "answered wrongly")]
    why: String,
}

impl Undo {
    /// Takes it back: the closing of a closed fault, else the last step.
    pub fn run(&self, common: &Common) -> Outcome {
        let mut desk = Desk::open(common, false)?;
        let (fault, entry, words) = self.last(&desk)?;
        let written = write(common, &desk, Withdraws { entry, why: self.why.clone() })?;
        let did = Did { entry: Some(written), taken_back: Some(entry), words };
        say(common, &mut desk, &fault, &did)
    }

    fn last(&self, desk: &Desk) -> Result<(FaultId, EntryId, String), Failure> {
        let open = at_desk(desk, &self.fault)?;
        let sheet = open.sheet();
        let taken = |words: &str| format!("Taken back: {words}.");
        if let Some(asked) = &self.entry {
            let step = sheet.done.iter().find(|step| step.entry.to_string() == *asked);
            let step =
                step.ok_or_else(|| Failure::new(Kind::Usage, format!("`{asked}` is no step of this fault")))?;
            return Ok((open.id.clone(), step.entry, taken(&step.words)));
        }
        if let Some((.., entry)) = &open.fault.closed {
            return Ok((open.id.clone(), *entry, taken("the closing")));
        }
        let step = sheet.done.last().ok_or_else(|| {
            Failure::new(Kind::Usage, "nothing was answered yet")
                .hinted("`boothwright logbook list` has every entry; any of them can be withdrawn")
        })?;
        Ok((open.id.clone(), step.entry, taken(&step.words)))
    }
}
