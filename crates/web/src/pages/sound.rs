//! The sound bench: what to measure, and how the recording comes.

use super::sound_bench::{Asked, Measure, no_reading};
use crate::{
    desk::Desk,
    fields::{self, Problem},
    layout::{self, Section},
    trouble::{Answered, Trouble},
    typed::Typed,
    visit::Visit,
};
use axum::{
    body::Bytes,
    extract::{
        Multipart, RawQuery,
        multipart::{Field, MultipartError, MultipartRejection},
    },
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use maud::{Markup, html};
use std::{
    io::{self, Read},
    sync::Arc,
};
use store::{Draft, StoreError};
use tokio::sync::mpsc;

/// The largest recording that is taken: an hour in stereo at 48 kHz and 24 bits is 1.04 GB.
pub const LARGEST_RECORDING: usize = 1_200_000_000;
/// Pieces of an upload that may wait for the disk.
const PIECES_WAITING: usize = 16;
/// The field of the file.
const FILE: &str = "recording";

/// Shows what can be measured, and takes a recording.
pub async fn show(visit: Visit, RawQuery(query): RawQuery) -> Answered {
    let typed = Typed::from_query(query.as_deref().unwrap_or(""));
    let (measure, problems) = match Asked::read(&visit, &typed) {
        Ok(asked) => (asked.measure, Vec::new()),
        Err(problems) => (named_measure(&typed), problems),
    };
    Ok(page(&visit, measure, &typed, &problems, StatusCode::OK))
}

fn named_measure(typed: &Typed) -> Measure {
    typed.get("measure").and_then(Measure::from_word).unwrap_or(Measure::Flutter)
}

fn page(
    visit: &Visit,
    measure: Measure,
    typed: &Typed,
    problems: &[Problem],
    status: StatusCode,
) -> Response {
    let main = html! {
        h1 { "Sound" }
        p { "A recording of a test film tells how the machine runs and which part is at fault." }
        (measures(measure, typed))
        p.lead { (measure.play()) }
        (fields::problems(problems))
        form.entry #sound-form method="post" action="/sound" enctype="multipart/form-data"
            data-largest=(LARGEST_RECORDING) novalidate {
            input type="hidden" name="measure" value=(measure.word());
            (fields::show(&Asked::fields(visit, measure), typed, problems))
            (recorder())
            div.field data-field=(FILE) {
                label for="field-recording" { "Or a file" }
                span.hint { "WAV, FLAC, MP3, M4A or OGG, up to 1.2 GB. WAV or FLAC is best: what makes files small also "
                    "shifts a tone a little." }
                input #field-recording type="file" name=(FILE) required
                    accept="audio/*,.wav,.flac,.mp3,.m4a,.ogg,.oga";
            }
            p #sound-said role="status" aria-live="polite" hidden {}
            button.main type="submit" { "Measure it" }
        }
        (trends(visit))
    };
    let scripts = ["/assets/sound-record.js"];
    layout::page_with_scripts(visit, Some(Section::Sound), "Sound", &main, status, &scripts)
}

fn measures(current: Measure, typed: &Typed) -> Markup {
    let machine = typed.get("machine").map(|id| format!("&machine={}", views::address::escaped(id)));
    let machine = machine.unwrap_or_default();
    html! {
        nav.row.measures aria-label="What is measured" {
            @for one in Measure::ALL {
                a.button href={ "/sound?measure=" (one.word()) (machine) } data-measure=(one.word())
                    aria-current=[(one == current).then_some("page")] { (one.name()) }
            }
        }
    }
}

/// The recorder; the script shows it where the browser can record.
fn recorder() -> Markup {
    html! {
        section #recorder.recorder aria-labelledby="recorder-title" {
            h2 #recorder-title { "Record here" }
            noscript { p { "Recording in the page needs script. Record with another program and send the file." } }
            p data-recorder="cannot" hidden {}
            div data-recorder="ready" hidden {
                p.hint { "Plug the line output in, or hold the microphone still before the loudspeaker. Sixty seconds. "
                    "The browser is told to leave the sound as it is." }
                p.row {
                    button type="button" data-recorder="start" { "Record" }
                    button type="button" data-recorder="stop" hidden { "Stop" }
                    span data-recorder="time" {}
                }
                label.tick for="recorder-sixty" {
                    input #recorder-sixty type="checkbox" checked;
                    span { "Stop by itself after 60 seconds" }
                }
                div.level {
                    meter data-recorder="level" min="-60" max="0" low="-40" high="-3" optimum="-12" value="-60"
                        aria-label="Level in dB below full scale" {}
                    span data-recorder="peak" {}
                }
                p.problem data-recorder="clipped" role="alert" hidden {}
                p data-recorder="said" role="status" hidden {}
            }
        }
    }
}

/// The machines whose readings have a trend.
fn trends(visit: &Visit) -> Markup {
    const MOST: usize = 12;
    let machines = visit.booth().machines.iter().filter(|(_, one)| one.retired.is_none());
    let with: Vec<_> = machines.filter(|(_, one)| !one.readings.is_empty()).take(MOST).collect();
    html! {
        @if !with.is_empty() {
            h2 #trends { "Where readings are heading" }
            p.ways { @for (id, machine) in with { a href=(super::sound_trend::address(id)) { (machine.name) } } }
        }
    }
}

