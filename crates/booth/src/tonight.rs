//! Tonight: each coming showing, its machines, what is due before it, what stands open.

use crate::{
    answer::{Answer, COMMON_PRACTICE, Caveat, CaveatKind, Ground},
    coming::Coming,
    day::Day,
    due::{Desk, DueItem, DueState, Scratch, by_urgency, fitness_caveat, is_offered},
    prints::{PrintWarning, barred, warnings},
    ready::{self, Attention},
    sound::{Heading, View},
    words,
};
use jiff::{ZonedDateTime, civil};
use logbook::{
    Booth, FaultId, MachineId, ShowingId,
    booth::{CareRecord, Fault, Machine, Showing},
};
use machine::{CareTask, Hand, Library, MachineType};
use rustc_hash::{FxHashMap, FxHashSet};

/// The house opens so many minutes before the showing starts (common practice, no source).
pub const DOORS_BEFORE_START_MINUTES: i64 = 35;
/// The last hours before a showing, in which its work comes before its odds (common practice, no source).
pub const LAST_HOURS_MINUTES: i64 = 180;
/// So many days after this evening are looked at.
pub const DAYS_AHEAD: i32 = 7;

/// Tonight and the week after.
#[derive(Clone, Debug)]
pub struct Tonight<'a> {
    /// The evening it is now; until the night ends that is still the one before.
    pub evening: civil::Date,
    /// How it stands, in plain sentences.
    pub sentence: String,
    /// What is still to come this evening, the next first.
    pub this_evening: Vec<TonightShowing<'a>>,
    /// The showings of the seven days after, the next first.
    pub next_days: Vec<TonightShowing<'a>>,
    /// How many care tasks of the machines of the coming showings are not due yet, but have no record at all.
    pub n_no_record: usize,
    /// The first showing later than that.
    pub after_that: Option<(&'a ShowingId, &'a Showing)>,
    /// Reels that it wants and that must not be shown.
    pub after_that_barred: Vec<PrintWarning<'a>>,
}

/// A coming showing.
#[derive(Clone, Debug)]
pub struct TonightShowing<'a> {
    /// Its id.
    pub id: &'a ShowingId,
    /// The showing.
    pub showing: &'a Showing,
    /// The evening to which it belongs.
    pub evening: civil::Date,
    /// Minutes until it starts; negative while it runs.
    pub minutes_till_start: i64,
    /// Minutes until the house opens; negative once it is open.
    pub minutes_till_doors: i64,
    /// Minutes of care that an operator has still to do before it.
    pub minutes_of_care: f64,
    /// How it stands, in plain sentences.
    pub sentence: String,
    /// Its machines, in the order in which they are assigned.
    pub machines: Vec<TonightMachine<'a>>,
    /// Assigned machines that the logbook does not know.
    pub unknown_machines: Vec<&'a MachineId>,
    /// Reels that it wants and that must not be shown, or only on conditions, the gravest first.
    pub prints: Vec<PrintWarning<'a>>,
    /// The checks that matter most and fit into the time before the doors; empty unless time is short.
    pub first_checks: Vec<(&'a MachineId, &'a CareTask)>,
}

impl TonightShowing<'_> {
    /// True in the hours in which the evening's work is done: from [`LAST_HOURS_MINUTES`] before the start to the end.
    pub fn is_near(&self) -> bool {
        self.minutes_till_start <= LAST_HOURS_MINUTES
    }
}

