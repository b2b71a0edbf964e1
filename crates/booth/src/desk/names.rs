//! Names as people give them: ids, or enough of the words to mean one thing.

use super::{error::NotAtDesk, look_for::fit};
use crate::known::{find_machine, find_type};
use logbook::{Booth, FaultId, booth::Fault, fact::Asked};
use machine::{Cause, Library, MachineType, Remedy, Symptom};
use serde::Serialize;

/// Something that can be asked at a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AskedThing<'k> {
    /// What sort of thing.
    pub asked: Asked,
    /// Its id.
    pub id: &'k str,
    /// Its words.
    pub name: &'k str,
}

/// A symptom that can be picked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MatchingSymptom {
    /// Its id.
    pub symptom: String,
    /// What is noticed.
    pub name: String,
    /// The group under which it is looked for, by id and in words.
    pub noticed: String,
    /// The group in words.
    pub group: &'static str,
    /// The parts at which it shows.
    pub shows_at: Vec<String>,
    /// Why everything stops at once, where it does.
    pub stop_now: Option<String>,
    /// How often it comes up in 1000 hours of running.
    pub per_1000_hours: f64,
}

/// How many names a message lists.
const MOST_NAMES: usize = 6;

/// Finds a fault by its name, or by the beginning of it where that means one only.
pub fn find_fault<'a>(booth: &'a Booth, asked: &str) -> Result<(&'a FaultId, &'a Fault), NotAtDesk> {
    if let Some(found) = booth.faults.get_key_value(asked) {
        return Ok(found);
    }
    let mut begins =
        booth.faults.iter().filter(|(id, _)| !asked.is_empty() && id.as_str().starts_with(asked));
    if let (Some(found), None) = (begins.next(), begins.next()) {
        return Ok(found);
    }
    let open: Vec<&str> =
        booth.faults.iter().filter(|(_, fault)| fault.is_open()).map(|(id, _)| id.as_str()).collect();
    let known = if open.is_empty() {
        "no fault is open".to_owned()
    } else {
        format!("open are {}", nearest(asked, open.iter().map(|id| (*id, *id))))
    };
    Err(NotAtDesk::Fault { asked: asked.to_owned(), known })
}

/// So many symptoms are named where words mean none or several.
const MOST_NEAR: usize = 5;

/// Finds a symptom of a type by id or words.
pub fn find_symptom<'k>(kind: &'k MachineType, asked: &str) -> Result<&'k Symptom, NotAtDesk> {
    let list = &kind.trouble.symptoms;
    let found = find(kind, "symptom", asked, list.iter().map(|one| (one.id.as_str(), one.name.as_str())));
    found.map(|at| &list[at]).map_err(|refused| match refused {
        // The words of people are better met by what they mean than by their letters.
        NotAtDesk::Name { machine_type, what, asked, known } => {
            // A single word is an id with a slip in it.
            let fits = if asked.contains(' ') { fitting(kind, &asked) } else { Vec::new() };
            let near: Vec<&str> = fits.into_iter().take(MOST_NEAR).map(|one| one.id.as_str()).collect();
            let known = if near.is_empty() { known } else { format!("near are {}", near.join(", ")) };
            NotAtDesk::Name { machine_type, what, asked, known }
        }
        other => other,
    })
}

/// Finds a cause of a type by id or words.
pub fn find_cause<'k>(kind: &'k MachineType, asked: &str) -> Result<&'k Cause, NotAtDesk> {
    let list = &kind.trouble.causes;
    let at = find(kind, "cause", asked, list.iter().map(|one| (one.id.as_str(), one.name.as_str())))?;
    Ok(&list[at])
}

/// Finds a remedy of a type by id or words.
pub fn find_remedy<'k>(kind: &'k MachineType, asked: &str) -> Result<&'k Remedy, NotAtDesk> {
    let list = &kind.trouble.remedies;
    let at = find(kind, "remedy", asked, list.iter().map(|one| (one.id.as_str(), one.name.as_str())))?;
    Ok(&list[at])
}

/// Finds what was asked: a check or circumstance before a symptom.
pub fn find_asked<'k>(kind: &'k MachineType, asked: &str) -> Result<AskedThing<'k>, NotAtDesk> {
    let trouble = &kind.trouble;
    let checks = trouble.checks.iter().map(|one| (Asked::Check, one.id.as_str(), one.name.as_str()));
    let conditions =
        trouble.conditions.iter().map(|one| (Asked::Condition, one.id.as_str(), one.asks.as_str()));
    let symptoms = trouble.symptoms.iter().map(|one| (Asked::Symptom, one.id.as_str(), one.name.as_str()));
    let all: Vec<(Asked, &str, &str)> = checks.chain(conditions).chain(symptoms).collect();
    let at = find(kind, "question", asked, all.iter().map(|(_, id, name)| (*id, *name)))?;
    let (asked, id, name) = all[at];
    Ok(AskedThing { asked, id, name })
}

