//! The stores: what is missing, what to order, one item.

use crate::{
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use axum::{
    extract::{Path, RawQuery},
    http::header,
    response::IntoResponse,
};
use booth::{
    Answer,
    stores::{Stores, USUAL_SERVICE, Wish},
};
use maud::{Markup, html};
use units::Probability;
use views::{Place, html as show_as};

/// Shows every item, what is missing first.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let asked = Asked::read(query.as_deref());
    let answer = ask(&visit, asked.wish);
    let sheet = views::stores::sheet(&answer);
    let main = html! {
        (show_as::sheet(&sheet))
        (asking("/stores", &asked))
        p.ways {
            a href="/log/stock-counted?back=/stores" { "Count an item" }
            a href="/log/stock-received?back=/stores" { "A parcel came" }
            a href=(Place::Shopping.href()) { "Shopping list" }
        }
    };
    Ok(layout::page(&visit, Section::Stores, &sheet.title, &main))
}

/// Shows the shopping list: to print, to copy, to take into a spreadsheet.
pub async fn shopping(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let asked = Asked::read(query.as_deref());
    let answer = ask(&visit, asked.wish);
    let sheet = views::stores::shopping_sheet(&answer);
    let text = views::stores::shopping_text(&answer.value);
    let main = html! {
        p { a href=(Place::Stores.href()) { "Stores" } }
        (show_as::sheet(&sheet))
        @if !text.is_empty() {
            details.folded {
                summary { "As plain lines, to copy" }
                label.unseen for="lines" { "The list as plain lines" }
                textarea #lines readonly rows=(text.lines().count()) { (text) }
            }
            p.ways { a href={ "/shopping.csv" (asked.as_query()) } download="shopping.csv" { "As a CSV file" } }
        }
        (asking("/shopping", &asked))
    };
    Ok(layout::page(&visit, Section::Stores, &sheet.title, &main))
}

/// Hands out the shopping list as CSV.
pub async fn shopping_csv(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let answer = ask(&visit, Asked::read(query.as_deref()).wish);
    let head = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"shopping.csv\""),
    ];
    Ok((head, views::stores::shopping_csv(&answer.value)).into_response())
}

/// Shows one item.
pub async fn item(visit: Visit, Path(item): Path<String>) -> Answered {
    let answer = ask(&visit, Wish::default());
    let line = answer.value.line(&item).map_err(|error| {
        Trouble::not_found(format!("{error}."), "Look for it in the stores.")
            .way(Place::Stores.href(), "Stores")
    })?;
    let sheet = views::stores::item_sheet(&answer, line);
    let back = Place::StoreItem(line.id.clone()).href();
    let main = html! {
        p { a href=(Place::Stores.href()) { "Stores" } }
        (show_as::sheet(&sheet))
        p.ways { @for way in &views::stores::ways(line, &back) { (show_as::words(way)) " " } }
    };
    Ok(layout::page(&visit, Section::Stores, &sheet.title, &main))
}

fn ask(visit: &Visit, wish: Wish) -> Answer<Stores<'_>> {
    booth::stores::stores(visit.booth(), visit.library(), &visit.now, visit.beliefs(), wish)
}

/// What somebody asks the stores to do, and what of it could not be read.
struct Asked {
    wish: Wish,
    service: String,
    days: String,
    refusal: Option<&'static str>,
}

impl Asked {
    fn read(query: Option<&str>) -> Self {
        let typed = Typed::from_query(query.unwrap_or(""));
        let service = typed.get("service").map_or_else(|| (USUAL_SERVICE * 100.0).to_string(), str::to_owned);
        let days = typed.get("days").unwrap_or("").to_owned();
        let mut asked = Self { wish: Wish::default(), service, days, refusal: None };
        match percent(&asked.service) {
            Some(chance) => asked.wish.service = chance,
            None => asked.refusal = Some("Write a chance from 50 to 99.9 in a hundred, such as 95."),
        }
        match asked.days.parse() {
            Ok(days) if (1..=MOST_DAYS).contains(&days) => asked.wish.days = Some(days),
            Err(_) if asked.days.is_empty() => {}
            _ => asked.refusal = Some("Write days from 1 to 730, or none."),
        }
        asked
    }

    fn as_query(&self) -> String {
        let days = self.wish.days.map(|days| format!("&days={days}")).unwrap_or_default();
        format!("?service={}{days}", self.wish.service.value() * 100.0)
    }
}

/// The farthest that anybody buys ahead.
const MOST_DAYS: u32 = 730;

fn percent(text: &str) -> Option<Probability> {
    let percent: f64 = text.trim().trim_end_matches('%').trim().replace(',', ".").parse().ok()?;
    (50.0..=99.9).contains(&percent).then(|| Probability::clamped(percent / 100.0))
}

/// Asks again, with another chance or for another time.
fn asking(address: &str, asked: &Asked) -> Markup {
    html! {
        form.ask method="get" action=(address) {
            label for="service" { "Chance in % that the stores last" }
            input #service name="service" inputmode="decimal" value=(asked.service)
                aria-describedby=[asked.refusal.map(|_| "asked-refused")];
            label for="days" { "For so many days (empty: until an order could come)" }
            input #days name="days" inputmode="numeric" value=(asked.days)
                aria-describedby=[asked.refusal.map(|_| "asked-refused")];
            @if let Some(refusal) = asked.refusal { p.problem #asked-refused { (refusal) } }
            button { "Reckon again" }
        }
    }
}