/// A machine of a coming showing.
#[derive(Clone, Debug)]
pub struct TonightMachine<'a> {
    /// Its id.
    pub id: &'a MachineId,
    /// The machine.
    pub machine: &'a Machine,
    /// Its type, if that is known.
    pub kind: Option<&'a MachineType>,
    /// False: it may not be used, and the showing needs another one.
    pub may_run: bool,
    /// Care that is due, or falls due in this showing, the most pressing first; not what an earlier showing lists.
    pub due: Vec<DueItem<'a>>,
    /// How many tasks are not due yet, but have no record at all.
    pub n_no_record: usize,
    /// How many tasks an earlier showing of this machine lists already.
    pub n_listed_earlier: usize,
    /// What is done before every showing, in film-path order, with the record if it was done that evening, since the last showing.
    pub before: Vec<(&'a CareTask, Option<&'a CareRecord>)>,
    /// Open faults.
    pub open_faults: Vec<(&'a FaultId, &'a Fault)>,
    /// What a look found to want attention, and nobody has settled since.
    pub attention: Vec<Attention<'a>>,
    /// A technician's safety tests that are overdue, whichever showing lists them.
    pub untested: Vec<DueItem<'a>>,
    /// Readings that may pass the limit at which to act by the end of this showing.
    pub headings: Vec<Heading<'a>>,
    /// Minutes of care that an operator has still to do.
    pub minutes_of_care: f64,
}

impl TonightMachine<'_> {
    /// What people call it; its id where it has no name.
    pub fn name(&self) -> &str {
        if self.machine.name.is_empty() { self.id.as_str() } else { &self.machine.name }
    }

    /// How many of the tasks before every showing are not done yet.
    pub fn n_before_left(&self) -> usize {
        self.before.iter().filter(|(_, done)| done.is_none()).count()
    }
}

/// Returns what is on this evening and in the week after, and what is due before each showing.
///
/// The work grows with the showings of the week, not with the machines of the booth.
pub fn tonight<'a>(booth: &'a Booth, library: &'a Library, now: &ZonedDateTime) -> Answer<Tonight<'a>> {
    of(&Desk::new(booth, library, now), library)
}

/// The same, where the diary was looked at before.
pub(crate) fn of<'a>(desk: &Desk<'a>, library: &'a Library) -> Answer<Tonight<'a>> {
    let week: Vec<&Coming<'a>> =
        desk.coming.iter().filter(|coming| coming.day.since(desk.now.day) <= DAYS_AHEAD).collect();
    let mut bench = Bench::new(desk, &week);
    bench.find_headings(library);
    let showing = |coming: &&Coming<'a>| {
        let prints = warnings(desk.booth, library, coming.showing);
        (coming.day, bench.showing(coming, prints))
    };
    let showings: Vec<(Day, TonightShowing<'a>)> = week.iter().map(showing).collect();
    let (this_evening, next_days): (Vec<_>, Vec<_>) =
        showings.into_iter().partition(|(day, _)| *day <= desk.now.day);
    let bare =
        |showings: Vec<(Day, TonightShowing<'a>)>| showings.into_iter().map(|(_, showing)| showing).collect();
    let after_that = desk.coming.get(week.len()).map(|coming| (coming.id, coming.showing));
    let mut value = Tonight {
        evening: desk.now.day.date(),
        sentence: String::new(),
        this_evening: bare(this_evening),
        next_days: bare(next_days),
        n_no_record: 0,
        after_that,
        after_that_barred: after_that
            .map_or_else(Vec::new, |(_, showing)| barred(desk.booth, library, showing)),
    };
    value.n_no_record = n_no_record(&value);
    value.sentence = sentence(&value);
    Answer { because: grounds(), caveats: bench.caveats(&value), value }
}

/// Returns what is due or falls due in this evening's showings, the most pressing first: the cheap question.
pub fn due_tonight<'a>(
    booth: &'a Booth,
    library: &'a Library,
    now: &ZonedDateTime,
) -> Answer<Vec<DueItem<'a>>> {
    let desk = Desk::new(booth, library, now);
    let evening: Vec<&Coming<'a>> =
        desk.coming.iter().take_while(|coming| coming.day <= desk.now.day).collect();
    let bench = Bench::new(&desk, &evening);
    let this_evening =
        |item: &DueItem<'a>| evening.iter().any(|coming| item.forecast_showing == Some(coming.id));
    let mut value: Vec<DueItem<'a>> = bench
        .machines
        .values()
        .flat_map(|known| &known.items)
        .filter(|item| this_evening(item))
        .copied()
        .collect();
    value.sort_by_key(|item| desk.booth.machines.get_index_of(item.machine));
    by_urgency(&mut value);
    Answer { value, because: grounds(), caveats: desk.stale_diary().into_iter().collect() }
}

