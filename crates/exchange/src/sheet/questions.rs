//! What somebody must be asked before a sheet can be read, and what the answers make of the mapping.

use super::{
    Table,
    check::has_figure_dates,
    evidence::{date_order, decimal_mark},
    facts::tasks_in,
    mapping::{DateOrder, Decimal, Field, Mapping, NewMachine, Sort, Task},
    names,
    words::{NO, YES, is_one_of, plain, sort_named},
};
use jiff::civil::Date;
use logbook::{
    Booth, MachineId,
    ids::{SlotId, TaskId, TypeId},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// How many different words of one column are asked about.
const MOST_WORDS: usize = 12;

/// What a question is about.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Subject {
    /// Which column holds a field.
    ColumnOf(Field),
    /// What a column holds.
    Column(String),
    /// Which way round dates are.
    DateOrder,
    /// Which mark stands before decimals.
    Decimal,
    /// The machine of all rows.
    OnlyMachine,
    /// Which machine a name stands for.
    Machine(String),
    /// May people be added?
    AddPeople,
    /// May places be added?
    AddPlaces,
    /// What a word says a row is.
    SortWord(String),
    /// Which slot a word about parts names.
    PartWord(String),
    /// Which care task words about work name.
    WorkWords(String),
}

/// One possible answer.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Choice {
    /// What is to be answered.
    pub answer: String,
    /// What it means.
    pub words: String,
}

/// A question.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Question {
    /// What it is about.
    pub subject: Subject,
    /// The question itself.
    pub text: String,
    /// The answers to choose from; with `free` others are possible.
    pub choices: Vec<Choice>,
    /// Other answers than the choices are possible, and what they are.
    pub free: Option<String>,
    /// The sheet cannot be read without an answer.
    pub needed: bool,
}

/// An answer that does not fit its question.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("“{given}” does not answer it; {would_be_right}")]
pub struct BadAnswer {
    /// What was answered.
    pub given: String,
    /// What would be right.
    pub would_be_right: String,
}

/// Returns what must or may be asked about a sheet, most pressing first.
///
/// Ask, put the answers into the mapping with [`answer`], and ask again until nothing that is needed is left: an
/// answer can raise a new question.
pub fn questions(table: &Table, mapping: &Mapping, booth: &Booth, today: Date) -> Vec<Question> {
    let mapping = &*mapping.or_guessed(table);
    let asker = Asker { table, mapping, booth };
    let mut all = Vec::new();
    all.extend(asker.date_column());
    all.extend(asker.date_order(today));
    all.extend(asker.decimal());
    all.extend(asker.machine_of_all());
    all.extend(asker.machine_names());
    all.extend(asker.people());
    all.extend(asker.places());
    all.extend(asker.sort_words());
    all.extend(asker.part_words());
    all.extend(asker.work_words());
    all.extend(asker.unread_columns());
    all
}

struct Asker<'a> {
    table: &'a Table,
    mapping: &'a Mapping,
    booth: &'a Booth,
}

fn choice(answer: &str, words: impl Into<String>) -> Choice {
    Choice { answer: answer.to_owned(), words: words.into() }
}

fn yes_or_no(subject: Subject, text: String) -> Question {
    let choices = vec![choice("yes", "add them"), choice("no", "keep their rows back")];
    Question { subject, text, choices, free: None, needed: true }
}

