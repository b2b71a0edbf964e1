//! How long parts last: the booth's own lives, what is believed, when to change, where each stands.

use crate::kit::{Log, at};
use booth::{
    NotKnown, PartLives,
    lived::{Entered, KeptBeliefs},
    parts_lives,
    parts_lives::{DARK_MINUTE_WORTH, NoChange, Only},
};
use logbook::{Booth, fact::Ending};
use machine::Library;
use std::sync::OnceLock;

const KIND: &str = "portable-16mm-halogen";
const NOW: &str = "2026-09-01 12:00";

fn kept() -> &'static KeptBeliefs {
    static KEPT: OnceLock<KeptBeliefs> = OnceLock::new();
    KEPT.get_or_init(KeptBeliefs::default)
}

fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(machine::shipped)
}

/// `heron`: a lamp that failed after 30 h, one changed as planned after 20 h, and one that has burnt 50 h.
fn heron(ends: Ending) -> Log {
    let mut log = Log::new();
    log.machine_of("2026-03-01 09:00", "heron", KIND, Some(100.0));
    log.fitted("2026-03-01 10:00", "heron", "lamp", "lamp-1", Some(0.0));
    log.ran_daily("2026-03-02", 15, "heron", 2.0);
    log.replaced("2026-03-17 10:00", "heron", "lamp", "lamp-2", ends);
    log.ran_daily("2026-03-18", 10, "heron", 2.0);
    log.replaced("2026-03-28 10:00", "heron", "lamp", "lamp-3", Ending::Planned);
    log.ran_daily("2026-03-29", 25, "heron", 2.0);
    log
}

fn ask<'a>(booth: &'a Booth, slot: &str, dark_minute: f64) -> Vec<PartLives<'a>> {
    let only = Only { kind: Some(KIND), slot: Some(slot) };
    parts_lives(booth, library(), &at(NOW), kept(), only, dark_minute).unwrap().value
}

fn lamp(booth: &Booth) -> PartLives<'_> {
    ask(booth, "lamp", DARK_MINUTE_WORTH).remove(0)
}

#[test]
fn own_lives_are_told_apart_and_a_planned_change_is_no_failure() {
    let booth = heron(Ending::Failed).fold();
    let lamp = lamp(&booth);
    let told: Vec<(&str, f64, bool)> =
        lamp.own.iter().map(|own| (own.part.as_str(), own.last_age().unwrap(), own.failed)).collect();
    assert_eq!(told, [("lamp-1", 30.0, true), ("lamp-2", 20.0, false), ("lamp-3", 50.0, false)]);
    assert_eq!((lamp.failures, lamp.fitted.len()), (1, 1));
    assert_eq!((lamp.fitted[0].part.as_str(), lamp.fitted[0].age), ("lamp-3", Entered::At(50.0)));
    // Kaplan and Meier by hand: at 30 h two lamps were watched, one of which failed.
    let curve = lamp.curve.as_ref().unwrap();
    assert_eq!(curve.steps.iter().map(|step| (step.age, step.value)).collect::<Vec<_>>(), [(30.0, 0.5)]);
    assert_eq!(curve.censored, [20.0, 50.0]);
    let sentence = &lamp.sentence;
    assert!(
        sentence.contains("has seen 3 lives, and 1 has failed") && sentence.contains("heron is 50 h old"),
        "{sentence}"
    );
}

#[test]
fn a_failure_shortens_what_is_believed_and_with_it_the_best_age() {
    let (failed, planned) = (heron(Ending::Failed).fold(), heron(Ending::Planned).fold());
    let (failed, planned) = (lamp(&failed), lamp(&planned));
    assert!(failed.half.median < planned.half.median, "{:?} {:?}", failed.half, planned.half);
    assert!(failed.change.unwrap().best_age < planned.change.unwrap().best_age);
    assert_eq!(planned.failures, 0);
    for lives in [&failed, &planned] {
        assert!(
            lives.from_data > 0.0
                && lives.half.low < lives.half.median
                && lives.half.median < lives.half.high
        );
        let falling =
            lives.believed.windows(2).all(|pair| pair[1].survival.chance <= pair[0].survival.chance);
        assert!(falling && lives.believed[0].survival.chance.value() == 1.0);
        assert!(lives.believed.iter().all(|at| at.survival.low <= at.survival.high));
        assert!(lives.believed.last().unwrap().age > 50.0, "the curve reaches all that stands on it");
    }
}

