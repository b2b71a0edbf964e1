//! A running show: its plan, what its marks add up to, and what is written down at its end.

use crate::kit::{Log, at, types};
use booth::show::{self, Cue, Next, Phase};
use logbook::{
    Booth, Fact, When,
    booth::ShowMarkRecord,
    fact::{ProgrammeItem, ProgrammeKept, ProgrammeReel, ShowMark, ShowMarked, ShowingPlanned},
};
use units::{Frames, FramesPerSecond, Seconds};

pub const SHOWING: &str = "evening";

/// Two reels of 16 mm, 400 ft each: 16,000 frames, 11 min 6.7 s at 24 frames a second (a printed table of running
/// times gives 11:06.7).
pub fn log(machines: &[&str]) -> Log {
    let mut log = Log::new();
    log.machine("2026-01-02 09:00", "dunlin");
    log.write(
        "2026-03-01 09:00",
        ShowingPlanned {
            showing: SHOWING.into(),
            title: "An evening".to_owned(),
            starts: at("2026-03-07 19:30"),
            length_minutes: 23.0,
            place: None,
            machines: Vec::new(),
            prints: Vec::new(),
            note: String::new(),
        },
    );
    let reel = |number| ProgrammeReel {
        number,
        head_frames: Frames::new(192),
        picture_frames: Frames::new(16_000),
        tail_frames: Frames::new(240),
    };
    log.write(
        "2026-03-01 09:05",
        ProgrammeKept {
            programme: "evening".into(),
            title: "An evening".to_owned(),
            items: vec![ProgrammeItem {
                title: "Feature".to_owned(),
                print: Some("feature".into()),
                gauge: "16mm".to_owned(),
                speed_fps: FramesPerSecond::new(24.0),
                sound: "optical".to_owned(),
                cues: "smpte-301".to_owned(),
                kept_apart: true,
                reels: vec![reel(1), reel(2)],
            }],
            showings: vec![SHOWING.into()],
            machines: machines.iter().map(|machine| (*machine).into()).collect(),
            run_up_seconds: Some(Seconds::new(3.0)),
            relace_seconds: Some(Seconds::new(90.0)),
            interval_seconds: None,
            note: String::new(),
        },
    );
    log
}

/// Milliseconds of a moment so many seconds after half past seven.
pub fn ms(seconds: f64) -> i64 {
    at("2026-03-07 19:30").timestamp().as_millisecond() + (seconds * 1000.0) as i64
}

pub fn mark(log: &mut Log, seconds: f64, mark: ShowMark, reel: u32) -> logbook::EntryId {
    let fact = ShowMarked { showing: SHOWING.into(), mark, reel, machine: None, note: String::new() };
    let id = log.write("2026-03-07 19:30", fact);
    let entry = log.entries.last_mut().unwrap();
    entry.happened = When { unix_ms: ms(seconds), ..entry.happened };
    entry.recorded = entry.happened;
    id
}

pub fn plan(booth: &Booth) -> show::ShowPlan {
    let found = show::find_showing(booth, SHOWING).unwrap();
    show::plan_of(booth, types(), found).unwrap().value
}

fn stands(log: &Log, seconds: f64) -> show::Standing {
    let booth = log.fold();
    let plan = plan(&booth);
    let course = show::course_of(Some(&plan), booth.shows.get(SHOWING).into_iter().flatten());
    show::standing(&plan, &course, &booth.showings[SHOWING], ms(seconds))
}

fn close(value: Seconds, expected: f64) {
    assert!((value.seconds() - expected).abs() < 0.002, "{value:?} for {expected}");
}

#[test]
fn two_machines_change_over_by_the_marks_of_the_standard() {
    let booth = log(&["turnstone", "dunlin"]).fold();
    let plan = plan(&booth);
    close(plan.lasts_seconds, 2.0 * 16_000.0 / 24.0);
    let first = &plan.reels[0];
    assert_eq!((first.next, plan.reels[1].next), (Next::Changeover, Next::End));
    // SMPTE 301, as given by an encyclopaedia article on cue marks: 4 + 172 + 4 + 18 frames before the end, and 22.
    close(first.motor_seconds.unwrap(), (16_000.0 - 198.0) / 24.0);
    close(first.changeover_seconds.unwrap(), (16_000.0 - 22.0) / 24.0);
    assert!(first.say.motor.contains("dunlin"));
}

