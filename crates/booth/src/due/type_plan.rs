//! What can be worked out once for a machine type, so that ten thousand machines of it need not ask again.

use crate::join;
use logbook::ids::SlotId;
use machine::{CareKind, CareTask, Clock, LifeClock, MachineType, Trigger};

/// A machine type made ready for counting.
pub(crate) struct TypePlan<'a> {
    pub kind: &'a MachineType,
    /// In the order of the type's care.
    pub tasks: Vec<TaskPlan<'a>>,
    /// Slots of the projection lamp, with the age under which a death counts as early.
    pub lamps: Vec<(SlotId, Option<f64>)>,
    /// Idle times that some task answers to, in days, rising.
    pub idle_days: Vec<u32>,
    /// Some task answers to a lamp that died early.
    pub asks_for_early_deaths: bool,
}

/// A care task made ready for counting.
pub(crate) struct TaskPlan<'a> {
    pub task: &'a CareTask,
    /// Tasks that contain this one, directly or by way of others, by their place in the list.
    pub bigger: Vec<u16>,
    /// Events that call for it, other than reels and showings.
    pub events: Vec<Trigger>,
    /// The slot whose part it renews, for a task that fits another part.
    pub renews: Option<SlotId>,
    /// The slot whose part it follows once, and after how many hours.
    pub once: Option<(SlotId, f64)>,
    pub clock: Clock,
    /// Hours or strikes from one time to the next.
    pub amount: Option<f64>,
    pub days: Option<i32>,
    /// It has a day or an hour or an event at all; what belongs to showings only is left to the walk.
    pub listed: bool,
    /// It belongs before every showing.
    pub before_showing: bool,
}

impl<'a> TypePlan<'a> {
    pub fn new(kind: &'a MachineType) -> Self {
        let tasks: Vec<TaskPlan<'a>> = kind.care.iter().map(|task| TaskPlan::new(kind, task)).collect();
        let triggers = || kind.care.iter().flat_map(|task| &task.triggers);
        let mut idle_days: Vec<u32> = triggers()
            .filter_map(|trigger| if let Trigger::IdleDays(days) = trigger { Some(*days) } else { None })
            .collect();
        idle_days.sort_unstable();
        idle_days.dedup();
        let lamps = join::lamp_slots(kind)
            .map(|slot| (join::logbook_slot(slot), early_death_hours(kind, slot.as_str())))
            .collect();
        let asks_for_early_deaths = triggers().any(|trigger| *trigger == Trigger::LampDiedEarly);
        Self { kind, tasks, lamps, idle_days, asks_for_early_deaths }
    }
}

/// Half of the shortest life that the type gives for a lamp, in hours: which of several lamps it was, nobody says.
fn early_death_hours(kind: &MachineType, slot: &str) -> Option<f64> {
    kind.lives_of(slot)
        .filter(|life| matches!(life.clock, LifeClock::LampHours | LifeClock::Hours))
        .map(|life| life.scale / 2.0)
        .min_by(f64::total_cmp)
}

impl<'a> TaskPlan<'a> {
    fn new(kind: &'a MachineType, task: &'a CareTask) -> Self {
        let events: Vec<Trigger> =
            task.triggers.iter().copied().filter(|t| !belongs_to_showings(*t)).collect();
        let renews =
            (task.kind == CareKind::Replace).then(|| task.stands_at().map(join::logbook_slot)).flatten();
        let once = task.once_after_fitting.as_ref().map(|o| (join::logbook_slot(&o.slot), o.hours.hours()));
        let amount = task
            .every
            .and_then(|every| every.strikes.map(f64::from).or(every.hours.map(units::Hours::hours)));
        let days = task.every.and_then(|every| every.days).and_then(|days| i32::try_from(days).ok());
        let clock = task.every.map_or(Clock::Running, |every| every.clock);
        let before_showing = task.answers(Trigger::BeforeShowing);
        let listed = task.every.is_some() || once.is_some() || !events.is_empty();
        Self {
            task,
            bigger: bigger_tasks(kind, task),
            events,
            renews,
            once,
            clock,
            amount,
            days,
            listed,
            before_showing,
        }
    }
}

/// True for what is not a matter of days: it comes with each reel or showing.
pub(crate) fn belongs_to_showings(trigger: Trigger) -> bool {
    matches!(trigger, Trigger::EveryReel | Trigger::BeforeShowing | Trigger::AfterShowing)
}

/// Finds every task that contains this one; a circle of inclusions ends where it began.
fn bigger_tasks(kind: &MachineType, task: &CareTask) -> Vec<u16> {
    let mut bigger: Vec<u16> = Vec::new();
    let mut wanted = vec![&task.id];
    while let Some(id) = wanted.pop() {
        for (place, other) in kind.care.iter().enumerate() {
            let Ok(place) = u16::try_from(place) else { break };
            if other.id != task.id && other.includes.contains(id) && !bigger.contains(&place) {
                bigger.push(place);
                wanted.push(&other.id);
            }
        }
    }
    bigger
}
