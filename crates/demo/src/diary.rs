//! The diary: what was shown where and on which machine in fourteen months, and what is to come.

use crate::dice::{Dice, Stream, rounded};
use crate::pen::{days_after, minutes_after};
use crate::prints::{self, Title};
use crate::setting::{
    BARN, BRANNICK, Bird, FERRY, HALLS, Hall, KEEPER, NESSARY, ORVANE, RELIEF, TOLVAY, URED,
};
use jiff::civil::{self, Date, Weekday, time};
use std::ops::Range;

/// How many showings the past diary aims at, the cancelled one included.
const PAST_SHOWINGS: f64 = 169.0;
/// A rehearsal of twelve minutes before each showing, shared by the machines.
pub(crate) const REHEARSAL_H: f64 = 0.2;

/// The span of the log and the days on which its stories turn.
pub(crate) struct Calendar {
    pub(crate) start: Date,
    pub(crate) today: Date,
    pub(crate) days: i32,
}

impl Calendar {
    pub(crate) fn ending(today: Date) -> Self {
        let start =
            today.checked_sub(jiff::Span::new().months(14)).expect("the log lies within the calendar");
        let days =
            i32::try_from(units::civil::days_between(start, today)).expect("fourteen months are few days");
        Self { start, today, days }
    }

    pub(crate) fn date(&self, day: i32) -> Date {
        days_after(self.start, day)
    }

    pub(crate) fn day(&self, date: Date) -> i32 {
        i32::try_from(units::civil::days_between(self.start, date)).unwrap_or(i32::MAX)
    }

    /// The day so many months (of fourteen) into the log.
    pub(crate) fn month(&self, months: f64) -> i32 {
        (months * f64::from(self.days) / 14.0) as i32
    }

    /// Turnstone crosses with its flywheel unlocked.
    pub(crate) fn crossing(&self) -> i32 {
        self.month(4.0)
    }

    /// Phalarope is quarantined on this evening, and released in the depot on the last day of the span.
    pub(crate) fn quarantine(&self) -> Range<i32> {
        self.month(5.2)..self.month(5.2) + 19
    }

    /// Phalarope waits for a belt set.
    pub(crate) fn idle(&self) -> Range<i32> {
        let from = self.month(9.5);
        from..from + 71
    }

    /// Dunlin gets a new lamp holder.
    pub(crate) fn new_holder(&self) -> i32 {
        self.month(9.0)
    }

    /// Whimbrel knocks.
    pub(crate) fn knock(&self) -> i32 {
        self.month(13.0)
    }

    /// The technician works at a machine: once in the depot before the season, and on two visits, a day for each.
    pub(crate) fn visits(&self, bird: Bird) -> [i32; 3] {
        [2, self.month(7.0), self.month(13.3)].map(|day| day + bird as i32)
    }
}

/// What became of a showing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fate {
    Held,
    Cancelled,
    Coming,
}

/// One showing.
pub(crate) struct Outing {
    pub(crate) id: String,
    pub(crate) day: i32,
    pub(crate) starts: civil::DateTime,
    pub(crate) hall: &'static Hall,
    /// Indexes into the titles, in the order of the programme.
    pub(crate) programme: Vec<usize>,
    pub(crate) title: String,
    pub(crate) minutes: f64,
    pub(crate) planned_on: Vec<Bird>,
    /// The machines that ran (or will run), each with its hours in the showing.
    pub(crate) on: Vec<(Bird, f64)>,
    pub(crate) fate: Fate,
    /// Who runs the show.
    pub(crate) operator: &'static str,
}

impl Outing {
    pub(crate) fn uses(&self, bird: Bird) -> bool {
        self.on.iter().any(|(on, _)| *on == bird)
    }

    pub(crate) fn held(&self) -> bool {
        self.fate == Fate::Held
    }

    /// So many minutes after the doors were due to open the programme; below zero: before.
    pub(crate) fn minute(&self, minutes: i64) -> civil::DateTime {
        minutes_after(self.starts, minutes)
    }

    /// The end of the programme.
    pub(crate) fn ends(&self) -> civil::DateTime {
        self.minute(self.minutes as i64)
    }
}

/// Plans every showing, past and coming, in order of time.
pub(crate) fn outings(calendar: &Calendar, titles: &[Title], seed: u64) -> Vec<Outing> {
    let mut maker = Maker {
        dice: Dice::new(seed, Stream::Diary),
        calendar,
        titles,
        hours: [0.0; 4],
        made: Vec::new(),
        herring_shown: false,
        knocked: false,
    };
    for date in past_dates(calendar) {
        let hall = maker.hall(date);
        maker.make(date, hall, Fate::Held);
    }
    maker.cancel_one();
    maker.swap_after_the_knock();
    for (ahead, hall, hour) in [(0, BRANNICK, EVENING), (1, ORVANE, EVENING), (2, FERRY, AFTERNOON)] {
        maker.make_weekend(days_after(calendar.today, ahead).to_datetime(hour), hall);
    }
    for date in coming_dates(calendar) {
        let hall = maker.hall(date);
        maker.make(date, hall, Fate::Coming);
    }
    maker.made
}

