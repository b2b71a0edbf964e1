//! Running times against printed tables.

use film::calc::{length_for_time, running_time};
use film::{Gauge, Pitch, frames_in_time, speed_change, time_of};
use units::{Frames, FramesPerSecond, Metres, Seconds, show};

use crate::assert_near;

const FPS_16: FramesPerSecond = FramesPerSecond::new(16.0);
const FPS_18: FramesPerSecond = FramesPerSecond::new(18.0);
const FPS_24: FramesPerSecond = FramesPerSecond::new(24.0);
const FPS_25: FramesPerSecond = FramesPerSecond::new(25.0);

fn seconds(gauge: Gauge, length: Metres, fps: FramesPerSecond) -> f64 {
    running_time(gauge, length, fps).unwrap().seconds.seconds()
}

fn shown(gauge: Gauge, length: Metres, fps: FramesPerSecond) -> String {
    show::running_time(running_time(gauge, length, fps).unwrap().seconds)
}

#[test]
fn eight_millimetre_times_agree_with_the_printed_table_of_lengths_and_times() {
    // A printed table of 8 mm and Super 8 lengths and times: all eight rows. The table rounds to the second, and it
    // multiplies by 262.5 and 236.2 frames to the metre where the exact fractions are 262.47 and 236.22, which moves
    // its longest row by a quarter of a second.
    for (gauge, fps, metres, printed) in [
        (Gauge::Standard8, FPS_16, 15.0, "4:06"),
        (Gauge::Standard8, FPS_16, 60.0, "16:24"),
        (Gauge::Standard8, FPS_16, 90.0, "24:37"),
        (Gauge::Standard8, FPS_16, 120.0, "32:49"),
        (Gauge::Super8, FPS_18, 15.0, "3:17"),
        (Gauge::Super8, FPS_18, 60.0, "13:07"),
        (Gauge::Super8, FPS_18, 90.0, "19:41"),
        (Gauge::Super8, FPS_18, 120.0, "26:15"),
    ] {
        let printed: Seconds = printed.parse().unwrap();
        assert_near(seconds(gauge, Metres::new(metres), fps), printed.seconds(), 0.75);
    }
}

#[test]
fn a_hundred_minutes_agree_with_the_printed_footages() {
    // Encyclopaedia article on the film foot: 100 minutes at 24 fps on every gauge.
    for (gauge, feet) in
        [(Gauge::Mm35, 9000.0), (Gauge::Mm16, 3600.0), (Gauge::Super8, 2000.0), (Gauge::Standard8, 1800.0)]
    {
        assert_eq!(seconds(gauge, Metres::from_feet(feet), FPS_24), 6000.0, "{gauge}");
        let length = length_for_time(gauge, Seconds::from_minutes(100.0), FPS_24).unwrap().length;
        assert_near(length.as_feet(), feet, 1e-9);
    }
}

#[test]
fn thirty_five_millimetre_reels_agree_with_the_printed_minutes() {
    // Encyclopaedia article on cue marks: 1000 ft run 11.11 min and 2000 ft 22.22 min.
    assert_near(seconds(Gauge::Mm35, Metres::from_feet(1000.0), FPS_24) / 60.0, 11.11, 0.005);
    assert_near(seconds(Gauge::Mm35, Metres::from_feet(2000.0), FPS_24) / 60.0, 22.22, 0.005);
}

#[test]
fn sixteen_millimetre_holds_two_and_a_half_times_the_picture() {
    // Web text on conversion formulas in film editing: 36 ft of 16 mm = 90 ft of 35 mm, factor 2.5.
    let frames_16 = Gauge::Mm16.frames_in(Metres::from_feet(36.0)).unwrap();
    assert_eq!(frames_16, Gauge::Mm35.frames_in(Metres::from_feet(90.0)).unwrap());
}

/// Worked out by hand from frames per foot and speed, to the tenth of a second where it is not whole.
#[test]
fn times_by_feet_agree_with_a_hand_worked_table() {
    #[rustfmt::skip]
    let table = [
        (50.0,   ["1:23",  "1:20",  "1:51",    "0:33",  "0:32",  "2:30",    "3:20",    "4:10",    "3:42"]),
        (100.0,  ["2:47",  "2:40",  "3:42",    "1:07",  "1:04",  "5:00",    "6:40",    "8:20",    "7:24"]),
        (400.0,  ["11:07", "10:40", "14:49",   "4:27",  "4:16",  "20:00",   "26:40",   "33:20",   "29:38"]),
        (600.0,  ["16:40", "16:00", "22:13",   "6:40",  "6:24",  "30:00",   "40:00",   "50:00",   "44:27"]),
        (1200.0, ["33:20", "32:00", "44:27",   "13:20", "12:48", "1:00:00", "1:20:00", "1:40:00", "1:28:53"]),
        (1600.0, ["44:27", "42:40", "59:16",   "17:47", "17:04", "1:20:00", "1:46:40", "2:13:20", "1:58:31"]),
        (2000.0, ["55:33", "53:20", "1:14:04", "22:13", "21:20", "1:40:00", "2:13:20", "2:46:40", "2:28:09"]),
    ];
    let columns = [
        (Gauge::Mm16, FPS_24),
        (Gauge::Mm16, FPS_25),
        (Gauge::Mm16, FPS_18),
        (Gauge::Mm35, FPS_24),
        (Gauge::Mm35, FPS_25),
        (Gauge::Super8, FPS_24),
        (Gauge::Super8, FPS_18),
        (Gauge::Standard8, FPS_16),
        (Gauge::Standard8, FPS_18),
    ];
    for (feet, times) in table {
        for ((gauge, fps), time) in columns.into_iter().zip(times) {
            assert_eq!(shown(gauge, Metres::from_feet(feet), fps), time, "{feet} ft of {gauge} at {fps}");
        }
    }
}

