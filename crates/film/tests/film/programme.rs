//! Programmes of reels: running times, hand-overs by the cue marks, spools.

use crate::assert_near;
use film::{
    Base, Gauge, SoundKind,
    leader::{SMPTE_55, SMPTE_301, UNIVERSAL},
    programme::{
        BLACK_BETWEEN, Customs, Doubt, HEAD_LEADER, Item, Joint, PauseWhy, ProgrammeError, RUN_OUT, Reel,
        Stand, course, split, spool_up, takeover,
    },
};
use proptest::prelude::*;
use units::{Frames, FramesPerSecond, Metres, Seconds};

const FPS_24: FramesPerSecond = FramesPerSecond::new(24.0);

fn reel(number: u32, gauge: Gauge, feet: i64) -> Reel {
    let picture = Frames::new(feet * gauge.frames_per_foot());
    Reel { number, head: UNIVERSAL.length() + Frames::new(48), picture, tail: Frames::new(240) }
}

fn item(title: &str, gauge: Gauge, feet: &[i64]) -> Item {
    let reels = (1..).zip(feet).map(|(number, feet)| reel(number, gauge, *feet)).collect();
    Item {
        title: title.to_owned(),
        gauge,
        speed: FPS_24,
        sound: SoundKind::Optical,
        reels,
        cues: Some(SMPTE_301),
        kept_apart: true,
    }
}

fn stand(gauge: Gauge) -> Stand {
    Stand { gauge, run_up: Seconds::new(3.0), longest_reel: None }
}

#[test]
fn a_feature_runs_its_footage_over_its_speed() {
    // Footage table of a film manual: 90 minutes at 24 fps are 3240 ft of 16 mm and 8100 ft of 35 mm, 100 minutes
    // 3600 ft and 9000 ft.
    for (gauge, feet, minutes) in [
        (Gauge::Mm16, 3240, 90.0),
        (Gauge::Mm35, 8100, 90.0),
        (Gauge::Mm16, 3600, 100.0),
        (Gauge::Mm35, 9000, 100.0),
    ] {
        assert_near(item("x", gauge, &[feet]).runs().unwrap().seconds(), minutes * 60.0, 1e-9);
    }
}

#[test]
fn two_machines_leave_no_gap_and_take_turns() {
    let items = [item("Feature", Gauge::Mm16, &[1600, 1640, 1200])];
    let laid = course(&items, &[stand(Gauge::Mm16), stand(Gauge::Mm16)], &Customs::default()).unwrap();
    assert_eq!(laid.stretches.iter().map(|stretch| stretch.machine).collect::<Vec<_>>(), [0, 1, 0]);
    assert_eq!(laid.lasts, laid.screen);
    // 4440 ft at 36 ft/min (SMPTE 41, clause 3, gives 36 ft/min for 24 fps).
    assert_near(laid.lasts.seconds(), 4440.0 / 36.0 * 60.0, 1e-9);
    assert!(laid.stretches[..2].iter().all(|stretch| matches!(stretch.then, Joint::Takeover(_))));
    assert_eq!(laid.stretches[2].then, Joint::End);
    assert!(laid.doubts.is_empty(), "{:?}", laid.doubts);
}

#[test]
fn one_machine_is_laced_again_between_the_reels() {
    let items = [item("Feature", Gauge::Mm16, &[1600, 1640])];
    let laid = course(&items, &[stand(Gauge::Mm16)], &Customs::default()).unwrap();
    let relace = Seconds::new(90.0);
    assert_eq!(laid.stretches[0].then, Joint::Pause { why: PauseWhy::Relace, lasts: relace });
    assert_near((laid.lasts - laid.screen).seconds(), 90.0, 1e-9);
}

#[test]
fn an_interval_stands_between_items_and_not_between_reels() {
    let items = [item("Short", Gauge::Mm16, &[400]), item("Feature", Gauge::Mm16, &[1600, 1640])];
    let customs = Customs { between_items: Seconds::new(600.0), ..Customs::default() };
    let laid = course(&items, &[stand(Gauge::Mm16), stand(Gauge::Mm16)], &customs).unwrap();
    assert_eq!(laid.stretches[0].then, Joint::Pause { why: PauseWhy::Interval, lasts: Seconds::new(600.0) });
    assert!(matches!(laid.stretches[1].then, Joint::Takeover(_)));
}