#[test]
fn one_machine_is_laced_again_in_an_interval() {
    let booth = log(&["turnstone"]).fold();
    let plan = plan(&booth);
    assert_eq!(plan.reels[0].next, Next::Relace);
    close(plan.lasts_seconds, 2.0 * 16_000.0 / 24.0 + 90.0);
}

/// Whoever reads "now" in the dark does it at once: no order stands earlier than half a second before its time.
#[test]
fn no_order_is_given_before_its_time() {
    for machines in [&["turnstone", "dunlin"][..], &["turnstone"]] {
        let mut log = log(machines);
        mark(&mut log, 0.0, ShowMark::Started, 1);
        let (motor, over) = (15_802.0 / 24.0, 16_000.0 / 24.0);
        for step in 0..400 {
            let at = motor - 60.05 + f64::from(step) * 0.2;
            let stand = stands(&log, at);
            let ahead = stand.ahead.unwrap();
            let is_order =
                ["Now", "Lamp down", "House lights."].iter().any(|word| stand.next.starts_with(word));
            let just_after_the_motor = machines.len() == 2 && (0.0..3.0).contains(&(at - motor));
            let due = ahead.in_seconds.seconds() <= 0.5 || just_after_the_motor;
            assert_eq!(is_order, due, "{at:.1} of {over:.1}: {} ({ahead:?})", stand.next);
            if ahead.in_seconds.seconds() <= 30.0 && !due {
                assert!(stand.next.starts_with("Stand by"), "{}", stand.next);
            }
        }
    }
}

#[test]
fn what_is_left_follows_from_the_taps_and_the_moment() {
    let mut log = log(&["turnstone", "dunlin"]);
    assert_eq!(stands(&log, -60.0).phase, Phase::Waiting);
    close(stands(&log, -60.0).drift_seconds, 0.0);
    close(stands(&log, 30.0).drift_seconds, 30.0);
    mark(&mut log, 60.0, ShowMark::Started, 1);
    let running = stands(&log, 160.0);
    close(running.shown_seconds, 100.0);
    close(running.ahead.unwrap().in_seconds, 15_802.0 / 24.0 - 100.0);
    assert_eq!(running.ahead.unwrap().cue, Cue::Motor);
    close(running.drift_seconds, 60.0);
    mark(&mut log, 200.0, ShowMark::Stopped, 1);
    let dark = stands(&log, 230.0);
    assert_eq!(dark.phase, Phase::Stopped);
    close(dark.dark_seconds.unwrap(), 30.0);
    close(dark.shown_seconds, 140.0);
    close(dark.drift_seconds, 90.0);
    mark(&mut log, 240.0, ShowMark::Resumed, 1);
    // Both hands tapped the changeover; the second one changes nothing.
    mark(&mut log, 770.0, ShowMark::ChangedOver, 2);
    mark(&mut log, 771.0, ShowMark::ChangedOver, 2);
    let second = stands(&log, 780.0);
    assert_eq!((second.reel, second.phase), (2, Phase::Running));
    close(second.shown_seconds, 10.0);
    assert_eq!(second.machines[1].running, Some(2));
    assert_eq!(second.machines[0].running, None);
}

fn record(seconds: f64, what: ShowMark, reel: u32) -> ShowMarkRecord {
    let when = crate::kit::when("2026-03-07 19:30");
    ShowMarkRecord {
        at: When { unix_ms: ms(seconds), ..when },
        mark: what,
        reel,
        machine: None,
        note: String::new(),
        entry: logbook::EntryId(uuid::Uuid::from_u128(1 << 70)),
        by: "wren".into(),
    }
}

