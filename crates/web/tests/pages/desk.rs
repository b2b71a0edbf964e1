//! A server in the test's own process, over a logbook in memory, with a clock that stands still.

use axum::{
    Router,
    body::{Body, Bytes},
    http::{HeaderMap, Request, Response, StatusCode, header},
};
use http_body_util::BodyExt;
use jiff::Timestamp;
use logbook::{Entry, EntryId};
use scraper::{Html, Selector};
use std::sync::{
    Arc, LazyLock,
    atomic::{AtomicI64, Ordering},
};
use store::{Attachments, EntryStore, MemoryStore};
use tower::ServiceExt;

/// Noon of an invented day on which the demo has a showing in the evening.
pub const NOON: &str = "2026-11-25T12:00:00Z";

static DEMO: LazyLock<Vec<Entry>> =
    LazyLock::new(|| demo::booth(jiff::civil::date(2026, 11, 25), 16).entries);

/// A server and what the test may look at behind it.
pub struct Server {
    router: Router,
    pub store: Arc<MemoryStore>,
    clock: Arc<AtomicI64>,
    folder: tempfile::TempDir,
}

/// An answer with its body read.
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Bytes,
}

impl Server {
    /// A server over the invented booth.
    pub fn demo() -> Self {
        Self::over(&DEMO)
    }

    /// A server over an empty logbook.
    pub fn empty() -> Self {
        Self::over(&[])
    }

    fn over(entries: &[Entry]) -> Self {
        let device =
            entries.first().map_or_else(|| logbook::DeviceId(uuid::Uuid::from_u128(7)), |entry| entry.device);
        let store = Arc::new(MemoryStore::new(device));
        store.append(entries).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let clock = Arc::new(AtomicI64::new(NOON.parse::<Timestamp>().unwrap().as_millisecond()));
        let told = Arc::clone(&clock);
        let desk = web::Desk::new(
            store.clone(),
            Attachments::in_folder(folder.path().join("attachments")),
            Arc::new(machine::shipped()),
            Arc::new(move || Timestamp::from_millisecond(told.load(Ordering::SeqCst)).unwrap()),
        );
        Self { router: web::router(Arc::new(desk)), store, clock, folder }
    }

    /// Puts the clock forward.
    pub fn pass_seconds(&self, seconds: i64) {
        self.clock.fetch_add(seconds * 1000, Ordering::SeqCst);
    }

    /// Sends a request as it is.
    pub async fn send(&self, request: Request<Body>) -> Answer {
        let response: Response<Body> = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let body = body.collect().await.unwrap().to_bytes();
        Answer { status: parts.status, headers: parts.headers, body }
    }

    /// Asks for a page as a browser does.
    pub async fn get(&self, path: &str) -> Answer {
        let request = Request::get(path).header(header::HOST, "127.0.0.1:7316");
        self.send(request.body(Body::empty()).unwrap()).await
    }

    /// Posts a form as a browser does from this server's own page.
    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.send(own_post(path).body(Body::from(urlencoded(fields))).unwrap()).await
    }

    /// Posts a form as the script does.
    pub async fn post_from_script(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let request = own_post(path).header(header::ACCEPT, "application/json");
        self.send(request.body(Body::from(urlencoded(fields))).unwrap()).await
    }

    /// The number of entries in the logbook.
    pub fn count(&self) -> u64 {
        self.store.head().unwrap().count
    }

    /// The number of attachments that are kept.
    pub fn attachments(&self) -> usize {
        Attachments::in_folder(self.folder.path().join("attachments")).list().unwrap().len()
    }

    /// One entry.
    pub fn entry(&self, id: &str) -> Entry {
        let id: EntryId = id.parse().unwrap();
        self.store.get(id).unwrap().unwrap().chained.entry
    }

    /// The latest entry.
    pub fn latest(&self) -> Entry {
        self.store.page(None, 1, &store::Filter::default()).unwrap().entries.remove(0).chained.entry
    }
}

/// A post from this server's own page, without its body.
pub fn own_post(path: &str) -> axum::http::request::Builder {
    Request::post(path)
        .header(header::HOST, "127.0.0.1:7316")
        .header(header::ORIGIN, "http://127.0.0.1:7316")
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
}

fn urlencoded(fields: &[(&str, &str)]) -> String {
    let pair = |(name, value): &(&str, &str)| {
        format!("{}={}", views::address::escaped(name), views::address::escaped(value))
    };
    fields.iter().map(pair).collect::<Vec<_>>().join("&")
}

impl Answer {
    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8(self.body.to_vec()).unwrap()
    }

    /// The body as a document.
    pub fn html(&self) -> Html {
        Html::parse_document(&self.text())
    }

    /// Where it sends the browser.
    pub fn location(&self) -> String {
        self.headers.get(header::LOCATION).unwrap().to_str().unwrap().to_owned()
    }

    /// The text of the first element that fits.
    pub fn text_of(&self, selector: &str) -> String {
        let html = self.html();
        let found = html.select(&css(selector)).next();
        let found = found.unwrap_or_else(|| panic!("no {selector} in {}", self.text()));
        found.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// An attribute of every element that fits.
    pub fn attributes(&self, selector: &str, name: &str) -> Vec<String> {
        let html = self.html();
        html.select(&css(selector)).filter_map(|one| one.attr(name)).map(str::to_owned).collect()
    }

    /// The names and values with which a browser would send a form.
    pub fn form(&self, selector: &str) -> Vec<(String, String)> {
        let html = self.html();
        let form =
            html.select(&css(selector)).next().unwrap_or_else(|| panic!("no {selector} in {}", self.text()));
        let mut fields = Vec::new();
        for one in form.select(&css("input[name], select[name], textarea[name]")) {
            let name = one.attr("name").unwrap().to_owned();
            let kind = one.attr("type").unwrap_or("");
            let value = match one.value().name() {
                "textarea" => Some(one.text().collect()),
                "select" => one
                    .select(&css("option[selected]"))
                    .next()
                    .map(|option| option.attr("value").unwrap_or("").to_owned()),
                _ if kind == "checkbox" => {
                    one.attr("checked").map(|_| one.attr("value").unwrap_or("on").to_owned())
                }
                _ if kind == "file" => None,
                _ => Some(one.attr("value").unwrap_or("").to_owned()),
            };
            fields.extend(value.map(|value| (name, value)));
        }
        fields
    }
}

/// A form's fields with some of them filled in.
pub fn filled<'f>(form: &'f [(String, String)], with: &[(&'f str, &'f str)]) -> Vec<(&'f str, &'f str)> {
    let kept = form.iter().map(|(name, value)| (name.as_str(), value.as_str()));
    let kept = kept.filter(|(name, _)| with.iter().all(|(own, _)| own != name));
    kept.chain(with.iter().copied()).collect()
}

/// Reads a selector.
pub fn css(selector: &str) -> Selector {
    Selector::parse(selector).unwrap()
}
