//! `types`: the kinds of machines that the booth knows.

use crate::{
    cli::Common,
    desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::{Args, Subcommand};
use machine::{CareTask, MachineType, Noticed, Part, Trouble};
use serde::Serialize;
use std::{fmt::Write, path::PathBuf};

/// Kinds of machines: list, show, check a file
#[derive(Debug, Args)]
pub struct Types {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// List the kinds: those that come with the program and those in the data folder's `types/`
    List,
    /// Show one kind: its parts in film-path order, its care, its limits, its troubles
    Show {
        /// Its id, as `types list` gives it
        id: String,
    },
    /// Check a type file and say everything that is wrong with it
    Check {
        /// The file
        file: PathBuf,
    },
}

/// One line of the list.
#[derive(Serialize)]
struct Listed<'a> {
    id: &'a str,
    name: &'a str,
    gauge: String,
    edition: u32,
    parts: usize,
    care_tasks: usize,
    symptoms: usize,
}

impl<'a> Listed<'a> {
    fn of(kind: &'a MachineType) -> Self {
        Self {
            id: kind.id.as_str(),
            name: &kind.name,
            gauge: kind.gauge.to_string(),
            edition: kind.edition,
            parts: kind.parts.len(),
            care_tasks: kind.care.len(),
            symptoms: kind.trouble.symptoms.len(),
        }
    }

    fn words(&self) -> String {
        format!(
            "{:<26} {} ({}, {} parts, {} care tasks, {} symptoms, edition {})",
            self.id, self.name, self.gauge, self.parts, self.care_tasks, self.symptoms, self.edition
        )
    }
}

impl Types {
    /// Answers.
    pub fn run(&self, common: &Common) -> Outcome {
        match &self.what {
            What::List => list(common),
            What::Show { id } => show(common, id),
            What::Check { file } => check(common, file),
        }
    }
}

fn list(common: &Common) -> Outcome {
    let library = crate::own_types::library(&desk::data_folder(common)?);
    let listed: Vec<_> = library.iter().map(Listed::of).collect();
    print::either(common.json, &listed, |listed| {
        listed.iter().fold(String::new(), |text, kind| text + &kind.words() + "\n")
    })
}

fn show(common: &Common, id: &str) -> Outcome {
    let library = crate::own_types::library(&desk::data_folder(common)?);
    let Some(kind) = library.get(id) else {
        let known: Vec<_> = library.iter().map(|kind| kind.id.as_str()).collect();
        return Err(Failure::new(Kind::Usage, format!("there is no kind of machine `{id}`"))
            .hinted(format!("known are: {}", known.join(", "))));
    };
    print::either(common.json, kind, in_words)
}

fn check(common: &Common, file: &std::path::Path) -> Outcome {
    /// What a check answers.
    #[derive(Serialize)]
    struct Checked<'a> {
        file: String,
        in_order: bool,
        kind: Option<Listed<'a>>,
        findings: Vec<machine::Finding>,
    }

    let name = file.display().to_string();
    let text = desk::read_text(file, desk::LARGEST_TYPE_FILE_BYTES)?;
    match machine::read(&name, &text) {
        Ok(kind) => {
            let kind = Some(Listed::of(&kind));
            let checked = Checked { file: name, in_order: true, kind, findings: Vec::new() };
            print::either(common.json, &checked, |checked| {
                let kind = checked.kind.as_ref().map(Listed::words).unwrap_or_default();
                format!("{}: in order\n{kind}\n", checked.file)
            })
        }
        Err(report) => {
            let words = report.to_string();
            if common.json {
                let findings = report.findings;
                print::json(&Checked { file: name, in_order: false, kind: None, findings })?;
            }
            Err(Failure::new(Kind::Found, words).hinted("docs/machine-types.md describes the format"))
        }
    }
}

fn in_words(kind: &MachineType) -> String {
    let mut text = format!("{}\n{}\n\nFilm path and parts\n", kind.name, kind.words.trim());
    for (position, part) in kind.parts.iter().enumerate() {
        part_in_words(&mut text, position + 1, part, kind);
    }
    text.push_str("\nCare of the whole machine\n");
    for task in kind.care.iter().filter(|task| task.parts.is_empty()) {
        task_in_words(&mut text, task);
    }
    text.push_str("\nLimits of readings\n");
    for limit in &kind.limits {
        let _ = writeln!(text, "  {}: {} ({})", limit.quantity, limit.name, limit.unit);
    }
    troubles_in_words(&mut text, &kind.trouble);
    text
}

/// How much the type knows of its troubles, and what may be noticed.
fn troubles_in_words(text: &mut String, trouble: &Trouble) {
    let (symptoms, causes) = (trouble.symptoms.len(), trouble.causes.len());
    let (checks, remedies) = (trouble.checks.len(), trouble.remedies.len());
    let _ = writeln!(
        text,
        "\nTroubles: {symptoms} symptoms, {causes} causes, {checks} checks, {remedies} remedies"
    );
    for noticed in Noticed::ALL {
        let mut symptoms = trouble.symptoms_noticed(*noticed).peekable();
        if symptoms.peek().is_some() {
            let _ = writeln!(text, "  {}", noticed.name());
        }
        for symptom in symptoms {
            let _ = writeln!(text, "       {} ({})", symptom.name, symptom.id);
        }
    }
}

fn part_in_words(text: &mut String, position: usize, part: &Part, kind: &MachineType) {
    let _ = writeln!(text, "{position:>3}. {} ({})", part.name, part.id);
    for task in kind.care_for(part.id.as_str()).filter(|task| task.stands_at() == Some(&part.id)) {
        task_in_words(text, task);
    }
}

fn task_in_words(text: &mut String, task: &CareTask) {
    let mut when: Vec<_> = task.triggers.iter().map(|trigger| trigger.in_words()).collect();
    if task.every.is_some() {
        when.insert(0, booth::interval_in_words(task));
    }
    let safety = if task.safety { ", never put off" } else { "" };
    let _ = writeln!(text, "       {} ({}): {}{safety}", task.name, task.id, when.join("; "));
}
