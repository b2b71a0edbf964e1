//! Programmes, a show as it stands, and the report when it is over.

use crate::{
    address::Place,
    common,
    sheet::{Block, Sheet, Table},
    wording,
    words::{Mark, Words},
};
use booth::{
    Answer,
    show::{Next, PlannedReel, ReelCheck, ShowPlan, ShowReport, Standing},
};
use film::programme::{
    TAKE_UP_LEAST, TAKE_UP_MOST, TENSION_FORMULA, TENSION_SOURCE, Tension, TensionVerdict,
};
use jiff::{Timestamp, ZonedDateTime, civil::Date};
use logbook::Booth;
use serde_json::Value;
use std::fmt::Write;
use units::{Seconds, show};

/// A moment as the clock on the wall shows it to the second, in the zone of the showing.
pub fn clock(at_ms: i64, like: &ZonedDateTime) -> String {
    let at = Timestamp::from_millisecond(at_ms).unwrap_or(Timestamp::UNIX_EPOCH);
    at.to_zoned_datetime(like.time_zone().clone()).strftime("%H:%M:%S").to_string()
}

/// Turns milliseconds since 1970 (`began_ms`) into moments on the clock of the showing (`began`), wherever they stand.
pub fn with_moments(value: Value, like: &ZonedDateTime) -> Value {
    match value {
        Value::Array(all) => all.into_iter().map(|one| with_moments(one, like)).collect(),
        Value::Object(fields) => fields
            .into_iter()
            .map(|(key, value)| match (key.strip_suffix("_ms"), value.as_i64()) {
                (Some(name), Some(ms)) => (name.to_owned(), Value::from(moment(ms, like))),
                (Some(name), None) if value.is_null() => (name.to_owned(), Value::Null),
                _ => (key, with_moments(value, like)),
            })
            .collect::<serde_json::Map<_, _>>()
            .into(),
        plain => plain,
    }
}

fn moment(ms: i64, like: &ZonedDateTime) -> String {
    let at = Timestamp::from_millisecond(ms).unwrap_or(Timestamp::UNIX_EPOCH);
    at.display_with_offset(like.time_zone().to_offset(at)).to_string()
}

/// How far a time lies from the plan, in words.
pub fn drift(drift: Seconds) -> String {
    match drift.seconds().round() {
        near if near.abs() < 1.0 => "as planned".to_owned(),
        late if late > 0.0 => format!("{} later than planned", show::running_time(drift)),
        _ => format!("{} earlier than planned", show::running_time(drift.abs())),
    }
}

/// The plan of a programme: its reels, its machines, and whether each reel goes on.
pub fn plan(sheet: &mut Sheet, answer: &Answer<ShowPlan>, checks: &[ReelCheck]) {
    let plan = &answer.value;
    let dark = plan.lasts_seconds - plan.screen_seconds;
    let pauses =
        if dark.seconds() >= 1.0 { format!(", {} of it dark", show::span(dark)) } else { String::new() };
    sheet.lead(format!(
        "Runs {} from the first picture to the last{pauses}.",
        show::running_time(plan.lasts_seconds)
    ));
    sheet.push(Block::Table(reels(plan)));
    let machines = plan.machines.iter().map(|on| {
        let words = Words::new().link(Place::Machine(on.machine.clone()), on.name.clone());
        words.plain(format!(
            " runs {}, leaders and run-outs included.",
            show::span(on.running_hours.as_seconds())
        ))
    });
    sheet.push(Block::List(machines.collect()));
    sheet.caveats(answer.caveats.iter().map(|caveat| caveat.words.clone()));
    if !checks.is_empty() {
        sheet.heading("Take-up");
        sheet.push(Block::Table(take_up(checks)));
        sheet.push(Block::List(pulls(checks)));
    }
    let of_pull = (!checks.is_empty()).then(|| Words::from(format!("{TENSION_FORMULA} ({TENSION_SOURCE})")));
    sheet.because(answer.because.iter().map(common::ground).chain(of_pull));
}

fn reels(plan: &ShowPlan) -> Table {
    let heads = ["Reel", "#Starts", "#Runs", "On", "Then"];
    let mut table = Table::new("The reels", &heads, "There is no reel.");
    for reel in &plan.reels {
        let cells = vec![
            format!("{}. {}, reel {}", reel.place, reel.title, reel.reel).into(),
            show::running_time(reel.starts_seconds).into(),
            show::running_time(reel.picture_seconds).into(),
            Words::new().link(Place::Machine(reel.machine.clone()), reel.machine_name.clone()),
            then(reel).into(),
        ];
        table.push(cells, vec![("reel", reel.place.to_string())]);
    }
    table
}

fn then(reel: &PlannedReel) -> String {
    match reel.next {
        Next::Changeover => format!("change over: {}", reel.cues.as_deref().unwrap_or("no cue")),
        Next::Relace => format!("dark for {} while the next reel is laced", show::span(reel.pause_seconds)),
        Next::Interval => format!("a pause of {}", show::span(reel.pause_seconds)),
        Next::End => "the end".to_owned(),
    }
}

