//! Prints: whether a reel may be shown, and what appeared on it since somebody last looked.

use crate::kit::*;
use booth::prints::{Gravity, gravity, print_sheet, prints, told, warnings};
use film::{Gauge, print::Decision};
use logbook::{
    Booth,
    fact::{
        EdgePrint, FilmBase, Found, PrintAdded, PrintInspected, PrintStanding, Ran, Reel, RunKind,
        ShrinkageTaken,
    },
};
use units::{Frames, Hours, Metres, Percent};

fn added(gauge: &str, standing: Option<PrintStanding>) -> PrintAdded {
    PrintAdded {
        print: "feature".into(),
        title: "Feature".to_owned(),
        gauge: gauge.to_owned(),
        reels: (1..=2).map(|reel| Reel { reel, length_m: Metres::new(300.0) }).collect(),
        lender: String::new(),
        standing,
        made_year: None,
        note: String::new(),
    }
}

fn found(lines: &[&str]) -> Vec<Found> {
    lines.iter().map(|line| told::read_finding(line, Gauge::Mm16).unwrap()).collect()
}

fn inspected(reel: u32, lines: &[&str], shrunk: f64) -> PrintInspected {
    PrintInspected {
        print: "feature".into(),
        reel,
        length_m: None,
        base: Some(FilmBase::Acetate),
        edge: Some(EdgePrint::Safety),
        shrinkage: vec![ShrinkageTaken {
            at_frame: Frames::ZERO,
            shrinkage_percent: Percent::new(shrunk),
            how: String::new(),
        }],
        acid_level: Some(0.5),
        vinegar: Some(false),
        fade: None,
        leader: Some(true),
        wound: None,
        spool: String::new(),
        found: found(lines),
        note: String::new(),
        photos: Vec::new(),
    }
}

fn ran(log: &mut Log, at: &str, machine: &str) {
    let fact = Ran {
        machine: machine.into(),
        run: RunKind::Showing,
        hours: Hours::new(1.0),
        lit_hours: None,
        strikes: None,
        showing: None,
        print: Some("feature".into()),
        passes: None,
        estimated: false,
    };
    log.write(at, fact);
}

fn begun(standing: PrintStanding) -> Log {
    let mut log = Log::new();
    log.machine("2026-01-01 09:00", "dunlin");
    log.write("2026-01-02 09:00", added("16mm", Some(standing)));
    log
}

fn graveness(booth: &Booth) -> Vec<Gravity> {
    let sheet = print_sheet(booth, types(), &"feature".into()).unwrap();
    sheet.reels.iter().map(|reel| gravity(reel.at_best.as_ref().unwrap())).collect()
}

#[test]
fn a_reel_that_nobody_inspected_is_never_passed_as_good() {
    let log = begun(PrintStanding::Replaceable);
    let booth = log.fold();
    assert_eq!(graveness(&booth), [Gravity::Conditions; 2]);
    assert_eq!(prints(&booth, types())[0].not_inspected, 2);
}

#[test]
fn a_shrunken_reel_must_not_run_and_the_other_may() {
    let mut log = begun(PrintStanding::Lent);
    log.write("2026-02-01 10:00", inspected(1, &["40 ft splice tape holds"], 0.3));
    // Common practice, no source: from 1.0 % on film is viewed or scanned, not projected.
    log.write("2026-02-01 11:00", inspected(2, &[], 1.2));
    let booth = log.fold();
    assert_eq!(graveness(&booth), [Gravity::Fine, Gravity::MustNot]);
    let row = &prints(&booth, types())[0];
    assert_eq!((row.gravity, row.barred.as_slice()), (Gravity::MustNot, &[2][..]));
}

#[test]
fn what_appeared_between_two_inspections_is_laid_to_the_machine_between() {
    let mut log = begun(PrintStanding::Lent);
    log.write("2026-02-01 10:00", inspected(2, &["40 ft splice tape holds", "100 ft perforations 2"], 0.3));
    ran(&mut log, "2026-02-03 19:30", "dunlin");
    ran(&mut log, "2026-02-04 19:30", "dunlin");
    let worse =
        ["40 ft + 9 splice tape holds", "100 ft + 20 perforations 3", "200 ft to 210 ft scratch base heavy"];
    log.write("2026-02-05 10:00", inspected(2, &worse, 0.3));
    ran(&mut log, "2026-02-06 19:30", "turnstone");
    let booth = log.fold();
    let sheet = print_sheet(&booth, types(), &"feature".into()).unwrap();
    let reel = &sheet.reels[1];
    assert_eq!(reel.passes_since, 1);
    let [change] = reel.changes.as_slice() else { panic!("{:?}", reel.changes) };
    // The splice was there, nine frames off on the counter; the perforations are worse; the scratch is new.
    let told: Vec<_> =
        change.appeared.iter().map(|it| (it.found.from_frame.count(), it.grade_before)).collect();
    assert_eq!(told, [(100 * 40 + 20, Some(2)), (200 * 40, None)]);
    assert!(change.words.contains("only through") && change.words.contains("2 passes"), "{}", change.words);
    assert!(change.runs.iter().all(|run| run.machine.as_str() == "dunlin"));
}

