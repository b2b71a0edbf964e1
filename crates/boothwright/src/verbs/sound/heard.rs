//! Every measuring verb runs the same way: measure each file, say it, draw it, write it down.

use super::{keep::Keep, setting::Setting};
use crate::{
    cli::Common,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::sound::{Measured, weighed};
use clap::Args;
use serde_json::{Value, json};
use sound::{SoundError, Source};
use std::{
    fs::{self, File},
    path::{Path, PathBuf},
};
use views::{Picture, Sheet, sound::Known};

/// What a measurement gave, ready to be shown and kept.
pub trait Heard {
    /// The figures that may become readings.
    fn figures(&self) -> Vec<Measured>;
    /// The sheet.
    fn sheet(&self, known: &Known<'_>) -> Sheet;
    /// The JSON.
    fn json(&self, known: &Known<'_>) -> Value;
    /// The picture, if there is one of it.
    fn picture(&self) -> Option<Picture>;
}

/// A measurement of one recording.
pub type Measure<'m> = dyn Fn(&mut dyn Source) -> Result<Box<dyn Heard>, SoundError> + 'm;

/// The recordings, and what to do with the result.
#[derive(Debug, Args)]
pub struct Recordings {
    /// Recordings (WAV, FLAC, MP3, M4A with AAC, Ogg Vorbis)
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Draw the result into this file (`.svg`)
    #[arg(long, value_name = "FILE.svg")]
    plot: Option<PathBuf>,
    #[command(flatten)]
    keep: Keep,
}

impl Recordings {
    /// Measures every recording; one that gives no reading does not keep the others from theirs.
    pub fn run(&self, common: &Common, setting: &Setting, measure: &Measure<'_>) -> Outcome {
        self.check(setting)?;
        let (mut answers, mut failures) = (Vec::new(), Vec::new());
        for file in &self.files {
            match self.one(common, setting, file, measure) {
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
        if let Some(plot) = self.plot.as_ref().filter(|plot| !has_ending(plot, "svg")) {
            let what = format!("{}: only `.svg` can be drawn", plot.display());
            return usage(&what, "name a file that ends in .svg; any browser shows and prints it");
        }
        if self.keep.is_asked() && setting.machine.is_none() {
            return usage("--log needs to know which machine was recorded", "name it with --machine");
        }
        Ok(())
    }

    fn one(
        &self,
        common: &Common,
        setting: &Setting,
        path: &Path,
        measure: &Measure<'_>,
    ) -> Result<Value, Failure> {
        let mut file = open(path)?;
        let heard = measure(&mut file).map_err(|error| refused(path, &error))?;
        let weighed = setting.kind().map(|kind| weighed(heard.figures(), kind, setting.about()));
        let weighed = weighed.unwrap_or_default();
        let due = setting.due();
        let known =
            Known { machine: setting.machine.as_ref(), kind: setting.kind(), weighed: &weighed, due: &due };
        if let Some(plot) = &self.plot {
            draw(plot, heard.picture())?;
        }
        let mut sheet = heard.sheet(&known);
        let mut answer = json!({ "file": path });
        if let (Some(into), Value::Object(from)) = (answer.as_object_mut(), heard.json(&known)) {
            into.extend(from);
        }
        if self.keep.is_asked() {
            let kept = self.keep.write(common, setting, &heard.figures(), &mut file)?;
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

fn has_ending(path: &Path, ending: &str) -> bool {
    path.extension().is_some_and(|own| own.eq_ignore_ascii_case(ending))
}

fn open(path: &Path) -> Result<File, Failure> {
    let cannot = |why: String| Failure::new(Kind::Refused, format!("cannot read {}: {why}", path.display()));
    let file = File::open(path).map_err(|error| cannot(error.to_string()))?;
    let is_file = file.metadata().is_ok_and(|about| about.is_file());
    if is_file { Ok(file) } else { Err(cannot("it is no file".to_owned())) }
}

/// A request that makes no sense is the asker's to mend; all else is the file's.
fn refused(path: &Path, error: &SoundError) -> Failure {
    let kind = match error {
        SoundError::BadRequest { .. } | SoundError::ToneOutOfRange { .. } => Kind::Usage,
        _ => Kind::Refused,
    };
    Failure::new(kind, format!("{}: {error}", path.display()))
}

/// Writes a picture as a drawing that stands by itself.
pub fn draw(plot: &Path, picture: Option<Picture>) -> Outcome {
    let Some(picture) = picture else {
        return Err(
            Failure::new(Kind::Usage, "there is no picture of this result").hinted("leave --plot out")
        );
    };
    fs::write(plot, views::plot::standalone(&picture))
        .map_err(|error| Failure::new(Kind::World, format!("cannot write {}: {error}", plot.display())))
}

/// Says all failures but the last, which ends the command.
fn last(mut failures: Vec<Failure>) -> Outcome {
    let Some(last) = failures.pop() else { return Ok(()) };
    for failure in &failures {
        failure.report();
    }
    Err(last)
}
