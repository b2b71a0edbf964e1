//! The dry run: a table and a mapping → drafts and doubts, before anything is written.

use super::{
    Encoding, Row, Table,
    additions::{AllNames, addition_drafts, is_named},
    already::Known,
    check,
    doubt::{Doubt, Doubts, Severity},
    evidence::{date_order, decimal_mark, length_unit},
    facts::RowToFacts,
    gate::{self, Through},
    ids::{self, Occurrences},
    mapping::{DateOrder, Decimal, Field, LengthUnit, Mapping},
    names::Names,
    sequence,
    slip::{Slip, Span},
    slip_cells::{self, Customs, Desk},
};
use jiff::{civil::Date, tz::TimeZone};
use logbook::{Booth, DeviceId, Draft, Entry, EntryId, Fact, MachineId, PersonId, Precision, When};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use units::Hours;

/// Where an import comes to: the logbook as it stands, and who imports when.
#[derive(Clone, Debug)]
pub struct Ground<'a> {
    /// The booth that the entries fold to.
    pub booth: &'a Booth,
    /// All entries of the logbook.
    pub entries: &'a [Entry],
    /// Now, on the clock of the device.
    pub now: When,
    /// The device that writes.
    pub device: DeviceId,
    /// Who imports; rows that name nobody are theirs.
    pub by: PersonId,
    /// Rows that are left out, by number.
    pub leave_out: BTreeSet<usize>,
}

/// A draft and the row that it comes from.
#[derive(Clone, PartialEq, Debug)]
pub struct RowDraft {
    /// The row; absent: something that several rows name and that is added for them.
    pub row: Option<usize>,
    /// The draft.
    pub draft: Draft,
}

/// Something that the booth does not have yet and that the mapping allows to add.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Addition {
    /// `machine`, `person` or `place`.
    pub what: &'static str,
    /// Its id.
    pub id: String,
    /// What the sheet calls it.
    pub name: String,
    /// The first row that names it.
    pub first_row: usize,
}

/// What a sheet comes to.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Summary {
    /// Rows with something in them, below the headings.
    pub rows: usize,
    /// Empty rows between them.
    pub empty_rows: usize,
    /// Rows that were left out on demand.
    pub left_out: usize,
    /// Rows that give entries.
    pub rows_read: usize,
    /// Entries that stand in the logbook already and are not written again.
    pub already_there: usize,
    /// New entries, by kind.
    pub new_entries: BTreeMap<String, usize>,
    /// The first day.
    pub first_day: Option<Date>,
    /// The last day.
    pub last_day: Option<Date>,
    /// Columns that are not read.
    pub columns_not_read: Vec<String>,
    /// The encoding of the file.
    pub encoding: Encoding,
    /// The character that parts the cells.
    pub delimiter: char,
    /// Which way round dates were read, if it mattered.
    pub date_order: Option<DateOrder>,
    /// The decimal mark.
    pub decimal: Decimal,
    /// The time zone.
    pub zone: String,
}

/// What an import would do.
#[derive(Clone, PartialEq, Debug)]
pub struct DryRun {
    /// The new entries, in the order in which they can be written.
    pub drafts: Vec<RowDraft>,
    /// The entries that the drafts become; refused ones are missing and doubted.
    pub entries: Vec<Entry>,
    /// Everything doubtful, by row.
    pub doubts: Vec<Doubt>,
    /// What would be added to the booth.
    pub additions: Vec<Addition>,
    /// What the sheet comes to.
    pub summary: Summary,
}

/// An import that must not go through yet.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{errors} errors keep this sheet from being imported; mend them or leave out rows {}", listed(rows))]
pub struct Blocked {
    /// How many errors there are.
    pub errors: usize,
    /// The rows that have them.
    pub rows: Vec<usize>,
    /// Some errors are about the whole sheet: leaving out rows does not help.
    pub whole_sheet: bool,
}