/// Returns the symptoms that can be picked at a machine. Without words all of them, by their groups, the commonest first
/// within each; with words those that any of them fits, the best hits first.
pub fn symptoms_of<'l>(
    booth: &Booth,
    library: &'l Library,
    machine: &str,
    words: &str,
) -> Result<(&'l MachineType, Vec<MatchingSymptom>), NotAtDesk> {
    let (_, id, about) = find_machine(booth, machine)?;
    let kind = find_type(library, id, about)?;
    let all = &kind.trouble.symptoms;
    if words.trim().is_empty() {
        let mut found: Vec<MatchingSymptom> = all.iter().map(shown).collect();
        let group =
            |symptom: &MatchingSymptom| all.iter().position(|known| known.noticed.name() == symptom.group);
        found.sort_by(|a, b| group(a).cmp(&group(b)).then(b.per_1000_hours.total_cmp(&a.per_1000_hours)));
        return Ok((kind, found));
    }
    Ok((kind, fitting(kind, words).into_iter().map(shown).collect()))
}

/// The symptoms that fit what was written, the best first.
fn fitting<'k>(kind: &'k MachineType, words: &str) -> Vec<&'k Symptom> {
    let all = kind.trouble.symptoms.iter();
    let mut fitting: Vec<(usize, &Symptom)> =
        all.map(|symptom| (fit(kind, symptom, words), symptom)).filter(|(fit, _)| *fit > 0).collect();
    fitting.sort_by(|(a, one), (b, other)| {
        // Of two that fit alike, the one that stops everything is seen first.
        b.cmp(a)
            .then(other.stop_now.is_some().cmp(&one.stop_now.is_some()))
            .then(other.per_1000_hours.total_cmp(&one.per_1000_hours))
            .then(one.id.cmp(&other.id))
    });
    // What fits less than half as well as the best only lies in the way.
    let best = fitting.first().map_or(0, |(fit, _)| *fit);
    fitting.retain(|(fit, _)| fit * 2 >= best);
    fitting.into_iter().map(|(_, symptom)| symptom).collect()
}

fn shown(symptom: &Symptom) -> MatchingSymptom {
    MatchingSymptom {
        symptom: symptom.id.to_string(),
        name: symptom.name.clone(),
        noticed: symptom.noticed.as_str().to_owned(),
        group: symptom.noticed.name(),
        shows_at: symptom.shows_at.iter().map(ToString::to_string).collect(),
        stop_now: symptom.stop_now.clone(),
        per_1000_hours: symptom.per_1000_hours,
    }
}

/// The place of the thing that is meant: by its id, by its words, or by all of the words given where they are in one
/// only.
fn find<'n>(
    kind: &MachineType,
    what: &'static str,
    asked: &str,
    list: impl Iterator<Item = (&'n str, &'n str)> + Clone,
) -> Result<usize, NotAtDesk> {
    let same = |(id, name): (&str, &str)| id == asked || name.eq_ignore_ascii_case(asked);
    if let Some(at) = list.clone().position(same) {
        return Ok(at);
    }
    let low = asked.to_lowercase();
    let words: Vec<&str> = low.split_whitespace().collect();
    let has_all = |(id, name): &(&str, &str)| {
        let text = format!("{id} {}", name.to_lowercase());
        !words.is_empty() && words.iter().all(|word| text.contains(word))
    };
    let mut meant = list.clone().enumerate().filter(|(_, one)| has_all(one));
    if let (Some((at, _)), None) = (meant.next(), meant.next()) {
        return Ok(at);
    }
    Err(NotAtDesk::Name {
        machine_type: kind.id.to_string(),
        what,
        asked: asked.to_owned(),
        known: format!("near are {}", nearest(asked, list)),
    })
}

/// The names that share most with what was asked, the nearest first.
fn nearest<'n>(asked: &str, list: impl Iterator<Item = (&'n str, &'n str)>) -> String {
    let asked = asked.to_lowercase();
    let mut near: Vec<(usize, &str, &str)> =
        list.map(|(id, name)| (likeness(&asked, id, name), id, name)).collect();
    near.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    let said = near
        .iter()
        .take(MOST_NAMES)
        .map(|(_, id, name)| if id == name { format!("`{id}`") } else { format!("`{id}` ({name})") });
    said.collect::<Vec<_>>().join(", ")
}

/// How much two names share: pairs of letters that stand side by side in both.
fn likeness(asked: &str, id: &str, name: &str) -> usize {
    let text = format!("{id} {}", name.to_lowercase());
    let letters: Vec<char> = asked.chars().collect();
    let pairs = letters.windows(2).filter(|pair| !pair.contains(&' '));
    pairs.filter(|pair| text.contains(&pair.iter().collect::<String>())).count()
}
