//! Prints: inspected, run, rewound and sent.

use crate::kit::*;
use logbook::{
    Draft, Fact, Refusal, accept,
    fact::{
        FilmBase, FilmSide, Flaw, Found, PrintDeed, PrintHandled, PrintInspected, PrintStanding,
        ScratchDepth, ShrinkageTaken, SpliceMade, Wound,
    },
};
use units::{Frames, Metres, Percent};

fn inspected(reel: u32, found: Vec<Found>) -> PrintInspected {
    PrintInspected {
        print: "feature".into(),
        reel,
        length_m: Some(Metres::new(300.0)),
        base: Some(FilmBase::Acetate),
        edge: None,
        shrinkage: Vec::new(),
        acid_level: None,
        vinegar: None,
        fade: None,
        leader: Some(true),
        wound: Some(Wound::TailsOut),
        spool: String::new(),
        found,
        note: String::new(),
        photos: Vec::new(),
    }
}

fn flaw(at: i64, flaw: Flaw) -> Found {
    Found {
        from_frame: Frames::new(at),
        to_frame: None,
        flaw,
        splice: None,
        holds: None,
        grade: None,
        side: None,
        depth: None,
        from_edge_m: None,
        note: String::new(),
    }
}

fn torn(at: i64, grade: u8) -> Found {
    Found { grade: Some(grade), ..flaw(at, Flaw::Perforations) }
}

