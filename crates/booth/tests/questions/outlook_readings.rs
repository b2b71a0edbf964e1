//! What readings that head past their limit do to the outlook.

use crate::{
    kit::{Log, at},
    outlook::{KIND, ask, library, one_machine, stock},
};
use booth::outlook::{Aside, Cause, Outlook, Weight};
use logbook::fact::Ending;

const TENSION: &str = "take-up-tension-empty";
const EVENING: &str = "2026-03-23 18:00";

/// The take-up of `heron` slackens: no film is to run under 0.5 N (the type file).
fn slackening(values: &[f64]) -> Log {
    let mut log = one_machine();
    stock(&mut log, "belts", "take-up-belt", 4);
    for (n, value) in values.iter().enumerate() {
        log.read(&format!("2026-03-{:02} 22:00", 3 + 3 * n), "heron", TENSION, *value, "N", false);
    }
    log
}

fn of_reading<'o, 'a>(outlook: &'o Outlook<'a>) -> Option<&'o Weight<'a>> {
    outlook.weights.iter().find(|weight| matches!(weight.cause, Cause::Reading { .. }))
}

fn past(weight: &Weight<'_>) -> f64 {
    let Cause::Reading { past, .. } = weight.cause else { panic!("{:?}", weight.cause) };
    past.value()
}

/// Read every third day, over 6.15 hours each: five readings and more over 30 hours lead a line on.
const FALLING: [f64; 7] = [0.78, 0.72, 0.70, 0.64, 0.61, 0.55, 0.53];

#[test]
fn a_reading_that_may_pass_its_limit_in_the_show_weighs_by_its_trend() {
    let booth = slackening(&FALLING).fold();
    let outlook = ask(&booth, EVENING, 60.0);
    let weight = of_reading(&outlook).expect("it falls towards its limit");
    // The line and its band of eight cases in ten, at the end of a showing of two hours: a tenth of a normal law lies
    // 1.281552 standard deviations off (any table).
    let now = at(EVENING);
    let trend = booth::sound::trend(&booth, library(), "heron", TENSION, None, &now).unwrap().value;
    let (line, end) = (trend.fit.unwrap().line, trend.now + 2.0);
    let (low, high) = line.band(end);
    let deviation = if line.at(end) > 0.5 { line.at(end) - low } else { high - line.at(end) } / 1.281_552;
    let by_hand = lives::special::normal_cdf((0.5 - line.at(end)) / deviation);
    assert!((past(weight) - by_hand).abs() < 1e-6 && (0.05..0.95).contains(&by_hand), "{by_hand}");
    // Our choice, no source: past it, it stops one showing in ten.
    assert!((weight.chance.likely.value() - by_hand / 10.0).abs() < 1e-6);
    assert!(weight.chance.low < weight.chance.likely && weight.chance.likely < weight.chance.high);
    assert_eq!(weight.then, "the showing would be lost");
    assert!(outlook.asides.is_empty(), "it is not past it yet: {:?}", outlook.asides);
    // A longer showing goes on further.
    let mut longer = slackening(&FALLING);
    longer.planned("s1", "2026-03-23 19:30", 240.0, &["heron"]);
    let booth = longer.fold();
    assert!(past(of_reading(&ask(&booth, EVENING, 60.0)).unwrap()) > by_hand);
}

#[test]
fn a_reading_far_from_its_limit_or_moving_away_weighs_nothing() {
    let away: Vec<f64> = FALLING.iter().rev().copied().collect();
    for values in [&[1.5, 1.48, 1.47, 1.45, 1.44, 1.43, 1.41][..], &away] {
        let booth = slackening(values).fold();
        assert!(of_reading(&ask(&booth, EVENING, 60.0)).is_none(), "{values:?}");
    }
}

