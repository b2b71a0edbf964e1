//! Notes in plain words, as they stand on cards, cans and the wall of the bench.

use crate::diary::Calendar;
use crate::pen::{Hand, Pen};
use crate::setting::{BARN, BENCH, Bird, FERRY, HALLS, KEEPER, ORVANE, RELIEF, TECHNICIAN, TOLVAY};
use logbook::fact::{About, Noted};

/// Month of the log, who, what about, words.
type Card = (f64, &'static str, Option<About>, &'static str);

pub(crate) fn write(pen: &mut Pen, calendar: &Calendar) {
    for (month, by, about, words) in cards() {
        let at = calendar.date(calendar.month(month)).at(16, 5, 0, 0);
        pen.write(at, Hand::phone(by), Noted { about, words: words.to_owned(), photos: Vec::new() });
    }
    // The last word before tonight.
    let eve = calendar.date(calendar.days - 1).at(12, 40, 0, 0);
    for (about, words) in last_words() {
        pen.write(eve, Hand::laptop(KEEPER), Noted { about, words: words.to_owned(), photos: Vec::new() });
    }
}

fn cards() -> Vec<Card> {
    let machine = |bird: Bird| Some(About::Machine(bird.id().into()));
    let place = |hall: usize| Some(About::Place(HALLS[hall].id.into()));
    let print = |id: &str| Some(About::Print(id.into()));
    vec![
        (
            0.6,
            KEEPER,
            machine(Bird::Dunlin),
            "Likes a two-finger loop. With one finger it loses it by reel 2.",
        ),
        (1.1, RELIEF[1], machine(Bird::Phalarope), "Smells warm after an hour. It always did."),
        (1.7, RELIEF[0], print("feature-04"), "Ticks in reel 2."),
        (2.4, KEEPER, place(ORVANE), "Fish fridge cuts in at ten to eight and takes 6 V with it."),
        (3.0, KEEPER, machine(Bird::Dunlin), "Claw tip under the magnifier: 0.05 mm. Photo on the wall."),
        (3.3, KEEPER, None, "Storm week: no boat, no showings."),
        (
            4.3,
            KEEPER,
            machine(Bird::Turnstone),
            "Flywheel lock was off after the crossing. Drum feels rough by fingertip?",
        ),
        (
            4.9,
            TECHNICIAN,
            print("herring-reel"),
            "Only copy. Once on Whimbrel at the most, better scanned first. The school asks for it, the answer is no.",
        ),
        (6.2, KEEPER, None, "Storm again, second dead week this winter."),
        (
            7.1,
            TECHNICIAN,
            machine(Bird::Dunlin),
            "Claw tip 0.08 mm. Felt renewed. Order a claw tip, they take two months.",
        ),
        (7.9, KEEPER, place(TOLVAY), "Blackout is hopeless before 19:30 from May on."),
        (8.6, RELIEF[1], place(BARN), "Generator hunts between 48.6 and 51.1 Hz; the music goes with it."),
        (9.6, KEEPER, machine(Bird::Phalarope), "Main belt gone to tar. Laid up until the belt set comes."),
        (
            10.2,
            KEEPER,
            print("feature-09"),
            "Nick every 16th frame in reel 2. Our 16-tooth sprockets are on Turnstone.",
        ),
        (
            10.9,
            RELIEF[0],
            print("feature-12"),
            "Nick every 18th frame in reel 1, new since Tolvay. Dunlin's sprocket has 18.",
        ),
        (11.1, KEEPER, machine(Bird::Dunlin), "Claw tip 0.11 mm."),
        (
            11.8,
            RELIEF[1],
            print("feature-17"),
            "Scratch 3.1 mm from the edge, emulsion side. Only after Dunlin.",
        ),
        (
            12.4,
            KEEPER,
            print("feature-07"),
            "Booked twice for the same night if the ferry is late: wrote to Lender B.",
        ),
    ]
}

fn last_words() -> Vec<(Option<About>, &'static str)> {
    vec![
        (
            None,
            "No exciter lamp left in the case. Three asked for from the depot, eighteen days there and back.",
        ),
        (Some(About::Machine(Bird::Dunlin.id().into())), "Claw tip from the depot is nine days late."),
        (
            Some(About::Place(HALLS[FERRY].id.into())),
            "Storm on the way, two in five that the ferry lies in harbour.",
        ),
        (Some(About::Place(BENCH.0.into())), "Old lamp from Dunlin is in the tin, marked get-you-home."),
    ]
}
