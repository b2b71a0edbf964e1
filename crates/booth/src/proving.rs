//! From machine types to booths that can be played in the proving ground.

use ::lives::Life;
use machine::{CareKind, CareTask, Hand, LifeClock, MachineType, PriorLife, Spare, Stops};
use prove::{Care, Clock, Interval, Kind, Mode, Part, Scenario};

/// What a part without a spare in its type costs, and how long it takes to come (our choice, no source).
const UNLISTED_CREDITS: f64 = 50.0;
const UNLISTED_LEAD_DAYS: f64 = 30.0;
/// A service renews what would hardly live to the next one: a part is taken out by the last service before this share
/// of its like have failed (our choice, no source; a tenth is the usual rating life of bearings, ISO 281).
const SERVICE_SHARE: f64 = 0.1;
const DAYS_IN_A_YEAR: f64 = 365.0;

/// Booths with machines of these types, run by the usual customs.
///
/// A part stands in it for each piece of a slot whose end stops a showing. Alternatives that a machine's settings would
/// have to name are left out, and lives by the number of times a control is worked, which no logbook counts.
pub fn scenario<'t>(kinds: impl IntoIterator<Item = &'t MachineType>) -> Scenario {
    Scenario::usual(kinds.into_iter().map(kind).filter(|kind| !kind.parts.is_empty()).collect())
}

/// One type as the proving ground knows it.
pub fn kind(kind: &MachineType) -> Kind {
    let cares: Vec<&CareTask> = kind.care.iter().filter(|task| keeps_fit(task)).collect();
    let mut parts: Vec<(&PriorLife, Part)> = Vec::new();
    for life in kind.lives.iter().filter(|life| !life.alternative) {
        let (Some(clock), Some(loss)) = (clock(life.clock), life.loss.as_ref()) else { continue };
        if loss.stops == Stops::Nothing {
            continue;
        }
        let mode = Mode { clock, shape: life.shape, scale: life.scale };
        let same = |known: &&mut (&PriorLife, Part)| {
            known.0.slot == life.slot && known.0.variant == life.variant && known.0.clock != life.clock
        };
        if let Some((_, part)) = parts.iter_mut().find(same) {
            part.modes.push(mode);
            continue;
        }
        let spare = spare_for(kind, life);
        let touches = |task: &&CareTask| task.parts.contains(&life.slot);
        let part = Part {
            name: name(kind, life),
            modes: vec![mode],
            mend: loss.minutes.map(|minutes| units::Seconds::new(minutes * 60.0)),
            takes_spare: loss.spare,
            at_strike: loss.at_strike,
            bench_minutes: loss.bench_minutes,
            credits: spare.map_or(UNLISTED_CREDITS, |spare| spare.cost.credits),
            lead_days: spare.map_or(UNLISTED_LEAD_DAYS, |spare| f64::from(spare.lead.days)),
            carried: spare.map_or(0, |spare| spare.carry),
            interval: None,
            cares: (0..cares.len()).filter(|&at| touches(&cares[at])).collect(),
        };
        parts.push((life, part));
    }
    for (life, part) in &mut parts {
        part.interval = interval(kind, life, &part.modes);
    }
    Kind {
        name: kind.name.clone(),
        pair: kind.features.changeover,
        parts: parts.into_iter().map(|(_, part)| part).collect(),
        cares: cares.into_iter().map(care).collect(),
    }
}

fn clock(clock: LifeClock) -> Option<Clock> {
    match clock {
        LifeClock::Hours | LifeClock::LampHours => Some(Clock::Hours),
        LifeClock::Strikes | LifeClock::Showings => Some(Clock::Showings),
        LifeClock::Years => Some(Clock::Years),
        LifeClock::Operations => None,
    }
}

fn name(kind: &MachineType, life: &PriorLife) -> String {
    let part = kind.part(life.slot.as_str()).map_or(life.slot.as_str(), |part| part.name.as_str());
    if life.variant.is_empty() { part.to_owned() } else { format!("{part} ({})", life.variant) }
}

