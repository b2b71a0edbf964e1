//! Whole processes beside their peers, then the parts of ours, on one large invented logbook.

use benches::{ENTRIES, MACHINES, SEED, TODAY, folder, now};
use booth::{KeptBeliefs, Present, Register};
use criterion::{Criterion, SamplingMode};
use logbook::{Booth, Entry, Fact};
use machine::Library;
use rusqlite::{Connection, params};
use serde_json::Value;
use std::{
    fs,
    hint::black_box,
    path::{Path, PathBuf},
    process::Command,
    sync::Arc,
    time::{Duration, Instant},
};
use store::{EntryStore, SqliteStore};

/// Entries written in one transaction.
const BATCH: usize = 100_000;
/// Ours with the snapshot that an earlier run left: nobody wrote since.
const AGAIN: &str = "opened again";
/// Ours from the entries: no snapshot is there, or it is void because somebody wrote.
const FIRST: &str = "opened for the first time or after a write";
/// All that Tonight's page asks, by a server that was asked before.
const TONIGHT: &str = "tonight, one booth";
/// The same just after somebody wrote: beliefs are kept, what was found in the booth is not.
const TONIGHT_WRITTEN: &str = "tonight, after a write";
/// The same with nothing kept: the first look since the server began.
const TONIGHT_FIRST: &str = "tonight, the first look";
/// What the peers read.
const PLAIN: &str = "plain.db";

fn main() {
    make_logbook();
    agree();
    let mut criterion = Criterion::default().configure_from_args();
    whole_processes(&mut criterion);
    parts(&mut criterion);
    criterion.final_summary();
    ratios();
}

/// Makes the logbook and the peers' table, unless they are there.
fn make_logbook() {
    let folder = folder();
    if folder.join("whole").exists() {
        return;
    }
    println!("making a logbook of {ENTRIES} entries in {}", folder.display());
    let _ = fs::remove_dir_all(&folder);
    let store = SqliteStore::open(&folder).expect("the folder can be written");
    let entries: Vec<Entry> = demo::big_log(MACHINES, ENTRIES, TODAY, SEED).collect();
    for batch in entries.chunks(BATCH) {
        store.append(batch).expect("invented entries are sound");
    }
    plain_table(&folder, &entries).expect("the peers' table can be written");
    fs::write(folder.join("whole"), "").expect("the folder can be written");
}

fn plain_table(folder: &Path, entries: &[Entry]) -> rusqlite::Result<()> {
    let mut plain = Connection::open(folder.join(PLAIN))?;
    plain.execute_batch(
        "CREATE TABLE entry (id TEXT, happened_ms INTEGER, recorded_ms INTEGER, kind TEXT, machine TEXT, task TEXT,
         hours REAL, settles TEXT, starts_ms INTEGER)",
    )?;
    let deal = plain.transaction()?;
    {
        let mut insert = deal.prepare("INSERT INTO entry VALUES (?,?,?,?,?,?,?,?,?)")?;
        for entry in entries {
            let (machine, task, hours, settles, starts) = columns(&entry.fact);
            insert.execute(params![
                entry.id.to_string(),
                entry.happened.unix_ms,
                entry.recorded.unix_ms,
                entry.fact.kind(),
                machine,
                task,
                hours,
                settles,
                starts
            ])?;
        }
    }
    deal.commit()
}

type Columns = (Option<String>, Option<String>, Option<f64>, Option<String>, Option<i64>);

fn columns(fact: &Fact) -> Columns {
    match fact {
        Fact::MachineAdded(added) => (Some(added.machine.to_string()), None, None, None, None),
        Fact::Ran(ran) => (Some(ran.machine.to_string()), None, Some(ran.hours.hours()), None, None),
        Fact::CareDone(care) => {
            (Some(care.machine.to_string()), Some(care.task.to_string()), None, None, None)
        }
        Fact::ShowingPlanned(showing) => (
            showing.machines.first().map(|assigned| assigned.machine.to_string()),
            None,
            Some(showing.length_minutes / 60.0),
            None,
            Some(showing.starts.timestamp().as_millisecond()),
        ),
        Fact::Corrects(corrects) => match &*corrects.with {
            Fact::Ran(ran) => (None, None, Some(ran.hours.hours()), Some(corrects.entry.to_string()), None),
            _ => (None, None, None, Some(corrects.entry.to_string()), None),
        },
        Fact::Withdraws(withdraws) => (None, None, None, Some(withdraws.entry.to_string()), None),
        _ => (None, None, None, None, None),
    }
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn ours() -> Command {
    Command::new(env!("CARGO_BIN_EXE_open_fold_due"))
}

fn peer(script: &str) -> Command {
    let mut command = Command::new(root().join(".venv/bin/python"));
    command
        .arg(root().join("benches/peers").join(script))
        .arg(folder().join(PLAIN))
        .arg(root().join("types"));
    command
}

fn answer(command: &mut Command) -> Value {
    let done = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}; run ./check first"));
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    serde_json::from_slice(&done.stdout).expect("every contender answers with JSON")
}

