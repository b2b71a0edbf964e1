//! The plan as a calendar that other programs read (RFC 5545, iCalendar).

use booth::service_plan::{PlannedShowing, ServicePlan};
use jiff::{Timestamp, ToSpan, ZonedDateTime, tz::TimeZone};
use logbook::Booth;

/// Longest line in octets, its end not counted (RFC 5545, section 3.1).
const LONGEST: usize = 75;

/// The plan as a calendar: one event for each showing and each bench session. `now` stamps the events.
pub fn calendar(plan: &ServicePlan<'_>, booth: &Booth, now: &ZonedDateTime) -> String {
    let mut out = Lines::default();
    out.put("BEGIN", "VCALENDAR");
    out.put("VERSION", "2.0");
    out.put("PRODID", "-//Boothwright//Service plan//EN");
    out.put("CALSCALE", "GREGORIAN");
    for showing in &plan.showings {
        let place = showing.place.and_then(|id| booth.places.get(id)).map_or("", |place| place.name.as_str());
        let uid = format!("showing-{}", showing.showing);
        let event = Event { uid: &uid, starts: &showing.starts, ends: &showing.ends, place };
        out.event(&event, showing.title, &on_what(showing, booth), now);
    }
    for session in &plan.sessions {
        let ends =
            session.starts.checked_add(session.minutes_used.minutes()).unwrap_or(session.starts.clone());
        let uid = format!("bench-{}-{}", session.starts.date(), session.place);
        let event = Event { uid: &uid, starts: &session.starts, ends: &ends, place: &session.place };
        let work: Vec<String> = session
            .work
            .iter()
            .map(|work| format!("{}: {}", booth.machine_name(work.machine), work.words))
            .collect();
        out.event(&event, &format!("Bench: {} minutes", session.minutes_used), &work.join("\n"), now);
    }
    out.put("END", "VCALENDAR");
    out.0
}

fn on_what(showing: &PlannedShowing<'_>, booth: &Booth) -> String {
    let names: Vec<&str> = showing.machines.iter().map(|seat| booth.machine_name(seat.machine)).collect();
    let lacks = match showing.missing {
        0 => String::new(),
        1 => "\nA machine is lacking".to_owned(),
        n => format!("\n{n} machines are lacking"),
    };
    format!("On {}{lacks}", if names.is_empty() { "no machine".to_owned() } else { names.join(", ") })
}

struct Event<'e> {
    uid: &'e str,
    starts: &'e ZonedDateTime,
    ends: &'e ZonedDateTime,
    place: &'e str,
}

#[derive(Default)]
struct Lines(String);

impl Lines {
    fn event(&mut self, event: &Event<'_>, summary: &str, words: &str, now: &ZonedDateTime) {
        self.put("BEGIN", "VEVENT");
        self.put("UID", &text(&format!("{}@boothwright.invalid", event.uid)));
        self.put("DTSTAMP", &utc(now.timestamp()));
        self.put("DTSTART", &utc(event.starts.timestamp()));
        self.put("DTEND", &utc(event.ends.timestamp()));
        self.put("SUMMARY", &text(summary));
        if !event.place.is_empty() {
            self.put("LOCATION", &text(event.place));
        }
        self.put("DESCRIPTION", &text(words));
        self.put("END", "VEVENT");
    }

    /// Adds a content line, folded so that no line is longer than it may be; never within a character.
    fn put(&mut self, name: &str, value: &str) {
        let mut room = LONGEST;
        for character in format!("{name}:{value}").chars() {
            if character.len_utf8() > room {
                self.0.push_str("\r\n ");
                room = LONGEST - 1;
            }
            room -= character.len_utf8();
            self.0.push(character);
        }
        self.0.push_str("\r\n");
    }
}

/// A moment in universal time (RFC 5545, section 3.3.5, form 2).
fn utc(at: Timestamp) -> String {
    at.to_zoned_datetime(TimeZone::UTC).strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// Escapes a text (RFC 5545, section 3.3.11); other control characters have no place in it.
fn text(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for character in words.chars() {
        match character {
            '\\' | ';' | ',' => out.extend(['\\', character]),
            '\n' => out.push_str("\\n"),
            other if other.is_control() => {}
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 5545, section 3.1: a long line is split by CRLF and one space; taking these out gives the line again.
    #[test]
    fn long_lines_are_folded_at_75_octets_and_never_within_a_character() {
        let mut lines = Lines::default();
        let words = "é".repeat(100);
        lines.put("SUMMARY", &words);
        assert!(lines.0.split("\r\n").all(|line| line.len() <= LONGEST), "{}", lines.0);
        assert!(lines.0.matches("\r\n ").count() >= 2);
        assert_eq!(lines.0.replace("\r\n ", ""), format!("SUMMARY:{words}\r\n"));
    }

    /// The example of RFC 5545, section 3.3.11.
    #[test]
    fn texts_are_escaped_as_in_the_standards_example() {
        let words = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared.";
        assert_eq!(text(words), "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared.");
        assert_eq!(text("a, b; c\\d"), "a\\, b\\; c\\\\d");
    }

    /// The example of RFC 5545, section 3.3.5, form 2: 19 January 1998, 07:00 UTC.
    #[test]
    fn moments_stand_in_universal_time() {
        let at: Timestamp = "1998-01-19T02:00:00-05:00".parse().unwrap_or_default();
        assert_eq!(utc(at), "19980119T070000Z");
    }
}
