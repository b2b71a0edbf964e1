//! Serves the invented demo booth from a temporary folder, to look at the pages while working on them.
//!
//! `cargo run -p web --example dev -- 8016` prints the address; the data are gone when it ends. With a second argument
//! `empty` the logbook is empty, as at a first start.

use logbook::DeviceId;
use std::{error::Error, sync::Arc};
use store::{EntryStore, SqliteStore};

#[tokio::main]
async fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let port: u16 = arguments.next().as_deref().unwrap_or("0").parse()?;
    let folder = tempfile::tempdir()?;
    let zone = jiff::tz::TimeZone::get(demo::ZONE)?;
    let entries = match arguments.next().as_deref() {
        Some("empty") => Vec::new(),
        _ => demo::booth(jiff::Timestamp::now().to_zoned_datetime(zone).date(), 16).entries,
    };
    let device = entries.first().map_or_else(|| DeviceId(uuid::Uuid::now_v7()), |entry| entry.device);
    let store = SqliteStore::open_as(folder.path(), device)?;
    store.append(&entries)?;
    let attachments = store.attachments();
    let library = Arc::new(machine::shipped());
    let clock: web::Clock = Arc::new(jiff::Timestamp::now);
    let store: Arc<dyn EntryStore> = Arc::new(store);
    let desk = Arc::new(web::Desk::new(store, attachments, library, clock));
    let listener = tokio::net::TcpListener::bind(("127.0.0.1", port)).await?;
    println!("http://{}", listener.local_addr()?);
    web::serve(listener, desk, async {
        let _ = tokio::signal::ctrl_c().await;
    })
    .await?;
    Ok(())
}
