//! Serving: connections are taken, but neither more nor longer than one booth needs.

use crate::{desk::Desk, router};
use hyper::server::conn::http1;
use hyper_util::{
    rt::{TokioIo, TokioTimer},
    server::graceful::GracefulShutdown,
    service::TowerToHyperService,
};
use std::{io, pin::pin, sync::Arc, time::Duration};
use tokio::{net::TcpListener, sync::Semaphore, time};
use tower_http::timeout::RequestBodyTimeoutLayer;

/// How much the server puts up with.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Limits {
    /// How many connections are held at once; further ones wait until one ends.
    pub connections: usize,
    /// How long a connection may take to ask, from its beginning or from the answer before.
    pub to_ask: Duration,
    /// How long a body may pause while it is sent.
    pub to_go_on: Duration,
    /// How long connections may take to end when the server is to end.
    pub to_end: Duration,
}

impl Default for Limits {
    /// Enough for every phone in a booth, and short enough that the ones that fell asleep do not add up.
    fn default() -> Self {
        Self {
            connections: 512,
            to_ask: Duration::from_secs(15),
            to_go_on: Duration::from_secs(30),
            to_end: Duration::from_secs(10),
        }
    }
}

/// Serves the pages until `until` ends; requests that are being answered then are answered first.
///
/// # Errors
///
/// None at present: what a single connection does wrong ends that connection only.
pub async fn serve(
    listener: TcpListener,
    desk: Arc<Desk>,
    until: impl Future<Output = ()> + Send + 'static,
) -> io::Result<()> {
    serve_within(listener, desk, until, Limits::default()).await
}

/// Serves the pages within limits of the caller's own.
///
/// # Errors
///
/// None at present: what a single connection does wrong ends that connection only.
pub async fn serve_within(
    listener: TcpListener,
    desk: Arc<Desk>,
    until: impl Future<Output = ()> + Send + 'static,
    limits: Limits,
) -> io::Result<()> {
    let pages = router(desk).layer(RequestBodyTimeoutLayer::new(limits.to_go_on));
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(limits.to_ask);
    let places = Arc::new(Semaphore::new(limits.connections));
    let open = GracefulShutdown::new();
    let mut until = pin!(until);
    loop {
        let place = tokio::select! {
            place = Arc::clone(&places).acquire_owned() => place.expect("the semaphore is never closed"),
            () = &mut until => break,
        };
        let stream = tokio::select! {
            accepted = listener.accept() => match accepted {
                Ok((stream, _)) => stream,
                Err(error) => {
                    // A visitor who left already, or no file handle free: neither is mended by asking at once.
                    tracing::warn!("no connection could be taken: {error}");
                    time::sleep(Duration::from_millis(50)).await;
                    continue;
                }
            },
            () = &mut until => break,
        };
        let service = TowerToHyperService::new(pages.clone());
        let connection = open.watch(http.serve_connection(TokioIo::new(stream), service));
        tokio::spawn(async move {
            if let Err(error) = connection.await {
                tracing::debug!("a connection ended early: {error}");
            }
            drop(place);
        });
    }
    drop(listener);
    if time::timeout(limits.to_end, open.shutdown()).await.is_err() {
        tracing::warn!("some connections did not end in time and were cut");
    }
    Ok(())
}
