//! What was acknowledged is there, however the program ends.
//!
//! Four threads of a child process write batches and print each batch once it is acknowledged; the child is killed
//! (SIGKILL) at an unforeseen moment, 500 times. After each time every acknowledged batch must be there and whole, an
//! unacknowledged one whole or not at all, and the chain sound. The child is this same program with other arguments,
//! so this test has a `main` of its own.
#![allow(clippy::unwrap_used)]

use logbook::{DeviceId, Entry, EntryId, Fact, PersonId, Precision, When, fact::Noted};
use std::{
    collections::{HashMap, HashSet},
    env,
    io::{BufRead, BufReader, Read, Write},
    path::Path,
    process::{Child, Command, Stdio},
    thread,
    time::{Duration, Instant},
};
use store::{EntryStore, SqliteStore};
use uuid::Uuid;

const NAME: &str = "every_acknowledged_entry_survives_500_kills";
const KILLS: u32 = 500;
/// A new folder is begun after so many kills, so that beginning a logbook is interrupted too and verifying stays quick.
const KILLS_FOR_A_FOLDER: u32 = 50;
const WRITERS: u64 = 4;
/// How the child is told that it is the child.
const AS_CHILD: &str = "--write-into";

fn main() {
    let arguments: Vec<_> = env::args().skip(1).collect();
    if let [as_child, folder] = arguments.as_slice()
        && as_child == AS_CHILD
    {
        return write_until_killed(Path::new(folder));
    }
    if arguments.iter().any(|argument| argument == "--list") {
        println!("{NAME}: test");
        return;
    }
    let filters: Vec<_> = arguments.iter().filter(|argument| !argument.starts_with('-')).collect();
    if filters.is_empty() || filters.iter().any(|filter| NAME.contains(filter.as_str())) {
        every_acknowledged_entry_survives_500_kills();
        println!("test {NAME} ... ok");
    } else {
        println!("test {NAME} is filtered out");
    }
}

/// The child: four threads write batches of one to four entries until the process ends.
fn write_until_killed(folder: &Path) {
    let store = SqliteStore::open(folder).unwrap();
    thread::scope(|scope| {
        for writer in 0..WRITERS {
            let store = &store;
            scope.spawn(move || {
                for turn in 0.. {
                    let batch = batch(store.device(), 1 + (turn + writer) % 4);
                    let receipts = store.append(&batch).unwrap();
                    assert!(receipts.iter().zip(&batch).all(|(receipt, entry)| receipt.id == entry.id));
                    let ids: Vec<_> = batch.iter().map(|entry| entry.id.to_string()).collect();
                    // One write for each line: what the parent reads up to the line's end was acknowledged.
                    let line = format!("{}\n", ids.join(" "));
                    std::io::stdout().lock().write_all(line.as_bytes()).unwrap();
                }
            });
        }
    });
}

/// Returns entries that name their batch and its size, so that half a batch would be noticed.
fn batch(device: DeviceId, size: u64) -> Vec<Entry> {
    let name = Uuid::now_v7();
    let at = When { unix_ms: 1_780_000_000_000, offset_s: 0, precision: Precision::Second };
    let entry = |_| Entry {
        id: EntryId(Uuid::now_v7()),
        device,
        happened: at,
        recorded: at,
        by: PersonId::new("ines"),
        fact: Fact::Noted(Noted { about: None, words: format!("{name} {size}"), photos: vec![] }),
    };
    (0..size).map(entry).collect()
}

fn every_acknowledged_entry_survives_500_kills() {
    let began = Instant::now();
    let mut moments = Moments(0x5EED);
    let mut n_acknowledged = 0;
    let mut n_early = 0;
    for _ in 0..KILLS / KILLS_FOR_A_FOLDER {
        let folder = tempfile::tempdir().unwrap();
        let mut acknowledged = HashSet::new();
        for _ in 0..KILLS_FOR_A_FOLDER {
            let before = acknowledged.len();
            kill_once(folder.path(), &mut moments, &mut acknowledged);
            n_early += u32::from(acknowledged.len() == before);
            check(folder.path(), &acknowledged);
        }
        n_acknowledged += acknowledged.len();
    }
    let seconds = began.elapsed().as_secs_f64();
    println!(
        "{KILLS} kills, {n_early} before anything was acknowledged, {n_acknowledged} entries acknowledged, {seconds:.0} s"
    );
    assert!(n_acknowledged > KILLS as usize, "the child hardly wrote: {n_acknowledged}");
    assert!(n_early < KILLS / 2, "the child was killed too early to write: {n_early}");
}

/// Starts the child, kills it at some moment and takes in what it had acknowledged.
fn kill_once(folder: &Path, moments: &mut Moments, acknowledged: &mut HashSet<EntryId>) {
    let mut child = Command::new(env::current_exe().unwrap())
        .arg(AS_CHILD)
        .arg(folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = BufReader::new(child.stdout.take().unwrap());
    let mut text = String::new();
    if moments.next().is_multiple_of(8) {
        // Perhaps while it opens the logbook.
        thread::sleep(Duration::from_micros(moments.next() % 15_000));
    } else {
        said.read_line(&mut text).unwrap();
        thread::sleep(Duration::from_micros(moments.next() % 40_000));
    }
    kill(&mut child);
    said.read_to_string(&mut text).unwrap();
    // A last line without an end was being written: it counts as not acknowledged.
    let whole = text.rsplit_once('\n').map_or("", |(whole, _)| whole);
    acknowledged.extend(whole.split_whitespace().map(|id| id.parse::<EntryId>().unwrap()));
}

fn kill(child: &mut Child) {
    child.kill().unwrap();
    let status = child.wait().unwrap();
    let mut complaint = String::new();
    child.stderr.take().unwrap().read_to_string(&mut complaint).unwrap();
    assert!(status.code().is_none() || cfg!(windows), "the child ended by itself ({status}): {complaint}");
}

fn check(folder: &Path, acknowledged: &HashSet<EntryId>) {
    let store = SqliteStore::open(folder).unwrap();
    let entries = store.entries().unwrap();
    let there: HashSet<_> = entries.iter().map(|entry| entry.id).collect();
    let lost: Vec<_> = acknowledged.difference(&there).collect();
    assert!(lost.is_empty(), "acknowledged and lost: {lost:?}");
    let mut batches: HashMap<&str, u64> = HashMap::new();
    for entry in &entries {
        let Fact::Noted(note) = &entry.fact else { panic!("only notes were written: {entry:?}") };
        *batches.entry(note.words.as_str()).or_default() += 1;
    }
    for (batch, n_there) in batches {
        assert!(batch.ends_with(&format!(" {n_there}")), "{n_there} entries of batch '{batch}'");
    }
    let verification = store.verify().unwrap();
    assert!(verification.is_sound(), "{:?}", verification.findings);
    assert_eq!(verification.entries, entries.len() as u64);
}

/// Unforeseen moments that are the same in every run (xorshift64, Marsaglia 2003).
struct Moments(u64);

impl Moments {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
}
