//! Recordings come in, are measured, and are written down once.

use crate::desk::{Answer, Server, filled};
use ::sound::make::{Made, MadeLine};
use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use units::{Decibels, Hertz, Percent, Seconds};

/// A tone with the line of a drum in it.
fn recording() -> Vec<u8> {
    Made {
        rate: 16_000,
        length: Seconds::new(30.0),
        lines: vec![MadeLine { rate: Hertz::new(1.931), depth: Percent::new(0.3), phase: 0.0 }],
        noise: Some(Decibels::new(46.0)),
        ..Made::default()
    }
    .wav()
    .unwrap()
}

const BOUNDARY: &str = "a-boundary-that-no-wav-holds";

/// A form with a file, as a browser sends it (RFC 7578).
fn form(fields: &[(&str, &str)], file: &[u8]) -> Vec<u8> {
    let mut body = Vec::new();
    for (name, value) in fields {
        let part =
            format!("--{BOUNDARY}\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
        body.extend_from_slice(part.as_bytes());
    }
    let head = format!(
        "--{BOUNDARY}\r\ncontent-disposition: form-data; name=\"recording\"; filename=\"a.wav\"\r\ncontent-type: audio/wav\r\n\r\n"
    );
    body.extend_from_slice(head.as_bytes());
    body.extend_from_slice(file);
    body.extend_from_slice(format!("\r\n--{BOUNDARY}--\r\n").as_bytes());
    body
}

async fn send(server: &Server, fields: &[(&str, &str)], file: &[u8]) -> Answer {
    let request = Request::post("/sound")
        .header(header::HOST, "127.0.0.1:7316")
        .header(header::ORIGIN, "http://127.0.0.1:7316")
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={BOUNDARY}"));
    server.send(request.body(Body::from(form(fields, file))).unwrap()).await
}

#[tokio::test]
async fn a_recording_is_measured_and_its_readings_are_written_once() {
    let server = Server::demo();
    let sent = send(&server, &[("measure", "flutter"), ("machine", "turnstone")], &recording()).await;
    assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text());
    let page = server.get(&sent.location()).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.text().contains("Sound drum and flywheel"));
    let before = server.count();
    let form = page.form("form[data-form=sound-reading]");
    let address = page.attributes("form[data-form=sound-reading]", "action").remove(0);
    for again in [false, true] {
        let written = server.post(&address, &filled(&form, &[])).await;
        assert_eq!(written.status, StatusCode::SEE_OTHER, "again: {again}: {}", written.text());
        assert_eq!(server.get(&written.location()).await.status, StatusCode::OK);
    }
    assert_eq!(server.count() - before, 3, "flutter, speed and the line of the drum, once");
    let entry = server.latest();
    let shown = server.get(&format!("/logbook/{}", entry.id)).await;
    assert_eq!(shown.attributes("a#recording", "href").len(), 1);
}

#[tokio::test]
async fn what_is_no_recording_is_refused_and_leaves_nothing_behind() {
    let server = Server::demo();
    let noise: Vec<u8> = (0..200_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    for (file, status) in
        [(&noise[..], 422), (b"RIFF\x24\0\0\0WAVEfmt \x10\0\0\0".as_slice(), 422), (b"", 422)]
    {
        let sent = send(&server, &[("measure", "flutter")], file).await;
        assert_eq!(sent.status.as_u16(), status, "{}", sent.text());
        assert!(!sent.attributes("main a[href]", "href").is_empty());
    }
    assert_eq!(server.attachments(), 0);
}

#[tokio::test]
async fn a_recording_larger_than_any_photo_is_taken() {
    let server = Server::demo();
    let long = Made { length: Seconds::new(290.0), lines: Vec::new(), ..Made::default() }.wav().unwrap();
    assert!(long.len() > web::LARGEST_BODY);
    let sent = send(&server, &[("measure", "flutter")], &long).await;
    assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text());
    assert_eq!(server.attachments(), 1);
}

#[tokio::test]
async fn what_is_asked_amiss_is_said_beside_its_field() {
    let server = Server::demo();
    for query in ["tone=5", "speed=500", "machine=nobody", "measure=magic", "measure=noise&reference=3"] {
        let page = server.get(&format!("/sound?{query}")).await;
        assert_eq!(page.status, StatusCode::OK, "{query}");
        assert!(!page.text_of(".problems").is_empty(), "{query}");
    }
    let nothing = "0".repeat(64);
    assert_eq!(server.get(&format!("/sound/recordings/{nothing}")).await.status, StatusCode::NOT_FOUND);
    assert_eq!(server.get("/sound/recordings/nothing").await.status, StatusCode::NOT_FOUND);
    assert_eq!(server.get("/machines/nobody/trend").await.status, StatusCode::NOT_FOUND);
    assert_eq!(server.get("/machines/turnstone/trend/wing").await.status, StatusCode::NOT_FOUND);
}
