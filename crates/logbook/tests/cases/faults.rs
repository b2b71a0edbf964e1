//! Faults and their cases: answers, remedies, marks, requests for repair.

use crate::kit::*;
use logbook::{
    Draft, Fact, Refusal, accept,
    booth::{Fault, FaultDeed},
    fact::{
        FaultAnswered, FaultClosed, FaultMark, FaultMarked, FaultOpened, FaultReply, FaultTried, RemedyResult,
    },
};

fn log() -> Log {
    let mut log = with_turnstone();
    log.at(1.0, FaultOpened { symptoms: vec!["no-sound".into()], show_running: true, ..opened("mute") });
    log
}

fn fault(log: &Log) -> Fault {
    log.booth().faults["mute"].clone()
}

/// The steps in short: what was asked or tried.
fn steps(log: &Log) -> Vec<String> {
    let name = |deed: &FaultDeed| match deed {
        FaultDeed::Answered { which, .. } => which.to_string(),
        FaultDeed::Tried { remedy, .. } => remedy.to_string(),
        FaultDeed::Marked { mark, .. } => format!("{mark:?}"),
    };
    fault(log).steps.iter().map(|step| name(&step.deed)).collect()
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
fn a_case_keeps_its_steps_in_order_of_time_whatever_arrives_first() {
    let mut log = with_turnstone();
    log.at(4.0, tried("mute", "fit-exciter-lamp", RemedyResult::Helped, &[]));
    log.at(3.0, answered("mute", "exciter-glows", FaultReply::No));
    log.at(2.0, marked("mute", FaultMark::DoneAtOnce));
    // Noted only by the day, so that it stands before the fault was opened.
    log.at(0.5, answered("mute", "volume-up", FaultReply::Yes));
    log.at(1.0, opened("mute"));
    assert_eq!(steps(&log), ["volume-up", "DoneAtOnce", "exciter-glows", "fit-exciter-lamp"]);
    assert_eq!(log.asked(), NOTHING);
}

#[test]
fn an_answer_is_taken_back_by_withdrawing_it_and_the_last_step_is_what_an_undo_names() {
    let mut log = log();
    log.at(2.0, answered("mute", "exciter-glows", FaultReply::Yes));
    let wrong = log.at(3.0, answered("mute", "volume-up", FaultReply::No));
    assert_eq!(fault(&log).last_step().map(|step| step.entry), Some(wrong));
    log.at(4.0, withdraws(wrong));
    assert_eq!(steps(&log), ["exciter-glows"]);
}

#[test]
fn a_remedy_draws_its_spare_from_the_stock_unless_it_was_passed_over_or_taken_back() {
    let mut log = log();
    log.at(0.0, counted("exciter-lamp", 3));
    let left = |log: &Log| log.booth().stock["exciter-lamp"].count;
    let spare: &[(&str, u32)] = &[("exciter-lamp", 1)];
    log.at(2.0, tried("mute", "fit-exciter-lamp", RemedyResult::Skipped, spare));
    assert_eq!(left(&log), 3);
    let entry = log.at(3.0, tried("mute", "fit-exciter-lamp", RemedyResult::Helped, spare));
    assert_eq!(left(&log), 2);
    log.at(4.0, withdraws(entry));
    assert_eq!(left(&log), 3);
}

#[test]
fn a_case_ends_with_its_cause_and_remedy_or_in_a_request() {
    let mut log = log();
    log.at(2.0, request("mute"));
    assert_eq!(fault(&log).requests[0].likely, ["the amplifier"]);
    assert!(fault(&log).is_open());
    let end = FaultClosed {
        cause_id: Some("exciter-lamp-dead".into()),
        remedy_id: Some("fit-exciter-lamp".into()),
        ..closed("mute")
    };
    let end = log.at(3.0, end);
    let confirmed = fault(&log).confirmed;
    assert_eq!(confirmed.cause, Some("exciter-lamp-dead".into()));
    assert_eq!(confirmed.remedy, Some("fit-exciter-lamp".into()));
    log.at(4.0, withdraws(end));
    assert!(fault(&log).is_open() && fault(&log).confirmed.cause.is_none());
}

#[test]
fn two_people_answering_at_once_are_both_kept() {
    let mut log = log();
    log.by("ada", 2.0, answered("mute", "exciter-glows", FaultReply::Yes));
    log.by("ben", 2.0, answered("mute", "exciter-glows", FaultReply::No));
    let by: Vec<String> = fault(&log).steps.iter().map(|step| step.by.to_string()).collect();
    assert_eq!(by, ["ada", "ben"]);
}

#[test]
fn a_fault_opened_twice_keeps_what_was_noticed_both_times() {
    let mut log = log();
    log.at(1.5, FaultOpened { symptoms: vec!["no-sound".into(), "hum".into()], ..opened("mute") });
    let noticed: Vec<String> = fault(&log).symptoms.iter().map(ToString::to_string).collect();
    assert_eq!(noticed, ["no-sound", "hum"]);
    assert_eq!(log.asked().len(), 1);
}

#[test]
fn steps_of_a_fault_that_nobody_opened_are_asked_about() {
    let mut log = with_turnstone();
    log.at(2.0, answered("tick", "exciter-glows", FaultReply::Yes));
    assert!(log.asked()[0].contains("nobody ever opened fault"));
}

#[test]
fn what_cannot_be_is_refused_beside_its_field() {
    let mut log = log();
    log.at(0.0, counted("exciter-lamp", 3));
    write(&log, answered("mute", "exciter-glows", FaultReply::Yes)).unwrap();
    write(&log, request("mute")).unwrap();
    let refused = |fact: Fact| write(&log, fact).unwrap_err().field;
    assert_eq!(refused(answered("tick", "exciter-glows", FaultReply::Yes).into()), "fault");
    let endless = FaultAnswered { value: Some(f64::NAN), ..answered("mute", "volts", FaultReply::Yes) };
    assert_eq!(refused(endless.into()), "value");
    let backwards = FaultTried { minutes: Some(-1.0), ..tried("mute", "oil", RemedyResult::Helped, &[]) };
    assert_eq!(refused(backwards.into()), "minutes");
    assert_eq!(refused(tried("mute", "oil", RemedyResult::Helped, &[("oil", 1)]).into()), "used");
    assert_eq!(refused(marked("mute", FaultMark::HandedOver).into()), "to");
    let twice = FaultMarked { to: Some("ben".into()), ..marked("mute", FaultMark::ShowOver) };
    assert_eq!(refused(twice.into()), "to");
    assert_eq!(refused(FaultOpened { symptoms: vec!["".into()], ..opened("tick") }.into()), "symptoms");
    log.at(5.0, closed("mute"));
    assert_eq!(write(&log, answered("mute", "exciter-glows", FaultReply::Yes)).unwrap_err().field, "fault");
}
