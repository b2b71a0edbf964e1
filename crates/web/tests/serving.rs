//! A real server on the loopback address: what connections may do, and for how long.

#![allow(clippy::unwrap_used)]

use std::{sync::Arc, time::Duration};
use store::{Attachments, MemoryStore};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    sync::oneshot,
    task::JoinHandle,
    time::timeout,
};
use web::Limits;

const LIMITS: Limits = Limits {
    connections: 2,
    to_ask: Duration::from_millis(300),
    to_go_on: Duration::from_millis(300),
    to_end: Duration::from_secs(5),
};
/// Far longer than any limit.
const PATIENCE: Duration = Duration::from_secs(10);
const ASK: &[u8] = b"GET /about HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n";

struct Server {
    address: std::net::SocketAddr,
    end: oneshot::Sender<()>,
    running: JoinHandle<std::io::Result<()>>,
    _folder: tempfile::TempDir,
}

async fn server() -> Server {
    let folder = tempfile::tempdir().unwrap();
    let desk = web::Desk::new(
        Arc::new(MemoryStore::new(logbook::DeviceId(uuid::Uuid::from_u128(7)))),
        Attachments::in_folder(folder.path().join("attachments")),
        Arc::new(machine::shipped()),
        Arc::new(jiff::Timestamp::now),
    );
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (end, ended) = oneshot::channel::<()>();
    let until = async move { drop(ended.await) };
    let running = tokio::spawn(web::serve_within(listener, Arc::new(desk), until, LIMITS));
    Server { address, end, running, _folder: folder }
}

impl Server {
    async fn connect(&self) -> TcpStream {
        TcpStream::connect(self.address).await.unwrap()
    }
}

/// Everything that the server says until it ends the connection.
async fn heard(stream: &mut TcpStream) -> String {
    let mut all = Vec::new();
    timeout(PATIENCE, stream.read_to_end(&mut all)).await.expect("the connection stays open").unwrap();
    String::from_utf8(all).unwrap()
}

#[tokio::test]
async fn silent_connections_end_and_make_room_for_others() {
    let server = server().await;
    let mut silent = [server.connect().await, server.connect().await, server.connect().await];
    let mut asking = server.connect().await;
    asking.write_all(ASK).await.unwrap();
    assert!(heard(&mut asking).await.starts_with("HTTP/1.1 "), "the one that asks is answered in the end");
    for one in &mut silent {
        heard(one).await;
    }
}

#[tokio::test]
async fn a_half_sent_head_and_a_half_sent_body_come_to_an_end() {
    let server = server().await;
    let mut head = server.connect().await;
    head.write_all(b"GET /about HTTP/1.1\r\nHost: 127.0").await.unwrap();
    heard(&mut head).await;
    let mut body = server.connect().await;
    let post = b"POST /first-run HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 999\r\n\r\nname=";
    body.write_all(post).await.unwrap();
    let said = heard(&mut body).await;
    assert!(said.starts_with("HTTP/1.1 4"), "{said}");
}

#[tokio::test]
async fn the_server_ends_when_it_is_told_to() {
    let server = server().await;
    let mut asking = server.connect().await;
    asking.write_all(ASK).await.unwrap();
    let mut first = [0; 9];
    asking.read_exact(&mut first).await.unwrap();
    assert_eq!(&first, b"HTTP/1.1 ");
    server.end.send(()).unwrap();
    timeout(PATIENCE, server.running).await.expect("it goes on").unwrap().unwrap();
}
