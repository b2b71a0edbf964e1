//! Proves the trouble tables as a whole: everything that is written leads somewhere, and somebody can act on it.

use super::Listed;
use crate::part::Hand;
use crate::read::form::Form;
use crate::trouble::{
    Access, Cause, CauseChance, Check, Condition, Drill, Preparing, Remedy, StopSign, Symptom, Trouble,
};
use std::collections::HashSet;

/// The tables as they were read.
pub(super) struct Read {
    pub symptoms: Listed<Symptom>,
    pub causes: Listed<Cause>,
    pub conditions: Listed<Condition>,
    pub accesses: Listed<Access>,
    pub checks: Listed<Check>,
    pub remedies: Listed<Remedy>,
    pub drills: Listed<Drill>,
    pub stop_signs: Listed<StopSign>,
}

impl Read {
    /// The tables without their places.
    pub(super) fn trouble(self, preparing: Preparing) -> Trouble {
        Trouble {
            symptoms: self.symptoms.things,
            causes: self.causes.things,
            conditions: self.conditions.things,
            checks: self.checks.things,
            remedies: self.remedies.things,
            accesses: self.accesses.things,
            drills: self.drills.things,
            stop_signs: self.stop_signs.things,
            preparing,
            ..Trouble::default()
        }
    }

    /// Notes a fault at a thing of a list.
    fn note<T>(top: &Form<'_, '_>, list: &Listed<T>, at: usize, what: String, right: &str) {
        top.desk.note(&list.at[at], what, right);
    }
}

/// Notes what leads nowhere. A rule is left out where a table that it rests on could not be read whole: its findings
/// would only be echoes.
pub(super) fn prove(top: &Form<'_, '_>, read: &Read) {
    if !top.has("symptom") {
        top.note(
            "symptom",
            "the file has trouble tables but no symptom",
            "add [[symptom]] for what may be noticed",
        );
        return;
    }
    causes_are_reached(top, read);
    causes_are_answered(top, read);
    symptoms_have_a_way(top, read);
    circumstances_are_used(top, read);
    openings_are_used(top, read);
    drills_are_used(top, read);
}

/// Each cause is among the causes of some symptom.
fn causes_are_reached(top: &Form<'_, '_>, read: &Read) {
    if !read.symptoms.sound {
        return;
    }
    let reached = named(read.symptoms.things.iter().map(|symptom| symptom.causes.as_slice()));
    for (at, cause) in read.causes.things.iter().enumerate() {
        if !cause.id.is_empty() && !reached.contains(cause.id.as_str()) {
            let what = format!("no symptom has the cause `{}`", cause.id);
            Read::note(top, &read.causes, at, what, "name it in `causes` of a symptom, or take it away");
        }
    }
}

/// Each cause is cured by a remedy that an operator may do, or is passed on.
fn causes_are_answered(top: &Form<'_, '_>, read: &Read) {
    if !read.remedies.sound || !read.causes.sound {
        return;
    }
    let operators = read.remedies.things.iter().filter(|remedy| remedy.who < Hand::Technician);
    let cured = named(operators.map(|remedy| remedy.cures.as_slice()));
    for (at, cause) in read.causes.things.iter().enumerate() {
        if cause.refer.is_none() && !cured.contains(cause.id.as_str()) {
            let what = format!(
                "nothing that an operator may do cures `{}`, and it is passed on to nobody",
                cause.id
            );
            Read::note(
                top,
                &read.causes,
                at,
                what,
                "add a remedy that cures it, or refer = { to = …, words = … }",
            );
        }
    }
}

/// Each symptom has a check or a remedy for one of its causes, so that there is something to do.
fn symptoms_have_a_way(top: &Form<'_, '_>, read: &Read) {
    if !read.symptoms.sound || !read.checks.sound || !read.remedies.sound {
        return;
    }
    let checks = read.checks.things.iter().map(|check| check.tells.as_slice());
    let remedies = read.remedies.things.iter().map(|remedy| remedy.cures.as_slice());
    let leads = named(checks.chain(remedies));
    for (at, symptom) in read.symptoms.things.iter().enumerate() {
        let led = symptom.causes.iter().any(|entry| leads.contains(entry.cause.as_str()));
        if !symptom.causes.is_empty() && !led {
            let what = format!("no check and no remedy has to do with symptom `{}`", symptom.id);
            Read::note(
                top,
                &read.symptoms,
                at,
                what,
                "add a check that tells, or a remedy that cures, one of its causes",
            );
        }
    }
}

/// Each condition goes with some cause.
fn circumstances_are_used(top: &Form<'_, '_>, read: &Read) {
    if !read.causes.sound {
        return;
    }
    let all = read.causes.things.iter().flat_map(|cause| &cause.goes_with);
    let used: HashSet<&str> = all.map(|entry| entry.condition.as_str()).collect();
    for (at, condition) in read.conditions.things.iter().enumerate() {
        if !condition.id.is_empty() && !used.contains(condition.id.as_str()) {
            let what = format!("no cause goes with the condition `{}`", condition.id);
            Read::note(top, &read.conditions, at, what, "name it in `goes_with` of a cause, or take it away");
        }
    }
}

/// Each access is needed by some check or remedy.
fn openings_are_used(top: &Form<'_, '_>, read: &Read) {
    if !read.checks.sound || !read.remedies.sound {
        return;
    }
    let checks = read.checks.things.iter().filter_map(|check| check.access.as_deref());
    let remedies = read.remedies.things.iter().filter_map(|remedy| remedy.access.as_deref());
    let used: HashSet<&str> = checks.chain(remedies).collect();
    for (at, access) in read.accesses.things.iter().enumerate() {
        if !access.id.is_empty() && !used.contains(access.id.as_str()) {
            let what = format!("no check and no remedy needs the access `{}`", access.id);
            Read::note(top, &read.accesses, at, what, "name it in a check or a remedy, or take it away");
        }
    }
}

/// Each drill is called by a symptom or a sign.
fn drills_are_used(top: &Form<'_, '_>, read: &Read) {
    if !read.symptoms.sound || !read.stop_signs.sound {
        return;
    }
    let symptoms = read.symptoms.things.iter().filter_map(|symptom| symptom.drill.as_deref());
    let signs = read.stop_signs.things.iter().map(|sign| sign.drill.as_str());
    let used: HashSet<&str> = symptoms.chain(signs).collect();
    for (at, drill) in read.drills.things.iter().enumerate() {
        if !drill.id.is_empty() && !used.contains(drill.id.as_str()) {
            let what = format!("nothing calls for the drill `{}`", drill.id);
            Read::note(top, &read.drills, at, what, "name it in a symptom or a stop sign, or take it away");
        }
    }
}

/// The causes that some lists name.
fn named<'l>(lists: impl Iterator<Item = &'l [CauseChance]>) -> HashSet<&'l str> {
    lists.flatten().map(|entry| entry.cause.as_str()).collect()
}
