//! Cue marks and leaders against SMPTE 301, SMPTE 55 and the published leaders.

use film::Gauge;
use film::leader::{ACADEMY, SMPTE_55, SMPTE_301, SYNC_POP_BEFORE_PICTURE, UNIVERSAL};
use units::{Frames, FramesPerSecond, Seconds};

use crate::assert_near;

const FPS_24: FramesPerSecond = FramesPerSecond::new(24.0);

#[test]
fn cue_marks_agree_with_smpte_301() {
    // Encyclopaedia article on cue marks, giving SMPTE 301: motor cue on frames 198 to 195 before the end, 12.34 ft and
    // less; changeover cue on 22 to 19 (printed as 21 to 19, which its own four frames correct).
    let marks = SMPTE_301;
    assert_eq!(marks.motor_before_end(), Frames::new(198));
    assert_eq!((marks.motor_before_end() - marks.motor + Frames::new(1)).count(), 195);
    assert_eq!(marks.changeover_before_end(), Frames::new(22));
    assert_eq!((marks.after + Frames::new(1)).count(), 19);
    assert_near(Gauge::Mm35.length_of(marks.motor_before_end()).as_feet(), 12.375, 1e-9);
    assert_near(Gauge::Mm16.length_of(marks.motor_before_end()).as_feet(), 4.95, 1e-9);
}

#[test]
fn cue_marks_agree_with_smpte_55() {
    // The same article, giving SMPTE 55: 4, 168, 4, 24.
    let total = SMPTE_55.motor + SMPTE_55.between + SMPTE_55.changeover + SMPTE_55.after;
    assert_eq!(total, SMPTE_55.motor_before_end());
    assert_eq!(total, Frames::new(200));
    assert_near(Gauge::Mm16.length_of(total).as_feet(), 5.0, 1e-9);
}

#[test]
fn the_motor_cue_comes_eight_seconds_and_the_changeover_cue_one_second_before_the_end() {
    // The same article: motor about 8 s, changeover about 1 s before the end; each mark lasts 0.167 s.
    for marks in [SMPTE_301, SMPTE_55] {
        let seconds = |frames| film::time_of(frames, FPS_24).unwrap().seconds();
        assert_near(seconds(marks.motor_before_end()), 8.0, 0.5);
        assert_near(seconds(marks.changeover_before_end()), 1.0, 0.2);
        assert_near(seconds(marks.motor), 0.167, 0.000_5);
    }
    assert_near(SMPTE_301.time_between(FPS_24).unwrap().seconds(), 7.33, 0.005);
    assert!(SMPTE_301.time_between(FramesPerSecond::ZERO).is_err());
}

#[test]
fn both_leaders_are_192_frames_eight_seconds_and_twelve_feet_long() {
    // Film-handling community handbook, cues and leaders: 12 ft = 192 frames = 8 s. Encyclopaedia article on the
    // universal leader: six numbers of 24 frames, then 48 to the picture.
    for leader in [ACADEMY, UNIVERSAL] {
        assert_eq!(leader.length(), Frames::new(192));
        assert_eq!(film::time_of(leader.length(), FPS_24), Ok(Seconds::new(8.0)));
        assert_near(Gauge::Mm35.length_of(leader.length()).as_feet(), 12.0, 1e-9);
    }
    assert_eq!(UNIVERSAL.frames_before_picture(2), Some(SYNC_POP_BEFORE_PICTURE));
    assert_eq!(UNIVERSAL.frames_before_picture(9), None);
    assert_eq!(ACADEMY.frames_before_picture(3), Some(Frames::new(48)));
    assert_eq!(ACADEMY.frames_before_picture(2), None);
}

#[test]
fn the_number_to_thread_is_the_run_up_time() {
    // Common practice, no source: thread to the number that equals the seconds the machine needs to reach speed.
    for (run_up, number) in [(0.5, 2), (2.0, 2), (3.0, 3), (3.1, 4), (8.0, 8)] {
        assert_eq!(UNIVERSAL.number_to_thread(Seconds::new(run_up), FPS_24), Some(number));
    }
    assert_eq!(UNIVERSAL.number_to_thread(Seconds::new(8.1), FPS_24), None);
    assert_eq!(UNIVERSAL.number_to_thread(Seconds::new(1.0), FramesPerSecond::ZERO), None);
    assert_eq!(ACADEMY.number_to_thread(Seconds::new(3.0), FPS_24), Some(5));
}
