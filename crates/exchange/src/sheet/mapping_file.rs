//! The mapping as a small TOML file: read with every error at its place, written so that it reads back the same.

use super::{
    TableError,
    mapping::{DateOrder, Decimal, Field, LengthUnit, Mapping, NewMachine, ReadingColumn, Sort, Task},
};
use jiff::civil;
use logbook::{
    MachineId, PersonId, PlaceId,
    fact::MeterChange,
    ids::{QuantityId, SlotId, TaskId, TypeId},
};
use serde::Deserialize;
use std::{collections::BTreeMap, ops::Range};
use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

type Value<'t> = Spanned<DeValue<'t>>;
type Table<'t> = DeTable<'t>;

/// The largest mapping file that is read, in bytes.
const LARGEST_MAPPING: usize = 1 << 20;

impl Mapping {
    /// Reads a mapping file.
    ///
    /// # Errors
    /// All that is wrong with it, each with line, column and what would be right.
    pub fn read(text: &str) -> Result<Self, Vec<TableError>> {
        if text.len() > LARGEST_MAPPING {
            let what = "the mapping is larger than 1 MB".to_owned();
            return Err(vec![TableError::whole(what, "a mapping of a page or two")]);
        }
        let mut reader = Reader { text, errors: Vec::new() };
        let (table, faults) = DeTable::parse_recoverable(text);
        for fault in faults {
            let at = fault.span().unwrap_or_default();
            reader.wrong(&at, fault.message().to_owned(), "TOML, as docs/import.md shows it");
        }
        let mapping = reader.mapping(table.get_ref());
        reader.errors.sort_by_key(|error| (error.line, error.column));
        if reader.errors.is_empty() { Ok(mapping) } else { Err(reader.errors) }
    }
}

struct Reader<'t> {
    text: &'t str,
    errors: Vec<TableError>,
}

