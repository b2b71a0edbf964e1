//! What a row says → facts of the logbook.

use super::{
    mapping::{Mapping, Sort},
    slip::{Slip, Span},
    words::{NO, YES, is_one_of, plain},
};
use logbook::{
    Fact, MachineId, PartId, ShowingId, When,
    fact::{
        About, Assigned, CareDone, Ending, MeterChange, MeterRead, MeterReplaced, Noted, Outcome, PartFitted,
        Ran, Reading, Replaced, RunKind, ShowingHeld, ShowingPlanned,
    },
    ids::SlotId,
};
use units::Hours;

/// A row on its way to facts.
pub(super) struct RowToFacts<'a> {
    /// The mapping.
    pub mapping: &'a Mapping,
    /// The row.
    pub slip: &'a Slip,
    /// When its doings were.
    pub span: &'a Span,
    /// What new showings and parts of this row are called: unique to the row's contents.
    pub tag: &'a str,
}

/// A fact and when it happened.
pub(super) type Happened = (When, Fact);

impl RowToFacts<'_> {
    /// Returns the facts of the row, in the order in which they came to be: those too that are still to come.
    pub fn facts(&self) -> Vec<Happened> {
        let mut facts = Vec::new();
        let sort = self.slip.sort();
        if sort == Sort::Showing {
            self.showing(&mut facts);
        }
        self.runs(sort, &mut facts);
        self.part(&mut facts);
        self.work(&mut facts);
        self.meter(&mut facts);
        self.readings(&mut facts);
        self.left_over_words(sort, &mut facts);
        facts
    }

    fn start(&self) -> When {
        self.span.start
    }

    /// Returns when the row's doings were over.
    fn end(&self) -> When {
        let hours = self.span.lasted.unwrap_or(Hours::ZERO);
        When { unix_ms: self.start().unix_ms + (hours.as_seconds().as_milliseconds()) as i64, ..self.start() }
    }

    fn showing_id(&self) -> ShowingId {
        ShowingId::new(format!("sheet-{}", self.tag))
    }

    /// Tells whether the row tells enough of a showing for the diary: how long it was.
    fn has_showing(&self) -> bool {
        self.slip.sort() == Sort::Showing && self.span.lasted.is_some()
    }

    fn showing(&self, facts: &mut Vec<Happened>) {
        let Some(lasted) = self.span.lasted else { return };
        let share = self.run_hours();
        let machines = self.slip.machines.iter();
        facts.push((
            self.start(),
            Fact::from(ShowingPlanned {
                showing: self.showing_id(),
                title: self.title(),
                starts: self.span.zoned.clone(),
                length_minutes: lasted.as_minutes(),
                place: self.slip.place.clone(),
                machines: machines
                    .map(|machine| Assigned { machine: machine.clone(), running_hours: share })
                    .collect(),
                prints: Vec::new(),
                note: self.slip.note.clone(),
            }),
        ));
        let held = ShowingHeld {
            showing: self.showing_id(),
            lasted_minutes: lasted.as_minutes(),
            audience: self.slip.audience,
            note: String::new(),
        };
        facts.push((self.start(), held.into()));
    }

    /// Returns the title; the logbook wants one for every showing.
    fn title(&self) -> String {
        if self.slip.title.is_empty() { "(no title)".to_owned() } else { self.slip.title.clone() }
    }

    /// Returns the hours that each machine of the row ran: as written, or an equal share of the length.
    fn run_hours(&self) -> Option<Hours> {
        let whole = self.slip.hours.or(self.slip.length).or(self.span.lasted)?;
        Some(whole / self.slip.machines.len().max(1) as f64)
    }

    fn runs(&self, sort: Sort, facts: &mut Vec<Happened>) {
        let run = match sort {
            Sort::Rehearsal => RunKind::Rehearsal,
            Sort::Test => RunKind::Test,
            Sort::Rewind => RunKind::Rewind,
            Sort::Showing | Sort::Run => RunKind::Showing,
            // Hours beside other work are hours run all the same, if they are written as such.
            Sort::Meter | Sort::Care | Sort::Part | Sort::Reading | Sort::Note
                if self.slip.hours.is_some() =>
            {
                RunKind::Showing
            }
            Sort::Meter | Sort::Care | Sort::Part | Sort::Reading | Sort::Note => return,
        };
        let Some(hours) = self.run_hours() else { return };
        for machine in &self.slip.machines {
            let ran = Ran {
                machine: machine.clone(),
                run,
                hours,
                lit_hours: self.slip.lit,
                strikes: None,
                showing: self.has_showing().then(|| self.showing_id()),
                print: None,
                passes: None,
                // Only hours that somebody wrote as hours, for one machine, are more than inferred.
                estimated: self.slip.hours.is_none() || self.slip.machines.len() > 1,
            };
            facts.push((self.start(), ran.into()));
        }
    }

    fn part(&self, facts: &mut Vec<Happened>) {
        let (Some(slot), [machine]) = (slot_of(self.mapping, self.slip), &self.slip.machines[..]) else {
            return;
        };
        let fitted = PartFitted {
            part: PartId::new(format!("sheet-{}", self.tag)),
            slot: slot.clone(),
            machine: machine.clone(),
            // A change is to a new part unless its row says otherwise.
            age_hours: (!is_used(self.slip)).then_some(Hours::ZERO),
            age_band_hours: None,
            age_days: None,
            strikes: None,
            lot: String::new(),
            replaces: Some(Replaced { part: None, why: ending_of(self.slip) }),
            item: None,
            note: joined(&[&self.slip.why, &self.slip.note]),
        };
        facts.push((self.end(), fitted.into()));
    }

    fn work(&self, facts: &mut Vec<Happened>) {
        if self.slip.work.is_empty() {
            return;
        }
        let tasks = tasks_in(self.mapping, &self.slip.work);
        for machine in &self.slip.machines {
            for task in &tasks {
                let done = CareDone {
                    machine: machine.clone(),
                    task: task.task.clone(),
                    slot: task.slot.clone(),
                    outcome: Outcome::Done,
                    note: self.slip.work.clone(),
                    minutes: None,
                    includes: Vec::new(),
                    used: Vec::new(),
                    photos: Vec::new(),
                    walk: String::new(),
                };
                facts.push((self.end(), done.into()));
            }
        }
        if tasks.is_empty() || self.slip.machines.is_empty() {
            facts.push((self.end(), self.note(self.slip.work.clone())));
        }
    }

    fn meter(&self, facts: &mut Vec<Happened>) {
        let (Some(figure), [machine]) = (self.slip.meter, &self.slip.machines[..]) else { return };
        let fact = match meter_change(self.mapping, self.slip, machine) {
            Some(why) => Fact::from(MeterReplaced {
                machine: machine.clone(),
                why,
                old_reading_hours: None,
                new_reading_hours: figure,
            }),
            None => MeterRead { machine: machine.clone(), reading_hours: figure }.into(),
        };
        facts.push((self.end(), fact));
    }

    fn readings(&self, facts: &mut Vec<Happened>) {
        let [machine] = &self.slip.machines[..] else { return };
        for (heading, value) in &self.slip.readings {
            let Some(column) = self.mapping.readings.get(heading) else { continue };
            let reading = Reading {
                machine: machine.clone(),
                quantity: column.quantity.clone(),
                value: *value,
                unit: column.unit.clone(),
                uncertainty: None,
                slot: None,
                method: String::new(),
                conditions: std::collections::BTreeMap::new(),
                recording: None,
                baseline: false,
            };
            facts.push((self.end(), reading.into()));
        }
    }

    /// Keeps the words that no other fact of the row carries.
    fn left_over_words(&self, sort: Sort, facts: &mut Vec<Happened>) {
        let slip = self.slip;
        let showing_kept = self.has_showing();
        let part_kept = self.slip.machines.len() == 1 && slot_of(self.mapping, slip).is_some();
        let part = if part_kept || is_one_of(&slip.part, NO) { "" } else { slip.part.as_str() };
        let title = if showing_kept { "" } else { slip.title.as_str() };
        let why = if part_kept { "" } else { slip.why.as_str() };
        let note = if showing_kept || part_kept { "" } else { slip.note.as_str() };
        let prefix = if sort == Sort::Showing && !title.is_empty() { "showing: " } else { "" };
        let words = joined(&[&format!("{prefix}{title}"), part, why, note]);
        if !words.is_empty() {
            facts.push((self.start(), self.note(words)));
        }
    }

    fn note(&self, words: String) -> Fact {
        let about = match &self.slip.machines[..] {
            [machine] => Some(About::Machine(machine.clone())),
            _ => self.slip.place.clone().map(About::Place),
        };
        Noted { about, words, photos: Vec::new() }.into()
    }
}

