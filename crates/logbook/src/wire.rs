//! The written form of an entry: flat, versioned, hashed byte for byte.
//!
//! A [`Record`] is what the store keeps and what travels between booths. Its body is the JSON text of the fact
//! exactly as first written, so that its hash holds for ever and a person can read it in thirty years.
//! Readers for every version ever shipped stay here; `tests/wire/` freezes a sample of each.

use crate::{
    Entry, Fact, Precision, When,
    fact::{Corrects, Unknown},
    ids::{DeviceId, EntryId, PersonId},
};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::borrow::Cow;

/// The version that this program writes.
pub const VERSION: u16 = 1;

/// An entry as written down, with its body still text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Record<'a> {
    /// The entry's id.
    pub id: EntryId,
    /// When it happened.
    pub happened: When,
    /// When it was written.
    pub recorded: When,
    /// Who wrote it.
    pub by: Cow<'a, str>,
    /// The kind of its fact.
    pub kind: Cow<'a, str>,
    /// The version of that kind.
    pub version: u16,
    /// The fact as JSON, byte for byte as first written.
    pub body: Cow<'a, str>,
    /// The device on which it was written.
    pub device: DeviceId,
}

/// A record with its place in its device's chain: what leaves one logbook and enters another, byte for byte.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ChainedRecord<'a> {
    /// The record.
    pub record: Record<'a>,
    /// Its device's running number of it, from 1.
    pub number: u64,
    /// SHA-256 over the device's previous hash and this record's canonical bytes.
    pub hash: [u8; 32],
}

/// The body of a correction.
#[derive(Serialize, Deserialize)]
struct CorrectsBody<'a> {
    entry: EntryId,
    kind: Cow<'a, str>,
    version: u16,
    #[serde(borrow)]
    with: Cow<'a, RawValue>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    happened: Option<HappenedBody>,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    why: String,
}

/// A moment inside a body.
#[derive(Serialize, Deserialize)]
struct HappenedBody {
    unix_ms: i64,
    offset_s: i32,
    precision: Precision,
}

/// Writes an entry down.
pub fn encode(entry: &Entry) -> Record<'static> {
    let (kind, version, body) = encode_fact(&entry.fact);
    Record {
        id: entry.id,
        happened: entry.happened,
        recorded: entry.recorded,
        by: Cow::Owned(entry.by.as_str().to_owned()),
        kind: Cow::Owned(kind),
        version,
        body: Cow::Owned(body),
        device: entry.device,
    }
}

/// Reads an entry. Never fails: what cannot be read becomes [`Fact::Unknown`] and keeps its text.
pub fn decode(record: &Record<'_>) -> Entry {
    Entry {
        id: record.id,
        device: record.device,
        happened: record.happened,
        recorded: record.recorded,
        by: PersonId::new(&record.by),
        fact: decode_fact(&record.kind, record.version, &record.body),
    }
}

/// Writes a fact: kind, version and JSON body.
pub fn encode_fact(fact: &Fact) -> (String, u16, String) {
    let body = match fact {
        Fact::Unknown(unknown) => return (unknown.kind.clone(), unknown.version, unknown.body.to_string()),
        Fact::Corrects(corrects) => write_corrects(corrects),
        plain => plain.write_plain().expect("every other kind is plain"),
    };
    let body = body.expect("facts hold only numbers, texts and lists, which JSON can always write");
    (fact.kind().to_owned(), VERSION, body)
}

/// Merges two newer sayings of one fact field by field: a field in which `theirs` still says what `base` said is taken
/// from `ours`, any other from `theirs`.
pub fn merged(base: &Fact, theirs: &Fact, ours: &Fact) -> Fact {
    let fields = |fact: &Fact| -> serde_json::Map<String, serde_json::Value> {
        serde_json::from_str(&encode_fact(fact).2).unwrap_or_default()
    };
    let (base, theirs, own) = (fields(base), fields(theirs), fields(ours));
    let keys: std::collections::BTreeSet<&String> = theirs.keys().chain(own.keys()).collect();
    let said = |key: &&String| {
        let from = if theirs.get(*key) == base.get(*key) { &own } else { &theirs };
        from.get(*key).map(|value| ((*key).clone(), value.clone()))
    };
    let body: serde_json::Map<String, serde_json::Value> = keys.iter().filter_map(said).collect();
    let (kind, version, _) = encode_fact(ours);
    decode_fact(&kind, version, &serde_json::Value::Object(body).to_string())
}

/// Reads a fact of any kind and version ever shipped.
pub fn decode_fact(kind: &str, version: u16, body: &str) -> Fact {
    let unknown = |trouble| {
        Fact::Unknown(Box::new(Unknown { kind: kind.to_owned(), version, body: body.into(), trouble }))
    };
    if version != VERSION {
        return unknown(None);
    }
    let read = match kind {
        "corrects" => Some(read_corrects(body)),
        _ => Fact::read_plain(kind, body),
    };
    match read {
        Some(Ok(fact)) => fact,
        Some(Err(error)) => unknown(Some(error.to_string())),
        None => unknown(None),
    }
}

/// Returns the fields of a body that its kind does not have: a slip of the pen, or a newer program's.
///
/// Reading lets them pass, so that a newer program's entries stay readable; a face that writes should not.
pub fn fields_not_read(kind: &str, body: &str) -> Vec<String> {
    Fact::not_read(kind, body)
}

