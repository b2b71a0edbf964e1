//! `logbook verify`: is every entry as it was written?

use crate::{
    cli::Common,
    desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use serde::Serialize;
use store::EntryStore;

/// Recompute the hash chain of every device and say what was altered, lost or put elsewhere
#[derive(Debug, Args)]
pub struct Verify {
    /// Read every photo and recording again, too
    #[arg(long)]
    attachments: bool,
}

/// What a verification answers.
#[derive(Serialize)]
struct Answer {
    in_order: bool,
    entries: u64,
    findings: Vec<String>,
    attachment_faults: Vec<String>,
    heads: Vec<Head>,
}

/// The end of one device's chain: noted elsewhere, it proves later that nothing after it was cut off.
#[derive(Serialize)]
struct Head {
    device: String,
    number: u64,
    hash: String,
}

impl Verify {
    /// Verifies.
    pub fn run(&self, common: &Common) -> Outcome {
        let store = desk::to_verify(&desk::data_folder(common)?)?;
        let verification = store.verify()?;
        let faults = if self.attachments { store.verify_attachments()? } else { Vec::new() };
        let answer = Answer {
            in_order: verification.is_sound() && faults.is_empty(),
            entries: verification.entries,
            findings: verification.findings.iter().map(ToString::to_string).collect(),
            attachment_faults: faults.iter().map(ToString::to_string).collect(),
            heads: verification
                .heads
                .iter()
                .map(|head| Head {
                    device: head.device.to_string(),
                    number: head.number,
                    hash: store::hex(&head.hash),
                })
                .collect(),
        };
        print::either(common.json, &answer, in_words)?;
        if answer.in_order {
            return Ok(());
        }
        Err(Failure::new(Kind::Found, "the logbook is not as it was written")
            .hinted("restore the last good backup beside it (`logbook restore`) and compare"))
    }
}

fn in_words(answer: &Answer) -> String {
    let mut text = String::new();
    for finding in answer.findings.iter().chain(&answer.attachment_faults) {
        text.push_str(finding);
        text.push('\n');
    }
    if answer.in_order {
        text.push_str(&format!("All {} entries are as they were written.\n", answer.entries));
    }
    for head in &answer.heads {
        text.push_str(&format!("  device {} ends at {} with {}\n", head.device, head.number, head.hash));
    }
    text
}