#[test]
fn every_gauge_runs_on_a_machine_of_its_own() {
    let items = [item("Old", Gauge::Super8, &[200]), item("Feature", Gauge::Mm16, &[1600])];
    let stands = [stand(Gauge::Mm16), stand(Gauge::Super8)];
    let laid = course(&items, &stands, &Customs::default()).unwrap();
    assert_eq!(laid.stretches.iter().map(|stretch| stretch.machine).collect::<Vec<_>>(), [1, 0]);
    let refused = course(&items, &stands[..1], &Customs::default()).unwrap_err();
    assert_eq!(refused.to_string(), "no machine of this showing takes Super 8, which \"Old\" needs; add one");
}

#[test]
fn the_cues_stand_where_the_standard_puts_them() {
    // SMPTE 301: motor cue on frames 198 to 195 before the end, changeover on 22 to 19; 176 frames from one to the other.
    let items = item("Feature", Gauge::Mm35, &[1800]);
    let made = takeover(&items, &items.reels[0], FPS_24, Seconds::ZERO, Seconds::ZERO).unwrap();
    assert_eq!((made.motor.before_end, made.changeover.before_end), (Frames::new(198), Frames::new(22)));
    assert_near(made.motor.left.seconds(), 8.25, 1e-9);
    assert_near((made.changeover.at - made.motor.at).seconds(), 176.0 / 24.0, 1e-9);
    assert_eq!(made.motor.footage.feet, 1787);
    assert_eq!(made.motor.footage.frames, Frames::new(10));
    // A machine at speed at once runs all 176 frames: 8 frames past the 8 of the universal leader (192 frames, at 24
    // each) is 184, so 176 stand 16 past the 8.
    assert_eq!(made.thread, Frames::new(176));
    let place = made.leader.unwrap();
    assert_eq!((place.number, place.frames_past), (8, Frames::new(16)));
    let old = Item { cues: Some(SMPTE_55), ..items.clone() };
    assert_eq!(
        takeover(&old, &old.reels[0], FPS_24, Seconds::ZERO, Seconds::ZERO).unwrap().thread,
        Frames::new(172)
    );
}

#[test]
fn a_machine_that_gains_speed_evenly_is_threaded_nearer() {
    let item = item("Feature", Gauge::Mm35, &[1800]);
    let thread = |run_up, lag| {
        takeover(&item, &item.reels[0], FPS_24, Seconds::new(run_up), Seconds::new(lag)).unwrap()
    };
    // Even gain over 3 s covers 36 frames where 72 would have run: 36 fewer of 176.
    assert_eq!(thread(3.0, 0.0).thread, Frames::new(140));
    // A hand that is half a second late on the motor has 12 frames less to run.
    assert_eq!(thread(3.0, 0.5).thread, Frames::new(128));
    assert_eq!(thread(3.0, -0.5).thread, Frames::new(152));
    assert!(thread(3.0, 0.0).at_speed);
    assert!(!thread(9.0, 0.0).at_speed);
}

#[test]
fn what_will_not_do_is_said_before_the_showing() {
    let mut items = [item("Feature", Gauge::Mm16, &[1600, 1640, 1600])];
    items[0].reels[1].head = Frames::new(100);
    items[0].reels[1].picture = Frames::new(24 * 60);
    let short = Stand { longest_reel: Some(Metres::from_feet(1600.0)), ..stand(Gauge::Mm16) };
    let laid = course(&items, &[short, stand(Gauge::Mm16)], &Customs::default()).unwrap();
    assert!(laid.doubts.iter().any(|doubt| matches!(doubt, Doubt::ReelTooLong { stretch: 0, .. })));
    let lacks = Doubt::LeaderTooShort { stretch: 1, has: Frames::new(100), needs: Frames::new(140) };
    assert!(laid.doubts.contains(&lacks), "{:?}", laid.doubts);
    // Reel 2 runs one minute, and the machine that showed reel 1 must be laced with reel 3 meanwhile.
    assert!(
        laid.doubts.contains(&Doubt::HastyRelace { stretch: 1, time: Seconds::new(60.0) }),
        "{:?}",
        laid.doubts
    );
}

