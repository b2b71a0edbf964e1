//! One line of the list of what is due.

use crate::{
    answer::{COMMON_PRACTICE, Caveat, CaveatKind, Ground},
    day::Day,
};
use jiff::civil;
use logbook::{
    EntryId, MachineId, PersonId, ShowingId, When,
    booth::{CareRecord, Deferral, Stint},
};
use machine::{CareTask, Clock, MachineType, Part, SlotId, Trigger};
use serde::Serialize;
use units::Hours;

/// Where a care task stands, the most pressing first.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DueState {
    /// Past its limit and past the grace that such care has.
    Overdue,
    /// At its limit, or called for by an event.
    Due,
    /// Within a tenth of its hours or within a week of its day.
    Soon,
    /// Not at its limit, but there is no record that it was ever done: counted from entry.
    NoRecord,
    /// Put off for a reason, and the limit of that is not reached.
    Deferred,
    /// Not at its limit, with a record of when it was last done.
    Ok,
}

impl DueState {
    /// Every state, the most pressing first.
    pub const ALL: &'static [Self] =
        &[Self::Overdue, Self::Due, Self::Soon, Self::NoRecord, Self::Deferred, Self::Ok];

    /// The word that JSON, class names and commands use.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Overdue => "overdue",
            Self::Due => "due",
            Self::Soon => "soon",
            Self::NoRecord => "no-record",
            Self::Deferred => "deferred",
            Self::Ok => "ok",
        }
    }

    /// True for care that should be done before the machine runs again.
    pub const fn is_due(self) -> bool {
        matches!(self, Self::Overdue | Self::Due)
    }
}

impl std::fmt::Display for DueState {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

/// From where an interval is counted.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Since<'a> {
    /// From when it was last done.
    Done(&'a CareRecord),
    /// From when the part that it is about was fitted.
    Fitted(&'a Stint),
    /// From when the machine entered the logbook: there is no record of it.
    Entered(&'a (When, EntryId)),
}

/// When a task was last done.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LastDone<'a> {
    /// When.
    pub at: When,
    /// The entry.
    pub entry: EntryId,
    /// Who; none where it is known from the fitting of a part.
    pub by: Option<&'a PersonId>,
    /// The bigger task it was part of.
    pub within: Option<&'a str>,
}

/// A care task of one machine and when it falls due. Small and borrowed: a big booth has hundreds of thousands.
#[derive(Clone, Copy)]
pub struct DueItem<'a> {
    /// The machine.
    pub machine: &'a MachineId,
    /// Its type.
    pub kind: &'a MachineType,
    /// The care task.
    pub task: &'a CareTask,
    /// From where the interval is counted.
    pub since: Since<'a>,
    /// The deferral that stands on it, in force or not.
    pub deferral: Option<&'a Deferral>,
    /// The planned showing in or before which it falls due; none: past the end of the diary, or never.
    pub forecast_showing: Option<&'a ShowingId>,
    /// The event that calls for it, if one does.
    pub called_by: Option<Trigger>,
    /// Where it stands.
    pub state: DueState,
    /// The counter behind its hours or strikes.
    pub clock: Clock,
    pub(crate) today: Day,
    pub(crate) remaining: f64,
    pub(crate) remaining_days: i32,
    pub(crate) forecast_day: i32,
    pub(crate) inside: u16,
    pub(crate) age_unknown: bool,
}

/// No figure.
pub(crate) const NO_DAYS: i32 = i32::MIN;
/// Not done inside a bigger task that only the type knows of.
pub(crate) const NOT_INSIDE: u16 = u16::MAX;

impl<'a> DueItem<'a> {
    /// The slot at which the task stands.
    pub fn slot(&self) -> Option<&'a SlotId> {
        self.task.stands_at()
    }

