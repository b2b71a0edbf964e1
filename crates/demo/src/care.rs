//! Care: bench days by the clocks, walks before and after showings, and what was forgotten or put off.

use crate::diary::{Calendar, Outing};
use crate::dice::{Dice, Stream, rounded};
use crate::events::Event;
use crate::fleet::kind_of;
use crate::parts::Change;
use crate::pen::{Hand, Pen, minutes_after};
use crate::runs::Odometer;
use crate::setting::{Bird, KEEPER, TECHNICIAN};
use jiff::civil::DateTime;
use logbook::EntryId;
use logbook::fact::{CareDeferred, CareDone, Outcome};
use machine::{CareKind, CareTask, Clock, Library, MachineType, Trigger};

/// The share of care that nobody wrote down.
pub(crate) const MISSING: f64 = 0.12;
/// Days between two bench days of a machine.
const BENCH_DAYS: i32 = 7;
/// The technician does early whatever has used this share of its interval: the next visit is half a year off.
const EARLY: f64 = 0.45;

/// The bigger task that the keeper does early on Dunlin while the machine is open for its lamp holder.
const EARLY_SHAFTS: &str = crate::names::task::ROLLER_SHAFTS;

/// One deed at one machine.
pub(crate) struct Deed<'a> {
    pub(crate) bird: Bird,
    pub(crate) task: &'a CareTask,
    pub(crate) at: DateTime,
    pub(crate) by: &'static str,
    /// Tasks that count as done with it.
    pub(crate) includes: Vec<&'a str>,
    /// The walk it belongs to.
    pub(crate) walk: String,
}

/// Care that was put off.
pub(crate) struct PutOff<'a> {
    pub(crate) bird: Bird,
    pub(crate) task: &'a CareTask,
    pub(crate) at: DateTime,
    pub(crate) days: i32,
    pub(crate) why: &'static str,
}

/// Everything that was done and put off.
pub(crate) struct Book<'a> {
    pub(crate) deeds: Vec<Deed<'a>>,
    pub(crate) put_off: Vec<PutOff<'a>>,
}

/// All care of the log.
pub(crate) fn keep<'a>(
    library: &'a Library,
    odometer: &Odometer<'_>,
    outings: &[Outing],
    events: &[Event],
    changes: &[Change],
    seed: u64,
) -> Book<'a> {
    let mut keeper = Keeper {
        library,
        odometer,
        calendar: odometer.calendar,
        dice: Dice::new(seed, Stream::Care),
        book: Book { deeds: Vec::new(), put_off: Vec::new() },
    };
    for bird in Bird::ALL {
        keeper.by_the_clocks(bird);
    }
    for outing in outings.iter().filter(|outing| outing.held()) {
        for (bird, _) in &outing.on {
            keeper.round_a_showing(outing, *bird);
        }
    }
    for event in events {
        keeper.answer(event);
    }
    for bird in Bird::ALL {
        keeper.once_after_fitting(bird, changes);
    }
    keeper.wait_for_the_parcel();
    keeper.book
}

struct Keeper<'a, 'b> {
    library: &'a Library,
    odometer: &'b Odometer<'b>,
    calendar: &'b Calendar,
    dice: Dice,
    book: Book<'a>,
}

/// When a task was last done.
#[derive(Clone, Copy)]
struct Last {
    day: i32,
    count: f64,
}

