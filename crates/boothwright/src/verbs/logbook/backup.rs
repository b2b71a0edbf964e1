//! `logbook backup`: logbook and attachments into a new folder.

use crate::{
    cli::Common,
    desk,
    failure::{Failure, Kind, Outcome},
    print,
    verbs::progress,
};
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

/// Save logbook and attachments, also while serving
#[derive(Debug, Args)]
pub struct Backup {
    /// The folder to make; it must not be there yet
    #[arg(value_name = "FOLDER")]
    to: PathBuf,
}

/// What backing up answers.
#[derive(Serialize)]
struct Answer {
    folder: String,
    entries: u64,
    attachments: u64,
    bytes: u64,
    in_order: bool,
    findings: Vec<String>,
}

impl Backup {
    /// Backs up.
    pub fn run(&self, common: &Common) -> Outcome {
        let store = desk::to_read(&desk::data_folder(common)?)?;
        let report = progress::shown(common.json, |progress| store.backup_to(&self.to, progress))?;
        let mut findings: Vec<_> = report.verification.findings.iter().map(ToString::to_string).collect();
        findings.extend(report.altered.iter().map(|id| format!("attachment {id} is not what was put there")));
        let answer = Answer {
            folder: report.folder.display().to_string(),
            entries: report.verification.entries,
            attachments: report.attachments,
            bytes: report.bytes,
            in_order: findings.is_empty(),
            findings,
        };
        print::either(common.json, &answer, |done| {
            format!(
                "{} entries and {} attachments are in {}, and were read again ({:.1} MB).\n",
                done.entries,
                done.attachments,
                done.folder,
                done.bytes as f64 / 1e6
            )
        })?;
        if answer.in_order {
            return Ok(());
        }
        Err(Failure::new(
            Kind::Found,
            format!(
                "the backup is made, but the logbook is not as it was written:\n  {}",
                answer.findings.join("\n  ")
            ),
        ))
    }
}