fn write_corrects(corrects: &Corrects) -> Result<String, serde_json::Error> {
    let (kind, version, with) = encode_fact(&corrects.with);
    serde_json::to_string(&CorrectsBody {
        entry: corrects.entry,
        kind: Cow::Owned(kind),
        version,
        with: Cow::Owned(RawValue::from_string(with)?),
        happened: corrects.happened.map(|when| HappenedBody {
            unix_ms: when.unix_ms,
            offset_s: when.offset_s,
            precision: when.precision,
        }),
        why: corrects.why.clone(),
    })
}

fn read_corrects(body: &str) -> Result<Fact, serde_json::Error> {
    let body: CorrectsBody<'_> = serde_json::from_str(body)?;
    // A correction inside a correction is read no further: however deep a hostile file nests them, one level is read.
    let with = if body.kind == "corrects" {
        Fact::Unknown(Box::new(Unknown {
            kind: body.kind.into_owned(),
            version: body.version,
            body: body.with.get().into(),
            trouble: Some("a correction cannot hold another correction".to_owned()),
        }))
    } else {
        decode_fact(&body.kind, body.version, body.with.get())
    };
    Ok(Fact::Corrects(Corrects {
        entry: body.entry,
        with: Box::new(with),
        happened: body.happened.map(|when| When {
            unix_ms: when.unix_ms,
            offset_s: when.offset_s,
            precision: when.precision,
        }),
        why: body.why,
    }))
}

/// Returns the bytes of a record over which its device's chain is hashed.
///
/// Layout, integers big-endian: id (16), device (16), number (u64), happened and recorded (each: milliseconds i64,
/// offset i32, precision u8 = 0 second, 1 minute, 2 day, 3 month), then for each of by, kind and body the length
/// (u32) and the UTF-8 bytes, with the version (u16) between kind and body.
/// The chain's hash is SHA-256 over the previous hash (32 zero bytes before the first) followed by these bytes.
pub fn canonical_bytes(record: &Record<'_>, number: u64, out: &mut Vec<u8>) {
    out.clear();
    out.extend_from_slice(record.id.0.as_bytes());
    out.extend_from_slice(record.device.0.as_bytes());
    out.extend_from_slice(&number.to_be_bytes());
    for when in [record.happened, record.recorded] {
        out.extend_from_slice(&when.unix_ms.to_be_bytes());
        out.extend_from_slice(&when.offset_s.to_be_bytes());
        out.push(precision_code(when.precision));
    }
    put_text(out, &record.by);
    put_text(out, &record.kind);
    out.extend_from_slice(&record.version.to_be_bytes());
    put_text(out, &record.body);
}

/// Reads canonical bytes back: the record, borrowing its texts, and its number.
///
/// Returns `None` for bytes that [`canonical_bytes`] does not write.
pub fn read_canonical(bytes: &[u8]) -> Option<(Record<'_>, u64)> {
    let mut rest = bytes;
    let id = EntryId(uuid::Uuid::from_bytes(take(&mut rest)?));
    let device = DeviceId(uuid::Uuid::from_bytes(take(&mut rest)?));
    let number = u64::from_be_bytes(take(&mut rest)?);
    let happened = take_when(&mut rest)?;
    let recorded = take_when(&mut rest)?;
    let by = Cow::Borrowed(take_text(&mut rest)?);
    let kind = Cow::Borrowed(take_text(&mut rest)?);
    let version = u16::from_be_bytes(take(&mut rest)?);
    let body = Cow::Borrowed(take_text(&mut rest)?);
    rest.is_empty().then_some((Record { id, happened, recorded, by, kind, version, body, device }, number))
}

fn take<const N: usize>(rest: &mut &[u8]) -> Option<[u8; N]> {
    let (taken, after) = rest.split_first_chunk()?;
    *rest = after;
    Some(*taken)
}

fn take_when(rest: &mut &[u8]) -> Option<When> {
    let unix_ms = i64::from_be_bytes(take(rest)?);
    let offset_s = i32::from_be_bytes(take(rest)?);
    let [code] = take(rest)?;
    let precision = precision_of(code);
    (precision_code(precision) == code).then_some(When { unix_ms, offset_s, precision })
}

fn take_text<'a>(rest: &mut &'a [u8]) -> Option<&'a str> {
    let length = u32::from_be_bytes(take(rest)?) as usize;
    let (text, after) = rest.split_at_checked(length)?;
    *rest = after;
    std::str::from_utf8(text).ok()
}

fn put_text(out: &mut Vec<u8>, text: &str) {
    out.extend_from_slice(&u32::try_from(text.len()).unwrap_or(u32::MAX).to_be_bytes());
    out.extend_from_slice(text.as_bytes());
}

/// Returns the code by which a precision is hashed and stored.
pub fn precision_code(precision: Precision) -> u8 {
    match precision {
        Precision::Second => 0,
        Precision::Minute => 1,
        Precision::Day => 2,
        Precision::Month => 3,
    }
}

/// Returns the precision of a stored code; an unknown code counts as the coarsest.
pub fn precision_of(code: u8) -> Precision {
    match code {
        0 => Precision::Second,
        1 => Precision::Minute,
        2 => Precision::Day,
        _ => Precision::Month,
    }
}
