//! Marks that are taken back or corrected after the end of a show: what they wrote follows, by further entries.

use crate::{
    kit::{Log, at},
    show::{SHOWING, log, mark, ms, plan},
};
use booth::show::{self, FOLLOWS, Written};
use logbook::{
    Booth, Entry, EntryId, Fact, When,
    booth::ShowingState,
    fact::{Corrects, ShowMark, ShowMarked, Withdraws},
};
use std::convert::Infallible;

/// Two reels on two machines with one stoppage, to the end at 1372 s, and all that follows from it written down.
fn shown() -> (Log, [EntryId; 5]) {
    let mut log = log(&["turnstone", "dunlin"]);
    let marks = [
        mark(&mut log, 0.0, ShowMark::Started, 1),
        mark(&mut log, 100.0, ShowMark::Stopped, 1),
        mark(&mut log, 140.0, ShowMark::Resumed, 1),
        mark(&mut log, 706.0, ShowMark::ChangedOver, 2),
        mark(&mut log, 1372.0, ShowMark::Ended, 2),
    ]
    // Ids of taps leave room for what they write: the kit's count on by one.
    .map(|id| respaced(&mut log, id));
    assert_eq!(follow(&mut log, &marks), 4, "two runs, that it was held, the stoppage");
    (log, marks)
}

fn respaced(log: &mut Log, id: EntryId) -> EntryId {
    let spaced = EntryId(uuid::Uuid::from_u128((id.0.as_u128() << 16) | (0x7 << 76)));
    log.entries.iter_mut().find(|entry| entry.id == id).unwrap().id = spaced;
    spaced
}

fn written(log: &Log, marks: &[EntryId]) -> Vec<Written> {
    let get = |id| Ok::<_, Infallible>(log.entries.iter().find(|entry| entry.id == id).cloned());
    let settles = |fact: &Fact| match fact {
        Fact::Corrects(said) => Some(said.entry),
        Fact::Withdraws(said) => Some(said.entry),
        _ => None,
    };
    let settlements = |id| {
        let own = log.entries.iter().filter(|entry| settles(&entry.fact) == Some(id));
        Ok(own.cloned().collect::<Vec<Entry>>())
    };
    show::written_by(marks, get, settlements).unwrap()
}

/// Writes what follows and returns how many entries that were.
fn follow(log: &mut Log, marks: &[EntryId]) -> usize {
    let booth = log.fold();
    let plan = plan(&booth);
    let steps = show::following(&booth, Some(&plan), &SHOWING.into(), &written(log, marks));
    let n_steps = steps.len();
    for step in steps {
        let id = log.write("2026-03-08 09:00", step.fact);
        let entry = log.entries.last_mut().unwrap();
        entry.happened = step.happened;
        entry.id = step.id.unwrap_or(id);
    }
    let booth = log.fold();
    let asked = booth.queries.iter().filter(|query| !query.what.contains("feature"));
    assert_eq!(
        asked.count(),
        0,
        "nothing that follows raises a question; only the print is not in this booth"
    );
    assert_eq!(
        show::following(&booth, Some(&plan), &SHOWING.into(), &written(log, marks)),
        [],
        "once is enough"
    );
    n_steps
}

fn correct(log: &mut Log, entry: EntryId, seconds: f64, what: ShowMark, reel: u32) {
    let with = ShowMarked { showing: SHOWING.into(), mark: what, reel, machine: None, note: String::new() };
    let happened = Some(When { unix_ms: ms(seconds), ..When::from_zoned(&at("2026-03-07 19:30")) });
    let why = "tapped late".to_owned();
    log.write(
        "2026-03-07 23:00",
        Fact::Corrects(Corrects { entry, with: Box::new(with.into()), happened, why }),
    );
}

fn take_back(log: &mut Log, entry: EntryId, why: &str) -> EntryId {
    log.write("2026-03-07 23:10", Withdraws { entry, why: why.to_owned() })
}

/// Seconds that a machine ran for the show.
fn ran(booth: &Booth, machine: &str) -> f64 {
    booth.machines[machine].runs.iter().map(|run| run.written.as_seconds().seconds()).sum()
}

fn held(booth: &Booth) -> Option<f64> {
    match &booth.showings[SHOWING].state {
        ShowingState::Held { lasted_minutes, .. } => Some(*lasted_minutes),
        _ => None,
    }
}