    /// The part at which the task stands.
    pub fn part(&self) -> Option<&'a Part> {
        self.kind.part(self.slot()?.as_str())
    }

    /// True for a technician's test on which safety hangs and that is overdue: until it is done, nobody can say that
    /// the machine is safe to switch on.
    pub fn is_untested(&self) -> bool {
        let test = matches!(self.task.kind, machine::CareKind::Test | machine::CareKind::Measure);
        self.state == DueState::Overdue
            && self.task.safety
            && test
            && self.task.who == machine::Hand::Technician
    }

    /// True where the interval is counted against an age that nobody knows: of a part to renew that came with the
    /// machine, or one whose age was unknown when it was fitted. What is left is then the most it can be.
    pub fn is_of_unknown_age(&self) -> bool {
        let entered = matches!(self.since, Since::Entered(_)) && !self.remaining.is_nan();
        self.age_unknown || entered && self.task.kind == machine::CareKind::Replace
    }

    /// Hours on its clock until it is due; negative once it is past. None: it is not counted in hours.
    pub fn remaining_hours(&self) -> Option<Hours> {
        let counted_in_hours = self.clock != Clock::Strikes && !self.remaining.is_nan();
        counted_in_hours.then(|| Hours::new(self.remaining))
    }

    /// Strikes of the lamp until it is due; negative once it is past. None: it is not counted in strikes.
    pub fn remaining_strikes(&self) -> Option<i64> {
        let counted_in_strikes = self.clock == Clock::Strikes && !self.remaining.is_nan();
        counted_in_strikes.then_some(self.remaining as i64)
    }

    /// Days until it is due; negative once it is past. None: it is not counted in days.
    pub fn remaining_days(&self) -> Option<i32> {
        (self.remaining_days != NO_DAYS).then_some(self.remaining_days)
    }

    /// The day on which it falls due: today if it is due already. None: at the present use, never.
    pub fn forecast_date(&self) -> Option<civil::Date> {
        self.forecast_in_days().map(|days| self.today.plus(days).date())
    }

    /// Days from today to the day on which it falls due; 0 if it is due already.
    pub fn forecast_in_days(&self) -> Option<i32> {
        (self.forecast_day != NO_DAYS).then_some(self.forecast_day)
    }

    /// When it was last done, if there is a record; for the renewal of a part, when the part was fitted.
    pub fn last_done(&self) -> Option<LastDone<'a>> {
        let record = match self.since {
            Since::Done(record) => record,
            Since::Fitted(stint) => {
                return Some(LastDone { at: stint.fitted, entry: stint.entry, by: None, within: None });
            }
            Since::Entered(_) => return None,
        };
        let by_type = self.kind.care.get(usize::from(self.inside)).map(|bigger| bigger.id.as_str());
        let within = by_type.or(record.within.as_ref().map(logbook::ids::TaskId::as_str));
        Some(LastDone { at: record.at, entry: record.entry, by: Some(&record.by), within })
    }

    /// Other care of the type for which the machine lies open in the same way: same part of it, same preparation.
    pub fn shared_with(&self) -> impl Iterator<Item = &'a CareTask> {
        let (kind, task) = (self.kind, self.task);
        let group = group_of(kind, task);
        kind.care
            .iter()
            .filter(move |other| other.id != task.id && other.state == task.state)
            .filter(move |other| group_of(kind, other) == group)
    }

    /// What the line rests on.
    pub fn because(&self) -> Vec<Ground> {
        let mut because = vec![self.since_ground(), self.interval_ground()];
        if let Some(deferral) = self.deferral {
            because.push(Ground::Entry {
                entry: deferral.entry,
                words: format!("put off: {}", deferral.why).into(),
            });
        }
        if matches!(self.state, DueState::Overdue | DueState::Soon) {
            because.push(super::GRACE);
        }
        because
    }

    fn since_ground(&self) -> Ground {
        let (entry, words) = match self.since {
            Since::Done(record) => (record.entry, format!("last done on {}", record.at.date())),
            Since::Fitted(stint) => (stint.entry, format!("part fitted on {}", stint.fitted.date())),
            Since::Entered((at, entry)) => (*entry, format!("counted from entry on {}", at.date())),
        };
        Ground::Entry { entry, words: words.into() }
    }

    fn interval_ground(&self) -> Ground {
        let source = self.kind.source(self.task.source.as_str()).map_or("", |source| &source.words);
        Ground::TypeFile {
            machine_type: self.kind.id.to_string(),
            line: self.task.id.to_string(),
            words: format!("{} ({source})", self.interval_in_words()),
        }
    }

    /// How often the task wants doing, in words: `every 100 h or 60 days`.
    pub fn interval_in_words(&self) -> String {
        interval_in_words(self.task)
    }

    /// What to bear in mind with this line.
    pub fn caveats(&self) -> Vec<Caveat> {
        let mut caveats = Vec::new();
        if matches!(self.since, Since::Entered(_)) {
            let words = "There is no record that it was ever done; counted from the day the machine entered.";
            caveats.push(Caveat::new(CaveatKind::NoRecord, words));
        }
        if self.age_unknown {
            let words = "How old the part was when it entered is unknown: its age is the least it can be.";
            caveats.push(Caveat::new(CaveatKind::UnknownAge, words));
        }
        if self.deferral.is_some() && self.state != DueState::Deferred {
            let words = if self.task.safety {
                "It was put off, but safety hangs on it: a deferral does not hold."
            } else {
                "It was put off, and the limit of that is reached."
            };
            caveats.push(Caveat::new(CaveatKind::DeferralNotHeld, words));
        }
        caveats
    }
}