/// One reading is enough where it is past the limit; it comes first, and showings since speak for themselves.
#[test]
fn a_reading_past_its_limit_is_to_be_settled_first() {
    let mut log = slackening(&[0.3]);
    let booth = log.fold();
    let outlook = ask(&booth, EVENING, 60.0);
    let [Aside::PastLimit { .. }] = outlook.asides.as_slice() else { panic!("{:?}", outlook.asides) };
    assert_eq!(
        outlook.said[0],
        "heron: take-up tension, empty spool, was read as 0.3 N on 3 Mar. No film is to run on it so: read it again, or have it put right."
    );
    let at_first = of_reading(&outlook).unwrap().chance.likely.value();
    assert!((at_first - 0.1).abs() < 1e-6, "{at_first}");
    for n in 0..5 {
        let id = format!("held-{n}");
        log.planned(&id, &format!("2026-03-22 1{n}:00"), 30.0, &["heron"]);
        log.held(&format!("2026-03-22 1{n}:00"), &id, 30.0);
    }
    let booth = log.fold();
    // By hand: (1 + 0) / (10 + 5).
    let since = of_reading(&ask(&booth, EVENING, 60.0)).unwrap().chance.likely.value();
    assert!((since - 1.0 / 15.0).abs() < 1e-6, "{since}");
    // Of many readings one cannot bend the line; past the limit it counts none the less.
    let mut odd = slackening(&[1.5, 1.52, 1.49, 1.5, 1.51, 1.5, 0.3]);
    let booth = odd.fold();
    assert!(past(of_reading(&ask(&booth, EVENING, 60.0)).unwrap()) > 0.99);
    odd.read("2026-03-22 22:00", "heron", TENSION, 1.5, "N", false);
    let booth = odd.fold();
    assert!(of_reading(&ask(&booth, EVENING, 60.0)).is_none(), "read again, it was a slip of the hand");
    // What was read before the part was changed says nothing of the new one.
    log.replaced("2026-03-22 20:00", "heron", "take-up-belt", "belt-2", Ending::Worn);
    let booth = log.fold();
    let outlook = ask(&booth, EVENING, 60.0);
    assert!(of_reading(&outlook).is_none() && outlook.asides.is_empty());
}

#[test]
fn a_new_part_sets_a_reading_right_and_another_machine_stands_in() {
    let saved = |values: &[f64]| {
        let mut log = slackening(values);
        log.fitted("2026-03-01 10:00", "heron", "take-up-belt", "belt-1", Some(0.0));
        let booth = log.fold();
        let outlook = ask(&booth, EVENING, 60.0);
        let belt = outlook.deeds.iter().find(|deed| deed.doing.words(&booth).contains("take-up belt"));
        (
            belt.map_or(0.0, |deed| deed.saved.seconds()),
            of_reading(&outlook).map(|weight| weight.dark.seconds()),
        )
    };
    let ((good, none), (slack, Some(dark))) = (saved(&[1.5]), saved(&[0.3])) else { panic!("it weighs") };
    // It tells of the belt and of the clutch: each is as likely to blame. A new belt alone saves next to nothing.
    assert!(none.is_none() && (slack - good - dark / 2.0).abs() < 1.0, "{good} {slack} {dark}");

    let then = |machines: &[&str], value: f64| {
        let mut log = slackening(&[value]);
        log.machine_of("2026-03-01 09:00", "egret", KIND, Some(100.0));
        log.planned("s1", "2026-03-23 19:30", 120.0, machines);
        let booth = log.fold();
        let outlook = ask(&booth, EVENING, 60.0);
        let lamp = |weight: &&Weight<'_>| matches!(weight.cause, Cause::Part { machine, life, .. } if machine.as_str() == "egret" && life.slot.as_str() == "lamp");
        let of_lamp = outlook.weights.iter().find(lamp).unwrap().then.clone();
        (of_lamp, of_reading(&outlook).map(|weight| weight.then.clone()))
    };
    let both = ["egret", "heron"];
    // A machine on which no film is to run takes nothing over, and is taken over for.
    assert_eq!(then(&both, 1.5), ("a stoppage of about 5 minutes".to_owned(), None));
    let slack = then(&both, 0.3);
    assert_eq!(slack.0, "the showing would be lost");
    assert_eq!(slack.1.as_deref(), Some("a stoppage of about 5 minutes"));
}
