//! `logbook restore`: a backup back into the data folder.

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
use store::StoreError;

/// Put a backup back
#[derive(Debug, Args)]
pub struct Restore {
    /// The backup's folder
    #[arg(value_name = "FOLDER")]
    from: PathBuf,
    /// Replace the logbook that is there; it is set aside, not destroyed
    #[arg(long)]
    replace: bool,
}

/// What restoring answers.
#[derive(Serialize)]
struct Answer {
    data: String,
    entries: u64,
    attachments: u64,
    left_out: Vec<String>,
    set_aside: Option<String>,
}

impl Restore {
    /// Restores.
    pub fn run(&self, common: &Common) -> Outcome {
        let data = desk::data_folder(common)?;
        let report = progress::shown(common.json, |progress| {
            store::restore(&self.from, &data, self.replace, progress)
        })
        .map_err(|error| match error {
            StoreError::WouldReplace { .. } => Failure::new(Kind::Refused, error)
                .hinted("--replace sets the logbook that is there aside and puts the backup in its place"),
            error => error.into(),
        })?;
        let answer = Answer {
            data: data.display().to_string(),
            entries: report.entries,
            attachments: report.attachments,
            left_out: report.left_out.iter().map(ToString::to_string).collect(),
            set_aside: report.set_aside.map(|folder| folder.display().to_string()),
        };
        print::either(common.json, &answer, in_words)
    }
}

fn in_words(done: &Answer) -> String {
    let mut text =
        format!("{} entries and {} attachments are back in {}.\n", done.entries, done.attachments, done.data);
    if let Some(folder) = &done.set_aside {
        text.push_str(&format!("The logbook that was there lies in {folder}.\n"));
    }
    for id in &done.left_out {
        text.push_str(&format!("Attachment {id} was altered before the backup was made and was left out.\n"));
    }
    text
}