fn joined(texts: &[&str]) -> String {
    texts.iter().filter(|text| !text.is_empty()).copied().collect::<Vec<_>>().join("; ")
}

/// Tells whether the row says that a part was changed.
pub(super) fn changes_a_part(slip: &Slip) -> bool {
    slip.sort() == Sort::Part || (!slip.part.is_empty() && !is_one_of(&slip.part, NO))
}

/// Returns the slot into which a part went: by the words in the cell, or by the column's heading where there is a tick.
pub(super) fn slot_of<'m>(mapping: &'m Mapping, slip: &Slip) -> Option<&'m SlotId> {
    if !changes_a_part(slip) {
        return None;
    }
    let named = |words: &str| {
        let wanted = plain(words);
        mapping.parts.iter().find(|(word, _)| plain(word) == wanted).map(|(_, slot)| slot)
    };
    let tick = slip.part.is_empty() || is_one_of(&slip.part, YES);
    let heading = mapping.columns.get(&super::Field::Part).filter(|_| tick && !slip.part.is_empty());
    let by_heading = heading.and_then(|heading| named(heading));
    named(&slip.part).or(by_heading).or_else(|| named(&slip.work)).or_else(|| within(mapping, slip))
}

/// Finds a part's name inside longer words.
fn within<'m>(mapping: &'m Mapping, slip: &Slip) -> Option<&'m SlotId> {
    let words = format!(" {} ", plain(&joined(&[&slip.part, &slip.work])));
    let mut names: Vec<_> = mapping.parts.iter().collect();
    names.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
    names.into_iter().find(|(name, _)| words.contains(&format!(" {} ", plain(name)))).map(|(_, slot)| slot)
}