#[test]
fn four_hundred_feet_of_16_mm_run_eleven_minutes_and_six_point_seven_seconds() {
    let sum = running_time(Gauge::Mm16, "400ft".parse().unwrap(), FPS_24).unwrap();
    assert_eq!(sum.frames, Frames::new(16_000));
    assert_eq!(show::running_time_in_tenths(sum.seconds), "11:06.7");
}

#[test]
fn frames_per_metre_are_exact_where_printed_ones_are_rounded() {
    // A collectors' table of film formats prints 131.5 for 16 mm; the exact fraction is 131.23.
    assert_near(Gauge::Mm16.frames_per_metre().value(), 131.23, 0.005);
    assert_near(Gauge::Mm35.frames_per_metre().value(), 52.49, 0.005);
    assert_near(Gauge::Super8.frames_per_metre().value(), 236.22, 0.005);
    assert_near(Gauge::Standard8.frames_per_metre().value(), 262.47, 0.005);
    // A page on basic projection prints 27.36 m/min and 2736 m for 100 min of 35 mm, which is the speed by pitch; the
    // counted feet give 27.43 m/min.
    let by_pitch = Gauge::Mm35.film_speed_by_pitch(FPS_24, Pitch::Long).metres_per_second() * 60.0;
    assert_near(by_pitch, 27.36, 0.005);
    assert_near(Gauge::Mm35.film_speed(FPS_24).metres_per_second() * 60.0, 27.43, 0.005);
}

#[test]
fn a_film_shot_at_24_and_shown_at_25_runs_fast_and_sharp() {
    // Arithmetic on 25/24: 4.17 % and 70.7 cents.
    let change = speed_change(FPS_24, FPS_25).unwrap();
    assert_near(change.faster.percent(), 4.17, 0.005);
    assert_near(change.pitch_cents, 70.7, 0.05);
}

#[test]
fn standard_speeds_agree_with_iso_26() {
    // ISO 26:1993, clause 4: silent 18 +-1 fps preferred, or 16; sound 24 +-1 fps.
    let speeds = Gauge::Mm16.standard_speeds();
    let named = |fps: FramesPerSecond| speeds.iter().find(|named| named.speed == fps).unwrap();
    assert_eq!(named(FPS_24).tolerance, Some(FramesPerSecond::new(1.0)));
    assert_eq!(named(FPS_18).tolerance, Some(FramesPerSecond::new(1.0)));
    assert_eq!(named(FPS_16).for_films, "silent, older");
    assert_eq!(speeds.first().unwrap().speed, FPS_24);
}

#[test]
fn feet_and_frames_split_and_join() {
    let footage = Gauge::Mm16.feet_and_frames(Frames::new(16_026));
    assert_eq!(footage.to_string(), "400 ft + 26 frames");
    assert_eq!(Gauge::Mm16.frames_of(footage), Frames::new(16_026));
}

#[test]
fn impossible_questions_are_refused_in_words() {
    let refusal = |length: f64, fps: f64| {
        running_time(Gauge::Mm16, Metres::new(length), FramesPerSecond::new(fps)).unwrap_err().to_string()
    };
    assert_eq!(refusal(10.0, 0.0), "film cannot be timed at 0 fps; give a speed above zero, such as 24 fps");
    assert_eq!(refusal(-1.0, 24.0), "a length of film cannot be -1 m; give zero or more");
    assert_eq!(refusal(1.0e7, 24.0), "10000000 m is longer than any film; check the number and its unit");
    assert!(refusal(f64::NAN, 24.0).contains("cannot be NaN m"));
    assert!(time_of(Frames::new(1), FramesPerSecond::new(f64::INFINITY)).is_err());
    assert!(frames_in_time(Seconds::new(-1.0), FPS_24).is_err());
    assert!(length_for_time(Gauge::Mm16, Seconds::new(1.0e300), FPS_24).is_err());
}

#[test]
fn the_rounding_of_a_time_asks_for_no_larger_spool() {
    // 400 ft of 16 mm at 24 fps are 16,000 frames and run 666.67 seconds (40 frames to the foot), which people write
    // as 11:06.7 or 11:07.
    let spool = |time: &str| {
        let time: Seconds = time.parse().unwrap();
        length_for_time(Gauge::Mm16, time, FPS_24).unwrap().spool
    };
    assert_eq!(spool("11:06.6"), Some("400 ft"));
    assert_eq!(spool("11:06.7"), Some("400 ft"));
    assert_eq!(spool("11:07"), Some("400 ft"));
    assert_eq!(spool("11:08"), Some("800 ft"));
    assert_eq!(spool("0:00"), Some("400 ft"));
}
