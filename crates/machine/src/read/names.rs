//! The names that a file gives to things, gathered before anything refers to them.

use super::desk::Desk;
use super::form::{Form, Value, cut, suggestion};
use std::collections::BTreeSet;
use toml::de::DeTable;

/// One list of names, and what its members are called in a message.
pub(super) struct NameList<'t> {
    kind: &'static str,
    names: BTreeSet<&'t str>,
}

/// Every name in the file that another place may refer to.
pub(super) struct Names<'t> {
    pub(super) sources: NameList<'t>,
    pub(super) parts: NameList<'t>,
    pub(super) care: NameList<'t>,
    pub(super) rotating: NameList<'t>,
    pub(super) readings: NameList<'t>,
    pub(super) consumables: NameList<'t>,
    pub(super) spares: NameList<'t>,
    pub(super) causes: NameList<'t>,
    pub(super) conditions: NameList<'t>,
    pub(super) accesses: NameList<'t>,
    pub(super) drills: NameList<'t>,
}

impl<'t> Names<'t> {
    /// Gathers the names, and notes each that stands twice in its list.
    pub(super) fn gather(desk: &Desk<'_>, table: &'t DeTable<'_>) -> Self {
        let list = |key, kind| NameList { kind, names: ids_of(desk, table, key, kind) };
        // Nothing in the file refers to these, but logbooks do.
        for kind in ["symptom", "check", "remedy"] {
            ids_of(desk, table, kind, kind);
        }
        Self {
            sources: NameList { kind: "source", names: keys_of(table, "sources") },
            parts: list("part", "part"),
            care: list("care", "care task"),
            rotating: list("rotating", "rotating part"),
            readings: list("reading", "reading"),
            consumables: list("consumable", "consumable"),
            spares: list("spare", "spare"),
            causes: list("cause", "cause"),
            conditions: list("condition", "condition"),
            accesses: list("access", "access"),
            drills: list("drill", "drill"),
        }
    }
}

impl NameList<'_> {
    /// Notes a fault if the name leads nowhere.
    pub(super) fn check(&self, desk: &Desk<'_>, value: &Value<'_>, name: &str) {
        if !name.is_empty() && !self.names.contains(name) {
            let what = format!("there is no {} `{}` in this file", self.kind, cut(name));
            let right = if self.names.is_empty() {
                format!("the file has no {} yet: add one of this name", self.kind)
            } else {
                suggestion(name, self.names.iter().copied())
            };
            desk.note(&value.span(), what, right);
        }
    }
}

fn keys_of<'t>(table: &'t DeTable<'_>, key: &str) -> BTreeSet<&'t str> {
    let inner = table.get(key).and_then(|value| value.get_ref().as_table());
    inner.into_iter().flatten().map(|(key, _)| key.get_ref().as_ref()).collect()
}

fn ids_of<'t>(desk: &Desk<'_>, table: &'t DeTable<'_>, key: &str, kind: &str) -> BTreeSet<&'t str> {
    let list = table.get(key).and_then(|value| value.get_ref().as_array());
    let tables =
        list.into_iter().flat_map(|array| array.iter()).filter_map(|value| value.get_ref().as_table());
    let mut names = BTreeSet::new();
    for id in tables.filter_map(|table| table.get("id")) {
        let Some(name) = id.get_ref().as_str() else { continue };
        if !names.insert(name) {
            desk.note(
                &id.span(),
                format!("a second {kind} is called `{}`", cut(name)),
                "give each its own id",
            );
        }
    }
    names
}

impl Form<'_, '_> {
    /// A source tag, which every table with figures must have.
    pub(super) fn source(&self, names: &Names<'_>) -> crate::id::SourceTag {
        if !self.has("source") {
            let right = "add source = \"…\" with a tag that [sources] spells out";
            self.desk.note(&self.at, format!("{} has figures but no `source`", self.what), right);
        }
        self.maybe_reference("source", &names.sources).unwrap_or_default()
    }

    /// One id that must be there and lead somewhere.
    pub(super) fn reference<I: for<'s> From<&'s str>>(&self, key: &'static str, list: &NameList<'_>) -> I {
        let id = self.id::<I>(key);
        self.check_reference(key, list);
        id
    }

    /// One id that may be left out but must lead somewhere.
    pub(super) fn maybe_reference<I: for<'s> From<&'s str>>(
        &self,
        key: &'static str,
        list: &NameList<'_>,
    ) -> Option<I> {
        let id = self.maybe_id::<I>(key);
        self.check_reference(key, list);
        id
    }

    /// A list of ids that all lead somewhere.
    pub(super) fn references<I>(&self, key: &'static str, list: &NameList<'_>) -> Vec<I>
    where
        I: for<'s> From<&'s str> + PartialEq,
    {
        let ids = self.ids::<I>(key);
        for value in self.list(key) {
            if let Some(name) = value.get_ref().as_str() {
                list.check(self.desk, value, name);
            }
        }
        ids
    }

    fn check_reference(&self, key: &'static str, list: &NameList<'_>) {
        if let Some(value) = self.value(key)
            && let Some(name) = value.get_ref().as_str()
            && crate::id::is_well_formed(name)
        {
            list.check(self.desk, value, name);
        }
    }
}
