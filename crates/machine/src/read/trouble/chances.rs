//! Chances in per cent, alone and beside a name.

use crate::id::CauseId;
use crate::read::form::{Allowed, Form, Value};
use crate::read::names::{NameList, Names};
use crate::trouble::CauseChance;
use std::ops::Range;
use units::{Probability, Seconds};

/// What a chance may be that is neither never nor always: a finding that cannot be wrong would leave no way out of a
/// slip of the pen.
pub(super) const IMPERFECT: Allowed = Allowed::Between { least: 0.1, most: 99.9 };

/// What a share of a whole may be.
pub(super) const SHARE: Allowed = Allowed::Positive { most: 100.0 };

/// A name with a chance in per cent, and where it stands.
pub(super) struct Entry<I> {
    pub id: I,
    pub percent: f64,
    pub at: Range<usize>,
}

impl<'t> Form<'_, 't> {
    /// A chance in per cent that must be there.
    pub(super) fn percent(&self, key: &'static str, range: Allowed) -> Probability {
        Probability::clamped(self.number(key, range) / 100.0)
    }

    /// Minutes that must be there.
    pub(super) fn minutes(&self) -> Seconds {
        Seconds::from_minutes(self.number("minutes", Allowed::Positive { most: 10_000.0 }))
    }

    /// A list such as `tells = [{ cause = "claw-worn", percent = 80 }]`, each name once.
    pub(super) fn chances<I>(
        &self,
        key: &'static str,
        of: &'static str,
        list: &NameList<'_>,
        range: Allowed,
    ) -> Vec<Entry<I>>
    where
        I: for<'s> From<&'s str> + PartialEq + AsRef<str>,
    {
        let mut entries: Vec<Entry<I>> = Vec::new();
        for value in self.list(key) {
            let Some(entry) = self.chance(key, of, list, range, value) else { continue };
            if entries.iter().any(|known| known.id == entry.id) {
                let what = format!("`{}` stands twice in `{key}` of {}", entry.id.as_ref(), self.what);
                self.desk.note(&entry.at, what, "say it once");
            }
            entries.push(entry);
        }
        entries
    }

    fn chance<I: for<'s> From<&'s str>>(
        &self,
        key: &str,
        of: &'static str,
        list: &NameList<'_>,
        range: Allowed,
        value: &Value<'t>,
    ) -> Option<Entry<I>> {
        let Some(table) = value.get_ref().as_table() else {
            let what = format!("an entry of `{key}` of {} is no table", self.what);
            self.desk.note(&value.span(), what, format!("write {{ {of} = \"…\", percent = 40 }}"));
            return None;
        };
        let form = Form::new(self.desk, format!("`{key}` of {}", self.what), value.span(), table);
        let entry =
            Entry { id: form.reference(of, list), percent: form.number("percent", range), at: value.span() };
        form.finish();
        Some(entry)
    }

    /// A list of causes with chances.
    pub(super) fn cause_chances(
        &self,
        key: &'static str,
        names: &Names<'_>,
        range: Allowed,
    ) -> Vec<CauseChance> {
        let entries = self.chances::<CauseId>(key, "cause", &names.causes, range);
        if entries.is_empty() {
            let right = format!("add {key} = [{{ cause = \"…\", percent = 80 }}]");
            self.note(key, format!("`{key}` of {} names no cause", self.what), right);
        }
        with_chances(entries)
    }

    /// The same for a list that may be missing.
    pub(super) fn maybe_cause_chances(
        &self,
        key: &'static str,
        names: &Names<'_>,
        range: Allowed,
    ) -> Vec<CauseChance> {
        with_chances(self.chances::<CauseId>(key, "cause", &names.causes, range))
    }
}

fn with_chances(entries: Vec<Entry<CauseId>>) -> Vec<CauseChance> {
    let chance = |percent: f64| Probability::clamped(percent / 100.0);
    entries.into_iter().map(|entry| CauseChance { cause: entry.id, chance: chance(entry.percent) }).collect()
}