#[test]
fn a_changeover_that_is_moved_gives_its_time_to_the_other_machine() {
    let (mut log, marks) = shown();
    let before = log.fold();
    correct(&mut log, marks[3], 646.0, ShowMark::ChangedOver, 2);
    assert_eq!(follow(&mut log, &marks), 2, "one correction for each machine");
    let after = log.fold();
    // A minute of picture passes from the one machine to the other (626 - 606; a correction moves no film).
    assert!((ran(&before, "turnstone") - ran(&after, "turnstone") - 60.0).abs() <= 1.0);
    assert!((ran(&after, "dunlin") - ran(&before, "dunlin") - 60.0).abs() <= 1.0);
    assert_eq!(held(&after), held(&before));
    let said: Vec<&str> = log
        .entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Corrects(corrects) if corrects.why == FOLLOWS => Some(corrects.with.kind()),
            _ => None,
        })
        .collect();
    assert_eq!(said, ["ran", "ran"]);
}

#[test]
fn an_end_that_is_moved_or_taken_back_moves_or_takes_back_the_showings_end() {
    let (mut log, marks) = shown();
    correct(&mut log, marks[4], 1402.0, ShowMark::Ended, 2);
    assert_eq!(follow(&mut log, &marks), 2, "the second machine and the showing");
    assert!((held(&log.fold()).unwrap() - 1402.0 / 60.0).abs() < 1e-9);

    let withdrawal = take_back(&mut log, marks[4], "it was not over");
    assert_eq!(follow(&mut log, &marks), 3, "both runs and the end are taken back");
    let booth = log.fold();
    assert_eq!((ran(&booth, "turnstone"), ran(&booth, "dunlin"), held(&booth)), (0.0, 0.0, None));

    // The taking back is taken back: what it had ended is written again.
    take_back(&mut log, withdrawal, "it was over after all");
    assert_eq!(follow(&mut log, &marks), 3);
    assert!((held(&log.fold()).unwrap() - 1402.0 / 60.0).abs() < 1e-9);
    assert!(ran(&log.fold(), "dunlin") > 600.0);
}

#[test]
fn a_stoppage_that_never_was_goes_and_its_time_counts_as_run() {
    let (mut log, marks) = shown();
    let before = log.fold();
    take_back(&mut log, marks[1], "it did not stop");
    take_back(&mut log, marks[2], "it did not stop");
    assert_eq!(follow(&mut log, &marks), 2, "the stoppage goes, the first machine ran for longer");
    let after = log.fold();
    assert!(after.stoppages.is_empty());
    assert!((ran(&after, "turnstone") - ran(&before, "turnstone") - 40.0).abs() <= 1.0);
}

#[test]
fn what_somebody_wrote_by_hand_since_stays_field_by_field() {
    let (mut log, marks) = shown();
    let all = written(&log, &marks);
    let of = |wanted: &dyn Fn(&Fact) -> bool| all.iter().find(|one| wanted(&one.by_marks.1)).unwrap().clone();
    let by_hand = |log: &mut Log, one: &Written, with: Fact| {
        let why = "in my own words".to_owned();
        log.write(
            "2026-03-07 23:00",
            Fact::Corrects(Corrects { entry: one.entry, with: Box::new(with), happened: None, why }),
        );
    };
    // The words of the stoppage, and the hours of one machine from its meter.
    let stoppage = of(&|fact| matches!(fact, Fact::Stoppage(_)));
    let Fact::Stoppage(mut said) = stoppage.by_marks.1.clone() else { panic!() };
    said.what = "The splice parted.".to_owned();
    by_hand(&mut log, &stoppage, said.into());
    let dunlin = of(&|fact| matches!(fact, Fact::Ran(ran) if ran.machine.as_str() == "dunlin"));
    let Fact::Ran(mut by_meter) = dunlin.by_marks.1.clone() else { panic!() };
    by_meter.hours = units::Hours::new(0.25);
    by_hand(&mut log, &dunlin, by_meter.into());

    correct(&mut log, marks[2], 150.0, ShowMark::Resumed, 1);
    correct(&mut log, marks[4], 1402.0, ShowMark::Ended, 2);
    follow(&mut log, &marks);
    let booth = log.fold();
    let there = &booth.stoppages[0];
    assert_eq!((there.what.as_str(), there.dark.seconds()), ("The splice parted.", 50.0));
    assert!((ran(&booth, "dunlin") - 900.0).abs() < 1e-9, "read from the meter, so it stays");

    // A run that a person took back does not come again.
    let turnstone = of(&|fact| matches!(fact, Fact::Ran(ran) if ran.machine.as_str() == "turnstone"));
    let why = "the meter has it".to_owned();
    log.write("2026-03-09 09:00", Withdraws { entry: turnstone.entry, why });
    assert_eq!(follow(&mut log, &marks), 0);
    assert_eq!(ran(&log.fold(), "turnstone"), 0.0);
}
