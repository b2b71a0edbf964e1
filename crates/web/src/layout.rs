//! The frame of every page: head, stripe, top, ways around, main, foot.

use crate::{trouble::Trouble, visit::Visit};
use axum::{
    http::{StatusCode, header},
    response::{Html, IntoResponse, Response},
};
use logbook::booth::Settings;
use maud::{DOCTYPE, Markup, html};
use views::Place;

/// A part of the program that the ways around lead to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Section {
    /// The coming showings.
    Tonight,
    /// The film paths.
    FilmPath,
    /// What is due.
    Due,
    /// The diary.
    Diary,
    /// The programmes of reels.
    Programmes,
    /// What is wrong, and what to do.
    Faults,
    /// The daily sums.
    Calculators,
    /// The halls.
    Halls,
    /// The prints.
    Prints,
    /// The sound bench.
    Sound,
    /// The stores.
    Stores,
    /// The machines.
    Machines,
    /// How long parts last.
    Lives,
    /// The logbook.
    Logbook,
    /// Writing something down.
    Log,
    /// What this is.
    About,
}

/// One way around: the section, its address, its name, and whether it stands at the bottom of a phone's page.
struct Way(Section, &'static str, &'static str, bool);

/// All ways around; those beyond the first few stand behind "More" on a phone.
const WAYS: &[Way] = &[
    Way(Section::Tonight, "/", "Tonight", true),
    Way(Section::FilmPath, "/path", "Film path", true),
    Way(Section::Due, "/due", "Due", true),
    Way(Section::Diary, "/diary", "Diary", true),
    Way(Section::Faults, "/faults", "Faults", false),
    Way(Section::Machines, "/machines", "Machines", false),
    Way(Section::Programmes, "/programmes", "Programmes", false),
    Way(Section::Stores, "/stores", "Stores", false),
    Way(Section::Prints, "/prints", "Prints", false),
    Way(Section::Lives, "/lives", "Parts and lives", false),
    Way(Section::Halls, "/halls", "Halls", false),
    Way(Section::Calculators, "/calculators", "Calculators", false),
    Way(Section::Sound, "/sound", "Sound", false),
    Way(Section::Logbook, "/logbook", "Logbook", false),
    Way(Section::Log, "/log", "Write down", false),
    Way(Section::About, "/about", "About", false),
];

/// Shows a page in its frame.
pub fn page(visit: &Visit, section: Section, title: &str, main: &Markup) -> Response {
    page_with(visit, Some(section), title, main, StatusCode::OK)
}

/// Shows a page in its frame, with a status of its own.
pub fn page_with(
    visit: &Visit,
    section: Option<Section>,
    title: &str,
    main: &Markup,
    status: StatusCode,
) -> Response {
    page_with_scripts(visit, section, title, main, status, &[])
}

/// Shows a page in its frame with scripts of its own, without which it can still be read.
pub fn page_with_scripts(
    visit: &Visit,
    section: Option<Section>,
    title: &str,
    main: &Markup,
    status: StatusCode,
    scripts: &[&str],
) -> Response {
    let settings = &visit.booth().settings;
    let body = html! {
        body.framed {
            (start(settings))
            (ways_around(section))
            main #main tabindex="-1" {
                (written_notice(visit))
                (main)
            }
            footer.foot {
                p { "Local codes and licensed practice come first. " a href="/about" { "About Boothwright" } }
                (theme_switch(visit))
            }
        }
    };
    let page = document(visit.theme.name(), title, &settings.name, &body, scripts);
    (status, Html(page.into_string())).into_response()
}

/// Shows a page without ways around, for work that wants the whole screen.
pub fn bare_page(visit: &Visit, title: &str, class: &str, main: &Markup, scripts: &[&str]) -> Response {
    let settings = &visit.booth().settings;
    let body = html! {
        body class=(class) {
            a.skip href="#main" { "Skip to the content" }
            @if settings.invented { (stripe()) }
            (outbox())
            main #main tabindex="-1" { (main) }
        }
    };
    Html(document(visit.theme.name(), title, &settings.name, &body, scripts).into_string()).into_response()
}