/// What the showings of the week need to know of their machines, asked once for each machine.
struct Bench<'d, 'a> {
    desk: &'d Desk<'a>,
    /// Where each coming showing stands in their order.
    order: FxHashMap<&'a ShowingId, usize>,
    machines: FxHashMap<&'a MachineId, Known<'a>>,
}

/// What is known of one machine.
#[derive(Default)]
struct Known<'a> {
    items: Vec<DueItem<'a>>,
    /// The tasks before every showing, each with its last record.
    before: Vec<(&'a CareTask, Option<&'a CareRecord>)>,
    open_faults: Vec<(&'a FaultId, &'a Fault)>,
    attention: Vec<Attention<'a>>,
    headings: Vec<Heading<'a>>,
}

impl<'d, 'a> Bench<'d, 'a> {
    fn new(desk: &'d Desk<'a>, week: &[&Coming<'a>]) -> Self {
        let booth = desk.booth;
        let assigned = week.iter().flat_map(|coming| &coming.showing.machines);
        let mut places: Vec<usize> = assigned.filter_map(|(id, _)| booth.machines.get_index_of(id)).collect();
        places.sort_unstable();
        places.dedup();
        let mut scratch = Scratch::default();
        let mut machines: FxHashMap<&MachineId, Known<'a>> = FxHashMap::default();
        for (id, machine) in places.iter().filter_map(|place| booth.machines.get_index(*place)) {
            let before = desk.before_showing(machine, &mut scratch);
            let attention = desk
                .kind_of(machine)
                .map_or_else(Vec::new, |kind| ready::attentions(booth, kind, (id, machine)));
            machines.insert(id, Known { before, attention, ..Known::default() });
        }
        for item in desk.count_all(&places) {
            if let Some(known) = machines.get_mut(item.machine) {
                known.items.push(item);
            }
        }
        for (id, fault) in booth.faults.iter().filter(|(_, fault)| fault.closed.is_none()) {
            if let Some(known) = machines.get_mut(&fault.machine) {
                known.open_faults.push((id, fault));
            }
        }
        let order = week.iter().enumerate().map(|(at, coming)| (coming.id, at)).collect();
        Self { desk, order, machines }
    }

    /// Finds which readings are on their way past a limit.
    fn find_headings(&mut self, library: &'a Library) {
        let booth = self.desk.booth;
        let view = View::of_the_present(self.desk, library);
        for (id, known) in &mut self.machines {
            known.headings = booth.machines.get(*id).map_or_else(Vec::new, |own| view.headings(id, own));
        }
    }

    fn showing(&self, coming: &Coming<'a>, prints: Vec<PrintWarning<'a>>) -> TonightShowing<'a> {
        let known = |id: &'a MachineId| self.desk.booth.machines.get(id);
        let assigned = || coming.showing.machines.iter().map(|(id, _)| id);
        let machines: Vec<TonightMachine<'a>> =
            assigned().filter_map(|id| Some(self.machine(id, known(id)?, coming))).collect();
        let minutes_till_start = coming.starts_ms.saturating_sub(self.desk.now.unix_ms).div_euclid(60_000);
        let mut made = TonightShowing {
            id: coming.id,
            showing: coming.showing,
            evening: coming.day.date(),
            minutes_till_start,
            minutes_till_doors: minutes_till_start - DOORS_BEFORE_START_MINUTES,
            minutes_of_care: machines.iter().map(|machine| machine.minutes_of_care).sum(),
            sentence: String::new(),
            machines,
            unknown_machines: assigned().filter(|id| known(id).is_none()).collect(),
            prints,
            first_checks: Vec::new(),
        };
        made.first_checks = first_checks(&made);
        made.sentence = showing_sentence(&made);
        made
    }

