//! Where readings are heading, and which parts a line may come from.

use crate::kit::{Log, at, fitting, types};
use booth::sound::{PERFORATIONS, Trend, candidates, running, trend};
use booth::{Answer, Verdict};
use logbook::Booth;
use logbook::fact::{Ending, Replaced};
use machine::Mains;
use units::FramesPerSecond;

/// One reading of flutter on every tenth day, after eight hours of running since the last.
fn log_of(values: &[f64]) -> Log {
    let mut log = Log::new();
    for (n, value) in (0..).zip(values) {
        let date = booth::Day::on("2026-02-01".parse().unwrap()).plus(10 * n).date();
        log.ran(&format!("{date} 15:00"), "turnstone", 8.0);
        log.read(&format!("{date} 18:00"), "turnstone", "flutter", *value, "%", n == 0);
    }
    log
}

const RISING: [f64; 8] = [0.20, 0.212, 0.219, 0.233, 0.239, 0.252, 0.259, 0.272];

fn ask<'a>(booth: &'a Booth, now: &str) -> Answer<Trend<'a>> {
    trend(booth, types(), "turnstone", "flutter", None, &at(now)).unwrap()
}

#[test]
fn a_rising_line_names_the_showing_before_which_to_act() {
    let mut log = log_of(&RISING);
    // Each of these uses up ten hours; 0.40 % lies about 100 hours ahead of the last reading.
    for n in 0..30 {
        let date = booth::Day::on("2026-05-01".parse().unwrap()).plus(n).date();
        log.planned(&format!("p{n}"), &format!("{date} 12:00"), 600.0, &["turnstone"]);
    }
    let booth = log.fold();
    let answer = ask(&booth, "2026-04-20 12:00");
    let forecast = answer.value.forecast.as_ref().unwrap();
    let middle = forecast.middle.unwrap();
    assert_eq!(forecast.limit, 0.4);
    assert!((90.0..115.0).contains(&middle.in_hours), "{middle:?}");
    assert!(forecast.early.in_hours < middle.in_hours);
    assert!(forecast.late.unwrap().in_hours > middle.in_hours);
    // By the end of the n-th showing 10 (n + 1) hours are used up.
    let showing = ((forecast.early.in_hours / 10.0).ceil() as usize) - 1;
    assert_eq!(forecast.before.unwrap().0.as_str(), format!("p{showing}"));
    assert!(forecast.early.date.unwrap() < middle.date.unwrap());
    assert!(answer.value.step.is_none());
    assert!(answer.because.len() >= RISING.len());
}

#[test]
fn few_readings_or_a_short_time_give_no_forecast_and_say_why() {
    let booth = log_of(&RISING[..4]).fold();
    let answer = ask(&booth, "2026-04-20 12:00");
    assert!(answer.value.forecast.is_none());
    assert!(answer.value.no_forecast.unwrap().contains("there are 4"));
    let mut log = Log::new();
    for (n, value) in RISING.iter().enumerate() {
        log.ran(&format!("2026-02-{:02} 15:00", n + 1), "turnstone", 1.0);
        log.read(&format!("2026-02-{:02} 18:00", n + 1), "turnstone", "flutter", *value, "%", n == 0);
    }
    let booth = log.fold();
    assert!(ask(&booth, "2026-04-20 12:00").value.no_forecast.unwrap().contains("30 hours"));
}

#[test]
fn readings_that_only_scatter_give_no_forecast() {
    let booth = log_of(&[0.21, 0.20, 0.22, 0.205, 0.215, 0.20, 0.21, 0.208]).fold();
    let answer = ask(&booth, "2026-04-30 12:00");
    assert!(answer.value.forecast.is_none());
    assert!(answer.value.no_forecast.unwrap().contains("scatter"));
}

#[test]
fn a_step_is_kept_apart_from_the_slope() {
    let mut values = vec![0.20, 0.201, 0.203, 0.202, 0.204, 0.203];
    values.extend([0.33, 0.332, 0.331, 0.333, 0.332, 0.334]);
    let booth = log_of(&values).fold();
    let answer = ask(&booth, "2026-06-20 12:00");
    let step = answer.value.step.unwrap();
    assert_eq!((step.from.value, step.to.value), (0.203, 0.33));
    assert!((step.by - 0.127).abs() < 0.02, "{}", step.by);
    assert_eq!(answer.value.points.iter().filter(|point| point.in_fit).count(), 6);
    assert!(answer.value.fit.unwrap().line.slope.abs() < 2e-4);
    // One bad reading alone is no step.
    let booth = log_of(&[0.20, 0.201, 0.203, 0.202, 0.204, 0.5, 0.203, 0.202]).fold();
    assert!(ask(&booth, "2026-06-20 12:00").value.step.is_none());
}

#[test]
fn a_changed_part_begins_a_new_line_and_shows_what_it_did() {
    let mut log = log_of(&[0.30, 0.33, 0.36, 0.41, 0.44]);
    let replaced = Replaced { part: None, why: Ending::Worn };
    log.write("2026-03-20 10:00", fitting("turnstone", "motor", "m2", Some(0.0), Some(replaced)));
    log.ran("2026-03-21 15:00", "turnstone", 8.0);
    log.read("2026-03-21 18:00", "turnstone", "flutter", 0.2, "%", false);
    let booth = log.fold();
    let answer = ask(&booth, "2026-04-01 12:00");
    let change = answer.value.change.unwrap();
    assert_eq!((change.before.value, change.after.value), (0.44, 0.2));
    assert!(change.clear && (change.difference + 0.24).abs() < 1e-9);
    assert_eq!(answer.value.points.iter().filter(|point| point.in_fit).count(), 1);
    assert!(answer.value.since.contains("20 Mar 2026"), "{}", answer.value.since);
}