impl Asker<'_> {
    fn column(&self, field: Field) -> Option<usize> {
        self.table.column(self.mapping.columns.get(&field)?)
    }

    /// Returns the different texts of a column with how often each stands there, commonest first.
    fn texts(&self, field: Field) -> Vec<(String, usize)> {
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        for cell in self.column(field).into_iter().flat_map(|column| self.table.cells(column)) {
            *counts.entry(cell.to_owned()).or_default() += 1;
        }
        let mut texts: Vec<_> = counts.into_iter().collect();
        texts.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        texts
    }

    fn headings(&self) -> Vec<Choice> {
        let used: Vec<&String> = self.mapping.columns.values().collect();
        let free = self.table.headings.iter().filter(|heading| !used.contains(heading));
        free.map(|heading| choice(heading, "a column of the sheet")).collect()
    }

    fn date_column(&self) -> Option<Question> {
        self.column(Field::Date).is_none().then(|| Question {
            subject: Subject::ColumnOf(Field::Date),
            text: "Which column holds the date?".to_owned(),
            choices: self.headings(),
            free: None,
            needed: true,
        })
    }

    fn date_order(&self, today: Date) -> Option<Question> {
        let undecided = self.mapping.date_order.is_none()
            && has_figure_dates(self.table, self.mapping, today)
            && date_order(self.table, self.mapping, today).finding.is_none();
        let column = self.column(Field::Date)?;
        let example = self.table.cells(column).next().unwrap_or_default();
        undecided.then(|| Question {
            subject: Subject::DateOrder,
            text: format!("Does the day or the month come first in dates such as {example}?"),
            choices: DateOrder::ALL.iter().map(|order| choice(order.word(), "")).collect(),
            free: None,
            needed: true,
        })
    }

    fn decimal(&self) -> Option<Question> {
        let undecided =
            self.mapping.decimal.is_none() && decimal_mark(self.table, self.mapping).finding.is_none();
        undecided.then(|| Question {
            subject: Subject::Decimal,
            text: "Which mark stands before decimals?".to_owned(),
            choices: vec![choice(".", "a point: 1.5"), choice(",", "a comma: 1,5")],
            free: None,
            needed: true,
        })
    }

    fn machine_choices(&self) -> Vec<Choice> {
        let standing = self.booth.machines.iter().filter(|(_, machine)| machine.retired.is_none());
        standing.map(|(id, machine)| choice(id.as_str(), machine.name.as_str())).collect()
    }

    fn machine_of_all(&self) -> Option<Question> {
        let told = self.column(Field::Machine).is_some() || self.mapping.machine.is_some();
        let choices = self.machine_choices();
        (!told && choices.len() != 1).then(|| Question {
            subject: Subject::OnlyMachine,
            text: "No column names the machine. Which machine is the sheet about?".to_owned(),
            choices,
            free: None,
            needed: true,
        })
    }

    fn machine_names(&self) -> Vec<Question> {
        let known = names::machines(self.mapping, self.booth);
        let unknown =
            self.texts(Field::Machine).into_iter().filter(|(name, _)| known.find_all(name).is_none());
        let ask = |(name, count): (String, usize)| Question {
            text: format!("Which machine is “{name}” ({count} rows)?"),
            subject: Subject::Machine(name),
            choices: self.machine_choices(),
            free: Some("new TYPE, to add it as a machine of that type".to_owned()),
            needed: true,
        };
        unknown.take(MOST_WORDS).map(ask).collect()
    }

    fn people(&self) -> Option<Question> {
        let known = names::people(self.mapping, self.booth);
        let unknown: Vec<String> = self
            .texts(Field::Person)
            .into_iter()
            .map(|(name, _)| name)
            .filter(|name| known.find(name).is_none())
            .collect();
        (!unknown.is_empty() && !self.mapping.add_people).then(|| {
            yes_or_no(Subject::AddPeople, format!("The booth does not have {}. Add them?", listed(&unknown)))
        })
    }

    fn places(&self) -> Option<Question> {
        let known = names::places(self.mapping, self.booth);
        let unknown: Vec<String> = self
            .texts(Field::Place)
            .into_iter()
            .map(|(name, _)| name)
            .filter(|name| known.find(name).is_none())
            .collect();
        (!unknown.is_empty() && !self.mapping.add_places).then(|| {
            yes_or_no(Subject::AddPlaces, format!("The booth does not have {}. Add them?", listed(&unknown)))
        })
    }

    fn sort_words(&self) -> Vec<Question> {
        let told = |word: &str| self.mapping.sorts.keys().any(|own| plain(own) == plain(word));
        let unknown =
            self.texts(Field::What).into_iter().filter(|(word, _)| !told(word) && sort_named(word).is_none());
        let ask = |(word, count): (String, usize)| Question {
            text: format!("What are rows with “{word}” ({count} rows)?"),
            subject: Subject::SortWord(word),
            choices: Sort::ALL.iter().map(|sort| choice(sort.word(), "")).collect(),
            free: None,
            needed: true,
        };
        unknown.take(MOST_WORDS).map(ask).collect()
    }

    fn part_words(&self) -> Vec<Question> {
        let heading = self.mapping.columns.get(&Field::Part).cloned().unwrap_or_default();
        let known = |word: &str| self.mapping.parts.keys().any(|own| plain(own) == plain(word));
        let mut asked: Vec<String> = Vec::new();
        for (word, _) in self.texts(Field::Part) {
            let word = if is_one_of(&word, YES) { heading.clone() } else { word };
            if !is_one_of(&word, NO) && !known(&word) && !asked.contains(&word) {
                asked.push(word);
            }
        }
        let ask = |word: String| Question {
            text: format!("Into which slot of the machine’s type goes “{word}”?"),
            subject: Subject::PartWord(word),
            choices: Vec::new(),
            free: Some("the slot’s name in the machine type".to_owned()),
            needed: false,
        };
        asked.into_iter().take(MOST_WORDS).map(ask).collect()
    }

    fn work_words(&self) -> Vec<Question> {
        let unknown =
            self.texts(Field::Work).into_iter().filter(|(words, _)| tasks_in(self.mapping, words).is_empty());
        let ask = |(words, count): (String, usize)| Question {
            text: format!("Which care task is “{words}” ({count} rows)? Without an answer it stays a note."),
            subject: Subject::WorkWords(words),
            choices: Vec::new(),
            free: Some("the task’s name in the machine type".to_owned()),
            needed: false,
        };
        unknown.filter(|(_, count)| *count > 1).take(MOST_WORDS).map(ask).collect()
    }

    fn unread_columns(&self) -> Vec<Question> {
        let free: Vec<Field> =
            Field::ALL.iter().copied().filter(|field| !self.mapping.columns.contains_key(field)).collect();
        let read = |heading: &String| {
            self.mapping.columns.values().any(|own| own == heading)
                || self.mapping.readings.contains_key(heading)
        };
        let filled = |index: usize| self.table.cells(index).next();
        let unread = self.table.headings.iter().enumerate().filter(|(_, heading)| !read(heading));
        unread
            .filter_map(|(index, heading)| {
                let example = filled(index)?;
                let mut choices: Vec<Choice> = free.iter().map(|field| choice(field.word(), "")).collect();
                choices.push(choice("nothing", "do not read it"));
                Some(Question {
                    subject: Subject::Column(heading.clone()),
                    text: format!("What does the column “{heading}” hold (such as “{example}”)?"),
                    choices,
                    free: None,
                    needed: false,
                })
            })
            .collect()
    }
}

