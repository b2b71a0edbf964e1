//! Perforations, strip, apertures and picture-to-sound distance against the standards.

use film::{ApertureUse, Gauge, Pitch, SoundKind, shrinkage};
use units::{Frames, FramesPerSecond, Metres, Percent};

use crate::assert_near;

/// Half a unit in the third decimal of a millimetre, the last place that the standards print.
const LAST_MICROMETRE: f64 = 0.000_5;

fn pitch_mm(gauge: Gauge, pitch: Pitch) -> f64 {
    gauge.perforation_pitch(pitch).as_millimetres()
}

#[test]
fn pitch_of_16_mm_agrees_with_the_smpte_standard_for_16_mm_perforations() {
    // SMPTE standard for 35 mm stock perforated 16 mm, scope: 7.620 and 7.605 mm.
    assert_near(pitch_mm(Gauge::Mm16, Pitch::Long), 7.620, LAST_MICROMETRE);
    assert_near(pitch_mm(Gauge::Mm16, Pitch::Short), 7.605, LAST_MICROMETRE);
}

#[test]
fn a_hundred_pitches_of_16_mm_agree_with_z22_5() {
    // ASA Z22.5-1947, dimension L (Offenhauser, p. 106): 30.00 in = 762.00 mm.
    assert_near(shrinkage::length_as_made(Gauge::Mm16, 100).as_millimetres(), 762.00, 0.005);
}

#[test]
fn pitch_of_super_8_agrees_with_smpte_149() {
    // SMPTE 149-2004, table 1, B: 4.234 and 4.227 mm; L: 423.42 mm.
    assert_near(pitch_mm(Gauge::Super8, Pitch::Long), 4.234, LAST_MICROMETRE);
    assert_near(pitch_mm(Gauge::Super8, Pitch::Short), 4.227, LAST_MICROMETRE);
    assert_near(shrinkage::length_as_made(Gauge::Super8, 100).as_millimetres(), 423.42, 0.005);
}

#[test]
fn pitch_of_standard_8_agrees_with_smpte_239() {
    // SMPTE 239-2004, scope: 3.810 and 3.802 mm.
    assert_near(pitch_mm(Gauge::Standard8, Pitch::Long), 3.810, LAST_MICROMETRE);
    assert_near(pitch_mm(Gauge::Standard8, Pitch::Short), 3.802, LAST_MICROMETRE);
}

#[test]
fn pitch_of_35_mm_agrees_with_smpte_139() {
    // SMPTE 139, KS perforation, from memory: 4.750 and 4.740 mm.
    assert_near(pitch_mm(Gauge::Mm35, Pitch::Long), 4.750, LAST_MICROMETRE);
    assert_near(pitch_mm(Gauge::Mm35, Pitch::Short), 4.740, LAST_MICROMETRE);
    // Frame height 19.0 mm: encyclopaedia article on 35 mm film, technical specifications.
    assert_near(Gauge::Mm35.frame_pitch(Pitch::Long).as_millimetres(), 19.0, 0.05);
}

#[test]
fn widths_agree_with_the_standards_in_millimetres() {
    // SMPTE 101-2003, table 1; encyclopaedia article citing SMPTE 139; SMPTE 149-2004, table 1, A.
    assert_near(Gauge::Mm16.width().as_millimetres(), 15.95, 0.005);
    assert_near(Gauge::Mm35.width().as_millimetres(), 34.98, 0.005);
    assert_near(Gauge::Super8.width().as_millimetres(), 7.976, LAST_MICROMETRE);
}

#[test]
fn only_35_mm_misses_the_counted_foot_by_a_quarter_percent() {
    // 64 x 0.187 in = 11.968 in: arithmetic on the pitches above.
    assert_near(Gauge::Mm35.counted_foot_error().percent(), -0.27, 0.005);
    assert_near(Gauge::Mm16.counted_foot_error().percent(), 0.0, 1e-9);
    assert_near(Gauge::Standard8.counted_foot_error().percent(), 0.0, 1e-9);
    assert_near(Gauge::Super8.counted_foot_error().percent(), 0.02, 0.001);
}

#[test]
fn film_speed_at_24_agrees_with_smpte_41_and_rp_127() {
    let speed = |gauge: Gauge| gauge.film_speed(FramesPerSecond::new(24.0));
    // SMPTE 41, clause 3: 16 mm runs 36 ft/min, 7.2 in/s, 183 mm/s.
    assert_near(speed(Gauge::Mm16).as_feet_per_minute(), 36.0, 1e-9);
    assert_near(speed(Gauge::Mm16).as_inches_per_second(), 7.2, 1e-9);
    assert_near(speed(Gauge::Mm16).as_millimetres_per_second(), 183.0, 0.5);
    // SMPTE RP 127-2004, clause 3.1: 35 mm runs 18 in/s, 45.7 cm/s.
    assert_near(speed(Gauge::Mm35).as_inches_per_second(), 18.0, 1e-9);
    assert_near(speed(Gauge::Mm35).as_millimetres_per_second(), 457.0, 0.5);
    assert_near(speed(Gauge::Mm35).as_feet_per_minute(), 90.0, 1e-9);
    // By perforation pitch the same film runs 456 mm/s (ISO 491 pitch of 4.75 mm, from memory).
    let by_pitch = Gauge::Mm35.film_speed_by_pitch(FramesPerSecond::new(24.0), Pitch::Long);
    assert_near(by_pitch.as_millimetres_per_second(), 456.0, 0.05);
}