impl<'a> Keeper<'a, '_> {
    /// Walks the bench days of one machine and does what is going to be due before the next one.
    fn by_the_clocks(&mut self, bird: Bird) {
        let kind = kind_of(self.library, bird);
        let tasks: Vec<&'a CareTask> = kind.care.iter().filter(|task| is_by_the_clocks(task)).collect();
        let mut last: Vec<Option<Last>> = vec![None; tasks.len()];
        let tonight = self.due_tonight(bird, &tasks);
        for day in self.bench_days(bird) {
            let visit = self.calendar.visits(bird).contains(&day);
            let mut minute = 0;
            // A bigger task comes first, so that what it contains is not done twice.
            for n in biggest_first(&tasks) {
                let task = tasks[n];
                let on_the_eve = tonight.filter(|(eve, _)| *eve == n).map(|(_, day)| day);
                if on_the_eve.is_some_and(|eve| day > eve) || !self.is_wanted(bird, task, last[n], day, visit)
                {
                    continue;
                }
                if on_the_eve.is_none_or(|eve| day < eve) && last[n].is_some() && self.dice.chance(MISSING) {
                    self.maybe_put_off(bird, task, day);
                    continue;
                }
                let includes = contained(kind, task);
                for (m, inner) in tasks.iter().enumerate() {
                    if m == n || includes.contains(&inner.id.as_str()) {
                        last[m] = Some(self.now(bird, inner, day));
                    }
                }
                let at = minutes_after(self.calendar.date(day).at(9, 30, 0, 0), minute);
                minute += (task.minutes().min(90.0) as i64).max(2);
                let by = if task.who == machine::Hand::Technician { TECHNICIAN } else { KEEPER };
                self.book.deeds.push(Deed { bird, task, at, by, includes, walk: String::new() });
            }
        }
        if let Some((n, day)) = tonight {
            let at = self.calendar.date(day).at(16, 40, 0, 0);
            self.book.deeds.push(Deed {
                bird,
                task: tasks[n],
                at,
                by: KEEPER,
                includes: Vec::new(),
                walk: String::new(),
            });
        }
    }

    /// A bench day each week, the technician's visits, and no bench day while the machine is away or waits for parts.
    fn bench_days(&self, bird: Bird) -> Vec<i32> {
        let offset = bird as i32 + 1;
        let weekly = (0..self.calendar.days).filter(|day| day % BENCH_DAYS == offset);
        let mut days: Vec<i32> =
            weekly.chain(self.calendar.visits(bird)).filter(|day| *day < self.calendar.days).collect();
        days.retain(|day| *day >= self.calendar.visits(bird)[0]);
        if bird == Bird::Phalarope {
            let (away, idle) = (self.calendar.quarantine(), self.calendar.idle());
            days.retain(|day| !away.contains(day) && !idle.contains(day));
        }
        days.sort_unstable();
        days.dedup();
        days
    }

    fn is_wanted(&self, bird: Bird, task: &CareTask, last: Option<Last>, day: i32, visit: bool) -> bool {
        let by_technician = task.who == machine::Hand::Technician;
        if by_technician && !visit {
            return false;
        }
        let Some(last) = last else { return true };
        if task.kind == CareKind::Replace && task.includes.is_empty() {
            return false;
        }
        if bird == Bird::Dunlin && task.id.as_str() == EARLY_SHAFTS && last.day < self.calendar.new_holder() {
            return day >= self.calendar.new_holder();
        }
        let now = self.now(bird, task, day);
        let next = self.now(bird, task, (day + BENCH_DAYS).min(self.calendar.days));
        let used = |now: Last| used_share(task, last, now);
        if by_technician { used(now) > EARLY } else { used(next) > 1.0 && day > last.day }
    }

    fn now(&self, bird: Bird, task: &CareTask, day: i32) -> Last {
        let midnight = self.calendar.date(day).at(0, 0, 0, 0);
        let clock = task.every.map_or(Clock::Running, |every| every.clock);
        let count = self.odometer.before(bird, midnight, |run| match clock {
            Clock::Running => run.running(),
            Clock::Motor => run.hours,
            Clock::Lamp => run.lit(),
            Clock::Strikes => f64::from(u8::from(run.lit() > 0.0)),
        });
        Last { day, count }
    }

    fn maybe_put_off(&mut self, bird: Bird, task: &'a CareTask, day: i32) {
        if task.safety || !self.dice.chance(0.35) {
            return;
        }
        let at = self.calendar.date(day).at(17, 5, 0, 0);
        let why = self.dice.pick(&REASONS);
        self.book.put_off.push(PutOff { bird, task, at, days: 14, why });
    }

    /// On two machines one task was last done just so long ago that it falls due tonight.
    fn due_tonight(&self, bird: Bird, tasks: &[&CareTask]) -> Option<(usize, i32)> {
        let wanted = match bird {
            Bird::Turnstone => 60,
            Bird::Dunlin => 90,
            _ => return None,
        };
        let by_hand = |task: &CareTask| {
            let hours = task.every.and_then(|every| every.hours).is_some();
            let days = task.every.and_then(|every| every.days).is_some_and(|days| days == wanted);
            hours && days && task.who == machine::Hand::Operator && !task.safety && task.includes.is_empty()
        };
        let n = tasks.iter().position(|task| by_hand(task))?;
        let today = self.now(bird, tasks[n], self.calendar.days);
        let day = (0..self.calendar.days).rev().find(|day| {
            // What tonight's showing adds is about an hour and a quarter on each of the two.
            let tonight = Last { day: today.day, count: today.count + 1.2 };
            used_share(tasks[n], self.now(bird, tasks[n], *day), tonight) >= 1.0
        })?;
        Some((n, day))
    }

    /// The walk before a showing, the look at the reels, and the walk after it.
    fn round_a_showing(&mut self, outing: &Outing, bird: Bird) {
        let kind = kind_of(self.library, bird);
        let before = outing.minute(-100);
        self.walk(kind, bird, outing, Trigger::BeforeShowing, before);
        self.walk(kind, bird, outing, Trigger::EveryReel, minutes_after(outing.starts, -12));
        self.walk(kind, bird, outing, Trigger::AfterShowing, minutes_after(outing.ends(), 15));
    }

    /// What an event calls for is done within the hour or so by whoever may, or at the next bench day.
    fn answer(&mut self, event: &Event) {
        let kind = kind_of(self.library, event.bird);
        let mut minutes = 5.0;
        for task in kind.walk_tasks(event.trigger) {
            let by_technician = task.who == machine::Hand::Technician;
            if by_technician && event.by != TECHNICIAN {
                continue;
            }
            minutes += task.minutes().min(30.0);
            let put_behind = !by_technician && self.dice.chance(MISSING);
            let days = if put_behind { self.dice.whole(3, 7) * 24 * 60 } else { 0 };
            let at = minutes_after(event.at, minutes as i64 + days);
            if at.date() < self.calendar.today {
                let (bird, by) = (event.bird, event.by);
                self.book.deeds.push(Deed { bird, task, at, by, includes: Vec::new(), walk: String::new() });
            }
        }
    }

    /// A new part is looked at once, some hours after it went in.
    fn once_after_fitting(&mut self, bird: Bird, changes: &[Change]) {
        let kind = kind_of(self.library, bird);
        for task in &kind.care {
            let Some(once) = &task.once_after_fitting else { continue };
            let own =
                changes.iter().filter(|change| change.bird == bird && change.slot == once.slot.as_str());
            let fitted = own.map(|change| self.calendar.day(change.at.date()));
            for fitted in std::iter::once(0).chain(fitted).collect::<Vec<_>>() {
                let (then, hours) = (self.now(bird, task, fitted).count, once.hours.hours());
                let ripe = |day: &i32| *day > fitted && self.now(bird, task, *day).count - then >= hours;
                if let Some(day) = self.bench_days(bird).into_iter().find(ripe) {
                    let at = self.calendar.date(day).at(15, 30, 0, 0);
                    self.book.deeds.push(Deed {
                        bird,
                        task,
                        at,
                        by: KEEPER,
                        includes: Vec::new(),
                        walk: String::new(),
                    });
                }
            }
        }
    }

    /// The one deferral that stands tonight: there is no exciter lamp to fit.
    fn wait_for_the_parcel(&mut self) {
        let bird = Bird::Dunlin;
        let Some(task) = kind_of(self.library, bird).task(crate::names::task::EXCITER_CHANGE) else { return };
        let at = self.calendar.date(self.calendar.days - 1).at(16, 40, 0, 0);
        self.book.put_off.push(PutOff {
            bird,
            task,
            at,
            days: 19,
            why: "No exciter lamp left; three are on the boat.",
        });
    }

    fn walk(&mut self, kind: &'a MachineType, bird: Bird, outing: &Outing, event: Trigger, from: DateTime) {
        let walk = format!("{}-{}-{event}", bird.id(), outing.starts.date());
        let mut minutes = 0.0;
        for task in kind.walk_tasks(event) {
            if self.dice.chance(MISSING) || task.who == machine::Hand::Technician {
                continue;
            }
            minutes += task.minutes().min(4.0);
            let at = minutes_after(from, minutes as i64);
            self.book.deeds.push(Deed {
                bird,
                task,
                at,
                by: outing.operator,
                includes: Vec::new(),
                walk: walk.clone(),
            });
        }
    }
}

