//! Every measuring verb runs the same way: measure each file, say it, draw it, write it down.

use super::{
    keep::Keep,
    picture::{Form, draw},
    setting::Setting,
};
use crate::{
    cli::Common,
    desk::cannot_read,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::sound::{Measured, weighed};
use clap::Args;
use serde_json::{Value, json};
use sound::{SoundError, Source};
use std::{
    fs::File,
    path::{Path, PathBuf},
};
use views::{Picture, Sheet, sound::Known};

/// How the reports of one kind are told: shown, drawn and kept.
pub struct Told<R> {
    /// The figures that may become readings.
    pub figures: fn(&R) -> Vec<Measured>,
    /// The sheet.
    pub sheet: fn(&R, &Known<'_>) -> Sheet,
    /// The JSON.
    pub json: fn(&R, &Known<'_>) -> Value,
    /// The picture.
    pub picture: fn(&R) -> Picture,
}

/// A measurement of one recording.
pub type Measure<'m, R> = dyn Fn(&mut dyn Source) -> Result<R, SoundError> + 'm;

/// The recordings, and what to do with the result.
#[derive(Debug, Args)]
pub struct Recordings {
    /// Recordings (WAV, FLAC, MP3, M4A with AAC, Ogg Vorbis)
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Draw the result into this file (`.svg`, or `.png` for programs that show no SVG)
    #[arg(long, value_name = "FILE.svg|png")]
    plot: Option<PathBuf>,
    #[command(flatten)]
    keep: Keep,
}

impl Recordings {
    /// Measures every recording; one that gives no reading does not keep the others from theirs.
    pub fn run<R>(
        &self,
        common: &Common,
        setting: &Setting,
        told: &Told<R>,
        measure: &Measure<'_, R>,
    ) -> Outcome {
        self.check(setting)?;
        let (mut answers, mut failures) = (Vec::new(), Vec::new());
        for file in &self.files {
            match self.one(common, setting, file, told, measure) {
                Ok(answer) => answers.push(answer),
                Err(failure) => {
                    answers.push(json!({ "file": file, "error": failure.what }));
                    failures.push(failure);
                }
            }
        }
        if common.json && (self.files.len() > 1 || failures.is_empty()) {
            match answers.as_slice() {
                [one] => print::json(one)?,
                many => print::json(many)?,
            }
        }
        last(failures)
    }

    fn check(&self, setting: &Setting) -> Outcome {
        let usage = |what: &str, right: &str| Err(Failure::new(Kind::Usage, what).hinted(right));
        if self.plot.is_some() && self.files.len() > 1 {
            return usage("--plot draws one recording", "name one file, or run it once for each");
        }
        if let Some(plot) = &self.plot {
            Form::of(plot)?;
        }
        if self.keep.is_asked() && setting.machine.is_none() {
            return usage("--log needs to know which machine was recorded", "name it with --machine");
        }
        Ok(())
    }

    fn one<R>(
        &self,
        common: &Common,
        setting: &Setting,
        path: &Path,
        told: &Told<R>,
        measure: &Measure<'_, R>,
    ) -> Result<Value, Failure> {
        let mut file = open(path)?;
        let report = measure(&mut file).map_err(|error| refused(path, &error))?;
        let weighed = setting.kind().map(|kind| weighed((told.figures)(&report), kind, setting.about()));
        let weighed = weighed.unwrap_or_default();
        let due = setting.due();
        let known =
            Known { machine: setting.machine.as_ref(), kind: setting.kind(), weighed: &weighed, due: &due };
        if let Some(plot) = &self.plot {
            draw(plot, &(told.picture)(&report))?;
        }
        let mut sheet = (told.sheet)(&report, &known);
        let mut answer = json!({ "file": path });
        if let (Some(into), Value::Object(from)) = (answer.as_object_mut(), (told.json)(&report, &known)) {
            into.extend(from);
        }
        if self.keep.is_asked() {
            let kept = self.keep.write(common, setting, &(told.figures)(&report), &mut file)?;
            kept.tell(&mut sheet, &mut answer);
        }
        if !common.json {
            if self.files.len() > 1 {
                sheet.title = format!("{}: {}", path.display(), sheet.title);
            }
            print::sheet(&sheet)?;
        }
        Ok(answer)
    }
}

fn open(path: &Path) -> Result<File, Failure> {
    let file = File::open(path).map_err(|error| cannot_read(path, error))?;
    let is_file = file.metadata().is_ok_and(|about| about.is_file());
    if is_file { Ok(file) } else { Err(cannot_read(path, "it is no file")) }
}

/// A request that makes no sense is the asker's to mend; all else is the file's.
fn refused(path: &Path, error: &SoundError) -> Failure {
    let kind = match error {
        SoundError::BadRequest { .. } | SoundError::ToneOutOfRange { .. } => Kind::Usage,
        _ => Kind::Refused,
    };
    Failure::new(kind, format!("{}: {error}", path.display()))
}

/// Says all failures but the last, which ends the command.
fn last(mut failures: Vec<Failure>) -> Outcome {
    let Some(last) = failures.pop() else { return Ok(()) };
    for failure in &failures {
        failure.report();
    }
    Err(last)
}