fn document(theme: &str, title: &str, booth: &str, body: &Markup, scripts: &[&str]) -> Markup {
    let full = if booth.is_empty() { title.to_owned() } else { format!("{title} · {booth}") };
    html! {
        (DOCTYPE)
        html lang="en-GB" data-theme=(theme) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                meta name="color-scheme" content=(if theme == "daylight" { "light" } else { "dark" });
                meta name="theme-color" content=(if theme == "daylight" { "#fbf7f0" } else { "#0b0706" });
                title { (full) }
                link rel="stylesheet" href="/assets/booth.css";
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                script src="/assets/outbox.js" defer {}
                @for script in scripts { script src=(script) defer {} }
            }
            (body)
        }
    }
}

fn start(settings: &Settings) -> Markup {
    let name = if settings.name.is_empty() { "Boothwright" } else { &settings.name };
    html! {
        a.skip href="#main" { "Skip to the content" }
        @if settings.invented { (stripe()) }
        header.top {
            a.name href="/" { span { (name) } }
            a.button.wrong #wrong-top href=(Place::NewFault(None).href()) { "Something is wrong" }
            a.button href="/log" { "Write down" }
        }
        (outbox())
    }
}

fn stripe() -> Markup {
    html! { p.invented { "Demo data: invented" } }
}

/// The place where the script tells what is kept on this device; empty and hidden without it.
fn outbox() -> Markup {
    html! { div #outbox role="status" aria-live="polite" hidden {} }
}

fn theme_switch(visit: &Visit) -> Markup {
    let to = visit.theme.other();
    let word = if to == crate::visit::Theme::Daylight { "Daylight" } else { "Dark" };
    html! {
        form method="post" action="/theme" {
            input type="hidden" name="back" value=(visit.address);
            button type="submit" name="to" value=(to.name()) { (word) }
        }
    }
}

fn ways_around(current: Option<Section>) -> Markup {
    html! {
        nav.ways-around aria-label="Ways around" {
            ul {
                @for Way(section, href, name, first) in WAYS {
                    li class=[(!first).then_some("later")] {
                        a href=(href) aria-current=[(current == Some(*section)).then_some("page")] { (name) }
                    }
                }
                li.more { a href="/more" { "More" } }
            }
        }
    }
}

/// The list behind "More".
pub fn all_ways() -> Markup {
    html! {
        ul.choices { @for Way(_, href, name, _) in WAYS { li { a href=(href) { strong { (name) } } } } }
    }
}

/// Says what was just written, on the page that follows.
fn written_notice(visit: &Visit) -> Markup {
    html! {
        @if let Some(entry) = visit.written {
            p.done-notice role="status" data-entry=(entry) {
                "Written down. " a href=(Place::Entry(entry).href()) { "Look at the entry" } "."
            }
        }
    }
}

/// Shows a trouble as a page; without a visit (the logbook cannot be read) the frame stays bare.
pub fn trouble_page(visit: Option<&Visit>, trouble: &Trouble) -> Response {
    let main = html! {
        h1 { (trouble.title) }
        p.lead { (trouble.what) }
        p { (trouble.would_be_right) }
        p.ways {
            @for (href, words) in &trouble.ways { a href=(href) { (words) } }
            a href="/" { "Tonight" }
        }
    };
    if let Some(visit) = visit {
        return page_with(visit, None, &trouble.title, &main, trouble.status);
    }
    let body = html! { body { main #main { (main) } } };
    let page = document("dark", &trouble.title, "", &body, &[]);
    (trouble.status, Html(page.into_string())).into_response()
}

/// Shows a trouble to a script.
pub fn trouble_as_json(trouble: &Trouble) -> Response {
    let body = serde_json::json!({
        "problem": trouble.what,
        "would_be_right": trouble.would_be_right,
    });
    (trouble.status, [(header::CONTENT_TYPE, "application/json")], body.to_string()).into_response()
}
