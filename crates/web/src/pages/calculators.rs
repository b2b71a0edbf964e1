//! The daily sums of film on a page: length, time, reel, speed and sound advance, each with its formula and source.
//!
//! A sum is a plain form whose answer stands on the page that it asks for; with script it is worked out at every key.
//! The sums of a room (lens, light, seats, sound, power) stand together on the page of a hall.

use crate::{
    fields::{self, Choice, Field, Kind, Problem},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use ::film::{
    Base, Gauge, SoundKind,
    calc::{self, WoundOn},
    programme::{TENSION_FORMULA, TENSION_SOURCE},
};
use axum::{
    extract::{Path, RawQuery},
    http::{StatusCode, header},
    response::IntoResponse,
};
use maud::{Markup, html};
use std::{collections::BTreeMap, fmt::Display, str::FromStr};
use units::{Frames, FramesPerSecond, Metres, Seconds};
use views::{film as said, html as show_as};

/// One sum: the last part of its address, its name, what it answers.
struct Sum {
    id: &'static str,
    name: &'static str,
    asks: &'static str,
    fields: fn() -> Vec<Field>,
    work: fn(&Given<'_>) -> Result<Told, Vec<Problem>>,
}

const SUMS: [Sum; 5] = [
    Sum {
        id: "time",
        name: "Running time",
        asks: "How long does this much film run?",
        fields: time_fields,
        work: time,
    },
    Sum {
        id: "length",
        name: "Length of film",
        asks: "How much film runs in this time?",
        fields: length_fields,
        work: length,
    },
    Sum {
        id: "reel",
        name: "What is on a reel",
        asks: "How much film is on a reel of this diameter, how large is a reel of this length, and how hard is it pulled?",
        fields: reel_fields,
        work: reel,
    },
    Sum {
        id: "speed",
        name: "Speed of film",
        asks: "How fast does the film move?",
        fields: running_fields,
        work: speed,
    },
    Sum {
        id: "advance",
        name: "Picture and sound",
        asks: "How far is the sound from its picture?",
        fields: advance_fields,
        work: advance,
    },
];

/// What a sum answers.
struct Told {
    lead: String,
    formula: String,
    source: String,
    mind: Vec<String>,
}

impl Told {
    fn new(lead: &str, formula: &str, source: &str, mind: &[String]) -> Self {
        let mind = mind.iter().map(|caveat| sentence(caveat)).collect();
        Self { lead: sentence(lead), formula: formula.to_owned(), source: source.to_owned(), mind }
    }
}

/// Words as a sentence: a capital at the front and a full stop at the end.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
}

fn gauge_choices() -> Vec<Choice> {
    Gauge::ALL.into_iter().map(|gauge| Choice::new(gauge.id(), gauge.to_string())).collect()
}

fn with_running(mut fields: Vec<Field>) -> Vec<Field> {
    fields.push(Field::new("gauge", "Gauge", Kind::Pick(gauge_choices())).required().preset("16mm"));
    fields.push(Field::new("fps", "Speed", Kind::Number("fps")).required().preset("24"));
    fields
}

fn running_fields() -> Vec<Field> {
    with_running(Vec::new())
}

fn time_fields() -> Vec<Field> {
    let hint = "400 ft, 122 m, 12 ft 6 in or 16000 frames.";
    with_running(vec![Field::new("of", "Length", Kind::Line).required().hint(hint)])
}

fn length_fields() -> Vec<Field> {
    with_running(vec![Field::new("of", "Time", Kind::Line).required().hint("11:06.7, 1h30 or 90 min.")])
}

fn reel_fields() -> Vec<Field> {
    let bases = Base::ALL.into_iter().map(|base| Choice::new(base.id(), base.to_string())).collect();
    with_running(vec![
        Field::new("outer", "Diameter of the wound film", Kind::Line).hint("300 mm or 10 1/2 in."),
        Field::new("holds", "Or its length", Kind::Line).hint("400 ft: then the diameter is the answer."),
        Field::new("hub", "Diameter of the hub", Kind::Line).required().hint("120 mm."),
        Field::new("base", "Film on", Kind::Pick(bases)).required().preset("acetate"),
        Field::new("thickness", "Thickness as wound", Kind::Line)
            .hint("0.155 mm. Left empty: by what the film is made on."),
    ])
}

fn advance_fields() -> Vec<Field> {
    let kinds = [SoundKind::Optical, SoundKind::Magnetic];
    let kinds = kinds.into_iter().map(|kind| Choice::new(kind.to_string(), kind.to_string())).collect();
    with_running(vec![Field::new("sound", "Sound track", Kind::Pick(kinds)).required().preset("optical")])
}

/// What was typed, read field by field.
struct Given<'t>(&'t Typed);