#[test]
fn nitrate_is_set_apart_and_a_showing_is_told() {
    let mut log = begun(PrintStanding::Unique);
    let nitrate = PrintInspected { edge: Some(EdgePrint::Nitrate), ..inspected(1, &[], 0.1) };
    log.write("2026-02-01 10:00", nitrate);
    let showing = logbook::fact::ShowingPlanned {
        showing: "evening".into(),
        title: "Evening".to_owned(),
        starts: "2026-03-07T19:30:00+00:00[UTC]".parse().unwrap(),
        length_minutes: 90.0,
        place: None,
        machines: Vec::new(),
        prints: vec!["feature".into()],
        note: String::new(),
    };
    log.write("2026-02-02 10:00", showing);
    let booth = log.fold();
    let told = warnings(&booth, types(), &booth.showings["evening"]);
    assert_eq!((told[0].reel, told[0].gravity), (1, Gravity::SetApart));
    assert_eq!(told[0].verdict.decision, Decision::SetApart);
    assert!(!told[1].was_inspected);
    assert!(told[0].verdict.reasons[0].source.contains("NFPA 40"));
}

#[test]
fn a_print_of_an_unknown_gauge_is_listed_and_nothing_is_decided() {
    let mut log = Log::new();
    log.write("2026-01-02 09:00", added("17.5mm", None));
    let booth = log.fold();
    let sheet = print_sheet(&booth, types(), &"feature".into()).unwrap();
    assert!(sheet.reels.iter().all(|reel| reel.at_best.is_none()));
    assert!(sheet.caveats[0].contains("17.5mm"));
}

#[test]
fn findings_are_read_as_they_are_written_at_the_bench_and_written_so_that_they_are_read() {
    let lines = [
        ("12,4 m splice tape weak", "40 ft + 27 splice tape weak"),
        (
            "48 ft + 12 to 50 ft perforations 4: sound side",
            "48 ft + 12 to 50 ft + 0 perforations 4: sound side",
        ),
        ("48+12 Perforations 2", "48 ft + 12 perforations 2"),
        ("1640 frames burn", "41 ft + 0 burn"),
        ("60 ft scratch emulsion light 3.1 mm", "60 ft + 0 scratch emulsion light 3.1 mm"),
        ("0 m tear", "0 ft + 0 tear"),
    ];
    for (typed, written) in lines {
        let read = told::read_finding(typed, Gauge::Mm16).unwrap();
        assert_eq!(told::finding_line(&read, Gauge::Mm16), written);
        assert_eq!(told::read_finding(written, Gauge::Mm16).unwrap(), read);
    }
    for (typed, says) in [
        ("", "does not say what was found"),
        ("12 m", "does not say what was found"),
        ("splice tape weak", "no place"),
        ("-3 m tear", "no place"),
        ("12 tear", "no place"),
        ("9e99 m tear", "no place"),
        ("50 ft to 40 ft tear", "nearer to the head first"),
        ("40 ft splice", "how it is made"),
        ("40 ft splice tape", "holds or weak"),
        ("40 ft perforations 5", "the grade"),
        ("40 ft tear badly", "nothing more"),
    ] {
        let refused = told::read_finding(typed, Gauge::Mm16).unwrap_err().to_string();
        assert!(refused.contains(says) || refused.contains("write"), "{typed}: {refused}");
    }
}

#[test]
fn shrinkage_is_read_from_a_gauge_or_from_a_hundred_perforations() {
    assert_eq!(told::read_shrinkage("0,7", Gauge::Mm16).unwrap().0, Percent::new(0.7));
    // ASA Z22.5-1947, dimension L: 100 perforations of 16 mm film are 762.00 mm; 1 % less is 754.38 mm.
    let (percent, how) = told::read_shrinkage("754.38 mm", Gauge::Mm16).unwrap();
    assert!(near(percent.percent(), 1.0), "{percent}");
    assert!(how.contains("754.4 mm"));
    for wrong in ["lots", "92 %", "12 m", ""] {
        assert!(told::read_shrinkage(wrong, Gauge::Mm16).is_err(), "{wrong}");
    }
}