    fn machine(&self, id: &'a MachineId, machine: &'a Machine, coming: &Coming<'a>) -> TonightMachine<'a> {
        let nothing = Known::default();
        let known = self.machines.get(id).unwrap_or(&nothing);
        let mut due: Vec<DueItem<'a>> =
            known.items.iter().filter(|item| item.forecast_showing == Some(coming.id)).copied().collect();
        by_urgency(&mut due);
        let before = done_for(self.desk, (id, machine), coming, &known.before);
        TonightMachine {
            id,
            machine,
            kind: self.desk.kind_of(machine),
            may_run: is_offered(machine),
            n_listed_earlier: self.n_listed_earlier(&known.items, coming),
            n_no_record: known.items.iter().filter(|item| item.state == DueState::NoRecord).count(),
            minutes_of_care: minutes_of_care(&due, &before),
            due,
            before,
            open_faults: known.open_faults.clone(),
            attention: known.attention.clone(),
            untested: known.items.iter().filter(|item| item.is_untested()).copied().collect(),
            headings: known
                .headings
                .iter()
                .filter(|heading| heading.forecast.before.is_some_and(|(id, _)| id == coming.id))
                .cloned()
                .collect(),
        }
    }

    fn n_listed_earlier(&self, items: &[DueItem<'a>], coming: &Coming<'a>) -> usize {
        let place = |id: &ShowingId| self.order.get(id).copied();
        let here = place(coming.id);
        items
            .iter()
            .filter(|item| item.forecast_showing.and_then(place).is_some_and(|at| Some(at) < here))
            .count()
    }

    fn caveats(&self, tonight: &Tonight<'a>) -> Vec<Caveat> {
        let mut caveats = Vec::new();
        let showings = || tonight.this_evening.iter().chain(&tonight.next_days);
        let mut seen: FxHashSet<&MachineId> = FxHashSet::default();
        let mut places = Vec::new();
        for assigned in showings().flat_map(|showing| &showing.machines) {
            if seen.insert(assigned.id) {
                caveats.extend(fitness_caveat(self.desk.booth.machine_name(assigned.id), assigned.machine));
                places.extend(self.desk.booth.machines.get_index_of(assigned.id));
            }
        }
        caveats.extend(self.desk.caveats_of(&places));
        for showing in showings() {
            for unknown in &showing.unknown_machines {
                let title = &showing.showing.title;
                let words = format!("{title} is planned on {unknown}, which the logbook does not know.");
                caveats.push(Caveat::new(CaveatKind::UnknownName, words));
            }
        }
        caveats.extend(self.desk.stale_diary());
        caveats
    }
}

/// The tasks before every showing, each with its record if it was done for this one: what was done before one showing is
/// to do again before the next.
fn done_for<'a>(
    desk: &Desk<'a>,
    (id, machine): (&'a MachineId, &'a Machine),
    coming: &Coming<'a>,
    before: &[(&'a CareTask, Option<&'a CareRecord>)],
) -> Vec<(&'a CareTask, Option<&'a CareRecord>)> {
    let last_showing = desk.last_showing_ms(id, machine, coming.starts_ms);
    let that_evening = |record: &&CareRecord| {
        desk.now.day_of(record.at) == coming.day && last_showing.is_none_or(|last| record.at.unix_ms > last)
    };
    before.iter().map(|(task, record)| (*task, record.filter(that_evening))).collect()
}

/// Minutes that the checks before a showing still take, on all its machines.
pub(crate) fn minutes_of_checks<'a>(desk: &Desk<'a>, coming: &Coming<'a>) -> f64 {
    let mut scratch = Scratch::default();
    let machines = coming.showing.machines.iter().filter_map(|(id, _)| desk.booth.machines.get_key_value(id));
    let one = |(id, machine)| {
        let before = desk.before_showing(machine, &mut scratch);
        minutes_of_care(&[], &done_for(desk, (id, machine), coming, &before))
    };
    machines.map(one).sum()
}

