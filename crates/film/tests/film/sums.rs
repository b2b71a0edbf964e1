//! The answers as they are written out: keys with units, and everything that an answer owes its reader.

use film::calc::{WoundOn, length_for_time, reel_contents, running_time, sound_advance, speed_of_film};
use film::{Base, Gauge, SoundKind};
use serde_json::{Value, json, to_value};
use units::{FramesPerSecond, Metres, Seconds};

const FPS_24: FramesPerSecond = FramesPerSecond::new(24.0);

/// Every answer of the room for one gauge.
fn answers(gauge: Gauge) -> Vec<Value> {
    let (outer, hub) = (Metres::from_millimetres(170.0), Metres::from_millimetres(60.0));
    let contents = reel_contents(gauge, outer, hub, WoundOn::Base(Base::Acetate), FPS_24).unwrap();
    vec![
        to_value(running_time(gauge, Metres::from_feet(400.0), FPS_24).unwrap()).unwrap(),
        to_value(length_for_time(gauge, Seconds::from_minutes(10.0), FPS_24).unwrap()).unwrap(),
        to_value(contents).unwrap(),
        to_value(speed_of_film(gauge, FPS_24).unwrap()).unwrap(),
        to_value(sound_advance(gauge, SoundKind::Magnetic, FPS_24).unwrap()).unwrap(),
    ]
}

#[test]
fn every_answer_names_its_formula_its_source_and_its_caveats() {
    for answer in Gauge::ALL.into_iter().flat_map(answers) {
        for key in ["formula", "source"] {
            assert!(answer[key].as_str().is_some_and(|text| !text.is_empty()), "{key} in {answer}");
        }
        assert!(
            answer["caveats"].is_array() && answer["gauge"].is_string() && answer["fps"].is_number(),
            "{answer}"
        );
    }
}

#[test]
fn a_running_time_is_written_with_units_in_its_keys() {
    let answer = to_value(running_time(Gauge::Mm16, Metres::from_feet(400.0), FPS_24).unwrap()).unwrap();
    assert_eq!(
        answer,
        json!({
            "gauge": "16mm",
            "fps": 24.0,
            "seconds": 16_000.0 / 24.0,
            "frames": 16000,
            "length_m": 121.92,
            "length_ft": 400.0,
            "formula": "seconds = feet x frames per foot / frames per second",
            "source": "40 frames per foot: SMPTE 41, clause 3 (36 ft/min at 24 fps)",
            "caveats": [],
        })
    );
}

#[test]
fn the_other_answers_carry_their_measures() {
    let reel = Gauge::Mm16.spools().first().unwrap();
    let wound = WoundOn::Base(Base::Polyester);
    let reel =
        to_value(reel_contents(Gauge::Mm16, reel.flange, reel.hub.unwrap(), wound, FPS_24).unwrap()).unwrap();
    assert_eq!((reel["outer_mm"].as_f64(), reel["hub_mm"].as_f64()), (Some(177.8), Some(63.5)));
    assert_eq!(reel["wound_thickness_mm"].as_f64(), Some(0.134_62));
    assert!(
        reel["seconds_per_mm"].is_number() && reel["length_ft"].is_number() && reel["seconds"].is_number()
    );
    let speed = to_value(speed_of_film(Gauge::Mm35, FPS_24).unwrap()).unwrap();
    assert_eq!(speed["speed_mm_per_s"].as_f64(), Some(457.2));
    assert_eq!(speed["speed_in_per_s"].as_f64(), Some(18.0));
    assert_eq!(speed["speed_ft_per_min"].as_f64(), Some(90.0));
    assert_eq!(speed["by_long_pitch_mm_per_s"].as_f64(), Some(455.9808));
    assert_eq!(speed["perforations_hz"].as_f64(), Some(96.0));
    let advance = to_value(sound_advance(Gauge::Mm35, SoundKind::Magnetic, FPS_24).unwrap()).unwrap();
    assert_eq!(advance["frames"], -28);
    assert_eq!(advance["sound"], "magnetic");
    assert!(advance["distance_mm"].as_f64().is_some_and(|distance| distance < 0.0));
    let length =
        to_value(length_for_time(Gauge::Mm16, Seconds::from_minutes(11.0), FPS_24).unwrap()).unwrap();
    assert_eq!((length["frames"].as_i64(), length["spool"].as_str()), (Some(15_840), Some("400 ft")));
}

#[test]
fn the_35_mm_trap_is_said_wherever_footage_is_counted() {
    for (gauge, said) in [(Gauge::Mm35, true), (Gauge::Mm16, false)] {
        let sum = running_time(gauge, Metres::from_feet(1000.0), FPS_24).unwrap();
        assert_eq!(sum.caveats.iter().any(|caveat| caveat.contains("11.968 in")), said);
    }
}

#[test]
fn a_kind_of_sound_without_a_laid_down_distance_is_refused() {
    let refusal = sound_advance(Gauge::Mm16, SoundKind::Silent, FPS_24).unwrap_err();
    assert_eq!(
        refusal.to_string(),
        "no picture-to-sound distance is laid down for 16 mm film with silent sound"
    );
}