#[test]
fn what_is_past_its_limit_says_so_and_needs_no_diary() {
    let booth = log_of(&[0.36, 0.37, 0.39, 0.42, 0.46, 0.50, 0.53, 0.57]).fold();
    let answer = ask(&booth, "2026-04-20 12:00");
    let forecast = answer.value.forecast.as_ref().unwrap();
    assert_eq!(forecast.early.in_hours, 0.0);
    assert_eq!(forecast.middle.unwrap().in_hours, 0.0);
    assert!(forecast.before.is_none());
    assert_eq!(answer.value.points.last().unwrap().verdict, Verdict::Act);
}

#[test]
fn tonight_names_the_reading_that_may_pass_its_limit() {
    let mut log = log_of(&[0.36, 0.37, 0.39, 0.42, 0.46, 0.50, 0.53, 0.57]);
    log.planned("first", "2026-04-20 19:30", 120.0, &["turnstone"]);
    log.planned("second", "2026-04-21 19:30", 120.0, &["turnstone"]);
    let booth = log.fold();
    let answer = booth::tonight(&booth, types(), &at("2026-04-20 12:00"));
    let said = |showing: &booth::TonightShowing<'_>| showing.sentence.clone();
    let this = said(&answer.value.this_evening[0]);
    assert!(this.contains("May pass its limit by then: ") && this.contains("flutter"), "{this}");
    let next = said(&answer.value.next_days[0]);
    assert!(!next.contains("May pass its limit"), "said once, before the first: {next}");
}

/// What a lamp gives falls over its hours; the next lamp begins anew.
#[test]
fn each_stretch_between_changes_has_a_line_of_its_own() {
    let mut log = log_of(&[0.30, 0.31, 0.32, 0.33]);
    let replaced = Replaced { part: None, why: Ending::Worn };
    log.write("2026-03-12 10:00", fitting("turnstone", "motor", "m2", Some(0.0), Some(replaced)));
    for (n, value) in (0..).zip([0.20, 0.19, 0.18, 0.17, 0.16]) {
        let date = booth::Day::on("2026-03-13".parse().unwrap()).plus(10 * n).date();
        log.ran(&format!("{date} 15:00"), "turnstone", 8.0);
        log.read(&format!("{date} 18:00"), "turnstone", "flutter", value, "%", false);
    }
    let booth = log.fold();
    let answer = ask(&booth, "2026-05-01 12:00");
    assert!(answer.value.fit.unwrap().line.slope < 0.0);
    let earlier = &answer.value.earlier;
    assert!(earlier.len() == 1 && earlier[0].line.slope > 0.0 && earlier[0].line.n == 4, "{earlier:?}");
    assert!(answer.value.forecast.is_none(), "it moves away from the limit: {:?}", answer.value.forecast);
}

#[test]
fn a_quantity_or_machine_that_is_not_known_is_refused() {
    let booth = Log::new().fold();
    assert!(trend(&booth, types(), "turnstone", "flutte", None, &at("2026-04-20 12:00")).is_err());
    assert!(trend(&booth, types(), "dunlin", "flutter", None, &at("2026-04-20 12:00")).is_err());
    let empty = ask(&booth, "2026-04-20 12:00");
    assert!(empty.value.points.is_empty() && empty.value.no_forecast.is_some());
}

/// Rates by arithmetic from the film: 24 frames of 7.620 mm (16 mm, long pitch, ISO 69) pass in a second.
#[test]
fn every_part_that_turns_is_a_suspect_at_its_rate() {
    let library = machine::shipped();
    let kind = library.get("portable-16mm-halogen").unwrap();
    let all = candidates(kind, running(kind, FramesPerSecond::new(24.0), None));
    let of = |id: &str| all.iter().find(|one| one.part == id).unwrap();
    let drum = of("drum");
    let speed = 24.0 * 7.620e-3;
    let expected = speed / (std::f64::consts::PI * (0.030 + 0.006 * 0.0254));
    assert!((drum.rate.low.hertz() - expected).abs() < 1e-4 && drum.film_locked && !drum.slips);
    assert!((of("sound-sprocket").rate.low.hertz() - 2.0).abs() < 1e-12);
    assert!((of(PERFORATIONS).rate.low.hertz() - 24.0).abs() < 1e-12);
    let motor = of("motor");
    assert!(!motor.film_locked && (motor.rate.low.hertz() - 24.166_666_7).abs() < 1e-6);
    let spool = of("supply-spool");
    assert!(spool.rate.low < spool.rate.high);
    // A shutter of three wings shows at three times its turn, a fan of seven blades at seven times.
    assert!(of("claw-shaft").harmonics.contains(&3) && of("fan").harmonics.contains(&7));
    // Eight balls, a quarter of the pitch circle: 8 x (1 - 1/4) / 2 = 3 balls pass the outer ring in a turn.
    let ring = all.iter().find(|one| one.name.ends_with("outer ring of the bearing")).unwrap();
    assert!(ring.part == "drum" && (ring.rate.low.hertz() / expected - 3.0).abs() < 1e-4);
    let american = candidates(kind, running(kind, FramesPerSecond::new(24.0), Some(Mains::Sixty)));
    let motor = american.iter().find(|one| one.part == "motor").unwrap();
    assert!((motor.rate.low.hertz() - 28.75).abs() < 1e-9);
}

#[test]
fn each_part_that_turns_leads_to_care() {
    for kind in machine::shipped().iter() {
        for part in &kind.rotating {
            assert!(
                kind.care_for(part.slot.as_str()).next().is_some(),
                "{}: a line of {} leads to no care",
                kind.id,
                part.id
            );
        }
    }
}
