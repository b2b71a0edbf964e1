//! The rewind bench: what was found on three prints, and one reel that must not run. All invented.

use crate::diary::{Calendar, Fate, Outing};
use crate::pen::{Hand, Pen, minutes_after};
use crate::prints::{HERRING, Title};
use crate::setting::{KEEPER, RELIEF};
use film::Gauge;
use jiff::civil;
use logbook::fact::{
    EdgePrint, Fade, FilmBase, FilmSide, Flaw, Found, PrintDeed, PrintHandled, PrintInspected, ScratchDepth,
    ShrinkageTaken, SpliceMade, Wound,
};
use units::{Frames, Metres, Percent};

/// The reel that is found damaged.
const DAMAGED: u32 = 2;

/// The print with the damaged reel: that of the next showing after tonight that shows a feature on three reels which
/// has been through the machines before and is not on tonight's bill.
pub(crate) fn damaged(outings: &[Outing], titles: &[Title]) -> Option<usize> {
    let coming: Vec<&Outing> = outings.iter().filter(|outing| outing.fate == Fate::Coming).collect();
    let tonight = coming.first()?;
    let fits = |title: &usize| {
        titles[*title].reels == 3
            && !tonight.programme.contains(title)
            && outings.iter().any(|past| past.held() && past.programme.last() == Some(title))
    };
    coming.iter().skip(1).filter_map(|outing| outing.programme.last().copied()).find(fits)
}

/// Writes what was found. Comes last: what is written before it stays as it is.
pub(crate) fn write(pen: &mut Pen, calendar: &Calendar, outings: &[Outing], titles: &[Title]) {
    herring(pen, calendar, titles);
    let Some(title) = damaged(outings, titles) else { return };
    let first = outings.iter().find(|past| past.held() && past.programme.last() == Some(&title));
    let Some(first) = first else { return };
    let title = &titles[title];
    // Looked at on the bench before its first showing here, and again when it came back for the next one.
    let before = minutes_after(first.starts, -24 * 60);
    handled(pen, before, title, PrintDeed::Arrived, Wound::HeadsOut);
    for reel in 1..=title.reels {
        inspected(pen, minutes_after(before, 40 * i64::from(reel)), title, reel, false);
    }
    let back = calendar.date(calendar.days - 1).at(13, 20, 0, 0);
    handled(pen, back, title, PrintDeed::Arrived, Wound::TailsOut);
    for reel in 1..=title.reels {
        inspected(pen, minutes_after(back, 45 * i64::from(reel)), title, reel, reel == DAMAGED);
    }
}

fn handled(pen: &mut Pen, at: civil::DateTime, title: &Title, deed: PrintDeed, wound: Wound) {
    let fact = PrintHandled {
        print: title.id.as_str().into(),
        deed,
        reels: Vec::new(),
        wound: Some(wound),
        whom: title.lender.to_owned(),
        condition: "Cans dry, one clip missing.".to_owned(),
        note: String::new(),
    };
    pen.write(at, Hand::laptop(KEEPER), fact);
}

fn inspected(pen: &mut Pen, at: civil::DateTime, title: &Title, reel: u32, damaged: bool) {
    let length = title.reel_lengths()[reel as usize - 1];
    let frames = Gauge::Mm16.frames_in(length).expect("the demo's reels have a length").count();
    let mut found = vec![
        splice(192, SpliceMade::Tape, true),
        splice(frames - 400, SpliceMade::Cement, true),
        Found {
            side: Some(FilmSide::Base),
            depth: Some(ScratchDepth::Light),
            ..run(frames / 3, frames / 2, Flaw::Scratch)
        },
    ];
    if damaged {
        found.extend([
            perforations(frames / 4, frames / 4 + 5, 4, "Sound side clean, picture side torn out."),
            perforations(frames * 5 / 8, frames * 5 / 8 + 2, 3, ""),
            splice(frames * 3 / 4, SpliceMade::Tape, false),
        ]);
    }
    let percent = if damaged { [0.82, 1.12, 1.06] } else { [0.30, 0.34, 0.32] };
    inspect(pen, at, title, reel, (found, &percent, if damaged { 1.0 } else { 0.5 }));
}

/// The islands' own reel, as its can says.
fn herring(pen: &mut Pen, calendar: &Calendar, titles: &[Title]) {
    let at = calendar.date(calendar.month(4.9)).at(17, 30, 0, 0);
    let found = vec![perforations(3_000, 3_400, 2, ""), splice(7_200, SpliceMade::Cement, true)];
    inspect(pen, at, &titles[HERRING], 1, (found, &[0.90, 0.92, 0.88], 1.0));
}

fn inspect(
    pen: &mut Pen,
    at: civil::DateTime,
    title: &Title,
    reel: u32,
    (found, percent, acid_level): (Vec<Found>, &[f64; 3], f64),
) {
    let length = title.reel_lengths()[reel as usize - 1];
    let frames = Gauge::Mm16.frames_in(length).expect("the demo's reels have a length").count();
    let gauged = [0, frames / 2, frames].into_iter().zip(percent).map(|(at, percent)| ShrinkageTaken {
        at_frame: Frames::new(at),
        shrinkage_percent: Percent::new(*percent),
        how: String::new(),
    });
    let fact = PrintInspected {
        print: title.id.as_str().into(),
        reel,
        length_m: Some(Metres::new(length.metres())),
        base: Some(FilmBase::Acetate),
        edge: Some(EdgePrint::Safety),
        shrinkage: gauged.collect(),
        acid_level: Some(acid_level),
        vinegar: Some(acid_level >= 1.0),
        fade: Some(Fade::Slight),
        leader: Some(true),
        wound: Some(Wound::HeadsOut),
        spool: "600 m spool".to_owned(),
        found,
        note: String::new(),
        photos: Vec::new(),
    };
    pen.write(at, Hand::phone(RELIEF[1]), fact);
}

fn run(from: i64, to: i64, flaw: Flaw) -> Found {
    Found {
        from_frame: Frames::new(from),
        to_frame: (to > from).then(|| Frames::new(to)),
        flaw,
        splice: None,
        holds: None,
        grade: None,
        side: None,
        depth: None,
        from_edge_m: None,
        note: String::new(),
    }
}

fn splice(at: i64, made: SpliceMade, holds: bool) -> Found {
    Found { splice: Some(made), holds: Some(holds), ..run(at, at, Flaw::Splice) }
}

fn perforations(from: i64, to: i64, grade: u8, note: &str) -> Found {
    Found { grade: Some(grade), note: note.to_owned(), ..run(from, to, Flaw::Perforations) }
}
