//! The machines at a glance, and all of one machine on one sheet.

use crate::{
    answer::Answer,
    due::{Desk, DueItem, DueState, by_urgency, fitness_caveat, is_offered},
    film_path::{FittedPart, film_path, open_faults},
    known::{NotKnown, find_machine},
    ready::{Attention, attentions},
};
use jiff::{ZonedDateTime, civil};
use logbook::{
    Booth, FaultId, MachineId, ShowingId, When,
    booth::{Fault, Machine, Query, ReadingRecord, Showing},
    ids::SlotId,
};
use machine::{Library, MachineType};
use rustc_hash::FxHashMap;
use units::Hours;

/// A machine in the overview.
#[derive(Clone, Debug)]
pub struct MachineRow<'a> {
    /// Its id.
    pub id: &'a MachineId,
    /// The machine.
    pub machine: &'a Machine,
    /// Its type, if that is known.
    pub kind: Option<&'a MachineType>,
    /// True if it may be used.
    pub may_run: bool,
    /// Hours run with film.
    pub hours_run: Hours,
    /// How many care tasks are overdue.
    pub n_overdue: usize,
    /// How many care tasks are due and not overdue.
    pub n_due: usize,
    /// How many care tasks are not due yet, but have no record that they were ever done.
    pub n_no_record: usize,
    /// A technician's safety tests that are overdue.
    pub untested: Vec<DueItem<'a>>,
    /// What looks found to want attention, and nobody has settled.
    pub attention: Vec<Attention<'a>>,
    /// How many faults are open.
    pub n_open_faults: usize,
    /// The next day on which some care falls due that is not due yet.
    pub next_due: Option<civil::Date>,
    /// When it last ran.
    pub last_run: Option<When>,
    /// Its next showing.
    pub next_showing: Option<(&'a ShowingId, &'a Showing)>,
}

/// Returns every machine that is not retired, also those that may not be used.
pub fn machines<'a>(
    booth: &'a Booth,
    library: &'a Library,
    now: &ZonedDateTime,
) -> Answer<Vec<MachineRow<'a>>> {
    let desk = Desk::new(booth, library, now);
    let here: Vec<usize> =
        (0..booth.machines.len()).filter(|at| booth.machines[*at].retired.is_none()).collect();
    let items = desk.count_all(&here);
    let mut rows = rows(booth, &desk, &here);
    for item in &items {
        if let Some(row) = rows.get_mut(item.machine) {
            row.count(item);
        }
    }
    for fault in booth.faults.values().filter(|fault| fault.closed.is_none()) {
        if let Some(row) = rows.get_mut(&fault.machine) {
            row.n_open_faults += 1;
        }
    }
    for row in rows.values_mut() {
        row.attention = row.kind.map_or_else(Vec::new, |kind| attentions(booth, kind, (row.id, row.machine)));
    }
    for coming in desk.coming.iter().rev() {
        for (machine, _) in &coming.showing.machines {
            if let Some(row) = rows.get_mut(machine) {
                row.next_showing = Some((coming.id, coming.showing));
            }
        }
    }
    let value = here.iter().filter_map(|at| rows.remove(booth.machines.get_index(*at)?.0)).collect();
    Answer { value, because: desk.grounds(), caveats: desk.caveats_of(&here) }
}

fn rows<'a>(booth: &'a Booth, desk: &Desk<'a>, here: &[usize]) -> FxHashMap<&'a MachineId, MachineRow<'a>> {
    let known = here.iter().filter_map(|at| booth.machines.get_index(*at));
    known.map(|(id, machine)| (id, MachineRow::bare(id, machine, desk.kind_of(machine)))).collect()
}

impl<'a> MachineRow<'a> {
    fn bare(id: &'a MachineId, machine: &'a Machine, kind: Option<&'a MachineType>) -> Self {
        Self {
            id,
            machine,
            kind,
            may_run: is_offered(machine),
            hours_run: machine.clocks.hours_run(),
            n_overdue: 0,
            n_due: 0,
            n_no_record: 0,
            untested: Vec::new(),
            attention: Vec::new(),
            n_open_faults: 0,
            next_due: None,
            last_run: machine.runs.last().map(|run| run.at),
            next_showing: None,
        }
    }