impl Given<'_> {
    fn text(&self, key: &str) -> Result<&str, Vec<Problem>> {
        self.0.get(key).ok_or_else(|| vec![Problem::new(key, "This is needed.")])
    }

    fn read<T: FromStr<Err: Display>>(&self, key: &str) -> Result<T, Vec<Problem>> {
        self.text(key)?.parse().map_err(|error: T::Err| wrong(key, &error))
    }

    fn maybe<T: FromStr<Err: Display>>(&self, key: &str) -> Result<Option<T>, Vec<Problem>> {
        if self.0.get(key).is_some() { self.read(key).map(Some) } else { Ok(None) }
    }

    fn running(&self) -> Result<(Gauge, FramesPerSecond), Vec<Problem>> {
        let fps = self.text("fps")?;
        // A bare number is meant as frames per second.
        let with_unit = if fps.chars().all(|c| c.is_ascii_digit() || ".,".contains(c)) {
            format!("{fps} fps")
        } else {
            fps.to_owned()
        };
        let fps: FramesPerSecond = with_unit.parse().map_err(|error| wrong("fps", &error))?;
        if fps <= FramesPerSecond::ZERO {
            return Err(vec![Problem::new(
                "fps",
                "Film cannot stand still here: give a speed above zero, such as 24.",
            )]);
        }
        Ok((self.read("gauge")?, fps))
    }
}

fn wrong(key: &str, error: &dyn Display) -> Vec<Problem> {
    vec![Problem::new(key, format!("{error}."))]
}

fn time(given: &Given<'_>) -> Result<Told, Vec<Problem>> {
    let (gauge, fps) = given.running()?;
    let sum = if given.text("of")?.to_lowercase().contains("frame") {
        calc::running_time_of_frames(gauge, given.read::<Frames>("of")?, fps)
    } else {
        calc::running_time(gauge, given.read::<Metres>("of")?, fps)
    };
    let answer = sum.map_err(|error| wrong("of", &error))?;
    Ok(Told::new(&said::time(&answer), answer.formula, answer.source, &answer.caveats))
}

fn length(given: &Given<'_>) -> Result<Told, Vec<Problem>> {
    let (gauge, fps) = given.running()?;
    let answer = calc::length_for_time(gauge, given.read::<Seconds>("of")?, fps)
        .map_err(|error| wrong("of", &error))?;
    Ok(Told::new(&said::length(&answer), answer.formula, answer.source, &answer.caveats))
}

fn reel(given: &Given<'_>) -> Result<Told, Vec<Problem>> {
    let (gauge, fps) = given.running()?;
    let hub: Metres = given.read("hub")?;
    let wound = match given.maybe("thickness")? {
        Some(thickness) => WoundOn::Thickness(thickness),
        None => WoundOn::Base(given.read("base")?),
    };
    let answer = match (given.maybe::<Metres>("outer")?, given.maybe::<Metres>("holds")?) {
        (Some(_), Some(_)) => {
            return Err(vec![Problem::new("holds", "Give the diameter or the length, not both.")]);
        }
        (Some(outer), None) => {
            calc::reel_contents(gauge, outer, hub, wound, fps).map_err(|error| wrong("outer", &error))?
        }
        (None, Some(length)) => {
            calc::reel_diameter(gauge, length, hub, wound, fps).map_err(|error| wrong("holds", &error))?
        }
        (None, None) => {
            return Err(vec![Problem::new("outer", "Give the diameter of the wound film, or its length.")]);
        }
    };
    let mut told = Told::new(&said::reel(&answer), answer.formula, answer.source, &answer.caveats);
    if let Some(tension) = &answer.tension {
        told.lead.push_str(" It is ");
        told.lead.push_str(&views::show::tension_words(tension));
        told.formula.push_str("; ");
        told.formula.push_str(TENSION_FORMULA);
        told.source.push_str("; ");
        told.source.push_str(TENSION_SOURCE);
    }
    Ok(told)
}

fn speed(given: &Given<'_>) -> Result<Told, Vec<Problem>> {
    let (gauge, fps) = given.running()?;
    let answer = calc::speed_of_film(gauge, fps).map_err(|error| wrong("fps", &error))?;
    Ok(Told::new(&said::speed(&answer), answer.formula, answer.source, &answer.caveats))
}