/// Showings in a week: three in the season from the end of September to the middle of May, fewer in summer.
fn showings_in_week(monday: Date) -> f64 {
    match (monday.month(), monday.day()) {
        (6..=8, _) => 1.0,
        (5, 12..) | (9, ..24) => 1.5,
        _ => 3.0,
    }
}

/// When programmes start.
const EVENING: civil::Time = time(19, 30, 0, 0);
const AFTERNOON: civil::Time = time(15, 0, 0, 0);

/// The days of a week on which people come, best first.
const WEEK: [Weekday; 6] = [
    Weekday::Friday,
    Weekday::Saturday,
    Weekday::Sunday,
    Weekday::Thursday,
    Weekday::Wednesday,
    Weekday::Tuesday,
];

fn past_dates(calendar: &Calendar) -> Vec<Date> {
    let weeks: Vec<Date> = mondays(calendar.start, calendar.today).collect();
    let storms = [calendar.month(3.2), calendar.month(6.1)].map(|day| monday_of(calendar.date(day)));
    let weight = |monday: &Date| if storms.contains(monday) { 0.0 } else { showings_in_week(*monday) };
    let all: f64 = weeks.iter().map(weight).sum();
    let first = days_after(calendar.start, 4);
    let (mut wanted, mut dates) = (0.0, Vec::new());
    for monday in &weeks {
        wanted += weight(monday) * PAST_SHOWINGS / all;
        let open = |date: &Date| *date >= first && *date < calendar.today;
        let quota = if weight(monday) > 0.0 { (wanted as usize).saturating_sub(dates.len()) } else { 0 };
        dates.extend(week_dates(*monday, quota, open));
    }
    dates
}

/// About six weeks from the day after the next three showings.
fn coming_dates(calendar: &Calendar) -> Vec<Date> {
    let from = days_after(calendar.today, 3);
    let until = days_after(calendar.today, 43);
    mondays(from, until)
        .flat_map(|monday| {
            let open = move |date: &Date| *date >= from && *date < until;
            week_dates(monday, showings_in_week(monday).round() as usize, open)
        })
        .collect()
}

fn week_dates(monday: Date, quota: usize, open: impl Fn(&Date) -> bool) -> Vec<Date> {
    let on = |day: &Weekday| days_after(monday, i32::from(day.to_monday_zero_offset()));
    let mut dates: Vec<Date> = WEEK.iter().map(on).filter(open).take(quota).collect();
    dates.sort_unstable();
    dates
}

fn monday_of(date: Date) -> Date {
    days_after(date, -i32::from(date.weekday().to_monday_zero_offset()))
}

fn mondays(from: Date, until: Date) -> impl Iterator<Item = Date> {
    std::iter::successors(Some(monday_of(from)), |monday| Some(days_after(*monday, 7)))
        .take_while(move |monday| *monday < until)
}

struct Maker<'a> {
    dice: Dice,
    calendar: &'a Calendar,
    titles: &'a [Title],
    hours: [f64; 4],
    made: Vec<Outing>,
    herring_shown: bool,
    /// Whimbrel has knocked and waits for the technician.
    knocked: bool,
}

