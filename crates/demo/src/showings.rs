//! The diary on paper: what was planned, changed, held, cancelled; the dark screens; and the faults as people wrote them.

use crate::diary::{Calendar, Fate, Outing};
use crate::dice::{Dice, Stream, rounded};
use crate::faults::Story;
use crate::pen::{Hand, Pen, minutes_after};
use crate::prints::Title;
use crate::setting::{Bird, KEEPER};
use jiff::civil::DateTime;
use logbook::fact::{
    Assigned, FaultClosed, FaultNoted, FaultOpened, ShowingCancelled, ShowingHeld, ShowingPlanned, Stoppage,
};
use units::{Hours, Seconds};

/// Remarks on show cards.
const REMARKS: [&str; 6] = [
    "Ticks in reel 2, they were there before.",
    "Full house, warm room.",
    "Ran ten minutes over with the speeches.",
    "Somebody opened the door at the changeover.",
    "Children sat in the beam, moved the table back.",
    "Reel 3 thin and green, sound fine.",
];

/// Writes plans, changes of plan and what became of them.
pub(crate) fn write(
    pen: &mut Pen,
    calendar: &Calendar,
    outings: &[Outing],
    titles: &[Title],
    stories: &[Story],
    seed: u64,
) {
    let mut dice = Dice::new(!seed, Stream::Diary);
    for (at, outing) in outings.iter().enumerate() {
        plan(pen, calendar, outing, titles, &mut dice);
        match outing.fate {
            Fate::Held => held(pen, at, outing, stories, &mut dice),
            Fate::Cancelled => {
                let fact = ShowingCancelled {
                    showing: outing.id.as_str().into(),
                    why: "Generator would not hold its speed; money back.".to_owned(),
                };
                pen.write(outing.minute(-25), Hand::phone(outing.operator), fact);
            }
            Fate::Coming => {}
        }
    }
}

fn plan(pen: &mut Pen, calendar: &Calendar, outing: &Outing, titles: &[Title], dice: &mut Dice) {
    let days_ahead = i32::try_from(dice.whole(44, 58)).expect("less than two months");
    let day = (outing.day - days_ahead).clamp(0, calendar.days - 2);
    let first = minutes_after(calendar.date(day).at(15, 0, 0, 0), dice.whole(0, 150));
    // One plan in fifteen starts half an hour off and is put right within days.
    let wrong = dice.chance(0.07) && outing.day - day > 8;
    pen.write(first, Hand::laptop(KEEPER), planned(pen, outing, titles, if wrong { 30 } else { 0 }));
    if wrong {
        let again = minutes_after(first, dice.whole(20, 30) * 60);
        pen.write(again, Hand::laptop(KEEPER), planned(pen, outing, titles, 0));
    }
}

fn planned(pen: &Pen, outing: &Outing, titles: &[Title], off: i64) -> ShowingPlanned {
    let share = 1.0 / outing.planned_on.len() as f64;
    let hours = Hours::new(rounded(outing.minutes / 60.0 * share, 2));
    let assigned = |bird: &Bird| Assigned { machine: bird.id().into(), running_hours: Some(hours) };
    ShowingPlanned {
        showing: outing.id.as_str().into(),
        title: outing.title.clone(),
        starts: pen.zoned(outing.minute(off)),
        length_minutes: outing.minutes,
        place: Some(outing.hall.id.into()),
        machines: outing.planned_on.iter().map(assigned).collect(),
        prints: outing.programme.iter().map(|title| titles[*title].id.as_str().into()).collect(),
        note: String::new(),
    }
}

fn held(pen: &mut Pen, at: usize, outing: &Outing, stories: &[Story], dice: &mut Dice) {
    let dark: u32 =
        stories.iter().filter(|story| story.outing == Some(at)).filter_map(|story| story.dark_s).sum();
    let lasted = outing.minutes + f64::from(dark) / 60.0 + dice.between(0.0, 6.0);
    let fact = ShowingHeld {
        showing: outing.id.as_str().into(),
        lasted_minutes: rounded(lasted, 0),
        audience: u32::try_from(dice.whole(i64::from(outing.hall.seats / 4), i64::from(outing.hall.seats)))
            .ok(),
        note: if dice.chance(0.12) { (*dice.pick(&REMARKS)).to_owned() } else { String::new() },
    };
    let start = outing.minute(dice.whole(0, 5));
    let hand = Hand::phone(outing.operator).later((lasted * 60.0) as i64 + dice.whole(300, 1500));
    pen.write(start, hand, fact);
}

/// Writes every fault and its stoppage.
pub(crate) fn write_faults(pen: &mut Pen, outings: &[Outing], stories: &[Story]) -> Vec<String> {
    stories.iter().zip(1..).map(|(story, n)| write_fault(pen, outings, story, n)).collect()
}

fn write_fault(pen: &mut Pen, outings: &[Outing], story: &Story, n: usize) -> String {
    let fault = format!("fault-{n:02}");
    let showing = story.outing.map(|at| outings[at].id.as_str().into());
    let opened = FaultOpened {
        fault: fault.as_str().into(),
        machine: story.bird.id().into(),
        slot: story.slot.map(Into::into),
        words: story.words.clone(),
        showing: showing.clone(),
        symptoms: vec![story.kind.symptom().into()],
        print_sort: None,
        print: None,
        show_running: false,
    };
    pen.write(story.at, Hand::phone(story.by), opened);
    if let Some(dark_s) = story.dark_s {
        let fact = Stoppage {
            showing,
            machine: Some(story.bird.id().into()),
            dark_seconds: Seconds::new(f64::from(dark_s)),
            what: story.words.clone(),
        };
        pen.write(story.at, Hand::phone(story.by).later(400), fact);
    }
    for (at, by, words) in &story.notes {
        noted(pen, *at, by, &fault, words);
    }
    if let Some(closed) = &story.closed {
        let fact = FaultClosed {
            fault: fault.as_str().into(),
            cause: closed.cause.clone(),
            cure: closed.cure.clone(),
            cause_id: Some(closed.known.0.into()),
            remedy_id: Some(closed.known.1.into()),
        };
        pen.write(closed.at, Hand::laptop(closed.by), fact);
    }
    fault
}

fn noted(pen: &mut Pen, at: DateTime, by: &'static str, fault: &str, words: &str) {
    let fact = FaultNoted { fault: fault.into(), words: words.to_owned(), photos: Vec::new() };
    pen.write(at, Hand::phone(by), fact);
}