/// Lists rows as `--leave-out` takes them.
fn listed(rows: &[usize]) -> String {
    rows.iter().map(ToString::to_string).collect::<Vec<_>>().join(",")
}

impl DryRun {
    /// Returns what keeps the import back, if anything does.
    pub fn blocked(&self) -> Option<Blocked> {
        let errors: Vec<&Doubt> =
            self.doubts.iter().filter(|doubt| doubt.severity == Severity::Error).collect();
        let rows: BTreeSet<usize> = errors.iter().filter_map(|doubt| doubt.row).collect();
        (!errors.is_empty()).then(|| Blocked {
            errors: errors.len(),
            rows: rows.into_iter().collect(),
            whole_sheet: errors.iter().any(|doubt| doubt.row.is_none()),
        })
    }

    /// Returns the entries to be written, all of them, or says why none may be. They have passed the gate.
    ///
    /// # Errors
    /// If any doubt is an error.
    pub fn into_entries(self) -> Result<Vec<Entry>, Blocked> {
        match self.blocked() {
            Some(blocked) => Err(blocked),
            None => Ok(self.entries),
        }
    }
}

/// Reads a sheet: what its rows would write, and everything doubtful about them.
///
/// A mapping that names no columns has them guessed, and a note says which.
pub fn read_sheet(table: &Table, mapping: &Mapping, ground: &Ground<'_>) -> DryRun {
    let mut doubts = Doubts::default();
    let told_columns = !mapping.columns.is_empty();
    let mapping = &*mapping.or_guessed(table);
    if !told_columns {
        note_guess(mapping, &mut doubts);
    }
    let rows: Vec<&Row> = table.rows.iter().filter(|row| !ground.leave_out.contains(&row.number)).collect();
    let (customs, zone) = customs(table, mapping, ground, &mut doubts);
    let columns = slip_cells::columns(table, mapping, &mut doubts);
    note_missing_rows(table, ground, &mut doubts);
    if !columns.contains_key(&Field::Date) && !mapping.columns.contains_key(&Field::Date) {
        doubts.sheet(Severity::Error, "no column is known to hold the date", "[columns] with date = \"…\"");
    }
    let mut names = AllNames::of(mapping, ground.booth);
    names.machines.doubt_astray("machines", &mut doubts);
    names.people.doubt_astray("people", &mut doubts);
    names.places.doubt_astray("places", &mut doubts);
    let mut additions = names.add_new(mapping, ground.booth, &rows, &columns);
    let desk = Desk {
        mapping,
        customs: &customs,
        machines: &names.machines,
        people: &names.people,
        places: &names.places,
        only_machine: only_machine(mapping, &names.machines, ground.booth, &mut doubts),
        readings: slip_cells::readings(table, mapping, &mut doubts),
        columns,
    };
    let slips = desk.read(&rows, &mut doubts);
    let spans = spans(slips, &customs.zone, &mut doubts);
    check::check(&spans, mapping, &customs, ground, &mut doubts);
    sequence::find_slips_of_the_pen(&spans, ground.now.date(), &mut doubts);
    let row_drafts = drafts(&spans, mapping, ground);
    additions.retain(|addition| is_named(addition, &spans));
    let mut all = addition_drafts(&mut additions, mapping, &spans, ground);
    all.extend(row_drafts);
    let (new, already_there) = without_known(all, ground, &mut doubts);
    let Through { drafts, entries } = gate::try_out(new, ground, &mut doubts);
    let summary = Summary {
        rows: table.rows.len(),
        empty_rows: table.empty_rows.len(),
        left_out: table.rows.len() - rows.len(),
        rows_read: spans.len(),
        already_there,
        new_entries: kinds(&drafts),
        first_day: spans.iter().map(|(slip, _)| slip.day).min(),
        last_day: spans.iter().map(|(slip, _)| slip.day).max(),
        columns_not_read: not_read(table, &desk),
        encoding: table.encoding,
        delimiter: table.delimiter,
        date_order: customs.order,
        decimal: customs.decimal,
        zone,
    };
    DryRun { drafts, entries, doubts: doubts.sorted(), additions, summary }
}