#[test]
fn a_reel_without_picture_is_refused_by_name() {
    let mut nothing = item("Feature", Gauge::Mm16, &[0]);
    let say = |item: &Item| {
        course(std::slice::from_ref(item), &[stand(Gauge::Mm16)], &Customs::default()).unwrap_err()
    };
    assert!(matches!(say(&nothing), ProgrammeError::EmptyReel { number: 1, .. }));
    nothing.reels.clear();
    assert_eq!(say(&nothing).to_string(), "\"Feature\" has no reel; give at least one with its length");
    let still = Item { speed: FramesPerSecond::ZERO, ..item("Feature", Gauge::Mm16, &[100]) };
    assert!(matches!(say(&still), ProgrammeError::Film(_)));
}

#[test]
fn a_feature_of_ninety_minutes_takes_two_spools_of_1600_or_three_of_1200() {
    // Common practice, no source.
    let spool = |name| Gauge::Mm16.spools().iter().find(|spool| spool.name == name).unwrap();
    let thickness = Base::Acetate.wound_thickness().thickness;
    let picture = Gauge::Mm16.frames_in(Metres::from_feet(3240.0)).unwrap();
    for (name, n) in [("1600 ft", 2), ("1200 ft", 3)] {
        let brim = spool(name).brim_capacity(thickness).unwrap().unwrap();
        assert_eq!(split(Gauge::Mm16, picture, brim, false).unwrap().len(), n, "{name}");
    }
}

#[test]
fn shorts_are_joined_in_order_and_lenders_reels_are_not() {
    let own = |title, feet| Item { kept_apart: false, ..item(title, Gauge::Mm16, &[feet]) };
    let items =
        [own("a", 100), own("b", 200), item("lent", Gauge::Mm16, &[300]), own("c", 100), own("d", 100)];
    let spools = spool_up(&items, Metres::from_feet(800.0), false).unwrap();
    let reels: Vec<_> = spools.iter().map(|spool| spool.reels.clone()).collect();
    assert_eq!(reels, [vec![(0, 0), (1, 0)], vec![(2, 0)], vec![(3, 0), (4, 0)]]);
    let frames = Frames::new(300 * 40) + BLACK_BETWEEN + HEAD_LEADER + RUN_OUT;
    assert_eq!(spools[0].total, frames);
    assert_eq!(spools[1].total, items[2].reels[0].total(), "a lender's reel keeps its own leaders");
}

proptest! {
    #[test]
    fn a_split_loses_no_frame(picture in 0_i64..2_000_000, feet in 50.0..3000.0_f64, itself: bool) {
        let reels = split(Gauge::Mm16, Frames::new(picture), Metres::from_feet(feet), itself).unwrap();
        prop_assert_eq!(reels.iter().copied().sum::<Frames>(), Frames::new(picture));
        let (least, most) = (reels.iter().min(), reels.iter().max());
        if let (Some(least), Some(most)) = (least, most) {
            prop_assert!(most.count() - least.count() <= 1);
        }
    }

    #[test]
    fn every_reel_is_shown_once_in_order(feet in prop::collection::vec(1_i64..3000, 1..9), n_machines in 1_usize..4) {
        let items = [item("x", Gauge::Mm16, &feet)];
        let laid = course(&items, &vec![stand(Gauge::Mm16); n_machines], &Customs::default()).unwrap();
        let shown: Vec<usize> = laid.stretches.iter().map(|stretch| stretch.reel).collect();
        prop_assert_eq!(shown, (0..feet.len()).collect::<Vec<_>>());
        let gaps: f64 = laid.stretches.iter().map(|stretch| match &stretch.then {
            Joint::Pause { lasts, .. } => lasts.seconds(),
            _ => 0.0,
        }).sum();
        prop_assert!((laid.lasts.seconds() - laid.screen.seconds() - gaps).abs() < 1e-6);
        prop_assert_eq!(gaps > 0.0, n_machines == 1 && feet.len() > 1);
    }

    #[test]
    fn spools_hold_every_reel_once(feet in prop::collection::vec(1_i64..900, 1..12), brim in 100.0..2000.0_f64) {
        let items: Vec<Item> =
            feet.iter().map(|feet| Item { kept_apart: false, ..item("x", Gauge::Mm16, &[*feet]) }).collect();
        let spools = spool_up(&items, Metres::from_feet(brim), false).unwrap();
        let held: Vec<_> = spools.iter().flat_map(|spool| spool.reels.clone()).collect();
        prop_assert_eq!(held, (0..items.len()).map(|at| (at, 0)).collect::<Vec<_>>());
    }
}
