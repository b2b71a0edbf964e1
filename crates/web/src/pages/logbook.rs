//! The logbook: search, filter, leaf back.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use axum::extract::RawQuery;
use jiff::{ToSpan, civil::Date};
use logbook::{MachineId, PersonId, When, fact::KINDS};
use maud::{Markup, html};
use store::{Filter, Page};
use views::{entry::Names, html as show_as};

/// How many entries stand on a page.
const PER_PAGE: usize = 50;

/// From so many machines on one types a machine's short name instead of choosing it.
const MANY_MACHINES: usize = 200;

/// Shows entries, the latest first.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let filter = read_filter(&visit, &typed)?;
    let before = typed.get("before").and_then(|seq| seq.parse().ok());
    let page = visit.desk.store().page(before, PER_PAGE, &filter)?;
    let names = Names { booth: visit.booth(), library: visit.library() };
    let entries = page.entries.iter().map(|stored| &stored.chained.entry);
    let table = views::entry::table(entries, names, visit.today());
    let main = html! {
        h1 { "Logbook" }
        (search(&visit, &typed))
        (to_settle(&visit))
        (show_as::table(&table))
        (older(&typed, &page))
    };
    Ok(layout::page(&visit, Section::Logbook, "Logbook", &main))
}

fn read_filter(visit: &Visit, typed: &Typed) -> Result<Filter, Trouble> {
    let day = |name: &str| {
        typed.get(name).map(|text| {
            text.parse::<Date>().map_err(|_| {
                Trouble::not_understood(
                    format!("\"{text}\" is not a day."),
                    "Write it as year, month, day: 2026-03-07.",
                )
                .way("/logbook", "Logbook")
            })
        })
    };
    let zone = visit.now.time_zone();
    let start_of = |day: Date| day.to_zoned_datetime(zone.clone()).ok().map(|at| When::from_zoned(&at));
    let words = [typed.get("words"), typed.get("about")];
    Ok(Filter {
        kinds: typed.all("kind").map(str::to_owned).collect(),
        machine: typed.get("machine").map(MachineId::new),
        by: typed.get("by").map(PersonId::new),
        from: day("from").transpose()?.and_then(start_of),
        until: day("until").transpose()?.and_then(|day| day.checked_add(1.day()).ok()).and_then(start_of),
        words: words.into_iter().flatten().collect::<Vec<_>>().join(" "),
    })
}

fn search(visit: &Visit, typed: &Typed) -> Markup {
    let booth = visit.booth();
    let value = |name: &str| typed.get(name).unwrap_or("").to_owned();
    let narrowed = ["machine", "kind", "by", "from", "until"].iter().any(|name| typed.get(name).is_some());
    html! {
        form.search method="get" action="/logbook" role="search" {
            div.words {
                div.field { label for="words" { "Words" } input #words type="search" name="words" value=(value("words")); }
                button type="submit" { "Search" }
            }
            details #narrow open[narrowed] {
                summary { "By machine, kind, person or day" }
                div.narrow {
            div.field {
                label for="machine" { "Machine" }
                @if booth.machines.len() > MANY_MACHINES {
                        input #machine type="text" name="machine" value=(value("machine")) autocomplete="off";
                    } @else {
                        select #machine name="machine" {
                    option value="" { "All" }
                    @for (id, machine) in &booth.machines {
                        option value=(id) selected[id.as_str() == value("machine")] { (machine.name) }
                    }
                }
                    }
            }
            div.field {
                label for="kind" { "What" }
                select #kind name="kind" {
                    option value="" { "All" }
                    @for kind in KINDS.iter().chain([&"corrects"]) {
                        option value=(kind) selected[*kind == value("kind")] { (views::entry::kind_name(kind)) }
                    }
                }
            }
            @if booth.people.len() > 1 {
                div.field {
                    label for="by" { "Who" }
                    select #by name="by" {
                        option value="" { "All" }
                        @for (id, person) in &booth.people {
                            option value=(id) selected[id.as_str() == value("by")] { (person.name) }
                        }
                    }
                }
            }
            div.field { label for="from" { "From" } input #from type="date" name="from" value=(value("from")); }
            div.field { label for="until" { "To" } input #until type="date" name="until" value=(value("until")); }
            }
            }
        }
    }
}

/// What does not add up and somebody should settle.
fn to_settle(visit: &Visit) -> Markup {
    let queries = booth::queries(visit.booth(), None).value;
    html! {
        @if !queries.is_empty() {
            details {
                summary { (views::wording::counted(queries.len(), "thing")) " to settle" }
                ul.plain {
                    @for query in queries {
                        li data-query=(query.entry) {
                            a href=(views::Place::Entry(query.entry).href()) { (query.what) }
                            " " span.quiet { (query.settle) }
                        }
                    }
                }
            }
        }
    }
}

fn older(typed: &Typed, page: &Page) -> Markup {
    let rest = typed.as_query_without("before");
    html! {
        @if let Some(before) = page.older_before {
            p.ways { a href={ "/logbook?before=" (before) (rest) } rel="next" { "Older entries" } }
        }
    }
}
