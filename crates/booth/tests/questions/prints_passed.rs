//! Passes of each reel: by the marks of a show where there are any, else with the whole print.

use crate::{
    kit::{Log, types},
    show::{SHOWING, log, mark},
};
use booth::prints::print_sheet;
use logbook::fact::{PrintAdded, Ran, Reel, RunKind, ShowMark};
use units::{Hours, Metres};

fn with_print(machines: &[&str]) -> Log {
    let mut log = log(machines);
    let fact = PrintAdded {
        print: "feature".into(),
        title: "Feature".to_owned(),
        gauge: "16mm".to_owned(),
        reels: (1..=2).map(|reel| Reel { reel, length_m: Metres::new(122.0) }).collect(),
        lender: String::new(),
        standing: None,
        made_year: None,
        note: String::new(),
    };
    log.write("2026-02-01 09:00", fact);
    log
}

fn ran(log: &mut Log, machine: &str, showing: Option<&str>, passes: Option<u32>) {
    let fact = Ran {
        machine: machine.into(),
        run: RunKind::Showing,
        hours: Hours::new(0.2),
        lit_hours: None,
        strikes: None,
        showing: showing.map(Into::into),
        print: Some("feature".into()),
        passes,
        estimated: false,
    };
    log.write("2026-03-07 19:30", fact);
}

fn passes(log: &Log) -> Vec<u32> {
    let booth = log.fold();
    print_sheet(&booth, types(), &"feature".into()).unwrap().reels.iter().map(|reel| reel.passes).collect()
}

#[test]
fn without_marks_every_reel_passes_with_its_print() {
    let mut log = with_print(&["turnstone", "dunlin"]);
    ran(&mut log, "turnstone", None, None);
    ran(&mut log, "turnstone", Some(SHOWING), Some(2));
    assert_eq!(passes(&log), [3, 3]);
}

#[test]
fn a_reel_that_was_not_shown_was_not_passed() {
    let mut log = with_print(&["turnstone", "dunlin"]);
    mark(&mut log, 0.0, ShowMark::Started, 1);
    mark(&mut log, 300.0, ShowMark::Ended, 1);
    ran(&mut log, "turnstone", Some(SHOWING), None);
    assert_eq!(passes(&log), [1, 0]);
    // A run of another day, of which nothing was tapped, counts for both.
    ran(&mut log, "dunlin", None, None);
    assert_eq!(passes(&log), [2, 1]);
}

#[test]
fn two_machines_that_share_a_print_pass_each_reel_once() {
    let mut log = with_print(&["turnstone", "dunlin"]);
    mark(&mut log, 0.0, ShowMark::Started, 1);
    mark(&mut log, 100.0, ShowMark::Stopped, 1);
    mark(&mut log, 140.0, ShowMark::Resumed, 1);
    mark(&mut log, 706.0, ShowMark::ChangedOver, 2);
    mark(&mut log, 1372.0, ShowMark::Ended, 2);
    ran(&mut log, "turnstone", Some(SHOWING), None);
    ran(&mut log, "dunlin", Some(SHOWING), Some(0));
    assert_eq!(passes(&log), [1, 1], "on again after a stop is no further pass");
}
