//! Faults: what went wrong in fourteen months, what was learnt, and the nine times the screen was dark.

use crate::diary::{Calendar, Outing};
use crate::dice::{Dice, Stream};
use crate::lamps::LampLife;
use crate::names::slot;
use crate::pen::{days_after, minutes_after};
use crate::setting::{Bird, KEEPER, RELIEF, TECHNICIAN};
use jiff::civil::DateTime;
use logbook::fact::Ending;

/// How often the screen went dark, and for how long in all.
pub(crate) const STOPPAGES: usize = 9;
pub(crate) const DARK_SECONDS: u32 = 1140;

/// One fault from its first words to its cure.
pub(crate) struct Story {
    pub(crate) kind: Kind,
    pub(crate) bird: Bird,
    pub(crate) at: DateTime,
    pub(crate) by: &'static str,
    pub(crate) slot: Option<&'static str>,
    pub(crate) words: String,
    pub(crate) outing: Option<usize>,
    pub(crate) notes: Vec<(DateTime, &'static str, String)>,
    pub(crate) closed: Option<Closing>,
    /// Seconds for which the screen was dark.
    pub(crate) dark_s: Option<u32>,
}

pub(crate) struct Closing {
    pub(crate) at: DateTime,
    pub(crate) by: &'static str,
    pub(crate) cause: String,
    pub(crate) cure: String,
    /// Cause and remedy by their names in the machine type, from which the fault desk learns.
    pub(crate) known: (&'static str, &'static str),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    LostLoop,
    FilmBreak,
    Lamp,
    Exciter,
    TakeUpBelt,
    Cable,
    Hum,
    Knock,
    Tingle,
    Drum,
}

impl Kind {
    /// What is noticed, by its name in the machine type.
    pub(crate) fn symptom(self) -> &'static str {
        match self {
            Self::LostLoop => "picture-jumps",
            Self::FilmBreak => "film-breaks",
            Self::Lamp => "light-goes-out",
            Self::Exciter => "no-sound",
            Self::TakeUpBelt => "film-spills",
            Self::Cable => "sound-comes-and-goes",
            Self::Hum => "hum-high",
            Self::Knock => "knock-per-turn",
            Self::Tingle => "tingle",
            Self::Drum => "sound-wows",
        }
    }

    /// How long such a stoppage lasts against the others.
    fn weight(self) -> f64 {
        match self {
            Self::LostLoop => 1.0,
            Self::FilmBreak => 3.0,
            _ => 4.0,
        }
    }
}

/// Every story, in order of time.
pub(crate) fn stories(calendar: &Calendar, outings: &[Outing], lamps: &[LampLife], seed: u64) -> Vec<Story> {
    let mut teller = Teller { calendar, outings, dice: Dice::new(seed, Stream::Faults), told: Vec::new() };
    teller.lamps(lamps);
    teller.lost_loops();
    teller.film_breaks();
    teller.exciters();
    teller.small_things();
    teller.hum();
    teller.tingle();
    teller.knock();
    teller.drum();
    let mut told = teller.told;
    told.sort_by_key(|story| story.at);
    share_darkness(&mut told, &mut Dice::new(!seed, Stream::Faults));
    told
}

/// Gives nine faults a stoppage: every lamp that died on screen, then breaks, then lost loops, to a fixed sum.
fn share_darkness(told: &mut [Story], dice: &mut Dice) {
    let mut dark: Vec<usize> = Vec::new();
    for kind in [Kind::Lamp, Kind::FilmBreak, Kind::LostLoop] {
        let of_kind =
            told.iter().enumerate().filter(|(_, story)| story.kind == kind && story.outing.is_some());
        // Two of the five broken films were caught at the bench or between reels.
        let most = if kind == Kind::FilmBreak { 3 } else { STOPPAGES };
        dark.extend(of_kind.map(|(at, _)| at).take(most));
    }
    dark.truncate(STOPPAGES);
    let weights: Vec<f64> = dark.iter().map(|at| told[*at].kind.weight() * dice.between(0.8, 1.2)).collect();
    let all: f64 = weights.iter().sum();
    let mut left = DARK_SECONDS;
    for (n, (at, weight)) in dark.iter().zip(&weights).enumerate() {
        let own = (f64::from(DARK_SECONDS) * weight / all).round() as u32;
        let own = if n + 1 == dark.len() { left } else { own.min(left) };
        told[*at].dark_s = Some(own);
        left -= own;
    }
}