/// Decides the customs of the sheet and doubts what cannot be decided.
fn customs(table: &Table, mapping: &Mapping, ground: &Ground<'_>, doubts: &mut Doubts) -> (Customs, String) {
    let today = ground.now.date();
    let name = mapping.zone.clone().unwrap_or_else(|| ground.booth.settings.zone.clone());
    let zone = TimeZone::get(&name).unwrap_or_else(|_| {
        let why = format!("there is no time zone “{name}”");
        doubts.sheet(Severity::Error, why, "an IANA time zone in zone, such as “Europe/Lisbon”");
        TimeZone::UTC
    });
    let order = date_order(table, mapping, today);
    if mapping.date_order.is_none()
        && order.finding.is_none()
        && check::has_figure_dates(table, mapping, today)
    {
        let why = format!("it is not clear whether the day or the month comes first: {}", order.because);
        doubts.sheet(Severity::Error, why, "date_order = \"day-month-year\" or \"month-day-year\"");
    }
    let decimal = decimal_mark(table, mapping);
    if mapping.decimal.is_none() && decimal.finding.is_none() {
        let why = format!("it is not clear which mark stands before decimals: {}", decimal.because);
        doubts.sheet(Severity::Error, why, "decimal = \".\" or \",\"");
    }
    let customs = Customs {
        order: mapping.date_order.or(order.finding),
        decimal: mapping.decimal.or(decimal.finding).unwrap_or(Decimal::Point),
        length_unit: mapping
            .length_unit
            .or(length_unit(table, mapping).finding)
            .unwrap_or(LengthUnit::Minutes),
        zone,
        today,
    };
    (customs, name)
}

fn note_guess(mapping: &Mapping, doubts: &mut Doubts) {
    let columns: Vec<String> =
        mapping.columns.iter().map(|(field, heading)| format!("{field} = “{heading}”")).collect();
    doubts.sheet(Severity::Note, format!("columns were guessed: {}", columns.join(", ")), "nothing to do");
}

fn note_missing_rows(table: &Table, ground: &Ground<'_>, doubts: &mut Doubts) {
    for number in &ground.leave_out {
        if !table.rows.iter().any(|row| row.number == *number) {
            let why = format!("row {number} is to be left out, but there is nothing in it");
            doubts.sheet(Severity::Warning, why, "the numbers of rows as a spreadsheet program shows them");
        }
    }
}

/// Returns the machine of rows that name none: that of the mapping, or the booth's only one.
fn only_machine(
    mapping: &Mapping,
    machines: &Names<MachineId>,
    booth: &Booth,
    doubts: &mut Doubts,
) -> Option<MachineId> {
    let Some(name) = &mapping.machine else {
        let mut standing = booth.machines.iter().filter(|(_, machine)| machine.retired.is_none());
        return match (standing.next(), standing.next()) {
            (Some((id, _)), None) if mapping.add_machines.is_empty() => Some(id.clone()),
            _ => None,
        };
    };
    let found = machines.find(name).cloned();
    if found.is_none() {
        let why = format!("the mapping names a machine “{name}” that the booth does not have");
        doubts.sheet(Severity::Error, why, "the id or name of a machine of the booth");
    }
    found
}

/// Works out when each row's doings were.
///
/// Rows of which only the day is known are put one after the other from noon on, machine by machine, so that no two
/// runs of a machine stand at one moment.
fn spans(slips: Vec<Slip>, zone: &TimeZone, doubts: &mut Doubts) -> Vec<(Slip, Span)> {
    let mut spans = Vec::with_capacity(slips.len());
    let mut taken: HashMap<(Date, Vec<MachineId>), i64> = HashMap::new();
    for slip in slips {
        let Some(mut span) = slip.span(zone) else {
            doubts.row(Severity::Error, slip.row, "this moment lies outside the calendar", "another date");
            continue;
        };
        if slip.precision() == Precision::Day {
            let after_noon = taken.entry((slip.day, slip.machines.clone())).or_default();
            span.start.unix_ms += *after_noon;
            let minutes = span.lasted.map_or(0.0, Hours::as_minutes).ceil() as i64 + 1;
            *after_noon = (*after_noon + minutes * 60_000).min(LATEST_AFTER_NOON_MS);
        }
        spans.push((slip, span));
    }
    spans
}