impl Maker<'_> {
    /// Chooses a hall by the day of the week, so that Nessary gets Whimbrel's share.
    fn hall(&mut self, date: Date) -> usize {
        let day = self.calendar.day(date);
        let repaired = day > self.calendar.visits(Bird::Whimbrel)[2];
        // It must have knocked before the technician can mend it.
        let must_knock = !self.knocked && day >= self.calendar.knock();
        let behind = must_knock || self.lack(Bird::Whimbrel) > 0.0 && (!self.knocked || repaired);
        let summer = matches!(date.month(), 6..=8);
        let rotation: &[usize] = match date.weekday() {
            Weekday::Sunday => &[FERRY, URED, FERRY, ORVANE],
            Weekday::Wednesday => &[TOLVAY],
            _ if behind => &[NESSARY],
            _ if summer => &[BARN, BRANNICK, BARN, ORVANE],
            _ => &[BRANNICK, ORVANE, URED, TOLVAY],
        };
        rotation[self.made.len() % rotation.len()]
    }

    fn make(&mut self, date: Date, hall: usize, fate: Fate) {
        let programme = self.programme(hall);
        let minutes: f64 = programme.iter().map(|title| self.titles[*title].minutes).sum();
        let birds = self.birds(hall, date);
        let starts = date.to_datetime(starting_time(date, &HALLS[hall]));
        self.add(starts, hall, programme, minutes, birds, fate);
    }

    /// The next three showings: a feature and a short, or two shorts, changing over between Turnstone and Dunlin.
    fn make_weekend(&mut self, starts: civil::DateTime, hall: usize) {
        let usual = self.programme(hall);
        // The ferry takes less than an hour: two shorts of a reel each.
        let programme = if hall == FERRY { prints::TWO_SHORTS.to_vec() } else { usual };
        let minutes = programme.iter().map(|title| self.titles[*title].minutes).sum();
        self.add(starts, hall, programme, minutes, vec![Bird::Turnstone, Bird::Dunlin], Fate::Coming);
    }

    fn add(
        &mut self,
        starts: civil::DateTime,
        hall: usize,
        programme: Vec<usize>,
        minutes: f64,
        birds: Vec<Bird>,
        fate: Fate,
    ) {
        let share = 1.0 / birds.len() as f64;
        for bird in &birds {
            self.hours[*bird as usize] += (minutes / 60.0 + REHEARSAL_H) * share;
        }
        let hall = &HALLS[hall];
        let title = programme.iter().map(|title| self.titles[*title].name.as_str()).collect::<Vec<_>>();
        self.made.push(Outing {
            id: format!("{}-{}", starts.date(), hall.id),
            day: self.calendar.day(starts.date()),
            starts,
            hall,
            title: title.join(" and "),
            programme,
            minutes: rounded(minutes, 1),
            on: birds.iter().map(|bird| (*bird, rounded(minutes / 60.0 * share, 2))).collect(),
            planned_on: birds,
            fate,
            operator: [KEEPER, KEEPER, KEEPER, RELIEF[0], RELIEF[1]][self.dice.below(5) as usize],
        });
    }

    /// A feature tours some nine showings; most programmes open with a short.
    fn programme(&mut self, hall: usize) -> Vec<usize> {
        let feature = prints::FEATURES.start + (self.made.len() / 9) % prints::FEATURES.len();
        let before_it = if hall == NESSARY && !self.herring_shown && self.made.len() > 60 {
            self.herring_shown = true;
            Some(prints::HERRING)
        } else if self.dice.chance(0.85) {
            let shorts = u32::try_from(prints::SHORT_ONES.len()).expect("six shorts");
            Some(prints::SHORT_ONES.start + self.dice.below(shorts) as usize)
        } else {
            None
        };
        before_it.into_iter().chain([feature]).collect()
    }

    /// Whimbrel stands at Nessary; elsewhere the machine that is furthest behind its share, or a changeover pair.
    fn birds(&mut self, hall: usize, date: Date) -> Vec<Bird> {
        if hall == NESSARY {
            self.knocked |= self.calendar.day(date) >= self.calendar.knock();
            return vec![Bird::Whimbrel];
        }
        let day = self.calendar.day(date);
        let away = self.calendar.quarantine().contains(&day) || self.calendar.idle().contains(&day);
        if !away && self.lack(Bird::Phalarope) > 0.5 {
            return vec![Bird::Phalarope];
        }
        if self.dice.chance(0.4) {
            return vec![Bird::Turnstone, Bird::Dunlin];
        }
        let behind = self.lack(Bird::Turnstone) > self.lack(Bird::Dunlin);
        vec![if behind { Bird::Turnstone } else { Bird::Dunlin }]
    }

    fn lack(&self, bird: Bird) -> f64 {
        bird.character().share * self.hours.iter().sum::<f64>() - self.hours[bird as usize]
    }

    /// The generator at the Barn gives up once.
    fn cancel_one(&mut self) {
        let barn = HALLS[BARN].id;
        let at_barn = |outing: &&mut Outing| outing.hall.id == barn && outing.day > 30;
        if let Some(outing) = self.made.iter_mut().find(at_barn) {
            outing.fate = Fate::Cancelled;
        }
    }

    /// Whimbrel knocks in reel 2, and Turnstone takes over for the rest of that evening.
    fn swap_after_the_knock(&mut self) {
        let knock = self.calendar.knock();
        let on_whimbrel = |outing: &&mut Outing| outing.day >= knock && outing.uses(Bird::Whimbrel);
        if let Some(outing) = self.made.iter_mut().find(on_whimbrel) {
            let hours = outing.minutes / 60.0;
            outing.on =
                vec![(Bird::Whimbrel, rounded(hours * 0.4, 2)), (Bird::Turnstone, rounded(hours * 0.6, 2))];
        }
    }
}

fn starting_time(date: Date, hall: &Hall) -> civil::Time {
    match date.weekday() {
        _ if hall.id == HALLS[FERRY].id => AFTERNOON,
        Weekday::Wednesday if hall.id == HALLS[TOLVAY].id => time(16, 0, 0, 0),
        Weekday::Sunday => time(17, 0, 0, 0),
        _ => EVENING,
    }
}