/// At the best age hazard × mean time − chance of failure = planned/(failure − planned) (Barlow and Proschan 1965), each
/// taken over all that is believed; here by differences of the cost itself.
#[test]
fn the_best_age_costs_least() {
    let booth = heron(Ending::Failed).fold();
    let change = lamp(&booth).change.unwrap();
    assert_eq!((change.planned_minutes, change.dark_minutes), (5.0, 3.0));
    assert_eq!(change.failure_minutes, 5.0 + DARK_MINUTE_WORTH * 3.0);
    assert!(change.rate < change.rate_if_left);
    let (early, late) = change.nearly.unwrap();
    assert!(early < change.best_age && late.is_none_or(|late| late > change.best_age));
    let dearer = ask(&booth, "lamp", 40.0).remove(0).change.unwrap();
    assert!(dearer.best_age < change.best_age, "the dearer the dark, the earlier");
    let cheap = ask(&booth, "lamp", 0.1).remove(0).change;
    assert!(cheap.is_err() || cheap.unwrap().best_age > change.best_age);
}

#[test]
fn why_there_is_no_best_age_is_said() {
    let booth = heron(Ending::Failed).fold();
    let all = parts_lives(&booth, library(), &at(NOW), kept(), Only::default(), DARK_MINUTE_WORTH).unwrap();
    let of = |why: NoChange| all.value.iter().any(|lives| lives.change == Err(why));
    assert!(of(NoChange::StopsNothing) && of(NoChange::Technician));
    assert!(all.value.iter().all(|lives| !lives.sentence.is_empty() && lives.kind.id.as_str() == KIND));
    // Nothing was seen of most parts: that is said, and what is believed is the type's.
    let unseen = all.value.iter().find(|lives| lives.own.is_empty()).unwrap();
    assert!(unseen.on_prior() && unseen.curve.is_none() && unseen.sentence.contains("has not seen one yet"));
}

#[test]
fn what_nobody_knows_is_refused_with_what_there_is() {
    let booth = heron(Ending::Failed).fold();
    let ask = |only| parts_lives(&booth, library(), &at(NOW), kept(), only, 10.0).unwrap_err();
    let error = ask(Only { kind: None, slot: Some("lamb") });
    assert!(matches!(error, NotKnown::Life { .. }) && error.to_string().contains("lamp"), "{error}");
    let error = ask(Only { kind: Some("portable"), slot: None });
    assert!(matches!(error, NotKnown::TypeOfNone { .. }) && error.to_string().contains(KIND), "{error}");
}

/// A logbook that was brought in may say anything of a part's age: what is asked of its lives is answered.
#[test]
fn a_life_of_an_absurd_age_does_not_stop_the_questions() {
    for age in [1e15, 1e308, f64::INFINITY, -1e308, 5e-324, 999_999.999_999_999_9, 1_000_000.0] {
        for ends in [Ending::Failed, Ending::Planned] {
            let mut log = Log::new();
            log.machine_of("2026-03-01 09:00", "heron", KIND, Some(100.0));
            log.fitted("2026-03-01 10:00", "heron", "lamp", "lamp-1", Some(age));
            // Less than the greatest age can tell apart from itself.
            log.ran("2026-03-02 10:00", "heron", 1e-11);
            log.replaced("2026-03-17 10:00", "heron", "lamp", "lamp-2", ends);
            let booth = log.fold();
            let lamp = lamp(&booth);
            assert_eq!(lamp.failures, usize::from(ends == Ending::Failed), "{age} {ends:?}");
            assert_eq!(lamp.fitted[0].part.as_str(), "lamp-2", "{age} {ends:?}");
        }
    }
}