/// Minutes of what an operator has still to do; a task on both lists counts once.
fn minutes_of_care(due: &[DueItem<'_>], before: &[(&CareTask, Option<&CareRecord>)]) -> f64 {
    let is_before = |item: &&DueItem<'_>| before.iter().any(|(task, _)| task.id == item.task.id);
    let due = due.iter().filter(|item| !is_before(item)).map(|item| item.task);
    let before = before.iter().filter(|(_, done)| done.is_none()).map(|(task, _)| *task);
    due.chain(before).filter(|task| task.who != Hand::Technician).map(CareTask::minutes).sum()
}

/// Where the checks before a showing take longer than there is time: the weightiest of them that fit, of every machine.
fn first_checks<'a>(showing: &TonightShowing<'a>) -> Vec<(&'a MachineId, &'a CareTask)> {
    let minutes =
        if showing.minutes_till_doors > 0 { showing.minutes_till_doors } else { showing.minutes_till_start };
    let left = |machine: &TonightMachine<'a>| -> Vec<(&'a MachineId, &'a CareTask)> {
        let left =
            machine.before.iter().filter(|(task, done)| done.is_none() && task.who != Hand::Technician);
        left.map(|(task, _)| (machine.id, *task)).collect()
    };
    let left: Vec<(&MachineId, &CareTask)> = showing.machines.iter().flat_map(left).collect();
    let all: f64 = left.iter().map(|(_, task)| task.minutes()).sum();
    // Where all of them fit there is nothing to choose.
    if !showing.is_near() || minutes as f64 >= all {
        return Vec::new();
    }
    ready::weightiest(&left, minutes as f64)
}

fn grounds() -> Vec<Ground> {
    let doors = format!("the house opens {DOORS_BEFORE_START_MINUTES} min before the start");
    vec![crate::due::GRACE, Ground::Rule { words: doors.into(), source: COMMON_PRACTICE }]
}

/// How a showing stands: what it is, when, where, on what; what is to be done; what stands open.
fn showing_sentence(showing: &TonightShowing<'_>) -> String {
    let n_faults: usize = showing.machines.iter().map(|machine| machine.open_faults.len()).sum();
    let n_due: usize = showing.machines.iter().map(|machine| machine.due.len()).sum();
    let n_before: usize = showing.machines.iter().map(TonightMachine::n_before_left).sum();
    let blocked: Vec<&str> =
        showing.machines.iter().filter(|machine| !machine.may_run).map(TonightMachine::name).collect();
    let mut said = vec![opening(showing)];
    if !blocked.is_empty() {
        said.push(format!("{} may not be used: find another machine.", words::listed(&blocked)));
    }
    if n_due > 0 {
        said.push(format!("{} due before it.", is_or_are(n_due, "care task")));
    }
    let n_technician = showing
        .machines
        .iter()
        .flat_map(|machine| &machine.due)
        .filter(|item| item.task.who == Hand::Technician);
    match n_technician.count() {
        0 => {}
        1 => said.push("1 of them wants a technician.".to_owned()),
        n => said.push(format!("{n} of them want a technician.")),
    }
    if n_before > 0 {
        let checks = words::many(n_before, "check");
        said.push(format!(
            "{checks} before the showing {} still to do.",
            if n_before == 1 { "is" } else { "are" }
        ));
    }
    if showing.minutes_of_care > 0.0 {
        let minutes = words::minutes(showing.minutes_of_care.ceil() as i64);
        let too_much = (0..showing.minutes_of_care.ceil() as i64).contains(&showing.minutes_till_doors);
        let fits = if too_much { ", more than there is time for before the doors" } else { "" };
        said.push(format!("That is {minutes} of care{fits}."));
    }
    if n_faults > 0 {
        said.push(format!("{} open.", is_or_are(n_faults, "fault")));
    }
    let n_attention: usize = showing.machines.iter().map(|machine| machine.attention.len()).sum();
    if n_attention > 0 {
        let things = words::many(n_attention, "part");
        said.push(format!("{things} found to want attention and not settled yet."));
    }
    said.extend(headings_sentence(showing));
    said.join(" ")
}