/// Care that the clocks call for. Fitting single new parts is done once, in the overhaul: later ones are the parts'
/// own stories.
fn is_by_the_clocks(task: &CareTask) -> bool {
    task.every.is_some()
}

/// Everything the task contains, also by way of a smaller task.
fn contained<'a>(kind: &'a MachineType, task: &'a CareTask) -> Vec<&'a str> {
    let mut all: Vec<&str> = Vec::new();
    let mut open: Vec<&CareTask> = vec![task];
    while let Some(outer) = open.pop() {
        for inner in outer.includes.iter().filter_map(|id| kind.task(id)) {
            if !all.contains(&inner.id.as_str()) {
                all.push(inner.id.as_str());
                open.push(inner);
            }
        }
    }
    all
}

fn biggest_first(tasks: &[&CareTask]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..tasks.len()).collect();
    order.sort_by_key(|n| std::cmp::Reverse(tasks[*n].includes.len()));
    order
}

/// The share of the interval that is used up, by the clock that is further on.
fn used_share(task: &CareTask, last: Last, now: Last) -> f64 {
    let Some(every) = task.every else { return 0.0 };
    let counted = every.hours.map(units::Hours::hours).or(every.strikes.map(f64::from));
    let by_count = counted.map_or(0.0, |count| (now.count - last.count) / count);
    let by_days = every.days.map_or(0.0, |days| f64::from(now.day - last.day) / f64::from(days));
    by_count.max(by_days)
}