fn take_up(checks: &[ReelCheck]) -> Table {
    let heads = ["Reel", "#Length", "Smallest spool", "Goes on"];
    let mut table = Table::new("Will it go on", &heads, "There is no reel.");
    for check in checks {
        let goes_on = match (check.fits, check.fill) {
            (false, _) => {
                let parts: Vec<String> =
                    check.split_seconds.iter().map(|part| show::running_time(*part)).collect();
                Words::new()
                    .mark_as(Mark::Attention, format!("too long; split it: {}", wording::listed(&parts)))
            }
            (true, Some(fill)) => {
                format!("fills {:.0} % of a {} spool", fill * 100.0, check.taken_up_on.unwrap_or_default())
                    .into()
            }
            (true, None) => "yes".into(),
        };
        let cells = vec![
            check.place.to_string().into(),
            show::film_length(check.length_m).into(),
            check.spool.unwrap_or("none is listed").into(),
            goes_on,
        ];
        table.push(cells, vec![("reel", check.place.to_string())]);
    }
    table
}

/// What is said of a pull, and what is to be heeded in it.
type Pull = (String, Option<&'static str>);

/// How hard each reel is pulled; reels of which the same is to be said are told together.
fn pulls(checks: &[ReelCheck]) -> Vec<Words> {
    let mut told: Vec<(Vec<String>, Pull)> = Vec::new();
    for check in checks {
        let said = pull(check);
        match told.iter_mut().find(|(_, there)| *there == said) {
            Some((reels, _)) => reels.push(check.place.to_string()),
            None => told.push((vec![check.place.to_string()], said)),
        }
    }
    let line = |(reels, (words, heed)): (Vec<String>, Pull)| {
        let whose = if reels.len() == 1 { "Reel" } else { "Reels" };
        let said = Words::from(format!("{whose} {}: {words} ", wording::listed(&reels)));
        heed.map_or_else(|| said.clone(), |heed| said.clone().mark_as(Mark::Attention, heed.to_owned()))
    };
    told.into_iter().map(line).collect()
}

/// What the take-up pulls on a reel, and what is to be heeded in it.
fn pull(check: &ReelCheck) -> Pull {
    let Some(tension) = &check.tension else {
        return ("how hard it is pulled is not known: the measures of its spool are not.".to_owned(), None);
    };
    let mut words = tension_words(tension);
    let mut heed = None;
    if let (Some(at_hub), Some(at_end)) = (check.measured_at_hub_newtons, check.measured_at_end_newtons) {
        let (hub, end) = (show::pull(at_hub), show::pull(at_end));
        let _ = write!(words, " Measured last: {hub} on the hub, so {end} at the end.");
        let has_limits =
            matches!(tension.verdict, TensionVerdict::CanHold { .. } | TensionVerdict::TooUneven { .. });
        heed = match () {
            () if !has_limits => None,
            () if at_hub > TAKE_UP_MOST => Some("More than the standard's 10 oz on the hub."),
            () if at_end < TAKE_UP_LEAST => Some("Less than the standard's 3 oz at the end."),
            () => None,
        };
    }
    (words, heed)
}

/// How the pull changes through a roll, in words.
pub fn tension_words(tension: &Tension) -> String {
    let ratio = format!("pulled {:.1} times as hard on the hub as at the end", tension.ratio);
    match tension.verdict {
        TensionVerdict::CanHold { at_hub_least, at_hub_most } => format!(
            "{ratio}; within 3 to 10 oz all through, if the clutch pulls {} to {} on the bare hub.",
            show::pull(at_hub_least),
            show::pull(at_hub_most)
        ),
        TensionVerdict::TooUneven { at_end } => format!(
            "{ratio}; no clutch holds that within 3 to 10 oz: at most {} is left at the end. Take a larger hub or a shorter reel.",
            show::pull(at_end)
        ),
        TensionVerdict::SmallHub => {
            format!("{ratio}; the limits leave out hubs under 4.5 in. A larger hub pulls more evenly.")
        }
        TensionVerdict::LongerReel => format!("{ratio}; the limits speak of reels up to 3600 ft."),
        TensionVerdict::NoLimits => format!("{ratio}; no published limits for this gauge were seen."),
    }
}

/// How a show stands at a moment.
pub fn standing_sheet(plan: &ShowPlan, standing: &Standing, starts: &ZonedDateTime) -> Sheet {
    let mut sheet = Sheet::new(plan.title.clone());
    sheet.lead(standing.next.clone());
    let mut facts: Vec<(String, Words)> = Vec::new();
    for on in &standing.machines {
        let said = match (on.running, on.next) {
            (Some(running), Some(next)) => format!("runs reel {running}; then reel {next}"),
            (Some(running), None) => format!("runs reel {running}"),
            (None, Some(next)) => format!("reel {next} comes next"),
            (None, None) => "done".to_owned(),
        };
        facts.push((on.name.clone(), said.into()));
    }
    facts.push(("Left on the reel".to_owned(), show::running_time(standing.reel_left_seconds).into()));
    facts.push((
        "Left on the programme".to_owned(),
        show::running_time(standing.programme_left_seconds).into(),
    ));
    let end = format!("{}, {}", clock(standing.end_ms, starts), drift(standing.drift_seconds));
    facts.push(("Ends".to_owned(), end.into()));
    sheet.push(Block::Facts(facts));
    sheet
}

/// The report of a show.
pub fn report_sheet(
    answer: &Answer<ShowReport>,
    booth: &Booth,
    starts: &ZonedDateTime,
    today: Date,
) -> Sheet {
    let report = &answer.value;
    let mut sheet = Sheet::new(format!("Show report: {}", report.title));
    sheet.lead(format!("{}, {}", wording::date(starts.date(), today), starts.strftime("%H:%M")));
    let at = |ms: i64| clock(ms, starts);
    let mut facts: Vec<(String, Words)> = vec![(
        "Planned".to_owned(),
        format!("{} to {}", at(report.planned_start_ms), at(report.planned_end_ms)).into(),
    )];
    if let (Some(began), Some(over)) = (report.began_ms, report.over_ms) {
        let late = report.late_seconds.map(|late| format!(", ended {}", drift(late))).unwrap_or_default();
        facts.push(("Held".to_owned(), format!("{} to {}{late}", at(began), at(over)).into()));
    } else if let Some(began) = report.began_ms {
        facts.push(("Began".to_owned(), at(began).into()));
    }
    if let Some(lasted) = report.held_minutes {
        facts.push(("Lasted".to_owned(), show::running_time(Seconds::new(lasted * 60.0)).into()));
    }
    sheet.push(Block::Facts(facts));
    sheet.caveats(answer.caveats.iter().map(|caveat| caveat.words.clone()));
    sheet.heading("Stoppages");
    sheet.push(Block::Table(stoppages(report, booth, starts)));
    sheet.heading("Hours");
    sheet.push(Block::Table(hours(report, booth)));
    sheet.heading("Reels");
    sheet.push(Block::Table(reel_runs(report, booth, starts)));
    sheet.heading("Faults");
    let faults = report.faults.iter().map(|(_, fault)| {
        let machine = common::machine_name(booth, fault.machine.as_str());
        Words::from(format!(
            "{machine}: {}{}",
            fault.words,
            if fault.closed.is_some() { " (dealt with)" } else { "" }
        ))
    });
    let faults: Vec<Words> = faults.collect();
    if faults.is_empty() {
        sheet.say("None was written down.");
    } else {
        sheet.push(Block::List(faults));
    }
    sheet.because(answer.because.iter().map(common::ground));
    sheet
}

fn stoppages(report: &ShowReport, booth: &Booth, starts: &ZonedDateTime) -> Table {
    let mut table = Table::new("Stoppages", &["When", "#Dark", "On", "What"], "None was written down.");
    for stoppage in &report.stoppages {
        let machine = stoppage.machine.as_ref().map(|id| common::machine_name(booth, id.as_str()));
        let cells = vec![
            Words::new().link(Place::Entry(stoppage.entry), clock(stoppage.at_ms, starts)),
            show::running_time(stoppage.dark_seconds).into(),
            machine.unwrap_or_default().into(),
            stoppage.what.clone().into(),
        ];
        table.push(cells, vec![("entry", stoppage.entry.to_string())]);
    }
    table
}

fn hours(report: &ShowReport, booth: &Booth) -> Table {
    let heads = ["Machine", "#Ran", "#Planned"];
    let mut table =
        Table::new("Hours by the taps, leaders and run-outs by the programme", &heads, "No machine.");
    for machine in &report.machines {
        let time = |hours: units::Hours| show::running_time(hours.as_seconds());
        let cells = vec![
            Words::new().link(
                Place::Machine(machine.machine.clone()),
                common::machine_name(booth, machine.machine.as_str()),
            ),
            time(machine.marked_hours).into(),
            time(machine.planned_hours).into(),
        ];
        table.push(cells, vec![("machine", machine.machine.to_string())]);
    }
    table
}

fn reel_runs(report: &ShowReport, booth: &Booth, starts: &ZonedDateTime) -> Table {
    let heads = ["Reel", "On", "From", "Until", "#Shown", "#Planned"];
    let mut table = Table::new("Reels as they were shown", &heads, "No programme is known.");
    for reel in &report.reels {
        let machine = reel.machine.as_ref().map(|id| common::machine_name(booth, id.as_str()));
        let at = |ms: Option<i64>| ms.map(|ms| clock(ms, starts)).unwrap_or_default();
        let cells = vec![
            format!("{}. {}, reel {}", reel.place, reel.title, reel.reel).into(),
            machine.unwrap_or_else(|| "not tapped".to_owned()).into(),
            at(reel.from_ms).into(),
            at(reel.until_ms).into(),
            show::running_time(reel.shown_seconds).into(),
            show::running_time(reel.planned_seconds).into(),
        ];
        table.push(cells, vec![("reel", reel.place.to_string())]);
    }
    table
}
