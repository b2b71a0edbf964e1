//! The form of a programme: items with their reels, as people write lengths.

use crate::{
    fields::{Field, Kind, Problem},
    typed::Typed,
};
use ::logbook::{
    Booth, MachineId, ShowingId,
    booth::Programme,
    fact::{ProgrammeItem, ProgrammeReel},
};
use film::{Gauge, SoundKind};
use maud::{Markup, html};
use units::{Frames, FramesPerSecond, Metres, Seconds};

/// The most items of one programme on a page.
const MOST_ITEMS: usize = 40;
/// Where a field's key begins with the item's number: `item-2-title`.
fn key(at: usize, field: &str) -> String {
    format!("item-{at}-{field}")
}

/// One field of an item.
pub struct ItemField {
    name: &'static str,
    label: &'static str,
    hint: &'static str,
    sort: Sort,
}

enum Sort {
    Line,
    Lines,
    Tick,
    Pick(&'static [(&'static str, &'static str)]),
}

/// The fields of an item.
pub const ITEM_FIELDS: &[ItemField] = &[
    ItemField { name: "title", label: "What it is called", hint: "", sort: Sort::Line },
    ItemField {
        name: "reels",
        label: "Picture on each reel, one to a line",
        hint: "A length, a time or a count: 480 m, 1580 ft, 43:20, 63200 frames. Where a reel has leaders of its own: picture / leader / run-out.",
        sort: Sort::Lines,
    },
    ItemField {
        name: "gauge",
        label: "Gauge",
        hint: "",
        sort: Sort::Pick(&[
            ("16mm", "16 mm"),
            ("35mm", "35 mm"),
            ("super8", "Super 8"),
            ("standard8", "Standard 8"),
        ]),
    },
    ItemField {
        name: "speed",
        label: "Frames a second",
        hint: "24 for sound film; 16 to 20 for most silent prints.",
        sort: Sort::Line,
    },
    ItemField {
        name: "sound",
        label: "Sound",
        hint: "",
        sort: Sort::Pick(&[("optical", "Optical"), ("magnetic", "Magnetic"), ("silent", "Silent")]),
    },
    ItemField {
        name: "cues",
        label: "Cue marks in the print",
        hint: "Never make marks in a print that is not yours.",
        sort: Sort::Pick(&[
            ("", "None: go by clock or footage"),
            ("smpte-301", "SMPTE 301 (changeover 22 frames before the end)"),
            ("smpte-55", "SMPTE 55 (changeover 28 frames before the end)"),
        ]),
    },
    ItemField {
        name: "head",
        label: "Leader before the picture",
        hint: "8 s, 192 frames, 12 ft",
        sort: Sort::Line,
    },
    ItemField { name: "tail", label: "Run-out after it", hint: "6 ft", sort: Sort::Line },
    ItemField {
        name: "apart",
        label: "Lent or unique: keep its reels and leaders as they are",
        hint: "",
        sort: Sort::Tick,
    },
];

/// The fields over the items.
pub fn head_fields() -> Vec<Field> {
    vec![Field::new("title", "What the programme is called", Kind::Line).required()]
}

/// The fields under the items.
pub fn tail_fields() -> Vec<Field> {
    vec![
        Field::new("interval", "A pause between items", Kind::Seconds).hint("10 min; left empty: none."),
        Field::new("relace", "Lacing the next reel on the same machine takes", Kind::Seconds)
            .hint("Left empty: 90 s."),
        Field::new("run_up", "A machine is at speed after", Kind::Seconds)
            .hint("Left empty: as it was last timed, else 4 s."),
        Field::new("note", "Anything else", Kind::Paragraph),
    ]
}

/// How many items the form shows: those that are filled in, and one more.
pub fn n_items(typed: &Typed) -> usize {
    let is_filled = |at: &usize| ["title", "reels"].iter().any(|field| typed.get(&key(*at, field)).is_some());
    let last = (1..=MOST_ITEMS).rev().find(is_filled).unwrap_or(0);
    (last + 1).min(MOST_ITEMS)
}

/// Whether the length of any reel was typed yet.
pub fn has_reels(typed: &Typed) -> bool {
    (1..=MOST_ITEMS).any(|at| typed.get(&key(at, "reels")).is_some())
}

/// Shows one field of an item.
pub fn item_field(at: usize, field: &ItemField, typed: &Typed, problems: &[Problem]) -> Markup {
    let key = key(at, field.name);
    let id = format!("field-{key}");
    let problem = problems.iter().find(|problem| problem.key == key);
    let value = typed.raw(&key).unwrap_or(if field.name == "speed" { "24" } else { "" });
    let wrong = problem.map(|_| "true");
    html! {
        div class=(if problem.is_some() { "field wrong" } else { "field" }) data-field=(key) {
            @if !matches!(field.sort, Sort::Tick) { label for=(id) { (field.label) } }
            @if !field.hint.is_empty() { span.hint { (field.hint) } }
            @match &field.sort {
                Sort::Line => { input id=(id) name=(key) type="text" value=(value) aria-invalid=[wrong] autocomplete="off"; }
                Sort::Lines => { textarea id=(id) name=(key) rows="3" aria-invalid=[wrong] { (value) } }
                Sort::Tick => {
                    label.tick for=(id) {
                        input id=(id) name=(key) type="checkbox" value="yes" checked[!value.is_empty()];
                        span { (field.label) }
                    }
                }
                Sort::Pick(choices) => {
                    select id=(id) name=(key) aria-invalid=[wrong] {
                        @for (word, words) in *choices { option value=(word) selected[*word == value] { (words) } }
                    }
                }
            }
            @if let Some(problem) = problem { span.problem { (problem.words) } }
        }
    }
}

/// What the form says.
pub struct Given {
    /// What it is called.
    pub title: String,
    /// What is shown.
    pub items: Vec<ProgrammeItem>,
    /// For which showings.
    pub showings: Vec<ShowingId>,
    /// On which machines.
    pub machines: Vec<MachineId>,
    /// A machine is at speed after.
    pub run_up: Option<Seconds>,
    /// Lacing again takes.
    pub relace: Option<Seconds>,
    /// A pause between items.
    pub interval: Option<Seconds>,
    /// Anything else.
    pub note: String,
}

/// Reads the form; every problem comes at once.
pub fn read(typed: &Typed) -> Result<Given, Vec<Problem>> {
    let mut problems = Vec::new();
    let title = typed.get("title").unwrap_or_default().to_owned();
    if title.is_empty() {
        problems
            .push(Problem::new("title", "A programme needs a name.").asked("What the programme is called"));
    }
    let items: Vec<ProgrammeItem> =
        (1..=MOST_ITEMS).filter_map(|at| read_item(at, typed, &mut problems)).collect();
    if items.is_empty() && problems.is_empty() {
        let words = "Give at least one item with the length of its reels.";
        problems.push(Problem::new(key(1, "reels"), words));
    }
    let mut time = |name: &str| {
        let text = typed.get(name)?;
        let bare = text.chars().all(|c| c.is_ascii_digit() || ".,".contains(c));
        let read: Result<Seconds, _> = if bare { format!("{text} s").parse() } else { text.parse() };
        read.map_err(|error| problems.push(Problem::new(name, format!("{error}.")))).ok()
    };
    let (run_up, relace, interval) = (time("run_up"), time("relace"), time("interval"));
    if !problems.is_empty() {
        return Err(problems);
    }
    Ok(Given {
        title,
        items,
        showings: typed.all("showing").map(ShowingId::new).collect(),
        machines: typed.all("machine").map(MachineId::new).collect(),
        run_up,
        relace,
        interval,
        note: typed.get("note").unwrap_or_default().to_owned(),
    })
}

fn read_item(at: usize, typed: &Typed, problems: &mut Vec<Problem>) -> Option<ProgrammeItem> {
    let get = |field: &str| typed.get(&key(at, field));
    let (title, lines) = (get("title"), get("reels"));
    if title.is_none() && lines.is_none() {
        return None;
    }
    let before = problems.len();
    let mut wrong = |field: &str, words: String| {
        problems.push(Problem::new(key(at, field), words).asked(format!("Item {at}")));
    };
    if title.is_none() {
        wrong("title", "Say what it is called.".to_owned());
    }
    let gauge: Option<Gauge> = get("gauge").unwrap_or("16mm").parse().ok();
    let sound: Option<SoundKind> = get("sound").unwrap_or("optical").parse().ok();
    let speed =
        get("speed").unwrap_or("24").trim_end_matches("fps").trim().replace(',', ".").parse::<f64>().ok();
    let speed = speed.map(FramesPerSecond::new).filter(|speed| ::logbook::rules::is_film_speed(*speed));
    if gauge.is_none() {
        wrong("gauge", "Choose a gauge.".to_owned());
    }
    if sound.is_none() {
        wrong("sound", "Choose how it carries its sound.".to_owned());
    }
    if speed.is_none() {
        wrong("speed", "Write frames a second from 1 to 120, for example 24.".to_owned());
    }
    let (gauge, sound, speed) = (gauge?, sound?, speed?);
    let mut usual = |field: &str| match get(field).map(|text| frames(text, gauge, speed)) {
        None => Frames::ZERO,
        Some(Ok(frames)) => frames,
        Some(Err(words)) => {
            wrong(field, words);
            Frames::ZERO
        }
    };
    let (head, tail) = (usual("head"), usual("tail"));
    let reels = read_reels(lines.unwrap_or_default(), (head, tail), gauge, speed);
    let reels = reels.map_err(|words| wrong("reels", words)).ok()?;
    (problems.len() == before).then(|| ProgrammeItem {
        title: title.unwrap_or_default().to_owned(),
        print: get("print").map(::logbook::PrintId::new),
        gauge: gauge.id().to_owned(),
        speed_fps: speed,
        sound: sound.id().to_owned(),
        cues: get("cues").unwrap_or_default().to_owned(),
        kept_apart: get("apart").is_some(),
        reels,
    })
}

fn read_reels(
    lines: &str,
    (head, tail): (Frames, Frames),
    gauge: Gauge,
    speed: FramesPerSecond,
) -> Result<Vec<ProgrammeReel>, String> {
    let lines = lines.lines().map(str::trim).filter(|line| !line.is_empty());
    let reels: Vec<ProgrammeReel> = lines
        .zip(1..)
        .map(|(line, number)| {
            let parts: Vec<&str> = line.split('/').map(str::trim).collect();
            let (picture, head, tail) = match parts[..] {
                [picture] => (frames(picture, gauge, speed)?, head, tail),
                [picture, head, tail] => {
                    (frames(picture, gauge, speed)?, frames(head, gauge, speed)?, frames(tail, gauge, speed)?)
                }
                _ => {
                    return Err(format!(
                        "\"{line}\": write the picture alone, or picture / leader / run-out."
                    ));
                }
            };
            if picture < Frames::new(1) {
                return Err(format!("\"{line}\" holds no picture; write its length."));
            }
            Ok(ProgrammeReel { number, head_frames: head, picture_frames: picture, tail_frames: tail })
        })
        .collect::<Result<_, String>>()?;
    if reels.is_empty() {
        return Err("Give the length of each reel, one to a line: 480 m, 1580 ft, 43:20.".to_owned());
    }
    Ok(reels)
}

/// Reads a length of film however people give it.
fn frames(text: &str, gauge: Gauge, speed: FramesPerSecond) -> Result<Frames, String> {
    let sentence = |error: String| format!("{error}.");
    if text == "0" {
        return Ok(Frames::ZERO);
    }
    if let Ok(frames) = text.parse::<Frames>()
        && text.contains(|c: char| c.is_ascii_alphabetic())
    {
        return Ok(frames);
    }
    // Lengths first: a bare m is metres of film here, never minutes.
    let length = match text.parse::<Metres>() {
        Ok(length) => length,
        Err(error) => {
            let time: Seconds = text.parse().map_err(|_| sentence(error.to_string()))?;
            return film::frames_in_time(time, speed).map_err(|error| sentence(error.to_string()));
        }
    };
    gauge.frames_in(length).map_err(|error| sentence(error.to_string()))
}

/// Frames as somebody would write them, without losing one.
fn written(frames: Frames, gauge: Gauge) -> String {
    let footage = gauge.feet_and_frames(frames);
    if footage.frames == Frames::ZERO { format!("{} ft", footage.feet) } else { frames.to_string() }
}

/// Fills the form from a programme.
pub fn filled(programme: &Programme) -> Typed {
    let mut typed = Typed::default();
    typed.push("title", programme.title.clone());
    typed.push("note", programme.note.clone());
    for (name, time) in
        [("run_up", programme.run_up), ("relace", programme.relace), ("interval", programme.interval)]
    {
        if let Some(time) = time {
            typed.push(name, format!("{}", time.seconds()));
        }
    }
    programme.showings.iter().for_each(|showing| typed.push("showing", showing.as_str()));
    programme.machines.iter().for_each(|machine| typed.push("machine", machine.as_str()));
    for (item, at) in programme.items.iter().zip(1..=MOST_ITEMS) {
        fill_item(&mut typed, at, item);
    }
    typed
}

fn fill_item(typed: &mut Typed, at: usize, item: &ProgrammeItem) {
    let gauge: Gauge = item.gauge.parse().unwrap_or(Gauge::Mm16);
    let usual =
        item.reels.first().map_or((Frames::ZERO, Frames::ZERO), |reel| (reel.head_frames, reel.tail_frames));
    let line = |reel: &ProgrammeReel| {
        let picture = written(reel.picture_frames, gauge);
        if (reel.head_frames, reel.tail_frames) == usual {
            return picture;
        }
        format!("{picture} / {} / {}", written(reel.head_frames, gauge), written(reel.tail_frames, gauge))
    };
    let lines: Vec<String> = item.reels.iter().map(line).collect();
    let mut put = |field: &str, text: String| typed.push(key(at, field), text);
    put("title", item.title.clone());
    put("reels", lines.join("\n"));
    put("gauge", gauge.id().to_owned());
    put("speed", item.speed_fps.fps().to_string());
    put("sound", item.sound.clone());
    put("cues", item.cues.clone());
    put("head", written(usual.0, gauge));
    put("tail", written(usual.1, gauge));
    if item.kept_apart {
        put("apart", "yes".to_owned());
    }
    if let Some(print) = &item.print {
        put("print", print.to_string());
    }
}

/// Fills a new form for a showing out of the prints that it shows.
pub fn filled_for(booth: &Booth, showing: Option<&str>) -> Typed {
    let mut typed = Typed::default();
    let Some((id, showing)) = showing.and_then(|id| booth.showings.get_key_value(id)) else { return typed };
    typed.push("title", showing.title.clone());
    typed.push("showing", id.as_str());
    let prints = showing.prints.iter().filter_map(|id| Some((id, booth.prints.get(id)?)));
    for ((id, print), at) in prints.zip(1..=MOST_ITEMS) {
        let lines: Vec<String> =
            print.reels.iter().map(|reel| format!("{:.1} m", reel.length_m.metres())).collect();
        let gauge = print.gauge.parse().map_or("16mm", |gauge: Gauge| gauge.id());
        for (field, text) in [
            ("title", print.title.clone()),
            ("reels", lines.join("\n")),
            ("gauge", gauge.to_owned()),
            ("print", id.to_string()),
            ("apart", if print.lender.is_empty() { String::new() } else { "yes".to_owned() }),
        ] {
            typed.push(key(at, field), text);
        }
    }
    typed
}

/// The print that an item is, carried unseen.
pub fn print_of(at: usize, typed: &Typed) -> Markup {
    let key = key(at, "print");
    html! {
        @if let Some(print) = typed.get(&key) { input type="hidden" name=(key) value=(print); }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn speed() -> FramesPerSecond {
        FramesPerSecond::new(24.0)
    }

    #[test]
    fn a_reel_is_given_as_length_time_or_count() {
        for (text, count) in
            [("400 ft", 16_000), ("121.92 m", 16_000), ("11:06", 15_984), ("16000 frames", 16_000)]
        {
            assert_eq!(frames(text, Gauge::Mm16, speed()), Ok(Frames::new(count)), "{text}");
        }
        for text in ["", "400", "lots", "-3 ft"] {
            assert!(frames(text, Gauge::Mm16, speed()).is_err(), "{text}");
        }
    }

    #[test]
    fn what_is_filled_in_is_read_back_to_the_frame() {
        let reel = |number, picture, head| ProgrammeReel {
            number,
            head_frames: Frames::new(head),
            picture_frames: Frames::new(picture),
            tail_frames: Frames::new(240),
        };
        let item = ProgrammeItem {
            title: "Feature".to_owned(),
            print: Some("feature".into()),
            gauge: "16mm".to_owned(),
            speed_fps: FramesPerSecond::new(16.67),
            sound: "silent".to_owned(),
            cues: "smpte-55".to_owned(),
            kept_apart: true,
            reels: vec![reel(1, 63_217, 192), reel(2, 48_000, 201)],
        };
        let mut typed = Typed::default();
        fill_item(&mut typed, 1, &item);
        typed.push("title", "Evening");
        let given = read(&typed).unwrap_or_else(|problems| panic!("{problems:?}"));
        assert_eq!(given.items, [item]);
    }

    #[test]
    fn every_problem_comes_with_its_field() {
        let typed = Typed::from_query(
            "item-1-title=&item-1-reels=lots&item-1-speed=fast&item-2-title=B&interval=soon",
        );
        let Err(problems) = read(&typed) else { panic!("it was taken") };
        let keys: Vec<&str> = problems.iter().map(|problem| problem.key.as_str()).collect();
        assert_eq!(keys, ["title", "item-1-title", "item-1-speed", "item-2-reels", "interval"]);
    }
}