/// The latest moment after noon that still belongs to the day on every clock, in milliseconds: 22:00.
const LATEST_AFTER_NOON_MS: i64 = 10 * 3_600_000;

/// Makes the drafts of all rows, with ids that depend only on what the rows say.
fn drafts(spans: &[(Slip, Span)], mapping: &Mapping, ground: &Ground<'_>) -> Vec<RowDraft> {
    let mut occurrences = Occurrences::default();
    let mut drafts = Vec::new();
    for (slip, span) in spans {
        let to_come = mapping.plan_future && check::is_to_come(slip, span, ground.now);
        let facts = |tag: &str| RowToFacts { mapping, slip, span, tag }.facts();
        let key = occurrences.key(&facts(""));
        for (place, (happened, fact)) in facts(&ids::tag(&key)).into_iter().enumerate() {
            // Of a showing to come only the plan is written; held and run follow when the sheet comes again.
            if to_come && !matches!(fact, Fact::ShowingPlanned(_)) {
                continue;
            }
            let draft = Draft {
                id: ids::entry_id(&key, place),
                device: ground.device,
                happened: not_after(happened, ground.now, to_come),
                by: slip.person.clone().unwrap_or_else(|| ground.by.clone()),
                fact,
            };
            drafts.push(RowDraft { row: Some(slip.row), draft });
        }
    }
    drafts
}

/// Brings a moment of today of which only the day is known, and the planning of a showing to come, before now.
pub(super) fn not_after(happened: When, now: When, to_come: bool) -> When {
    let vague_today = happened.precision > Precision::Minute && happened.unix_ms > now.unix_ms;
    if to_come {
        now
    } else if vague_today && happened.date() <= now.date() {
        When { unix_ms: now.unix_ms, ..happened }
    } else {
        happened
    }
}

/// Takes out what the logbook has already, and doubts rows that an earlier import had differently.
fn without_known(all: Vec<RowDraft>, ground: &Ground<'_>, doubts: &mut Doubts) -> (Vec<RowDraft>, usize) {
    let known = Known::of(ground.entries);
    let sheet: HashSet<EntryId> = all.iter().map(|draft| draft.draft.id).collect();
    let count = all.len();
    let (there, new): (Vec<_>, Vec<_>) = all.into_iter().partition(|draft| known.has(draft.draft.id));
    let settled: BTreeSet<usize> =
        there.iter().filter(|draft| known.is_settled(draft.draft.id)).filter_map(|draft| draft.row).collect();
    for row in settled {
        let why = "this row was imported before and withdrawn or corrected since; it is not brought back";
        doubts.row(Severity::Note, row, why, "nothing to do, if that was meant");
    }
    known.compare(&new, &sheet, doubts);
    let already_there = count - new.len();
    (new, already_there)
}

fn kinds(drafts: &[RowDraft]) -> BTreeMap<String, usize> {
    let mut kinds = BTreeMap::new();
    for draft in drafts {
        *kinds.entry(draft.draft.fact.kind().to_owned()).or_default() += 1;
    }
    kinds
}

fn not_read(table: &Table, desk: &Desk<'_>) -> Vec<String> {
    let read: HashSet<usize> = desk
        .columns
        .values()
        .map(|(index, _)| *index)
        .chain(desk.readings.iter().map(|(index, ..)| *index))
        .collect();
    let headings = table.headings.iter().enumerate();
    headings
        .filter(|(index, _)| !read.contains(index) && table.cells(*index).next().is_some())
        .map(|(_, heading)| heading.clone())
        .collect()
}