fn group_of<'a>(kind: &'a MachineType, task: &'a CareTask) -> Option<machine::PartGroup> {
    Some(kind.part(task.stands_at()?.as_str())?.group)
}

/// How often a task wants doing, in words: `every 100 h or 60 days, after a transport`.
pub fn interval_in_words(task: &CareTask) -> String {
    let mut said = Vec::new();
    if let Some(every) = task.every {
        let counter = match every.clock {
            Clock::Running => "h",
            Clock::Motor => "motor h",
            Clock::Lamp => "lamp h",
            Clock::Strikes => "strikes",
        };
        let amount = every.strikes.map(f64::from).or(every.hours.map(Hours::hours));
        let by_clock = amount.map(|amount| format!("{amount} {counter}"));
        let by_days = every.days.map(|days| format!("{days} days"));
        let both: Vec<String> = by_clock.into_iter().chain(by_days).collect();
        said.push(format!("every {}", both.join(" or ")));
    }
    if let Some(once) = &task.once_after_fitting {
        said.push(format!("once {} h after the {} was fitted", once.hours.hours(), once.slot));
    }
    said.extend(task.triggers.iter().map(|trigger| trigger.in_words()));
    said.join(", ")
}

/// A line a person can read in a failing test; the whole machine type would drown it.
impl std::fmt::Debug for DueItem<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}: {}", self.machine, self.task.id, self.state)?;
        if let Some(hours) = self.remaining_hours() {
            write!(f, ", {hours:.1} left")?;
        }
        if let Some(days) = self.remaining_days() {
            write!(f, ", {days} days left")?;
        }
        write!(f, ", on {:?} in {:?}", self.forecast_date(), self.forecast_showing)
    }
}

/// The stable form for scripts: one object for each line, units in the keys, grounds and caveats with it.
impl Serialize for DueItem<'_> {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        Line::of(self).serialize(to)
    }
}

#[derive(Serialize)]
struct Line<'a> {
    machine: &'a MachineId,
    task: &'a machine::TaskId,
    task_name: &'a str,
    part: Option<&'a SlotId>,
    last_done: Option<String>,
    last_done_entry: Option<EntryId>,
    last_done_by: Option<&'a PersonId>,
    last_done_within: Option<&'a str>,
    clock: Clock,
    remaining_hours: Option<f64>,
    remaining_strikes: Option<i64>,
    remaining_days: Option<i32>,
    due_in_days: Option<i32>,
    forecast_date: Option<String>,
    forecast_showing: Option<&'a ShowingId>,
    state: DueState,
    called_by: Option<Trigger>,
    safety: bool,
    minutes: f64,
    shared_with: Vec<&'a machine::TaskId>,
    because: Vec<Ground>,
    caveats: Vec<Caveat>,
}

impl<'a> Line<'a> {
    fn of(item: &DueItem<'a>) -> Self {
        let last = item.last_done();
        Self {
            machine: item.machine,
            task: &item.task.id,
            task_name: &item.task.name,
            part: item.slot(),
            last_done: last.map(|last| last.at.date().to_string()),
            last_done_entry: last.map(|last| last.entry),
            last_done_by: last.and_then(|last| last.by),
            last_done_within: last.and_then(|last| last.within),
            clock: item.clock,
            remaining_hours: item.remaining_hours().map(Hours::hours),
            remaining_strikes: item.remaining_strikes(),
            remaining_days: item.remaining_days(),
            due_in_days: item.forecast_in_days(),
            forecast_date: item.forecast_date().map(|date| date.to_string()),
            forecast_showing: item.forecast_showing,
            state: item.state,
            called_by: item.called_by,
            safety: item.task.safety,
            minutes: item.task.minutes(),
            shared_with: item.shared_with().map(|other| &other.id).collect(),
            because: item.because(),
            caveats: item.caveats(),
        }
    }
}

/// The rule of grace, as a ground.
pub(crate) const GRACE_WORDS: &str = "care is soon due within 10 % of its hours or 7 days of its day, and overdue \
     10 % or 7 days past it; what safety hangs on has no grace";

/// The source of the rule of grace.
pub(crate) const GRACE_SOURCE: &str = COMMON_PRACTICE;