struct Teller<'a> {
    calendar: &'a Calendar,
    outings: &'a [Outing],
    dice: Dice,
    told: Vec<Story>,
}

impl Teller<'_> {
    /// The held showings of a machine in a span of days.
    fn with(&self, bird: Bird, from: i32, until: i32) -> Vec<usize> {
        let here = |(_, outing): &(usize, &Outing)| {
            outing.held() && outing.uses(bird) && (from..until).contains(&outing.day)
        };
        self.outings.iter().enumerate().filter(here).map(|(at, _)| at).collect()
    }

    /// So many of a machine's showings, spread over a span.
    fn spread(&mut self, bird: Bird, from: i32, until: i32, count: usize) -> Vec<usize> {
        let with = self.with(bird, from, until);
        let step = with.len() as f64 / count.max(1) as f64;
        let jitter: Vec<f64> = (0..count).map(|_| self.dice.between(0.2, 0.8)).collect();
        let at = |(n, jitter): (usize, &f64)| with.get(((n as f64 + jitter) * step) as usize).copied();
        jitter.iter().enumerate().filter_map(at).collect()
    }

    /// Opens a fault in a showing, and closes it the same evening unless told otherwise.
    fn open(&mut self, kind: Kind, bird: Bird, outing: usize, slot: &'static str, words: &str) -> &mut Story {
        let show = &self.outings[outing];
        let at = show.minute(self.dice.whole(12, (show.minutes as i64 - 10).max(13)));
        self.told.push(Story {
            kind,
            bird,
            at,
            by: show.operator,
            slot: Some(slot),
            words: words.to_owned(),
            outing: Some(outing),
            notes: Vec::new(),
            closed: None,
            dark_s: None,
        });
        self.told.last_mut().expect("just told")
    }

    fn lamps(&mut self, lamps: &[LampLife]) {
        let mut on_screen = 0;
        for lamp in lamps {
            let Some(end) = lamp.end.as_ref().filter(|end| end.why == Ending::Failed) else { continue };
            let dark = end.on_screen.is_some() && on_screen < STOPPAGES;
            on_screen += usize::from(dark);
            let hours = end.burnt_h.round();
            let early = hours < 35.0 && lamp.bird == Bird::Dunlin;
            self.told.push(Story {
                kind: Kind::Lamp,
                bird: lamp.bird,
                at: end.at,
                by: self.outings[end.outing].operator,
                slot: Some(slot::LAMP),
                words: if dark { "Lamp went dark on screen." } else { "Lamp died when it was struck." }
                    .to_owned(),
                outing: end.on_screen,
                notes: if early {
                    vec![(
                        minutes_after(end.at, 150),
                        KEEPER,
                        "Another short life on Dunlin. Contacts of the holder look blue.".to_owned(),
                    )]
                } else {
                    Vec::new()
                },
                closed: Some(Closing {
                    at: minutes_after(end.at, 200),
                    by: self.outings[end.outing].operator,
                    cause: format!("Filament broken after {hours} h."),
                    cure: "New lamp, cold hands, cotton.".to_owned(),
                    known: ("lamp-dead", "change-lamp"),
                }),
                dark_s: None,
            });
        }
    }

    /// Eleven lost loops: Dunlin's grow more frequent after the sixth month, as its claw wears a notch.
    fn lost_loops(&mut self) {
        let (six, end) = (self.calendar.month(6.0), self.calendar.days);
        let spans = [
            (Bird::Dunlin, 0, six, 1),
            (Bird::Dunlin, six, end, 6),
            (Bird::Turnstone, 0, end, 2),
            (Bird::Phalarope, 0, end, 2),
        ];
        for (bird, from, until, count) in spans {
            for outing in self.spread(bird, from, until, count) {
                let story = self.open(
                    Kind::LostLoop,
                    bird,
                    outing,
                    slot::LOWER_LOOP,
                    "Lost the lower loop: picture chattered, sound warbled.",
                );
                let (cause, cure) = if bird == Bird::Dunlin && from > 0 {
                    (
                        "A tired perforation met the claw; no fresh splice there.",
                        "Loop made again by hand. Claw tip wants the magnifier.",
                    )
                } else {
                    ("A splice that stood proud.", "Loop made again, splice pressed.")
                };
                close(story, 110, cause, cure, ("lower-loop-lost", "relace-loops"));
            }
        }
    }

    fn film_breaks(&mut self) {
        let end = self.calendar.days;
        let mut at: Vec<(Bird, usize)> = Vec::new();
        for (bird, count) in [(Bird::Turnstone, 2), (Bird::Dunlin, 2), (Bird::Phalarope, 1)] {
            at.extend(self.spread(bird, 10, end, count).into_iter().map(|outing| (bird, outing)));
        }
        for (n, (bird, outing)) in at.into_iter().enumerate() {
            let story = self.open(Kind::FilmBreak, bird, outing, slot::GATE, "Film broke.");
            if n % 5 < 3 {
                let known = ("splice-parts", "remake-splice");
                close(
                    story,
                    140,
                    "Old cement splice let go.",
                    "New tape splice; marked on the reel card.",
                    known,
                );
            } else {
                let known = ("perfs-torn", "cut-out-bad-perfs");
                close(
                    story,
                    140,
                    "Torn perforations ran across.",
                    "Three frames out, spliced; lender told.",
                    known,
                );
            }
        }
    }

    fn exciters(&mut self) {
        for (bird, month) in [(Bird::Dunlin, 2.6), (Bird::Phalarope, 8.2), (Bird::Turnstone, 10.5)] {
            let day = self.calendar.month(month);
            let Some(outing) = self.with(bird, day, self.calendar.days).first().copied() else { continue };
            let story = self.open(
                Kind::Exciter,
                bird,
                outing,
                slot::EXCITER,
                "Sound went weak, then silent. Picture fine.",
            );
            let known = ("exciter-dead", "change-exciter");
            close(
                story,
                130,
                "Exciter lamp: filament gone.",
                "Spare exciter lamp fitted; level back.",
                known,
            );
        }
    }

    fn small_things(&mut self) {
        let end = self.calendar.days;
        if let Some(outing) =
            self.spread(Bird::Dunlin, self.calendar.month(2.0), self.calendar.month(5.0), 1).first()
        {
            let story = self.open(
                Kind::TakeUpBelt,
                Bird::Dunlin,
                *outing,
                slot::TAKE_UP_BELT,
                "Film gathering on the floor in the last reel.",
            );
            close(
                story,
                120,
                "Take-up belt stretched and slipping.",
                "New take-up belt; last reel wound by hand.",
                ("take-up-belt-off", "refit-take-up-belt"),
            );
        }
        for outing in self.spread(Bird::Turnstone, 20, end, 2) {
            let story = self.open(
                Kind::Cable,
                Bird::Turnstone,
                outing,
                slot::CABLE,
                "Crackle, then no sound when somebody passed the aisle.",
            );
            close(
                story,
                100,
                "Loudspeaker cable broken at the plug.",
                "Spare cable laid and taped; plug to be soldered.",
                ("speaker-lead", "swap-speaker-lead"),
            );
        }
    }

    /// One long ticket: Phalarope hums louder and louder until the technician takes the amplifier to the bench.
    fn hum(&mut self) {
        let from = self.calendar.month(3.0);
        let Some(outing) = self.with(Bird::Phalarope, from, self.calendar.days).first().copied() else {
            return;
        };
        let visit = self.calendar.date(self.calendar.visits(Bird::Phalarope)[2]).at(11, 20, 0, 0);
        let months =
            [4.8, 8.8, 12.2].map(|month| self.calendar.date(self.calendar.month(month)).at(10, 30, 0, 0));
        let story = self.open(
            Kind::Hum,
            Bird::Phalarope,
            outing,
            slot::AMPLIFIER,
            "Hums with the volume up, exciter lamp out. Same at every hall.",
        );
        let words = [
            "Hum is at 100 Hz, so not the mains lead. Louder when cold.",
            "Now heard in quiet passages. Valve amplifier: not for us to open. Asked for the technician.",
            "Moved the loudspeaker further from the front row. Still there.",
        ];
        story.notes = months
            .into_iter()
            .zip(words)
            .filter(|(at, _)| *at > story.at)
            .map(|(at, words)| (at, KEEPER, words.to_owned()))
            .collect();
        story.closed = Some(Closing {
            at: visit,
            by: TECHNICIAN,
            cause: "Smoothing capacitors dried out.".to_owned(),
            cure: "Capacitors renewed on the depot bench; hum measured again.".to_owned(),
            known: ("smoothing-capacitors", "mend-amplifier"),
        });
    }

    /// A tingle at Phalarope's case: quarantined at once, released by the technician in the depot.
    fn tingle(&mut self) {
        let quarantine = self.calendar.quarantine();
        let Some(outing) = self.with(Bird::Phalarope, 0, quarantine.start).last().copied() else { return };
        let released = self.calendar.date(quarantine.end).at(15, 10, 0, 0);
        let seen = self.outings[outing].ends();
        self.told.push(Story {
            kind: Kind::Tingle,
            bird: Bird::Phalarope,
            at: minutes_after(seen, 50),
            by: RELIEF[0],
            slot: Some(slot::LEAD),
            words: "A tingle when I touched the case and the radiator together. Pulled the plug.".to_owned(),
            outing: Some(outing),
            notes: vec![(
                minutes_after(seen, 75),
                KEEPER,
                "Danger tag on, plug taped. Not to be used. To the depot on the next boat.".to_owned(),
            )],
            closed: Some(Closing {
                at: released,
                by: TECHNICIAN,
                cause: "Earth screw of the case loose.".to_owned(),
                cure: "Earth bond made good and tested; insulation and leakage tested; lead renewed."
                    .to_owned(),
                known: ("earth-broken", "mend-mains"),
            }),
            dark_s: None,
        });
    }

    /// Whimbrel knocks once a turn in the thirteenth month; the tour goes on with Turnstone.
    fn knock(&mut self) {
        let on = self.with(Bird::Whimbrel, self.calendar.knock(), self.calendar.days);
        let Some(outing) = on.first().copied() else { return };
        let visit = self.calendar.date(self.calendar.visits(Bird::Whimbrel)[2]).at(14, 40, 0, 0);
        let story = self.open(Kind::Knock, Bird::Whimbrel, outing, slot::GEARS, "A knock twice a second from behind the cover, louder when warm. Stopped after reel 1, Turnstone took over.");
        story.notes = vec![(
            minutes_after(story.at, 100),
            KEEPER,
            "Moulded gears are as old as the machine. Not opening it. Repair request written.".to_owned(),
        )];
        story.closed = Some(Closing {
            at: visit,
            by: TECHNICIAN,
            cause: "Moulded worm wheel cracked at the boss.".to_owned(),
            cure: "Worm wheel renewed from the depot's batch; retimed; test films run.".to_owned(),
            known: ("gear-cracked", "free-mechanism"),
        });
    }

    /// The one that is open: Turnstone's drum, ten months after the crossing.
    fn drum(&mut self) {
        let day = self.calendar.days - 24;
        let Some(outing) = self.with(Bird::Turnstone, day, self.calendar.days).first().copied() else {
            return;
        };
        let next = days_after(self.calendar.today, -4).at(10, 15, 0, 0);
        let asked_since = self.outings[outing].starts < next;
        let story = self.open(
            Kind::Drum,
            Bird::Turnstone,
            outing,
            slot::DRUM,
            "Held piano notes waver, about twice a second. Speech is fine.",
        );
        story.notes = vec![(
            minutes_after(story.at, 140),
            KEEPER,
            "Drum spins down in half the time it used to. Wow at 1.93 Hz, once a turn of the drum."
                .to_owned(),
        )];
        if asked_since {
            story.notes.push((
                next,
                KEEPER,
                "Bearing pair asked for from the depot. Until then: music prints on Whimbrel where we can."
                    .to_owned(),
            ));
        }
    }
}

/// Closes a fault some time after the evening's end.
fn close(story: &mut Story, minutes: i64, cause: &str, cure: &str, known: (&'static str, &'static str)) {
    story.closed = Some(Closing {
        at: minutes_after(story.at, minutes),
        by: story.by,
        cause: cause.to_owned(),
        cure: cure.to_owned(),
        known,
    });
}
