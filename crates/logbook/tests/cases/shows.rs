//! Programmes of reels and the marks of running shows.

use crate::kit::*;
use logbook::{
    Draft, Fact, Refusal, accept,
    fact::{ProgrammeItem, ProgrammeKept, ProgrammeReel, ShowMark, ShowMarked, ShowingPlanned},
};
use units::{Frames, FramesPerSecond, Seconds};

fn reel(number: u32, picture: i64) -> ProgrammeReel {
    ProgrammeReel {
        number,
        head_frames: Frames::new(192),
        picture_frames: Frames::new(picture),
        tail_frames: Frames::ZERO,
    }
}

fn programme(title: &str, pictures: &[i64]) -> ProgrammeKept {
    ProgrammeKept {
        programme: "autumn".into(),
        title: title.to_owned(),
        items: vec![ProgrammeItem {
            title: "Feature".to_owned(),
            print: None,
            gauge: "16mm".to_owned(),
            speed_fps: FramesPerSecond::new(24.0),
            sound: "optical".to_owned(),
            cues: String::new(),
            kept_apart: false,
            reels: (1..).zip(pictures).map(|(number, picture)| reel(number, *picture)).collect(),
        }],
        showings: vec!["evening".into()],
        machines: Vec::new(),
        run_up_seconds: None,
        relace_seconds: Some(Seconds::new(90.0)),
        interval_seconds: None,
        note: String::new(),
    }
}

fn planned() -> ShowingPlanned {
    ShowingPlanned {
        showing: "evening".into(),
        title: "Evening".to_owned(),
        starts: "2026-03-07T19:30:00+00:00[UTC]".parse().unwrap(),
        length_minutes: 90.0,
        place: None,
        machines: Vec::new(),
        prints: Vec::new(),
        note: String::new(),
    }
}

fn mark(mark: ShowMark, reel: u32) -> ShowMarked {
    ShowMarked { showing: "evening".into(), mark, reel, machine: None, note: String::new() }
}

fn write(log: &Log, fact: impl Into<Fact>) -> Result<(), Refusal> {
    let draft = Draft {
        id: id(77),
        device: logbook::DeviceId(uuid::Uuid::from_u128(7)),
        happened: after(24.0),
        by: "ada".into(),
        fact: fact.into(),
    };
    accept(draft, &log.booth(), after(1000.0)).map(drop)
}

#[test]
fn the_programme_that_was_kept_last_holds_and_taking_it_back_uncovers_the_one_before() {
    let mut log = Log::default();
    log.at(0.0, planned());
    let later = log.at(30.0, programme("Second thoughts", &[24_000, 30_000]));
    log.at(20.0, programme("First thoughts", &[24_000]));
    let booth = log.booth();
    assert_eq!(booth.programmes["autumn"].title, "Second thoughts");
    assert_eq!(booth.programmes["autumn"].kept.1, later);
    log.at(31.0, withdraws(later));
    assert_eq!(log.booth().programmes["autumn"].title, "First thoughts");
}

#[test]
fn marks_stand_in_order_of_time_whatever_arrives_first_and_can_be_taken_back() {
    let mut log = Log::default();
    log.at(0.0, planned());
    log.at(12.0, mark(ShowMark::ChangedOver, 2));
    log.at(10.0, mark(ShowMark::Started, 1));
    let stopped = log.at(13.0, mark(ShowMark::Stopped, 2));
    let marks = |log: &Log| log.booth().shows["evening"].iter().map(|mark| mark.mark).collect::<Vec<_>>();
    assert_eq!(marks(&log), [ShowMark::Started, ShowMark::ChangedOver, ShowMark::Stopped]);
    log.at(14.0, withdraws(stopped));
    assert_eq!(marks(&log), [ShowMark::Started, ShowMark::ChangedOver]);
}

#[test]
fn a_mark_of_a_showing_that_nobody_planned_is_kept_and_asked_about() {
    let mut log = Log::default();
    log.at(10.0, mark(ShowMark::Started, 1));
    let booth = log.booth();
    assert_eq!(booth.shows["evening"].len(), 1);
    assert!(booth.queries.iter().any(|query| query.what.contains("never stood in the diary")));
}

#[test]
fn a_reel_without_a_picture_in_somebody_elses_logbook_is_left_out_and_asked_about() {
    let mut log = Log::default();
    log.at(0.0, planned());
    log.at(1.0, programme("Half", &[24_000, 0]));
    let booth = log.booth();
    assert_eq!(booth.programmes["autumn"].items[0].reels.len(), 1);
    assert!(booth.queries.iter().any(|query| query.what.contains("left out")));
}

#[test]
fn what_cannot_be_shown_is_refused_beside_its_field() {
    let mut log = Log::default();
    log.at(0.0, planned());
    write(&log, programme("Fine", &[24_000])).unwrap();
    write(&log, mark(ShowMark::Started, 1)).unwrap();
    assert_eq!(write(&log, programme("", &[24_000])).unwrap_err().field, "title");
    assert_eq!(write(&log, programme("No reel", &[])).unwrap_err().field, "items");
    assert_eq!(write(&log, programme("No picture", &[0])).unwrap_err().field, "items");
    let mut fast = programme("Too fast", &[24_000]);
    fast.items[0].speed_fps = FramesPerSecond::new(f64::INFINITY);
    assert_eq!(write(&log, fast).unwrap_err().field, "items");
    let mut slow = programme("Slow hand", &[24_000]);
    slow.relace_seconds = Some(Seconds::new(-1.0));
    assert_eq!(write(&log, slow).unwrap_err().field, "relace_seconds");
    let mut elsewhere = programme("Elsewhere", &[24_000]);
    elsewhere.showings = vec!["morning".into()];
    assert_eq!(write(&log, elsewhere).unwrap_err().field, "showing");
    assert_eq!(write(&log, mark(ShowMark::Started, 0)).unwrap_err().field, "reel");
    let strange = ShowMarked { machine: Some("nobody".into()), ..mark(ShowMark::Started, 1) };
    assert_eq!(write(&log, strange).unwrap_err().field, "machine");
}