fn listed(names: &[String]) -> String {
    const MOST: usize = 5;
    let shown: Vec<String> = names.iter().take(MOST).map(|name| format!("“{name}”")).collect();
    match names.len().checked_sub(MOST) {
        Some(more @ 1..) => format!("{} and {more} more", shown.join(", ")),
        _ => shown.join(", "),
    }
}

/// Puts an answer into a mapping.
///
/// # Errors
/// If the answer does not fit the question; the mapping stays as it was.
pub fn answer(mapping: &mut Mapping, question: &Question, given: &str) -> Result<(), BadAnswer> {
    let given = given.trim();
    let chosen = question.choices.iter().any(|choice| choice.answer == given);
    let bad = || {
        let answers: Vec<&str> = question.choices.iter().map(|choice| choice.answer.as_str()).collect();
        let free = question.free.as_ref().map(|free| format!(" or {free}")).unwrap_or_default();
        BadAnswer { given: given.to_owned(), would_be_right: format!("one of {}{free}", answers.join(", ")) }
    };
    if given.is_empty() || (!chosen && question.free.is_none()) {
        return Err(bad());
    }
    match &question.subject {
        Subject::ColumnOf(field) => {
            mapping.columns.insert(*field, given.to_owned());
        }
        Subject::Column(heading) => {
            if let Some(field) = Field::from_word(given) {
                mapping.columns.insert(field, heading.clone());
            }
        }
        Subject::DateOrder => mapping.date_order = Some(DateOrder::from_word(given).ok_or_else(bad)?),
        Subject::Decimal => mapping.decimal = Some(Decimal::from_word(given).ok_or_else(bad)?),
        Subject::OnlyMachine => mapping.machine = Some(given.to_owned()),
        Subject::Machine(name) => machine(mapping, name, given, chosen).ok_or_else(bad)?,
        Subject::AddPeople => mapping.add_people = given == "yes",
        Subject::AddPlaces => mapping.add_places = given == "yes",
        Subject::SortWord(word) => {
            mapping.sorts.insert(word.clone(), Sort::from_word(given).ok_or_else(bad)?);
        }
        Subject::PartWord(word) => {
            mapping.parts.insert(word.clone(), SlotId::new(given));
        }
        Subject::WorkWords(words) => {
            mapping.tasks.insert(words.clone(), Task { task: TaskId::new(given), slot: None });
        }
    }
    Ok(())
}

fn machine(mapping: &mut Mapping, name: &str, given: &str, chosen: bool) -> Option<()> {
    if chosen {
        mapping.machines.insert(name.to_owned(), MachineId::new(given));
        return Some(());
    }
    let machine_type = given.strip_prefix("new ")?.trim();
    let new = NewMachine {
        id: MachineId::new(names::short_name(name)),
        name: name.to_owned(),
        machine_type: TypeId::new(machine_type),
        serial: String::new(),
        hours_before: None,
    };
    mapping.add_machines.insert(name.to_owned(), new);
    Some(())
}