/// Which readings may pass their limit by the end of a showing.
fn headings_sentence(showing: &TonightShowing<'_>) -> Option<String> {
    let named = |machine: &TonightMachine<'_>| -> Vec<String> {
        let name =
            |heading: &Heading<'_>| format!("{} ({})", heading.name.to_lowercase(), machine.machine.name);
        machine.headings.iter().map(name).collect()
    };
    let all: Vec<String> = showing.machines.iter().flat_map(named).collect();
    let names: Vec<&str> = all.iter().map(String::as_str).collect();
    (!names.is_empty()).then(|| format!("May pass its limit by then: {}.", names.join("; ")))
}

/// Adds up the care without a record, of each machine of this evening once; without a showing this evening, of the week.
fn n_no_record(tonight: &Tonight<'_>) -> usize {
    let showings = if tonight.this_evening.is_empty() { &tonight.next_days } else { &tonight.this_evening };
    let mut seen: FxHashSet<&MachineId> = FxHashSet::default();
    let machines = showings.iter().flat_map(|showing| &showing.machines);
    machines.filter(|machine| seen.insert(machine.id)).map(|machine| machine.n_no_record).sum()
}

/// Says how much care was never written down, so that nobody takes what is not known for up to date.
fn no_record(tonight: &Tonight<'_>) -> Option<String> {
    let n = tonight.n_no_record;
    let has = if n == 1 { "has" } else { "have" };
    let when = if tonight.this_evening.is_empty() { "the coming days" } else { "this evening" };
    let tasks = words::many(n, "care task");
    (n > 0).then(|| format!("{tasks} of the machines of {when} {has} no record yet."))
}

fn is_or_are(n: usize, thing: &str) -> String {
    format!("{} {}", words::many(n, thing), if n == 1 { "is" } else { "are" })
}

fn opening(showing: &TonightShowing<'_>) -> String {
    let names: Vec<&str> = showing.machines.iter().map(TonightMachine::name).collect();
    let on = if names.is_empty() { String::new() } else { format!(" on {}", words::listed(&names)) };
    let at = showing.showing.starts.strftime("%H:%M");
    format!("{} at {at}{on}.", showing.showing.title)
}

/// How the evening stands.
fn sentence(tonight: &Tonight<'_>) -> String {
    let Some(first) = tonight.this_evening.first() else { return no_showing(tonight) };
    let mut said =
        vec![if first.minutes_till_start < 0 { "Now running:" } else { "This evening:" }.to_owned()];
    said.push(first.sentence.clone());
    if first.minutes_till_doors > 0 {
        said.push(format!("The doors open in {}.", words::minutes(first.minutes_till_doors)));
    } else if first.minutes_till_start >= 0 {
        said.push(format!("It starts in {}.", words::minutes(first.minutes_till_start)));
    }
    if let n @ 1.. = tonight.this_evening.len() - 1 {
        said.push(format!("After it {} this evening.", words::many(n, "more showing")));
    }
    said.extend(no_record(tonight));
    said.join(" ")
}

fn no_showing(tonight: &Tonight<'_>) -> String {
    let next = tonight.next_days.first().map(|showing| (showing.id, showing.showing)).or(tonight.after_that);
    let Some((_, showing)) = next else {
        return "No showing this evening, and none in the diary.".to_owned();
    };
    let starts = showing.starts.strftime("%A %-d %B at %H:%M");
    let next = format!("No showing this evening. The next is {} on {starts}.", showing.title);
    no_record(tonight).map_or_else(|| next.clone(), |unwritten| format!("{next} {unwritten}"))
}
