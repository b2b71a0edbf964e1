//! How long *Tonight* and other pages take over a million entries of ten thousand machines, headers to last byte.
//!
//! Prints the first answer (which reads and folds the logbook) and the median of the ones after it; fails if the median
//! of *Tonight* is over its limit. Smaller numbers may be given: `-- 100 10000`.
#![allow(missing_docs, clippy::unwrap_used, reason = "a benchmark, not a library")]

use axum::{
    Router,
    body::Body,
    http::{Request, header},
};
use http_body_util::BodyExt;
use jiff::civil::date;
use logbook::{DeviceId, Entry};
use std::{
    sync::Arc,
    time::{Duration, Instant},
};
use store::{EntryStore, SqliteStore};
use tower::ServiceExt;

/// What a person does not notice as waiting.
const LIMIT: Duration = Duration::from_millis(20);
const TIMES: usize = 41;

fn main() {
    let numbers: Vec<usize> = std::env::args().filter_map(|argument| argument.parse().ok()).collect();
    let (machines, entries) = match numbers[..] {
        [machines, entries] => (machines, entries),
        _ => (10_000, 1_000_000),
    };
    let folder = tempfile::tempdir().unwrap();
    let device = DeviceId(uuid::Uuid::from_u128(1));
    let store = SqliteStore::open_as(folder.path(), device).unwrap();
    let all: Vec<Entry> = demo::big_log(machines, entries, date(2026, 11, 25), 16)
        .map(|entry| Entry { device, ..entry })
        .collect();
    for some in all.chunks(50_000) {
        store.append(some).unwrap();
    }
    drop(all);
    let attachments = store.attachments();
    let now = "2026-11-25T15:00:00Z".parse().unwrap();
    let library = Arc::new(machine::shipped());
    let desk = web::Desk::new(Arc::new(store), attachments, library, Arc::new(move || now));
    let router = web::router(Arc::new(desk));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(measure(&router, machines, entries));
}

async fn measure(router: &Router, machines: usize, entries: usize) {
    let (first, size) = ask(router, "/").await;
    println!("{machines} machines, {entries} entries; the first answer took {first:.1?} ({size} bytes)");
    for page in ["/", "/diary", "/machines", "/due", "/logbook"] {
        let mut times = Vec::new();
        let mut size = 0;
        for _ in 0..TIMES {
            let (time, bytes) = ask(router, page).await;
            times.push(time);
            size = bytes;
        }
        times.sort();
        println!("{page:10} median {:8.2?}, worst {:8.2?}, {size} bytes", times[TIMES / 2], times[TIMES - 1]);
        assert!(page != "/" || times[TIMES / 2] < LIMIT, "Tonight took longer than {LIMIT:?}");
    }
}

async fn ask(router: &Router, page: &str) -> (Duration, usize) {
    let request = Request::get(page).header(header::HOST, "127.0.0.1").body(Body::empty()).unwrap();
    let started = Instant::now();
    let answer = router.clone().oneshot(request).await.unwrap();
    assert!(answer.status().is_success(), "{page}: {}", answer.status());
    let size = answer.into_body().collect().await.unwrap().to_bytes().len();
    (started.elapsed(), size)
}