#[test]
fn the_end_writes_the_hours_of_both_machines_and_that_it_was_held() {
    let mut log = log(&["turnstone", "dunlin"]);
    mark(&mut log, 0.0, ShowMark::Started, 1);
    mark(&mut log, 100.0, ShowMark::Stopped, 1);
    mark(&mut log, 140.0, ShowMark::Resumed, 1);
    mark(&mut log, 706.0, ShowMark::ChangedOver, 2);
    let booth = log.fold();
    let plan = plan(&booth);
    let facts = show::closing(&booth, Some(&plan), &SHOWING.into(), &record(1372.0, ShowMark::Ended, 2));
    let ran: Vec<_> = facts
        .iter()
        .filter_map(|(_, fact)| match fact {
            Fact::Ran(ran) => Some((ran.machine.as_str(), ran.hours.as_seconds().seconds(), ran.passes)),
            _ => None,
        })
        .collect();
    // 666 s of picture on each, with the leader that was threaded (8 s at the start; 176 frames less half a run-up of
    // 3 s at the changeover) and a run-out of 10 s; the print passed once, though two machines shared it.
    let expected =
        [("turnstone", 666.0 + 8.0 + 10.0, None), ("dunlin", 666.0 + (176.0 - 36.0) / 24.0 + 10.0, Some(0))];
    assert_eq!(ran.len(), 2);
    for ((machine, seconds, passes), (name, expected, passed)) in ran.into_iter().zip(expected) {
        assert_eq!((machine, passes), (name, passed));
        assert!((seconds - expected).abs() <= 0.5, "{machine}: {seconds} for {expected}");
    }
    assert!(facts.iter().any(|(_, fact)| matches!(fact, Fact::ShowingHeld(held) if (held.lasted_minutes - 1372.0 / 60.0).abs() < 1e-9)));
    mark(&mut log, 1372.0, ShowMark::Ended, 2);
    let again = show::closing(&log.fold(), Some(&plan), &SHOWING.into(), &record(1373.0, ShowMark::Ended, 2));
    assert_eq!(again, [], "a second hand writes nothing more");
}

#[test]
fn being_on_again_writes_the_stoppage_once() {
    let mut log = log(&["turnstone", "dunlin"]);
    mark(&mut log, 0.0, ShowMark::Started, 1);
    mark(&mut log, 100.0, ShowMark::Stopped, 1);
    let booth = log.fold();
    let plan = plan(&booth);
    let on = record(140.0, ShowMark::Resumed, 1);
    let (when, fact) = show::stoppage_after(&booth, Some(&plan), &SHOWING.into(), &on).unwrap();
    assert_eq!(when.unix_ms, ms(100.0));
    let Fact::Stoppage(stoppage) = fact.clone() else { panic!("{fact:?}") };
    assert_eq!((stoppage.dark_seconds.seconds(), stoppage.machine.unwrap().as_str()), (40.0, "turnstone"));
    log.write("2026-03-07 19:30", fact);
    log.entries.last_mut().unwrap().happened = when;
    let other = record(141.0, ShowMark::Resumed, 1);
    assert_eq!(show::stoppage_after(&log.fold(), Some(&plan), &SHOWING.into(), &other), None);
}

#[test]
fn the_report_sets_what_was_held_beside_what_was_planned() {
    let mut log = log(&["turnstone", "dunlin"]);
    mark(&mut log, 30.0, ShowMark::Started, 1);
    mark(&mut log, 30.0 + 16_000.0 / 24.0, ShowMark::ChangedOver, 2);
    mark(&mut log, 1400.0, ShowMark::Ended, 2);
    let booth = log.fold();
    let found = show::find_showing(&booth, SHOWING).unwrap();
    let plan = show::plan_of(&booth, types(), found).unwrap();
    let report = show::report(&booth, Some(&plan), found).value;
    close(report.late_seconds.unwrap(), 1400.0 - 32_000.0 / 24.0);
    assert_eq!(report.reels[1].machine.as_ref().unwrap().as_str(), "dunlin");
    close(report.reels[0].shown_seconds, 16_000.0 / 24.0);
    assert_eq!(report.stoppages, []);
}

#[test]
fn a_showing_without_programme_or_reels_says_what_is_missing() {
    let mut log = Log::new();
    log.planned(SHOWING, "2026-03-07 19:30", 60.0, &["turnstone"]);
    let booth = log.fold();
    let found = show::find_showing(&booth, SHOWING).unwrap();
    let refused = show::plan_of(&booth, types(), found).unwrap_err();
    assert!(refused.to_string().contains("make a programme"));
}