    fn count(&mut self, item: &DueItem<'a>) {
        self.untested.extend(item.is_untested().then_some(*item));
        self.n_no_record += usize::from(item.state == DueState::NoRecord);
        match item.state {
            DueState::Overdue => self.n_overdue += 1,
            DueState::Due => self.n_due += 1,
            _ => self.next_due = self.next_due.into_iter().chain(item.forecast_date()).min(),
        }
    }
}

/// All of one machine.
#[derive(Clone, Debug)]
pub struct MachineSheet<'a> {
    /// Its id.
    pub id: &'a MachineId,
    /// The machine: clocks, meter, fitness, runs, events.
    pub machine: &'a Machine,
    /// Its type, if that is known.
    pub kind: Option<&'a MachineType>,
    /// True if it may be used.
    pub may_run: bool,
    /// What is due on it, the most pressing first.
    pub due: Vec<DueItem<'a>>,
    /// What looks found to want attention, and nobody has settled.
    pub attention: Vec<Attention<'a>>,
    /// Its open faults.
    pub open_faults: Vec<(&'a FaultId, &'a Fault)>,
    /// Its faults that were closed, the latest first.
    pub closed_faults: Vec<(&'a FaultId, &'a Fault)>,
    /// The parts with an identity of their own that are fitted, by slot, in film-path order.
    pub fitted: Vec<(SlotId, FittedPart<'a>)>,
    /// The last reading of each quantity at each slot.
    pub last_readings: Vec<&'a ReadingRecord>,
    /// Its coming showings, the next first.
    pub coming: Vec<(&'a ShowingId, &'a Showing)>,
    /// What does not add up about it.
    pub queries: Vec<&'a Query>,
}

/// Returns all of one machine.
pub fn machine_sheet<'a>(
    booth: &'a Booth,
    library: &'a Library,
    machine: &str,
    now: &ZonedDateTime,
) -> Result<Answer<MachineSheet<'a>>, NotKnown> {
    let (at, id, machine) = find_machine(booth, machine)?;
    let desk = Desk::new(booth, library, now);
    let mut due = desk.count_one(at);
    by_urgency(&mut due);
    let path = film_path(booth, library, id.as_str(), now).ok();
    let fitted = path.into_iter().flat_map(|path| path.value.slots);
    let fitted =
        fitted.filter_map(|slot| Some((crate::join::logbook_slot(&slot.part.id), slot.fitted?))).collect();
    let mut closed_faults: Vec<(&FaultId, &Fault)> =
        booth.faults.iter().filter(|(_, fault)| fault.closed.is_some() && fault.machine == *id).collect();
    closed_faults.sort_by_key(|(_, fault)| std::cmp::Reverse(fault.opened.0));
    let is_on = |showing: &Showing| showing.machines.iter().any(|(own, _)| own == id);
    let mut caveats = desk.caveats_of(&[at]);
    caveats.extend(fitness_caveat(desk.booth.machine_name(id), machine));
    let kind = desk.kind_of(machine);
    let value = MachineSheet {
        id,
        machine,
        attention: kind.map_or_else(Vec::new, |kind| attentions(booth, kind, (id, machine))),
        kind,
        may_run: is_offered(machine),
        due,
        open_faults: open_faults(booth, id),
        closed_faults,
        fitted,
        last_readings: last_readings(machine),
        coming: desk.coming.iter().filter(|c| is_on(c.showing)).map(|c| (c.id, c.showing)).collect(),
        queries: booth.queries.iter().filter(|query| query.machine.as_ref() == Some(id)).collect(),
    };
    Ok(Answer { value, because: desk.grounds(), caveats })
}

/// The last reading of each quantity at each slot, in the order in which they were first read.
fn last_readings(machine: &Machine) -> Vec<&ReadingRecord> {
    let mut last: Vec<&ReadingRecord> = Vec::new();
    for reading in &machine.readings {
        let same = |own: &&ReadingRecord| own.quantity == reading.quantity && own.slot == reading.slot;
        match last.iter().position(same) {
            Some(at) => last[at] = reading,
            None => last.push(reading),
        }
    }
    last
}