#[test]
fn apertures_of_35_mm_agree_with_the_printed_millimetres() {
    // Encyclopaedia article on 35 mm film, technical specifications, which prints both units.
    for (format, width_mm, height_mm) in
        [("1.37", 20.96, 15.29), ("1.66", 20.96, 12.62), ("1.85", 20.96, 11.33), ("anamorphic", 20.96, 17.53)]
    {
        let aperture = Gauge::Mm35.projector_aperture(format).unwrap();
        assert_near(aperture.width.as_millimetres(), width_mm, 0.006);
        assert_near(aperture.height.as_millimetres(), height_mm, 0.006);
    }
}

#[test]
fn apertures_of_the_small_gauges_agree_with_remembered_millimetres() {
    // SMPTE 233 (9.65 x 7.21 mm), SMPTE 154 (5.31 x 4.01 mm), Standard 8 (4.37 x 3.28 mm): all from memory.
    for (gauge, width_mm, height_mm) in
        [(Gauge::Mm16, 9.65, 7.21), (Gauge::Super8, 5.31, 4.01), (Gauge::Standard8, 4.37, 3.28)]
    {
        let aperture = gauge.projector_aperture("1.33").unwrap();
        assert_near(aperture.width.as_millimetres(), width_mm, 0.006);
        assert_near(aperture.height.as_millimetres(), height_mm, 0.006);
    }
}

#[test]
fn the_ratio_on_the_screen_is_the_one_in_the_name() {
    for gauge in Gauge::ALL {
        for aperture in gauge.apertures() {
            if let Ok(ratio) = aperture.format.parse::<f64>() {
                // Names round to two places, and makers' plates to a thousandth of an inch.
                assert_near(aperture.screen_ratio(), ratio, 0.015);
            }
        }
    }
    assert_near(Gauge::Mm35.projector_aperture("anamorphic").unwrap().screen_ratio(), 2.39, 0.005);
    assert_near(Gauge::Mm35.projector_aperture("anamorphic 1957").unwrap().screen_ratio(), 2.35, 0.005);
}

#[test]
fn a_projector_shows_no_more_than_the_camera_exposed() {
    for gauge in Gauge::ALL {
        let camera = gauge.apertures().iter().find(|a| a.belongs_to == ApertureUse::Camera).unwrap();
        for aperture in
            gauge.apertures().iter().filter(|a| a.belongs_to == ApertureUse::Projector && a.spread == 1.0)
        {
            assert!(
                aperture.width <= camera.width && aperture.height <= camera.height,
                "{gauge} {aperture:?}"
            );
        }
    }
    assert!(Gauge::Mm16.projector_aperture("1.85").is_none());
}

#[test]
fn sound_of_16_mm_optical_lies_26_frames_ahead_by_smpte_41() {
    // SMPTE 41, clause 4: 26 frames; 198.1 mm at 7.62 mm a frame.
    let sum = film::calc::sound_advance(Gauge::Mm16, SoundKind::Optical, FramesPerSecond::new(24.0)).unwrap();
    assert_eq!(sum.frames, Frames::new(26));
    assert_near(sum.distance.as_millimetres(), 198.1, 0.05);
    assert_near(sum.time.seconds(), 1.083, 0.000_5);
    assert_near(sum.per_frame.as_milliseconds(), 41.7, 0.05);
}

#[test]
fn other_advances_agree_with_remembered_standards() {
    // SMPTE 112, 40, 164, 187 and four-track practice, all from memory.
    for (gauge, sound, frames) in [
        (Gauge::Mm16, SoundKind::Magnetic, 28),
        (Gauge::Mm35, SoundKind::Optical, 21),
        (Gauge::Mm35, SoundKind::Magnetic, -28),
        (Gauge::Super8, SoundKind::Magnetic, 18),
        (Gauge::Super8, SoundKind::Optical, 22),
        (Gauge::Standard8, SoundKind::Magnetic, 56),
    ] {
        assert_eq!(sound.advance(gauge).unwrap().frames, Frames::new(frames), "{gauge} {sound}");
    }
    // 35 mm: 21 frames are 399 mm; 16 mm magnetic: 28 frames are 213.4 mm.
    let distance = |gauge, sound| {
        film::calc::sound_advance(gauge, sound, FramesPerSecond::new(24.0)).unwrap().distance.as_millimetres()
    };
    assert_near(distance(Gauge::Mm35, SoundKind::Optical), 399.0, 0.5);
    assert_near(distance(Gauge::Mm16, SoundKind::Magnetic), 213.4, 0.05);
}

#[test]
fn shrinkage_is_graded_by_the_hundred_perforation_length() {
    // Common practice, no source: the 100-perforation lengths that part the grades on 16 mm.
    use shrinkage::{ShrinkageGrade, shrinkage};
    for (measured_mm, grade) in [
        (762.0, ShrinkageGrade::Normal),
        (758.3, ShrinkageGrade::Normal),
        (758.1, ShrinkageGrade::WithCare),
        (756.0, ShrinkageGrade::WithCare),
        (755.8, ShrinkageGrade::OnceOnly),
        (754.3, ShrinkageGrade::DoNotProject),
        (750.6, ShrinkageGrade::DoNotProject),
        (750.5, ShrinkageGrade::ForTheArchive),
        (763.0, ShrinkageGrade::Normal),
    ] {
        let shrunk = shrinkage(Gauge::Mm16, 100, Metres::from_millimetres(measured_mm)).unwrap();
        assert_eq!(ShrinkageGrade::of(shrunk), grade, "{measured_mm} mm is {shrunk}");
    }
    assert_eq!(ShrinkageGrade::of(Percent::new(f64::NAN)), ShrinkageGrade::ForTheArchive);
    assert!(shrinkage(Gauge::Mm16, 0, Metres::new(0.7)).is_err());
}