fn advance(given: &Given<'_>) -> Result<Told, Vec<Problem>> {
    let (gauge, fps) = given.running()?;
    let answer =
        calc::sound_advance(gauge, given.read("sound")?, fps).map_err(|error| wrong("sound", &error))?;
    Ok(Told::new(&said::advance(&answer), answer.formula, answer.source, &answer.caveats))
}

/// Lists the sums.
pub async fn list(visit: Visit) -> Answered {
    let main = html! {
        h1 { "Calculators" }
        p { "Each shows its formula and where its figures come from." }
        ul.choices { @for sum in &SUMS {
            li { a href={ "/calculators/" (sum.id) } { strong { (sum.name) } " " span.quiet { (sum.asks) } } }
        } }
        h2 { "In a room" }
        ul.choices { li { a href="/halls/new" { strong { "Lens, light, seats, sound and power" } " "
            span.quiet { "Which lens for this throw, is it bright and loud enough, who sees over whom, what the cable loses." } } } }
    };
    Ok(layout::page(&visit, Section::Calculators, "Calculators", &main))
}

fn find(id: &str) -> Result<&'static Sum, Trouble> {
    SUMS.iter().find(|sum| sum.id == id).ok_or_else(|| {
        Trouble::not_found(format!("There is no sum \"{id}\" here."), "Choose one of them.")
            .way("/calculators", "Calculators")
    })
}

/// The typed fields with what stands in the others at first.
fn filled(sum: &Sum, query: Option<&str>) -> Typed {
    let mut typed = Typed::from_query(query.unwrap_or(""));
    for field in (sum.fields)() {
        if !field.preset.is_empty() && typed.raw(field.key).is_none() {
            typed.set_if_missing(field.key, || field.preset.to_owned());
        }
    }
    typed
}

/// Works a sum out. Nothing typed yet: neither an answer nor a problem.
fn worked(sum: &Sum, typed: &Typed) -> (Option<Told>, Vec<Problem>) {
    let own = (sum.fields)();
    let is_begun =
        own.iter().filter(|field| field.preset.is_empty()).any(|field| typed.get(field.key).is_some());
    let asks_more = own.iter().any(|field| field.preset.is_empty());
    match (sum.work)(&Given(typed)) {
        Ok(told) => (Some(told), Vec::new()),
        Err(_) if asks_more && !is_begun => (None, Vec::new()),
        Err(problems) => (None, problems),
    }
}

/// Shows a sum, with its answer if enough was given.
pub async fn show(visit: Visit, Path(id): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let sum = find(&id)?;
    let typed = filled(sum, query.as_deref());
    let (told, problems) = worked(sum, &typed);
    let status = if problems.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let main = html! {
        h1 { (sum.name) }
        p { (sum.asks) }
        (fields::problems(&problems))
        form.entry method="get" action={ "/calculators/" (sum.id) } data-figures={ "/calculators/" (sum.id) "/figures" }
            data-answers="sum-answer" novalidate {
            div data-figured { (fields::show(&(sum.fields)(), &typed, &problems)) }
            p.ways { button.main type="submit" { "Work it out" } a href="/calculators" { "Other sums" } }
        }
        div #sum-answer.reckoned aria-live="polite" { @if let Some(told) = &told { (answer(told)) } }
    };
    Ok(layout::page_with_scripts(
        &visit,
        Some(Section::Calculators),
        sum.name,
        &main,
        status,
        &["/assets/reckon.js"],
    ))
}

fn answer(told: &Told) -> Markup {
    html! {
        p.lead { (told.lead) }
        dl.facts {
            div { dt { "Formula" } dd { (told.formula) } }
            div { dt { "Source" } dd { (told.source) } }
        }
        @if !told.mind.is_empty() { (show_as::block(&views::Block::Caveats(told.mind.clone()))) }
    }
}

/// The answer of a sum, for the script.
pub async fn figures(Path(id): Path<String>, RawQuery(query): RawQuery) -> Answered {
    let sum = find(&id)?;
    let (told, problems) = worked(sum, &filled(sum, query.as_deref()));
    let answers = match &told {
        Some(told) => Some(answer(told).into_string()),
        None if problems.is_empty() => Some(String::new()),
        None => None,
    };
    let problems: BTreeMap<String, String> =
        problems.into_iter().map(|problem| (problem.key, problem.words)).collect();
    let body = serde_json::json!({ "answers": answers, "problems": problems });
    Ok(([(header::CONTENT_TYPE, "application/json")], body.to_string()).into_response())
}
