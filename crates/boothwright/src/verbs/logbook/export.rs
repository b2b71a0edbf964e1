//! `logbook export`: the whole logbook as JSON Lines or CSV.

use crate::{
    cli::Common,
    desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::{Args, ValueEnum};
use exchange::{csv_out, jsonl};
use serde::Serialize;
use std::{
    fs::File,
    io::{self, BufWriter, Write},
    ops::ControlFlow,
    path::{Path, PathBuf},
};
use store::{EntryStore, SqliteStore};

/// Write the whole logbook as JSON Lines (nothing is lost) or CSV (to look at)
#[derive(Debug, Args)]
pub struct Export {
    /// The file; left out: the output
    file: Option<PathBuf>,
    /// The form; left out: by the file's ending, else JSON Lines
    #[arg(long)]
    form: Option<Form>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// One entry a line, lossless, for coming back
    Jsonl,
    /// A table to look at
    Csv,
}

impl Export {
    /// Exports.
    pub fn run(&self, common: &Common) -> Outcome {
        let form = self.form()?;
        let store = desk::to_read(&desk::data_folder(common)?)?;
        let Some(file) = &self.file else {
            return match write(&store, form, &mut BufWriter::new(io::stdout().lock())) {
                Err(Trouble::Writing(error)) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
                done => done.map(|_| ()).map_err(|trouble| trouble.failure(Path::new("the output"))),
            };
        };
        let entries = write_aside(&store, form, file).map_err(|trouble| trouble.failure(file))?;
        said(common.json, entries, file)
    }
}

impl Export {
    /// Returns the form that was named, or that the file's ending stands for.
    fn form(&self) -> Result<Form, Failure> {
        if let Some(form) = self.form {
            return Ok(form);
        }
        let Some(file) = &self.file else { return Ok(Form::Jsonl) };
        let ending = file.extension().unwrap_or_default().to_string_lossy().to_lowercase();
        match ending.as_str() {
            "jsonl" => Ok(Form::Jsonl),
            "csv" => Ok(Form::Csv),
            _ => {
                Err(Failure::new(Kind::Usage, format!("{} ends in neither .jsonl nor .csv", file.display()))
                    .hinted("name the file so, or say --form jsonl or --form csv"))
            }
        }
    }
}

enum Trouble {
    Store(store::StoreError),
    Writing(io::Error),
}

impl Trouble {
    fn failure(self, file: &Path) -> Failure {
        match self {
            Self::Store(error) => error.into(),
            Self::Writing(error) => {
                Failure::new(Kind::World, format!("cannot write {}: {error}", file.display()))
            }
        }
    }
}

impl From<store::StoreError> for Trouble {
    fn from(error: store::StoreError) -> Self {
        Self::Store(error)
    }
}

impl From<io::Error> for Trouble {
    fn from(error: io::Error) -> Self {
        Self::Writing(error)
    }
}

/// Writes beside the file and puts it in place when it is whole, so that half an export is never taken for one.
fn write_aside(store: &SqliteStore, form: Form, file: &Path) -> Result<usize, Trouble> {
    let aside = file.with_extension("part");
    let mut out = BufWriter::new(File::create(&aside)?);
    let written = write(store, form, &mut out).and_then(|entries| {
        let whole = out.into_inner().map_err(io::IntoInnerError::into_error)?;
        whole.sync_all()?;
        std::fs::rename(&aside, file)?;
        Ok(entries)
    });
    if written.is_err() {
        // The unfinished file is of no use; that it cannot be removed adds nothing to what is said already.
        let _ = std::fs::remove_file(&aside);
    }
    written
}

fn write(store: &SqliteStore, form: Form, out: &mut impl Write) -> Result<usize, Trouble> {
    if form == Form::Csv {
        let entries = store.entries()?;
        out.write_all(csv_out::entries_as_csv(&entries).as_bytes())?;
        out.flush()?;
        return Ok(entries.len());
    }
    let mut entries = 0;
    let mut broken = None;
    store.each_record(&mut |record| match writeln!(out, "{}", jsonl::write_chained(record)) {
        Ok(()) => {
            entries += 1;
            ControlFlow::Continue(())
        }
        Err(error) => {
            broken = Some(error);
            ControlFlow::Break(())
        }
    })?;
    if let Some(error) = broken {
        return Err(error.into());
    }
    out.flush()?;
    Ok(entries)
}

fn said(as_json: bool, entries: usize, file: &Path) -> Outcome {
    /// What exporting answers.
    #[derive(Serialize)]
    struct Exported {
        entries: usize,
        file: String,
    }
    let exported = Exported { entries, file: file.display().to_string() };
    print::either(as_json, &exported, |done| format!("{} entries are in {}.\n", done.entries, done.file))
}
