//! `serve`: the pages of the booth, on this computer.

use crate::{
    cli::Common,
    desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use clap::Args;
use std::{
    net::{IpAddr, Ipv4Addr, SocketAddr},
    path::Path,
    sync::Arc,
    time::Duration,
};
use store::SqliteStore;
use tokio::net::TcpListener;

/// The usual port; any other may be named.
const PORT: u16 = 7316;
/// How many further ports are tried when nobody named one and the usual one is taken.
const FURTHER_PORTS: u16 = 20;

/// Serve the pages of your booth on this computer
#[derive(Debug, Args)]
pub struct Serve {
    #[command(flatten)]
    listen: Listen,
}

/// Where to listen.
#[derive(Debug, Args)]
pub struct Listen {
    /// Port (0: any free one); left out: 7316, or the next free one
    #[arg(long)]
    pub port: Option<u16>,
    /// Address; only this computer's own is possible yet
    #[arg(long, default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST), value_parser = address)]
    pub address: IpAddr,
}

/// Reads an address; this computer's own may be called by its usual name.
fn address(text: &str) -> Result<IpAddr, String> {
    if text.eq_ignore_ascii_case("localhost") {
        return Ok(IpAddr::V4(Ipv4Addr::LOCALHOST));
    }
    text.parse().map_err(|_| "write localhost, 127.0.0.1 or ::1".to_owned())
}

impl Serve {
    /// Serves until it is interrupted.
    pub fn run(&self, common: &Common) -> Outcome {
        let data = desk::data_folder(common)?;
        serve(&data, &self.listen, "Your booth")
    }
}

/// So long what still runs may take once the connections have ended.
const TO_END: Duration = Duration::from_secs(2);

/// Serves the logbook of a folder until it is interrupted.
pub fn serve(data: &Path, listen: &Listen, what: &str) -> Outcome {
    if !listen.address.is_loopback() {
        return Err(Failure::new(
            Kind::Usage,
            format!("listening on {} would let anybody on that network write into the logbook", listen.address),
        )
        .hinted("that needs accounts, which this version does not have; leave --address out to serve this computer alone"));
    }
    let library = crate::own_types::library(data);
    let store = SqliteStore::open(data)?;
    let attachments = store.attachments();
    let web_desk =
        web::Desk::new(Arc::new(store), attachments, Arc::new(library), Arc::new(crate::clock::instant));
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::new(Kind::World, format!("cannot start the server: {error}")))?;
    let served = runtime.block_on(async {
        let listener = bind(listen).await?;
        let address = listener.local_addr().map_err(cannot_listen)?;
        print::text(&format!("{what} is at http://{address}/\n{}\nCtrl-C ends it.\n", data.display()))?;
        web::serve(listener, Arc::new(web_desk), interrupted()).await.map_err(cannot_listen)
    });
    // Whatever page is still being reckoned writes nothing any more: what is written is on disk or was never answered.
    runtime.shutdown_timeout(TO_END);
    served
}

async fn bind(listen: &Listen) -> Result<TcpListener, Failure> {
    if let Some(port) = listen.port {
        return TcpListener::bind(SocketAddr::new(listen.address, port)).await.map_err(|error| {
            Failure::new(Kind::World, format!("cannot listen on port {port}: {error}"))
                .hinted("name another with --port, or leave it out")
        });
    }
    let mut last = None;
    for port in PORT..=PORT + FURTHER_PORTS {
        match TcpListener::bind(SocketAddr::new(listen.address, port)).await {
            Ok(listener) => return Ok(listener),
            Err(error) => last = Some(error),
        }
    }
    Err(last.map_or_else(|| Failure::new(Kind::World, "no port to listen on"), cannot_listen))
}

#[expect(clippy::needless_pass_by_value, reason = "it is the end of the error")]
fn cannot_listen(error: std::io::Error) -> Failure {
    Failure::new(Kind::World, format!("cannot serve: {error}"))
}

/// Waits for Ctrl-C or the system's wish to end.
async fn interrupted() {
    let ctrl_c = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        match signal(SignalKind::terminate()) {
            Ok(mut terminate) => tokio::select! {
                _ = ctrl_c => {}
                _ = terminate.recv() => {}
            },
            Err(_) => drop(ctrl_c.await),
        }
    }
    #[cfg(not(unix))]
    drop(ctrl_c.await);
}