/// The spare for a piece of a slot: one whose id has the piece's first word, or else the first that fits.
fn spare_for<'t>(kind: &'t MachineType, life: &PriorLife) -> Option<&'t Spare> {
    let word = life.variant.split([' ', ',']).next().unwrap_or_default();
    let named = |spare: &&Spare| !word.is_empty() && spare.id.as_str().contains(word);
    kind.spares_for(life.slot.as_str()).find(named).or_else(|| kind.spares_for(life.slot.as_str()).next())
}

/// Cleaning and oiling by the clock, by an operator.
fn keeps_fit(task: &CareTask) -> bool {
    matches!(task.kind, CareKind::Clean | CareKind::Oil)
        && task.who != Hand::Technician
        && task.every.is_some_and(|every| every.hours.is_some() || every.days.is_some())
}

fn care(task: &CareTask) -> Care {
    Care {
        name: task.name.clone(),
        hours: task.every.and_then(|every| every.hours).map(units::Hours::hours),
        days: task.every.and_then(|every| every.days).map(f64::from),
        minutes: task.minutes(),
    }
}

/// When the handbook has a piece changed.
///
/// A task that renews and includes no other renews the part that it names first, and the others that it names unless
/// it comes far too early for them: whoever changes the oil of a gear box, or a lamp, renews neither box nor holder.
/// Without such a task the services that name the part renew it.
fn interval(kind: &MachineType, life: &PriorLife, modes: &[Mode]) -> Option<Interval> {
    let renews = |task: &&CareTask| task.kind == CareKind::Replace && task.parts.contains(&life.slot);
    let (own, services): (Vec<&CareTask>, Vec<&CareTask>) =
        kind.care.iter().filter(renews).partition(|task| task.includes.is_empty());
    let meant = |task: &&&CareTask| {
        task.stands_at() == Some(&life.slot) || every(task).is_some_and(|every| in_time(every, modes))
    };
    own.iter().filter(meant).find_map(|task| every(task)).or_else(|| {
        let services: Vec<Interval> = services.into_iter().filter_map(every).collect();
        let hours = at_service(services.iter().filter_map(|service| service.hours), modes, Clock::Hours);
        let years = at_service(services.iter().filter_map(|service| service.years), modes, Clock::Years);
        (hours.is_some() || years.is_some()).then_some(Interval { hours, years })
    })
}

fn every(task: &CareTask) -> Option<Interval> {
    let every = task.every?;
    let years = every.days.map(|days| f64::from(days) / DAYS_IN_A_YEAR);
    Some(Interval { hours: every.hours.map(units::Hours::hours), years })
}

/// The age by which a tenth of such pieces have failed on a clock; none if none of its modes goes by it.
fn rated(modes: &[Mode], clock: Clock) -> Option<f64> {
    let own = modes.iter().filter(|mode| mode.clock == clock);
    own.map(|mode| Life::Weibull { shape: mode.shape, scale: mode.scale }.quantile(SERVICE_SHARE))
        .reduce(f64::min)
}

/// True if an interval comes no sooner than at half the age by which a tenth have failed.
fn in_time(every: Interval, modes: &[Mode]) -> bool {
    let late = |every: Option<f64>, clock| {
        every.zip(rated(modes, clock)).is_some_and(|(every, rated)| every >= 0.5 * rated)
    };
    late(every.hours, Clock::Hours) || late(every.years, Clock::Years)
}

/// The last service before a tenth have failed, or the first of all if that is later.
fn at_service(services: impl Iterator<Item = f64>, modes: &[Mode], clock: Clock) -> Option<f64> {
    let rated = rated(modes, clock)?;
    let turns: Vec<f64> = services.map(|every| every * (rated / every).floor().max(1.0)).collect();
    let early = turns.iter().copied().filter(|turn| *turn <= rated).reduce(f64::max);
    early.or_else(|| turns.iter().copied().reduce(f64::min))
}