/// Sees to it that all contenders found the same before anybody is timed.
fn agree() {
    let ours = answer(ours().arg("--compare"));
    println!("boothwright: {ours}");
    for script in ["due_pandas.py", "due_numpy.py"] {
        let theirs = answer(&mut peer(script));
        println!("{script}: {theirs}");
        for key in ["tasks", "recorded", "days"] {
            assert_eq!(ours["found"][key].as_f64(), theirs[key].as_f64(), "{script}: {key}");
        }
        // The meter is read to a tenth of an hour and settles the runs; the peers add up the runs themselves.
        let tasks = ours["found"]["tasks"].as_f64().expect("a number");
        let apart = (ours["found"]["hours"].as_f64().expect("a number")
            - theirs["hours"].as_f64().expect("a number"))
            / tasks;
        assert!(apart.abs() < 0.05, "{script}: {apart} h apart for each task");
        let apart = (ours["found"]["forecast_days"].as_f64().expect("a number")
            - theirs["forecast_days"].as_f64().expect("a number"))
            / tasks;
        assert!(apart.abs() < 0.5, "{script}: forecasts {apart} days apart for each task");
    }
}

fn whole_processes(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("whole process");
    group.sample_size(10).sampling_mode(SamplingMode::Flat);
    group.warm_up_time(Duration::from_secs(1)).measurement_time(Duration::from_secs(20));
    // The comparison has left a snapshot; the cold run takes it away, reads all entries, and leaves another.
    group.bench_function(AGAIN, |bencher| bencher.iter(|| answer(&mut ours())));
    group.bench_function(FIRST, |bencher| bencher.iter(|| answer(ours().arg("--cold"))));
    group.bench_function("numpy", |bencher| bencher.iter(|| answer(&mut peer("due_numpy.py"))));
    group.bench_function("pandas", |bencher| bencher.iter(|| answer(&mut peer("due_pandas.py"))));
    group.finish();
}

fn parts(criterion: &mut Criterion) {
    let store = SqliteStore::open_existing(folder()).expect("the logbook was made");
    let begun = Instant::now();
    let booth = logbook::fold(store.entries().expect("the logbook can be read")).booth;
    println!(
        "read all entries and fold them, once more in this process: {:.3} s",
        begun.elapsed().as_secs_f64()
    );
    let library = machine::shipped();
    let mut group = criterion.benchmark_group("parts");
    group.sample_size(10);
    group.bench_function("verify the whole chain", |bencher| {
        bencher.iter(|| assert!(store.verify().expect("the logbook can be read").is_sound()));
    });
    group.bench_function("all due dates", |bencher| {
        bencher.iter(|| black_box(booth::due(&booth, &library, &now())).value.len());
    });
    let kept = KeptBeliefs::default();
    let register = Arc::new(Register::default());
    group.bench_function(TONIGHT, |bencher| {
        bencher.iter(|| tonight(&booth, &register, &library, &kept));
    });
    group.bench_function(TONIGHT_WRITTEN, |bencher| {
        bencher.iter(|| tonight(&booth, &Arc::default(), &library, &kept));
    });
    group.bench_function(TONIGHT_FIRST, |bencher| {
        bencher.iter(|| tonight(&booth, &Arc::default(), &library, &KeptBeliefs::default()));
    });
    group.finish();
}

/// All that Tonight's page asks: what is due, how each showing stands, and what the case lacks.
fn tonight(booth: &Booth, register: &Arc<Register>, library: &Library, kept: &KeptBeliefs) {
    let present = Present::with(booth, Arc::clone(register), library, &now());
    black_box((present.tonight(), present.case()));
    let outlooks = black_box(present.outlooks(kept, None));
    assert!(outlooks.iter().all(|outlook| !outlook.value.weights.is_empty()));
}

/// Returns the mean that criterion has just measured, in seconds.
fn mean_s(id: &str) -> Option<f64> {
    let target = folder().parent()?.to_owned();
    let estimates = fs::read(target.join("criterion").join(id).join("new/estimates.json")).ok()?;
    let estimates: Value = serde_json::from_slice(&estimates).ok()?;
    Some(estimates["mean"]["point_estimate"].as_f64()? / 1e9)
}

/// Prints what the run comes to, against what it should be.
fn ratios() {
    for way in [AGAIN, FIRST] {
        let Some(ours) = mean_s(&format!("whole process/{way}")) else { continue };
        println!("\nwhole process, boothwright, {way}: {ours:.3} s");
        for (peer, goal) in [("pandas", "at least 8"), ("numpy", "no goal")] {
            if let Some(theirs) = mean_s(&format!("whole process/{peer}")) {
                println!("  {peer}: {theirs:.3} s, {:.1} times as long ({goal})", theirs / ours);
            }
        }
    }
    for (part, goal) in [
        ("verify the whole chain", "under 1.5 s"),
        ("all due dates", "under 0.2 s"),
        (TONIGHT, "under 0.02 s"),
        (TONIGHT_WRITTEN, "under 0.1 s"),
        (TONIGHT_FIRST, "under 0.1 s"),
    ] {
        if let Some(took) = mean_s(&format!("parts/{part}")) {
            println!("  {part}: {took:.4} s ({goal})");
        }
    }
}