/// What the keeper and the others scribbled beside a tick.
const SCRIBBLES: [&str; 7] = [
    "smells warm",
    "a hair in the corner, gone",
    "likes a two-finger loop",
    "stiff when cold",
    "swab came off grey",
    "salt on the case again",
    "listened twice, nothing",
];

/// Why care was put off.
const REASONS: [&str; 4] = [
    "Boat left early.",
    "Test film is with the school.",
    "Oil did not come with the parcel.",
    "Hands full with the Barn.",
];

/// Writes every deed and every deferral.
pub(crate) fn write(pen: &mut Pen, book: &Book<'_>, seed: u64) -> Vec<EntryId> {
    let mut dice = Dice::new(!seed, Stream::Care);
    for put_off in &book.put_off {
        let until = crate::pen::days_after(put_off.at.date(), put_off.days);
        let fact = CareDeferred {
            machine: put_off.bird.id().into(),
            task: put_off.task.id.as_str().into(),
            slot: None,
            why: put_off.why.to_owned(),
            until_hours_run: None,
            until_date: Some(until),
        };
        pen.write(put_off.at, Hand::laptop(KEEPER), fact);
    }
    book.deeds.iter().map(|deed| pen.write(deed.at, hand(deed, &mut dice), done(deed, &mut dice))).collect()
}

fn hand(deed: &Deed<'_>, dice: &mut Dice) -> Hand {
    let hand = Hand::phone(deed.by);
    // Ticks are made at the machine; now and then the phone was in the other coat.
    if dice.chance(0.04) { hand.later(dice.whole(9, 15) * 3600) } else { hand.later(dice.whole(5, 90)) }
}

fn done(deed: &Deed<'_>, dice: &mut Dice) -> CareDone {
    let looked = matches!(deed.task.kind, CareKind::Look | CareKind::Test);
    let (outcome, note) = match () {
        () if dice.chance(0.012) => (Outcome::Attention, "not quite right, watch it"),
        () if dice.chance(0.04) => {
            (if looked { Outcome::Fine } else { Outcome::Done }, *dice.pick(&SCRIBBLES))
        }
        () if looked => (Outcome::Fine, ""),
        () => (Outcome::Done, ""),
    };
    let minutes = deed.task.minutes() * dice.between(0.8, 1.6);
    CareDone {
        machine: deed.bird.id().into(),
        task: deed.task.id.as_str().into(),
        slot: None,
        outcome,
        note: note.to_owned(),
        minutes: (minutes >= 2.0).then(|| rounded(minutes, 0)),
        includes: deed.includes.iter().map(|task| (*task).into()).collect(),
        used: Vec::new(),
        photos: Vec::new(),
        walk: deed.walk.clone(),
    }
}