/// Takes a recording, measures it, keeps it if it could be measured, and leads to its page.
pub async fn take(
    visit: Visit,
    headers: HeaderMap,
    multipart: Result<Multipart, MultipartRejection>,
) -> Answered {
    let wants_json = headers
        .get(header::ACCEPT)
        .and_then(|accept| accept.to_str().ok())
        .is_some_and(|a| a.contains("json"));
    let multipart = multipart.map_err(|error| {
        Trouble::not_understood(
            format!("{}.", error.body_text()),
            "Choose a recording on the page and send it.",
        )
    })?;
    let came = receive(&visit.desk, multipart).await?;
    let asked = Asked::read(&visit, &came.typed);
    let (asked, draft) = match (asked, came.draft) {
        (Ok(asked), Some(draft)) => (asked, draft),
        (asked, draft) => {
            let mut problems = asked.err().unwrap_or_default();
            if draft.is_none() {
                problems.push(Problem::new(FILE, "Choose a recording, or record one here."));
            }
            return Ok(refused(&visit, &came.typed, &problems, wants_json));
        }
    };
    let address = keep(visit, asked, draft).await?;
    if wants_json {
        let body = serde_json::json!({ "result": address }).to_string();
        return Ok((StatusCode::CREATED, [(header::CONTENT_TYPE, "application/json")], body).into_response());
    }
    Ok(Redirect::to(&address).into_response())
}

fn refused(visit: &Visit, typed: &Typed, problems: &[Problem], wants_json: bool) -> Response {
    let status = StatusCode::UNPROCESSABLE_ENTITY;
    if !wants_json {
        return page(visit, named_measure(typed), typed, problems, status);
    }
    let words: Vec<&str> = problems.iter().map(|problem| problem.words.as_str()).collect();
    layout::trouble_as_json(&Trouble::new(
        status,
        "Not measured",
        words.join(" "),
        "Put it right and send it again.",
    ))
}

/// Measures a draft and keeps it; what gives no reading leaves nothing behind.
async fn keep(visit: Visit, asked: Asked, draft: Draft) -> Result<String, Trouble> {
    blocking(move || {
        let (_, kind) = asked.about(&visit);
        let found = asked.measure(&mut draft.open()?, kind).map_err(|error| no_reading(&error, &asked))?;
        let kept = draft.keep()?.id;
        visit.desk.measured().keep(asked.name_with(&visit, kept), found);
        Ok(asked.page_of(&kept.to_string()))
    })
    .await
}

/// Does work that takes a while on a thread of its own.
pub async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Trouble> + Send + 'static,
) -> Result<T, Trouble> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| {
        Err(Trouble::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "Something broke",
            "The recording could not be measured.",
            "Keep the recording, and try again.",
        ))
    })
}

/// What came with the form.
struct Came {
    typed: Typed,
    draft: Option<Draft>,
}

async fn receive(desk: &Arc<Desk>, mut multipart: Multipart) -> Result<Came, Trouble> {
    let mut came = Came { typed: Typed::default(), draft: None };
    while let Some(field) = multipart.next_field().await.map_err(|error| cut_off(&error))? {
        let name = field.name().unwrap_or_default().to_owned();
        if name == FILE {
            came.draft = came.draft.or(receive_file(desk, field).await?);
        } else {
            let value = field.text().await.map_err(|error| cut_off(&error))?;
            came.typed.push(name, value);
        }
    }
    Ok(came)
}

/// Takes a file in, piece by piece, beside the other attachments; nothing at all is no file.
async fn receive_file(desk: &Arc<Desk>, mut field: Field<'_>) -> Result<Option<Draft>, Trouble> {
    let Some(first) = field.chunk().await.map_err(|error| cut_off(&error))?.filter(|piece| !piece.is_empty())
    else {
        return Ok(None);
    };
    let (send, pieces) = mpsc::channel(PIECES_WAITING);
    let attachments = desk.attachments().clone();
    let taking =
        tokio::task::spawn_blocking(move || attachments.draft_from(&mut Pieces { pieces, piece: first }));
    let ended = loop {
        match field.chunk().await {
            Ok(Some(piece)) => {
                // The disk gave up: what it says comes below.
                if send.send(Ok(piece)).await.is_err() {
                    break Ok(());
                }
            }
            Ok(None) => break Ok(()),
            Err(error) => {
                let _ = send.send(Err(io::ErrorKind::UnexpectedEof.into())).await;
                break Err(cut_off(&error));
            }
        }
    };
    drop(send);
    let draft: Result<Draft, StoreError> =
        taking.await.unwrap_or_else(|panic| std::panic::resume_unwind(panic.into_panic()));
    ended?;
    Ok(Some(draft?))
}

/// An upload as a reader, for the thread that writes it down.
struct Pieces {
    pieces: mpsc::Receiver<io::Result<Bytes>>,
    piece: Bytes,
}

impl Read for Pieces {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        while self.piece.is_empty() {
            match self.pieces.blocking_recv() {
                Some(piece) => self.piece = piece?,
                None => return Ok(0),
            }
        }
        let n = self.piece.len().min(buffer.len());
        buffer[..n].copy_from_slice(&self.piece.split_to(n));
        Ok(n)
    }
}

fn cut_off(error: &MultipartError) -> Trouble {
    if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
        return Trouble::new(
            StatusCode::PAYLOAD_TOO_LARGE,
            "Too large",
            "This recording is larger than the 1.2 GB that are taken.",
            "A minute or two is enough; cut a piece out and send that, or measure the file with `boothwright sound`.",
        )
        .way("/sound", "Sound");
    }
    Trouble::not_understood(
        format!("The recording did not come whole: {}.", error.body_text()),
        "Send it again; nothing was kept.",
    )
    .way("/sound", "Sound")
}