/// Returns the care tasks that words about work name, longest words first.
pub(super) fn tasks_in<'m>(mapping: &'m Mapping, work: &str) -> Vec<&'m super::Task> {
    let mut words = format!(" {} ", plain(work));
    let mut known: Vec<_> =
        mapping.tasks.iter().map(|(name, task)| (format!(" {} ", plain(name)), task)).collect();
    known.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
    let mut found: Vec<&super::Task> = Vec::new();
    for (name, task) in known {
        if name.trim().is_empty() || !words.contains(&name) {
            continue;
        }
        // What longer words took is not there for shorter ones.
        words = words.replace(&name, " | ");
        if !found.contains(&task) {
            found.push(task);
        }
    }
    found
}

/// Tells whether some words of a row contain one of a list.
fn says(slip: &Slip, words: &[&str]) -> bool {
    let all = format!(" {} ", plain(&joined(&[&slip.why, &slip.note, &slip.work, &slip.part])));
    words.iter().any(|word| all.contains(&format!(" {word} ")))
}

fn is_used(slip: &Slip) -> bool {
    says(slip, &["used", "second hand", "gebraucht", "alte", "usagee", "occasion", "usada", "old one"])
}

/// Returns how the old part's life ended, by the row's words; nothing is called a failure that nobody called so.
fn ending_of(slip: &Slip) -> Ending {
    const ENDINGS: [(Ending, &[&str]); 4] = [
        (
            Ending::Failed,
            &[
                "failed",
                "fail",
                "blew",
                "blown",
                "burst",
                "burnt out",
                "burned out",
                "dead",
                "went",
                "popped",
                "exploded",
                "durchgebrannt",
                "defekt",
                "kaputt",
                "geplatzt",
                "grillee",
                "fundida",
                "fallo",
                "roto",
            ],
        ),
        (Ending::Damaged, &["dropped", "broken", "overvoltage", "zerbrochen", "fallen", "cassee", "rota"]),
        (
            Ending::Worn,
            &[
                "worn",
                "black",
                "blackened",
                "dim",
                "weak",
                "abgenutzt",
                "geschwarzt",
                "schwach",
                "usee",
                "gastada",
            ],
        ),
        (
            Ending::Planned,
            &[
                "planned",
                "preventive",
                "precaution",
                "routine",
                "scheduled",
                "vorsorglich",
                "planmassig",
                "preventif",
                "preventivo",
            ],
        ),
    ];
    ENDINGS.iter().find(|(_, words)| says(slip, words)).map_or(Ending::Unknown, |(ending, _)| *ending)
}

/// Returns why a meter's figure jumped, by the mapping or by the row's words.
pub(super) fn meter_change(mapping: &Mapping, slip: &Slip, machine: &MachineId) -> Option<MeterChange> {
    const CHANGES: [(MeterChange, &[&str]); 3] = [
        (
            MeterChange::Replaced,
            &[
                "new meter",
                "meter replaced",
                "meter changed",
                "new hour meter",
                "neuer zahler",
                "zahler getauscht",
                "zahler ersetzt",
                "compteur remplace",
                "nouveau compteur",
                "contador nuevo",
                "contador cambiado",
            ],
        ),
        (MeterChange::RolledOver, &["rolled over", "rollover", "meter rolled", "uberlauf", "wieder bei 0"]),
        (
            MeterChange::Reset,
            &["meter reset", "reset to zero", "zuruckgesetzt", "remis a zero", "puesto a cero"],
        ),
    ];
    let told = mapping.meter_changes.get(&format!("{machine} {}", slip.day));
    told.copied().or_else(|| CHANGES.iter().find(|(_, words)| says(slip, words)).map(|(change, _)| *change))
}
