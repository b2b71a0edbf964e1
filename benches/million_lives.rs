//! A million censored lives, the Weibull law, by the program and by its peers: whole processes, one run, ratios and memory.

use benches::race::{self, Run, answer, boothwright, middle, target, timed};
use lives::Life;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::{
    fmt::Write as _,
    fs,
    path::{Path, PathBuf},
    process::Command,
};

const LIVES: usize = 1_000_000;
const SEED: u64 = 1_000_000;
/// The law that the lives are drawn from, and the ages between which the watch over each ends.
const LAW: Life = Life::Weibull { shape: 1.8, scale: 1000.0 };
const WATCH: (f64, f64) = (100.0, 2500.0);
/// Each is run so often, in turns; the middle one counts.
const ROUNDS: usize = 5;
/// What is asked of the program: so many times faster than the fastest library, than scipy, in so much memory.
const GOAL_LIBRARY: f64 = 20.0;
const GOAL_SCIPY: f64 = 5.0;
const GOAL_MB: f64 = 200.0;
/// The peers: three libraries, and a likelihood with its slopes written by hand for an optimiser.
const LIBRARIES: [&str; 3] = ["lives_surpyval.py", "lives_lifelines.py", "lives_reliability.py"];
const BY_HAND: &str = "lives_scipy.py";
/// Libraries stop short of the summit: their numbers may be off by so much, ours not less likely than theirs.
const WITHIN: f64 = 1e-6;

fn main() {
    if !race::asked() {
        return;
    }
    race::build();
    for file in make() {
        agree(&file);
        run(&file);
    }
}

/// Makes the table as text and as pairs of numbers, unless they are there.
fn make() -> [PathBuf; 2] {
    let folder = target().join("million-lives");
    fs::create_dir_all(&folder).expect("the folder can be written");
    let files = ["lives.csv", "lives.f64"].map(|name| folder.join(name));
    if !files.iter().all(|file| file.exists()) {
        let (text, pairs) = drawn();
        fs::write(&files[0], text).expect("the table can be written");
        fs::write(&files[1], pairs).expect("the pairs can be written");
    }
    // What is measured is the reading and fitting, not the disk.
    for file in &files {
        let bytes = fs::read(file).expect("the table was made").len();
        assert!(bytes > 12 * LIVES, "{bytes} bytes are no million lives; remove {}", file.display());
    }
    files
}

fn drawn() -> (String, Vec<u8>) {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    let (mut text, mut pairs) = ("entered,left,ending\n".to_owned(), Vec::with_capacity(16 * LIVES));
    for _ in 0..LIVES {
        let life = LAW.fails_at(0.0, rng.random());
        let end = WATCH.0 + (WATCH.1 - WATCH.0) * rng.random::<f64>();
        // To the thousandth, as a table made by people and counters would have it.
        let left = ((life.min(end) * 1000.0).round() / 1000.0).max(0.001);
        let failed = life <= end;
        writeln!(text, ",{left},{}", if failed { "failed" } else { "censored" }).expect("text takes text");
        pairs.extend(0.0_f64.to_le_bytes());
        pairs.extend(if failed { left } else { -left }.to_le_bytes());
    }
    (text, pairs)
}

fn program(file: &Path) -> Command {
    let mut command = boothwright();
    command.args(["lives", "fit", "--model", "weibull", "--json"]).arg(file);
    command
}

fn peer(script: &str, file: &Path) -> Command {
    let mut command = race::peer(script);
    command.arg(file);
    command
}

/// Sees to it that all contenders find the same law before anybody is timed.
fn agree(file: &Path) {
    let ours = answer(&mut program(file));
    for script in LIBRARIES.into_iter().chain([BY_HAND]) {
        let theirs = answer(&mut peer(script, file));
        let pair = |key: &str| {
            let number = |answer: &serde_json::Value| answer[key].as_f64().expect("each answers in numbers");
            (number(&ours), number(&theirs))
        };
        for key in ["shape", "scale"] {
            let (our, their) = pair(key);
            assert!((their / our - 1.0).abs() <= WITHIN, "{script}: {key} is {their}, not {our}");
        }
        let (our, their) = pair("log_likelihood");
        assert!(our >= their - 1e-12 * their.abs(), "{script} found a likelier law: {their}, ours {our}");
    }
    let name = file.file_name().unwrap_or_default().display();
    println!("{name}: shape {}, scale {}, the same for all within {WITHIN:e}", ours["shape"], ours["scale"]);
}

fn run(file: &Path) {
    let mut ours = Vec::new();
    let mut libraries = LIBRARIES.map(|_| Vec::new());
    let mut by_hand = Vec::new();
    for _ in 0..ROUNDS {
        ours.push(timed(&mut program(file)));
        by_hand.push(timed(&mut peer(BY_HAND, file)));
        for (runs, script) in libraries.iter_mut().zip(LIBRARIES) {
            runs.push(timed(&mut peer(script, file)));
        }
    }
    let ours = middle(&ours);
    println!(
        "  boothwright lives fit: {:.3} s, {:.0} MB (asked: under {GOAL_MB:.0} MB)",
        ours.seconds, ours.peak_mb
    );
    let told = |script: &str, runs: &[Run]| {
        let theirs = middle(runs);
        let ratio = theirs.seconds / ours.seconds;
        println!("  {script}: {:.3} s, {:.0} MB; {ratio:.1} times as long", theirs.seconds, theirs.peak_mb);
        ratio
    };
    let fastest = libraries.iter().zip(LIBRARIES).map(|(runs, script)| told(script, runs));
    let fastest = fastest.fold(f64::INFINITY, f64::min);
    let scipy = told(BY_HAND, &by_hand);
    println!("  against the fastest library: {fastest:.1} (asked: at least {GOAL_LIBRARY:.0})");
    println!("  against scipy by hand: {scipy:.1} (asked: at least {GOAL_SCIPY:.0})");
    assert!(ours.peak_mb < GOAL_MB, "{:.0} MB", ours.peak_mb);
    assert!(fastest >= GOAL_LIBRARY && scipy >= GOAL_SCIPY, "asked: {GOAL_LIBRARY} and {GOAL_SCIPY} times");
}
