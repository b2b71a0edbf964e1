//! The way from a posted form to an entry on disk: accept, append, and on to the next page.

use crate::{
    desk::Desk,
    fields::Problem,
    forms::{self, Ask, Form},
    trouble::Trouble,
    typed::{Posted, Typed},
    visit::{Visit, WRITER_COOKIE},
};
use axum::{
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use logbook::{Booth, Draft, Entry, EntryId, Fact, PersonId, Refusal, When, fact::Corrects, ids::MachineId};
use std::sync::Arc;
use store::MediaType;

/// Why nothing was written.
#[derive(Debug)]
pub enum NotWritten {
    /// The person can put it right in the form.
    Problems(Vec<Problem>),
    /// The person cannot.
    Trouble(Box<Trouble>),
}

impl NotWritten {
    /// Says it on a page of its own with a way back, where there is no form beside which problems could stand.
    pub fn on_a_page(self, title: &str, would_be_right: &str, (href, back): (String, &str)) -> Trouble {
        match self {
            Self::Trouble(trouble) => *trouble,
            Self::Problems(problems) => {
                let words: Vec<String> = problems.into_iter().map(|problem| problem.words).collect();
                Trouble::new(StatusCode::UNPROCESSABLE_ENTITY, title, words.join(" "), would_be_right)
                    .way(href, back)
            }
        }
    }
}

impl From<Trouble> for NotWritten {
    fn from(trouble: Trouble) -> Self {
        Self::Trouble(Box::new(trouble))
    }
}

impl From<store::StoreError> for NotWritten {
    fn from(error: store::StoreError) -> Self {
        Trouble::from(error).into()
    }
}

/// The names of the fields that every form has.
pub mod common_fields {
    /// The id under which the entry will stand.
    pub const ID: &str = "id";
    /// Who writes it.
    pub const BY: &str = "by";
    /// Where to go afterwards.
    pub const BACK: &str = "back";
    /// The photo.
    pub const PHOTO: &str = "photo";
    /// The entry that this one corrects.
    pub const CORRECTS: &str = "corrects";
    /// Why it is corrected.
    pub const WHY: &str = "correction_why";
    /// For how many seconds a device kept this before it could send it.
    pub const KEPT_SECONDS: &str = "kept_seconds";
}
use common_fields as common;

/// What every posted form says beside its own fields.
struct Frame {
    by: PersonId,
    happened: When,
}

/// Reads the id under which a posted form's entry is to stand.
pub fn id_of(typed: &Typed) -> Result<EntryId, NotWritten> {
    typed.get(common::ID).and_then(|id| id.parse().ok()).ok_or_else(|| {
        Trouble::not_understood(
            "This form does not say under which id its entry is to stand.",
            "Open the form again and fill it in there.",
        )
        .into()
    })
}

/// Reads who writes.
pub fn writer_of(visit: &Visit, typed: &Typed) -> Result<PersonId, Problem> {
    let by = typed.get(common::BY).map(PersonId::new).or_else(|| visit.probable_writer());
    by.ok_or_else(|| Problem::new(common::BY, "Say who writes this."))
}

/// Reads the writer and the moment of a posted form.
fn frame(visit: &Visit, typed: &Typed) -> Result<Frame, Vec<Problem>> {
    let by = writer_of(visit, typed);
    let happened = match kept_since(visit, typed) {
        Some(when) => Ok(when),
        None => forms::read_when(typed, &visit.now),
    };
    match (by, happened) {
        (Ok(by), Ok(happened)) => Ok(Frame { by, happened }),
        (by, happened) => Err(by.err().into_iter().chain(happened.err()).collect()),
    }
}

/// Reads who writes and when it happened, of a form that is read elsewhere.
pub fn frame_of(visit: &Visit, typed: &Typed) -> Result<(PersonId, When), Vec<Problem>> {
    frame(visit, typed).map(|Frame { by, happened }| (by, happened))
}

/// The moment at which a device kept this, counted back from now, so that a wrong clock on a phone does no harm.
fn kept_since(visit: &Visit, typed: &Typed) -> Option<When> {
    let seconds: f64 = typed.get(common::KEPT_SECONDS)?.parse().ok()?;
    let milliseconds = (seconds.clamp(0.0, 400.0 * 86_400.0) * 1000.0) as i64;
    let now = When::from_zoned(&visit.now);
    Some(When { unix_ms: now.unix_ms - milliseconds, ..now })
}

/// Writes a posted form down and returns its entry. What stands there already under the same id counts as written.
pub fn form(visit: &Visit, form: &Form, posted: &Posted) -> Result<EntryId, NotWritten> {
    form_over(visit, form, posted, None, Vec::new())
}

/// Writes a posted form down over what is settled already (the showing that is changed, say), and further facts with
/// it, each under its own id, all or none.
pub fn form_over(
    visit: &Visit,
    form: &Form,
    posted: &Posted,
    base: Option<&Fact>,
    with: Vec<(EntryId, Fact)>,
) -> Result<EntryId, NotWritten> {
    let typed = &posted.typed;
    let id = id_of(typed)?;
    if let Some(there) = visit.desk.store().get(id)? {
        return same_again(visit, form, posted, &there.chained.entry);
    }
    let (mut fact, frame) = match (read_fact(visit, form, posted, id, base), frame(visit, typed)) {
        (Ok(fact), Ok(frame)) => (fact, frame),
        (fact, frame) => {
            let problems = fact.err().into_iter().chain(frame.err()).flatten();
            return Err(NotWritten::Problems(problems.collect()));
        }
    };
    let photos = keep_photos(&visit.desk, posted)?;
    add_photos(&mut fact, photos);
    let fact = match corrected(typed)? {
        Some(entry) => {
            let why = typed.get(common::WHY).unwrap_or("changed during the walk").to_owned();
            Fact::Corrects(Corrects { entry, with: Box::new(fact), happened: None, why })
        }
        None => fact,
    };
    let all = std::iter::once((id, fact)).chain(with);
    let device = visit.desk.device();
    let draft = |(id, fact)| Draft { id, device, happened: frame.happened, by: frame.by.clone(), fact };
    let Err(refused) = put_down(visit, &all.map(draft).collect::<Vec<_>>()) else { return Ok(id) };
    match visit.desk.store().get(id)? {
        // The same form, sent twice at one moment.
        Some(there) => same_again(visit, form, posted, &there.chained.entry),
        None => Err(refused),
    }
}

fn corrected(typed: &Typed) -> Result<Option<EntryId>, NotWritten> {
    typed.get(common::CORRECTS).map(str::parse).transpose().map_err(|_| {
        Trouble::not_understood(
            "This form corrects an entry whose id cannot be read.",
            "Open the entry again.",
        )
        .into()
    })
}

/// Reads the form's own fields.
fn read_fact(
    visit: &Visit,
    form: &Form,
    posted: &Posted,
    id: EntryId,
    before: Option<&Fact>,
) -> Result<Fact, Vec<Problem>> {
    let machine = posted.typed.get("machine").map(MachineId::new);
    let ask = Ask { machine: machine.as_ref(), fault: posted.typed.get("fault"), id, ..Ask::of(visit) };
    forms::read(form, &ask, &posted.typed, before)
}

/// Sees whether a form that comes again says what stands there.
fn same_again(visit: &Visit, form: &Form, posted: &Posted, there: &Entry) -> Result<EntryId, NotWritten> {
    let said = match &there.fact {
        Fact::Corrects(corrects) => &*corrects.with,
        fact => fact,
    };
    let mut fact = read_fact(visit, form, posted, there.id, Some(said)).map_err(NotWritten::Problems)?;
    add_photos(&mut fact, said.photos().to_vec());
    if fact == *said {
        return Ok(there.id);
    }
    Err(said_otherwise(there.id, "To change it, correct the entry.")
        .way(format!("/logbook/{}/correct", there.id), "Correct the entry")
        .into())
}

/// A form that came before and now says something else, as after a step back in the browser.
pub fn said_otherwise(there: EntryId, would_be_right: &str) -> Trouble {
    Trouble::new(
        StatusCode::CONFLICT,
        "Already written down",
        "This form was sent before and now says something else. What was sent first stands; nothing was changed.",
        would_be_right,
    )
    .way(format!("/logbook/{there}"), "Look at the entry")
}

/// Keeps the photos that came with a form and returns their names, also of those that were sent ahead.
fn keep_photos(desk: &Desk, posted: &Posted) -> Result<Vec<String>, NotWritten> {
    let mut names: Vec<String> = posted.typed.all("photos").map(str::to_owned).collect();
    for upload in posted.uploads.iter().filter(|upload| upload.field == common::PHOTO) {
        names.push(keep_photo(desk, &upload.bytes)?);
    }
    Ok(names)
}

/// Keeps one photo and returns its name.
pub fn keep_photo(desk: &Desk, bytes: &[u8]) -> Result<String, NotWritten> {
    if !is_photo(MediaType::of(bytes)) {
        let words = "This file is not a photo that is known here; send a JPEG, PNG, WebP or HEIC file.";
        return Err(NotWritten::Problems(vec![Problem::new(common::PHOTO, words)]));
    }
    Ok(desk.attachments().put(bytes)?.id.to_string())
}

fn is_photo(media: MediaType) -> bool {
    media.is_picture() || matches!(media, MediaType::Heif | MediaType::Tiff)
}

fn add_photos(fact: &mut Fact, names: Vec<String>) {
    let Some(photos) = fact.photos_mut() else { return };
    for name in names {
        if !photos.contains(&name) {
            photos.push(name);
        }
    }
}

/// Accepts drafts, each against the booth as it stands by now, and writes them down, all or none.
pub fn put_down(visit: &Visit, drafts: &[Draft]) -> Result<(), NotWritten> {
    visit.desk.write(|booth| accepted(visit, booth, drafts.to_vec()))?;
    Ok(())
}

/// Passes drafts through the gate, all of them or none.
pub fn accepted(visit: &Visit, booth: &Booth, drafts: Vec<Draft>) -> Result<Vec<Entry>, NotWritten> {
    let now = When::from_zoned(&visit.now);
    let store = visit.desk.store();
    let accept = |draft: Draft| {
        let entry = store::check_named(store, &draft.by, &draft.fact, booth)?
            .and(store::check_files(store, visit.desk.attachments(), &draft.fact)?)
            .and_then(|()| booth::accept(draft, booth, visit.library(), now));
        entry.map_err(|refusal| NotWritten::Problems(vec![problem_of(&refusal)]))
    };
    drafts.into_iter().map(accept).collect()
}

/// The same, where each draft rests on those before it: as a booth is set up, its machine and then the lamp in it.
pub fn put_down_in_turn(visit: &Visit, drafts: &[Draft]) -> Result<(), NotWritten> {
    visit.desk.write(|booth| {
        let mut drafts = drafts.iter().cloned();
        let mut new = accepted(visit, booth, drafts.next().into_iter().collect())?;
        for draft in drafts {
            // What arrives while this is read has all of it made anew.
            let all = visit.desk.store().entries()?.into_iter().chain(new.iter().cloned());
            new.extend(accepted(visit, &logbook::fold(all.collect()).booth, vec![draft])?);
        }
        Ok::<_, NotWritten>(new)
    })?;
    Ok(())
}

/// Puts a refusal of the gate beside its field.
pub fn problem_of(refusal: &Refusal) -> Problem {
    let key = match refusal.field {
        "happened" => forms::DAY,
        "starts" => forms::showings::START_DAY,
        "machines" => forms::showings::MACHINE,
        field => field,
    };
    Problem::new(key, format!("{}: {}.", refusal.what, refusal.would_be_right))
}

/// Sends the person on to the page they came from, or to another, with a word that the entry stands.
pub fn onwards(visit: &Visit, typed: &Typed, entry: EntryId, otherwise: &str) -> Response {
    let back = typed.get(common::BACK).filter(|back| is_own_path(back)).unwrap_or(otherwise);
    let (path, fragment) =
        back.split_once('#').map_or((back, String::new()), |(path, at)| (path, format!("#{at}")));
    let joiner = if path.contains('?') { '&' } else { '?' };
    let mut response = Redirect::to(&format!("{path}{joiner}written={entry}{fragment}")).into_response();
    remember_writer(&mut response, typed.get(common::BY).or(visit.writer.as_ref().map(PersonId::as_str)));
    response
}

/// Remembers in this browser who wrote last.
pub fn remember_writer(response: &mut Response, writer: Option<&str>) {
    let Some(writer) = writer else { return };
    let value = format!(
        "{WRITER_COOKIE}={}; Path=/; Max-Age=31536000; SameSite=Strict; HttpOnly",
        views::address::escaped(writer)
    );
    if let Ok(value) = HeaderValue::from_str(&value) {
        response.headers_mut().append(header::SET_COOKIE, value);
    }
}

/// Returns whether an address stays on this server.
pub fn is_own_path(address: &str) -> bool {
    address.starts_with('/')
        && !address.starts_with("//")
        && !address.contains(['\\', '\r', '\n'])
        && address.chars().all(|c| !c.is_control())
}

/// Does work that may wait for the disk on a thread of its own.
pub async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, NotWritten> + Send + 'static,
) -> Result<T, NotWritten> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| {
        Err(Trouble::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "Something broke",
            "This could not be written down.",
            "Go back and send it again; it is written once, however often it is sent.",
        )
        .into())
    })
}

/// Shares a visit and a posted form with a thread that writes.
pub async fn form_in_background(
    visit: &Arc<Visit>,
    form_of: &'static Form,
    posted: &Arc<Posted>,
) -> Result<EntryId, NotWritten> {
    let (visit, posted) = (Arc::clone(visit), Arc::clone(posted));
    blocking(move || form(&visit, form_of, &posted)).await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_sent_to_another_server() {
        for own in ["/", "/due?machine=x", "/logbook/1#a"] {
            assert!(is_own_path(own), "{own}");
        }
        for other in ["//evil.example", "https://evil.example", "/\\evil.example", "", "due", "/a\r\nb"] {
            assert!(!is_own_path(other), "{other}");
        }
    }
}
