//! Programmes of reels, kept by the keeper for the next showings. All invented.

use crate::diary::{Calendar, Fate, Outing};
use crate::pen::{Hand, Pen};
use crate::prints::Title;
use crate::setting::KEEPER;
use film::Gauge;
use logbook::fact::{ProgrammeItem, ProgrammeKept, ProgrammeReel};
use units::{Frames, FramesPerSecond, Metres, Seconds};

/// Eight seconds of counted leader, as the universal leader has them.
const LEADER: Frames = Frames::new(192);
/// Six feet of 16 mm.
const RUN_OUT: Frames = Frames::new(240);

/// Writes programmes for the next three showings; the third is two reels with a changeover.
pub(crate) fn write(pen: &mut Pen, calendar: &Calendar, outings: &[Outing], titles: &[Title]) {
    let evening_before = calendar.date(calendar.days - 1).at(16, 0, 0, 0);
    let mut coming: Vec<&Outing> = outings.iter().filter(|outing| outing.fate == Fate::Coming).collect();
    coming.sort_by_key(|outing| outing.starts);
    for outing in coming.into_iter().take(3) {
        pen.write(evening_before, Hand::laptop(KEEPER), kept(outing, titles));
    }
}

fn kept(outing: &Outing, titles: &[Title]) -> ProgrammeKept {
    ProgrammeKept {
        programme: format!("programme-{}", outing.id).as_str().into(),
        title: outing.title.clone(),
        items: outing.programme.iter().map(|title| item(&titles[*title])).collect(),
        showings: vec![outing.id.as_str().into()],
        machines: outing.planned_on.iter().map(|bird| bird.id().into()).collect(),
        run_up_seconds: Some(Seconds::new(3.0)),
        relace_seconds: None,
        interval_seconds: None,
        note: String::new(),
    }
}

/// A print with its reels: what the log gives as their length is picture, with leaders beyond it.
fn item(title: &Title) -> ProgrammeItem {
    let reel = |(length, number): (Metres, u32)| ProgrammeReel {
        number,
        head_frames: LEADER,
        picture_frames: Gauge::Mm16.frames_in(length).expect("an invented reel has a length"),
        tail_frames: RUN_OUT,
    };
    ProgrammeItem {
        title: title.name.clone(),
        print: Some(title.id.as_str().into()),
        gauge: Gauge::Mm16.id().to_owned(),
        speed_fps: FramesPerSecond::new(24.0),
        sound: "optical".to_owned(),
        cues: "smpte-301".to_owned(),
        kept_apart: true,
        reels: title.reel_lengths().into_iter().zip(1..).map(reel).collect(),
    }
}