impl Reader<'_> {
    fn wrong(&mut self, at: &Range<usize>, what: String, right: &str) {
        let before = self.text.get(..at.start).unwrap_or_default();
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        self.errors.push(TableError {
            line: Some(line),
            column: Some(column),
            what,
            would_be_right: right.to_owned(),
        });
    }

    fn mapping(&mut self, table: &Table<'_>) -> Mapping {
        let mut mapping = Mapping::default();
        for (key, value) in table {
            self.key(key.get_ref(), &key.span(), value, &mut mapping);
        }
        mapping
    }

    fn key(&mut self, key: &str, at: &Range<usize>, value: &Value<'_>, into: &mut Mapping) {
        match key {
            "what" => into.what = self.word(value),
            "date_order" => into.date_order = self.word(value),
            "decimal" => into.decimal = self.word(value),
            "length_unit" => into.length_unit = self.word(value),
            "zone" => into.zone = self.zone(value),
            "machine" => into.machine = self.string(value),
            "usual_start" => into.usual_start = self.time(value),
            "repeat_date" => into.repeat_date = self.flag(value),
            "plan_future" => into.plan_future = self.flag(value),
            "add_people" => into.add_people = self.flag(value),
            "add_places" => into.add_places = self.flag(value),
            "columns" => into.columns = self.columns(value),
            "machines" => into.machines = self.texts(value, |id| MachineId::new(id)),
            "people" => into.people = self.texts(value, |id| PersonId::new(id)),
            "places" => into.places = self.texts(value, |id| PlaceId::new(id)),
            "parts" => into.parts = self.texts(value, |id| SlotId::new(id)),
            "sorts" => into.sorts = self.each(value, Self::word),
            "tasks" => into.tasks = self.each(value, Self::task),
            "readings" => into.readings = self.each(value, Self::reading),
            "add_machines" => into.add_machines = self.machines(value),
            "meter_changes" => into.meter_changes = self.meter_changes(value),
            _ => self.unknown(key, at, TOP),
        }
    }

    fn unknown(&mut self, key: &str, at: &Range<usize>, known: &[&str]) {
        let right = match nearest(key, known.iter().copied()) {
            Some(near) => format!("did you mean “{near}”?"),
            None => format!("one of {}", known.join(", ")),
        };
        self.wrong(at, format!("a mapping has no “{key}”"), &right);
    }

    fn string(&mut self, value: &Value<'_>) -> Option<String> {
        if let DeValue::String(text) = value.get_ref()
            && !text.trim().is_empty()
        {
            return Some(text.trim().to_owned());
        }
        self.wrong(&value.span(), "this is no text".to_owned(), "a text in quotation marks, not empty");
        None
    }

    fn flag(&mut self, value: &Value<'_>) -> bool {
        if let DeValue::Boolean(flag) = value.get_ref() {
            return *flag;
        }
        self.wrong(&value.span(), "this is neither true nor false".to_owned(), "true or false");
        false
    }

    fn zone(&mut self, value: &Value<'_>) -> Option<String> {
        let zone = self.string(value)?;
        if jiff::tz::TimeZone::get(&zone).is_err() {
            let what = format!("there is no time zone “{zone}”");
            self.wrong(&value.span(), what, "an IANA time zone, such as “Europe/Lisbon”");
        }
        Some(zone)
    }

    fn time(&mut self, value: &Value<'_>) -> Option<civil::Time> {
        let text = self.string(value)?;
        let time = text.parse().ok();
        if time.is_none() {
            self.wrong(&value.span(), format!("“{text}” is no time of day"), "a time such as “19:30”");
        }
        time
    }

    /// Reads a word of a closed list.
    fn word<W: Word>(&mut self, value: &Value<'_>) -> Option<W> {
        let text = self.string(value)?;
        let word = W::read(&text);
        if word.is_none() {
            let right = format!("one of {}", W::list());
            self.wrong(&value.span(), format!("“{text}” is not one of the words for this"), &right);
        }
        word
    }

    fn table<'v, 't>(&mut self, value: &'v Value<'t>) -> Option<&'v Table<'t>> {
        if let DeValue::Table(table) = value.get_ref() {
            return Some(table);
        }
        let right = "a table: a heading in [brackets] and lines below";
        self.wrong(&value.span(), "this is no table".to_owned(), right);
        None
    }

    /// Reads a table whose keys are the sheet's own words.
    fn each<T>(
        &mut self,
        value: &Value<'_>,
        mut read: impl FnMut(&mut Self, &Value<'_>) -> Option<T>,
    ) -> BTreeMap<String, T> {
        let Some(table) = self.table(value) else { return BTreeMap::new() };
        table
            .iter()
            .filter_map(|(key, value)| Some((key.get_ref().to_string(), read(self, value)?)))
            .collect()
    }

    fn texts<T>(&mut self, value: &Value<'_>, make: impl Fn(&str) -> T) -> BTreeMap<String, T> {
        self.each(value, |reader, value| reader.string(value).map(|text| make(&text)))
    }

    fn columns(&mut self, value: &Value<'_>) -> BTreeMap<Field, String> {
        let Some(table) = self.table(value) else { return BTreeMap::new() };
        let mut columns = BTreeMap::new();
        for (key, value) in table {
            let Some(heading) = self.string(value) else { continue };
            if let Some(field) = Field::from_word(key.get_ref()) {
                columns.insert(field, heading);
            } else {
                let known: Vec<&str> = Field::ALL.iter().map(|field| field.word()).collect();
                self.unknown(key.get_ref(), &key.span(), &known);
            }
        }
        columns
    }

    /// Reads a value as a small struct; the error points into it.
    fn form<'t, T: Deserialize<'t>>(&mut self, value: &Value<'t>, right: &str) -> Option<T> {
        match T::deserialize(toml::de::ValueDeserializer::from(value.clone())) {
            Ok(form) => Some(form),
            Err(error) => {
                let at = error.span().unwrap_or(value.span());
                self.wrong(&at, error.message().to_owned(), right);
                None
            }
        }
    }

    fn task(&mut self, value: &Value<'_>) -> Option<Task> {
        if let DeValue::String(task) = value.get_ref() {
            return Some(Task { task: TaskId::new(task.trim()), slot: None });
        }
        let form: TaskForm = self.form(value, "the task’s name, or { task = “…”, slot = “…” }")?;
        Some(Task { task: TaskId::new(form.task), slot: form.slot.map(SlotId::new) })
    }

    fn reading(&mut self, value: &Value<'_>) -> Option<ReadingColumn> {
        const RIGHT: &str = "{ quantity = “…”, unit = “…” }, perhaps with plausible = [lowest, highest]";
        let form: ReadingForm = self.form(value, RIGHT)?;
        if form.plausible.is_some_and(|(low, high)| low.partial_cmp(&high) != Some(std::cmp::Ordering::Less))
        {
            self.wrong(&value.span(), "the plausible band is upside down".to_owned(), "[lowest, highest]");
        }
        Some(ReadingColumn {
            quantity: QuantityId::new(form.quantity),
            unit: form.unit,
            plausible: form.plausible,
        })
    }

    fn machines(&mut self, value: &Value<'_>) -> BTreeMap<String, NewMachine> {
        let Some(table) = self.table(value) else { return BTreeMap::new() };
        let mut machines = BTreeMap::new();
        for (name, value) in table {
            let name = name.get_ref().to_string();
            let right = "{ type = “…” }, perhaps with id, name, serial, hours_before";
            let Some(form) = self.form::<MachineForm>(value, right) else { continue };
            let id = form.id.unwrap_or_else(|| super::names::short_name(&name));
            machines.insert(
                name.clone(),
                NewMachine {
                    id: MachineId::new(id),
                    name: form.name.unwrap_or(name),
                    machine_type: TypeId::new(form.r#type),
                    serial: form.serial.unwrap_or_default(),
                    hours_before: form.hours_before.map(units::Hours::new),
                },
            );
        }
        machines
    }

    fn meter_changes(&mut self, value: &Value<'_>) -> BTreeMap<String, MeterChange> {
        let Some(table) = self.table(value) else { return BTreeMap::new() };
        let mut changes = BTreeMap::new();
        for (key, value) in table {
            let day = key.get_ref().rsplit(' ').next().unwrap_or_default();
            if day.parse::<civil::Date>().is_err() || !key.get_ref().contains(' ') {
                let what = format!("“{}” is not a machine and a day", key.get_ref());
                self.wrong(&key.span(), what, "such as “turnstone 2026-03-04”");
            }
            if let Some(change) = self.word(value) {
                changes.insert(key.get_ref().to_string(), change);
            }
        }
        changes
    }
}

/// The keys at the top of a mapping.
const TOP: &[&str] = &[
    "what",
    "date_order",
    "decimal",
    "length_unit",
    "zone",
    "machine",
    "usual_start",
    "repeat_date",
    "plan_future",
    "add_people",
    "add_places",
    "columns",
    "machines",
    "people",
    "places",
    "parts",
    "sorts",
    "tasks",
    "readings",
    "add_machines",
    "meter_changes",
];

/// Returns the known word that is nearest to a mistyped one, if any is near.
pub(super) fn nearest<'k>(word: &str, known: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    known
        .map(|one| (strsim::jaro_winkler(&word.to_lowercase(), &one.to_lowercase()), one))
        // Common practice, no source: below this two names no longer look alike.
        .filter(|(likeness, _)| *likeness >= 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, one)| one)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TaskForm {
    task: String,
    slot: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ReadingForm {
    quantity: String,
    unit: String,
    plausible: Option<(f64, f64)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MachineForm {
    r#type: String,
    id: Option<String>,
    name: Option<String>,
    serial: Option<String>,
    hours_before: Option<f64>,
}

/// A closed list of words.
trait Word: Sized {
    fn read(word: &str) -> Option<Self>;
    fn list() -> String;
}

macro_rules! word {
    ($($name:ty),*) => {$(
        impl Word for $name {
            fn read(word: &str) -> Option<Self> {
                Self::from_word(word)
            }

            fn list() -> String {
                Self::ALL.iter().map(|one| format!("“{one}”")).collect::<Vec<_>>().join(", ")
            }
        }
    )*};
}

word!(Sort, DateOrder, LengthUnit, Decimal);

/// The reasons for a jump of a meter, as mapping files and entries spell them.
const METER_CHANGES: [(&str, MeterChange); 3] = [
    ("replaced", MeterChange::Replaced),
    ("rolled-over", MeterChange::RolledOver),
    ("reset", MeterChange::Reset),
];

impl Word for MeterChange {
    fn read(word: &str) -> Option<Self> {
        METER_CHANGES.iter().find(|(name, _)| *name == word).map(|(_, change)| *change)
    }

    fn list() -> String {
        METER_CHANGES.map(|(name, _)| format!("“{name}”")).join(", ")
    }
}

/// Writes a mapping as the file that reads back as the same mapping.
pub fn mapping_as_toml(mapping: &Mapping) -> String {
    let mut top = toml::Table::new();
    let mut put = |key: &str, value: Option<toml::Value>| {
        if let Some(value) = value {
            top.insert(key.to_owned(), value);
        }
    };
    let word = |word: Option<&'static str>| word.map(toml::Value::from);
    let text = |text: Option<String>| text.map(toml::Value::from);
    let flag = |flag: bool| flag.then_some(toml::Value::from(true));
    put("what", word(mapping.what.map(Sort::word)));
    put("date_order", word(mapping.date_order.map(DateOrder::word)));
    put("decimal", word(mapping.decimal.map(Decimal::word)));
    put("length_unit", word(mapping.length_unit.map(LengthUnit::word)));
    put("zone", text(mapping.zone.clone()));
    put("machine", text(mapping.machine.clone()));
    put("usual_start", text(mapping.usual_start.map(|time| time.to_string())));
    put("repeat_date", flag(mapping.repeat_date));
    put("plan_future", flag(mapping.plan_future));
    put("add_people", flag(mapping.add_people));
    put("add_places", flag(mapping.add_places));
    put(
        "columns",
        table(&mapping.columns, |field| field.word().to_owned(), |heading| heading.clone().into()),
    );
    put("machines", named(&mapping.machines, |id| id.as_str().into()));
    put("people", named(&mapping.people, |id| id.as_str().into()));
    put("places", named(&mapping.places, |id| id.as_str().into()));
    put("sorts", named(&mapping.sorts, |sort| sort.word().into()));
    put("tasks", named(&mapping.tasks, write_task));
    put("parts", named(&mapping.parts, |id| id.as_str().into()));
    put("readings", named(&mapping.readings, write_reading));
    put("add_machines", named(&mapping.add_machines, write_machine));
    put("meter_changes", named(&mapping.meter_changes, |change| write_meter_change(*change)));
    toml::to_string(&top).expect("texts, numbers and tables of them can always be written")
}

fn table<K, V>(
    from: &BTreeMap<K, V>,
    key: impl Fn(&K) -> String,
    value: impl Fn(&V) -> toml::Value,
) -> Option<toml::Value> {
    let table: toml::Table = from.iter().map(|(k, v)| (key(k), value(v))).collect();
    (!table.is_empty()).then_some(toml::Value::Table(table))
}

fn named<V>(from: &BTreeMap<String, V>, value: impl Fn(&V) -> toml::Value) -> Option<toml::Value> {
    table(from, Clone::clone, value)
}

fn write_task(task: &Task) -> toml::Value {
    match &task.slot {
        None => task.task.as_str().into(),
        Some(slot) => object([("task", task.task.as_str().into()), ("slot", slot.as_str().into())]),
    }
}

fn write_reading(column: &ReadingColumn) -> toml::Value {
    let band = column.plausible.map(|(low, high)| ("plausible", vec![low, high].into()));
    let plain = [("quantity", column.quantity.as_str().into()), ("unit", column.unit.as_str().into())];
    object(plain.into_iter().chain(band))
}

fn write_machine(machine: &NewMachine) -> toml::Value {
    let serial = (!machine.serial.is_empty()).then(|| ("serial", machine.serial.as_str().into()));
    let hours = machine.hours_before.map(|hours| ("hours_before", hours.hours().into()));
    let plain = [
        ("id", machine.id.as_str().into()),
        ("name", machine.name.as_str().into()),
        ("type", machine.machine_type.as_str().into()),
    ];
    object(plain.into_iter().chain(serial).chain(hours))
}

fn write_meter_change(change: MeterChange) -> toml::Value {
    let word = METER_CHANGES.iter().find(|(_, own)| *own == change).map_or("replaced", |(word, _)| word);
    word.into()
}

fn object<'k>(pairs: impl IntoIterator<Item = (&'k str, toml::Value)>) -> toml::Value {
    toml::Value::Table(pairs.into_iter().map(|(key, value)| (key.to_owned(), value)).collect())
}

#[cfg(test)]
mod tests;