fn handled(deed: PrintDeed, reels: &[u32]) -> PrintHandled {
    PrintHandled {
        print: "feature".into(),
        deed,
        reels: reels.to_vec(),
        wound: None,
        whom: String::new(),
        condition: String::new(),
        note: String::new(),
    }
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
fn inspections_stand_in_order_of_time_and_what_came_before_its_print_is_kept() {
    let mut log = Log::default();
    log.at(30.0, inspected(2, vec![torn(90, 4), torn(40, 3)]));
    log.at(10.0, inspected(2, Vec::new()));
    log.at(12.0, handled(PrintDeed::Arrived, &[]));
    log.at(20.0, print("feature"));
    log.at(40.0, inspected(1, Vec::new()));
    log.at(11.0, handled(PrintDeed::Rewound, &[1]));
    let booth = log.booth();
    let kept = &booth.prints["feature"];
    assert!(kept.inspections.is_sorted_by_key(|inspection| inspection.at.unix_ms));
    let of_two: Vec<usize> = kept.inspections_of(2).map(|inspection| inspection.found.len()).collect();
    assert_eq!(of_two, [0, 2]);
    let frames: Vec<i64> =
        kept.inspections_of(2).last().unwrap().found.iter().map(|f| f.from_frame.count()).collect();
    assert_eq!(frames, [40, 90]);
    let deeds = |reel| kept.handlings_of(reel).map(|handling| handling.deed).collect::<Vec<_>>();
    assert_eq!(deeds(1), [PrintDeed::Rewound, PrintDeed::Arrived]);
    assert_eq!(deeds(2), [PrintDeed::Arrived]);
    assert!(booth.queries.is_empty(), "{:?}", booth.queries);
}

#[test]
fn an_inspection_can_be_taken_back_and_put_right() {
    let mut log = Log::default();
    log.at(0.0, print("feature"));
    let first = log.at(10.0, inspected(2, vec![torn(90, 2)]));
    let second = log.at(20.0, inspected(2, vec![torn(90, 4)]));
    let worst =
        |log: &Log| log.booth().prints["feature"].inspections_of(2).last().map(|it| it.found[0].grade);
    assert_eq!(worst(&log), Some(Some(4)));
    log.at(21.0, withdraws(second));
    assert_eq!(worst(&log), Some(Some(2)));
    log.at(22.0, corrects(first, inspected(2, vec![torn(90, 3)])));
    assert_eq!(worst(&log), Some(Some(3)));
    assert_eq!(log.booth().prints["feature"].inspections.len(), 1);
}

#[test]
fn adding_a_print_again_keeps_what_was_found_on_it() {
    let mut log = Log::default();
    log.at(0.0, print("feature"));
    log.at(1.0, inspected(1, vec![torn(9, 2)]));
    let mut again = print("feature");
    again.standing = Some(PrintStanding::Lent);
    again.made_year = Some(1974);
    log.at(2.0, again);
    let booth = log.booth();
    assert_eq!(booth.prints["feature"].inspections.len(), 1);
    assert_eq!(booth.prints["feature"].standing, Some(PrintStanding::Lent));
    assert_eq!(booth.prints["feature"].made_year, Some(1974));
}

#[test]
fn what_cannot_be_on_film_in_somebody_elses_logbook_is_left_out_and_asked_about() {
    let mut log = Log::default();
    log.at(0.0, print("feature"));
    let mut strange = inspected(1, vec![torn(9, 200), torn(-4, 2), torn(4, 2)]);
    strange.acid_level = Some(f64::NAN);
    log.at(1.0, strange);
    log.at(2.0, PrintInspected { print: "nobody".into(), ..inspected(1, Vec::new()) });
    let booth = log.booth();
    assert_eq!(booth.prints["feature"].inspections[0].found.len(), 1);
    assert_eq!(booth.prints["feature"].inspections[0].acid_level, None);
    assert!(booth.queries.iter().any(|query| query.what.contains("cannot be on film")));
    assert!(booth.queries.iter().any(|query| query.what.contains("“nobody” was inspected")));
}

#[test]
fn what_cannot_be_is_refused_beside_its_field() {
    let mut log = Log::default();
    let mut added = print("feature");
    log.at(0.0, added.clone());
    let fine = |found| inspected(1, found);
    write(&log, fine(vec![torn(90, 4)])).unwrap();
    write(&log, handled(PrintDeed::Sent, &[1])).unwrap();
    let splice = Found { splice: Some(SpliceMade::Cement), holds: Some(true), ..flaw(3, Flaw::Splice) };
    write(&log, fine(vec![splice])).unwrap();
    let scratch =
        Found { side: Some(FilmSide::Base), depth: Some(ScratchDepth::Light), ..flaw(3, Flaw::Scratch) };
    write(&log, fine(vec![scratch])).unwrap();
    let refused = |fact: PrintInspected| write(&log, fact).unwrap_err().field;
    assert_eq!(refused(fine(vec![torn(90, 5)])), "found");
    assert_eq!(refused(fine(vec![flaw(90, Flaw::Splice)])), "found");
    assert_eq!(refused(fine(vec![flaw(90, Flaw::Scratch)])), "found");
    assert_eq!(refused(fine(vec![torn(-1, 2)])), "found");
    let backwards = Found { to_frame: Some(Frames::new(2)), ..torn(90, 2) };
    assert_eq!(refused(fine(vec![backwards])), "found");
    assert_eq!(refused(inspected(7, Vec::new())), "reel");
    assert_eq!(refused(inspected(0, Vec::new())), "reel");
    assert_eq!(refused(PrintInspected { print: "nobody".into(), ..fine(Vec::new()) }), "print");
    assert_eq!(refused(PrintInspected { acid_level: Some(3.5), ..fine(Vec::new()) }), "acid_level");
    assert_eq!(refused(PrintInspected { length_m: Some(Metres::ZERO), ..fine(Vec::new()) }), "length_m");
    let too_long = PrintInspected { length_m: Some(Metres::new(20_001.0)), ..fine(Vec::new()) };
    assert!(
        write(&log, too_long).unwrap_err().would_be_right.ends_with("more than nothing and at most 20000 m")
    );
    let taken = |percent| ShrinkageTaken {
        at_frame: Frames::ZERO,
        shrinkage_percent: Percent::new(percent),
        how: String::new(),
    };
    assert_eq!(refused(PrintInspected { shrinkage: vec![taken(92.0)], ..fine(Vec::new()) }), "shrinkage");
    write(&log, PrintInspected { shrinkage: vec![taken(0.92)], ..fine(Vec::new()) }).unwrap();
    assert_eq!(write(&log, handled(PrintDeed::Sent, &[9])).unwrap_err().field, "reels");
    added.made_year = Some(70);
    assert_eq!(write(&log, added).unwrap_err().field, "made_year");
}
