//! An hour of a flutter film, measured by the program and by its peers: whole processes, one run, ratios and memory.

use serde_json::Value;
use std::{
    env, fs,
    path::{Path, PathBuf},
    process::{Command, Stdio},
    thread,
    time::{Duration, Instant},
};

/// Each is run so often, in turns; the middle one counts.
const ROUNDS: usize = 5;
/// What is asked of the program: so many times faster than one long transform, in so much memory.
const GOAL_RATIO: f64 = 20.0;
const GOAL_MB: f64 = 64.0;
/// The peers, the usual way first.
const PEERS: [(&str, &str); 2] = [
    ("flutter_fft.py", "one long Fourier transform"),
    ("flutter_blocks.py", "matrix products, block by block"),
];
/// What two honest readings of one recording may differ by: in so many per cent of speed, or by a share of the reading.
const ABSOLUTE: [(&str, f64); 2] = [("speed_error_percent", 0.002), ("drift_percent_per_minute", 0.01)];
const RELATIVE: [(&str, f64); 4] = [
    // The program's weighting is a filter within 0.35 dB of the table, 4 % of the reading.
    ("weighted_two_sigma_percent", 0.05),
    ("unweighted_rms_percent", 0.02),
    ("wow_rms_percent", 0.02),
    ("flutter_rms_percent", 0.02),
];

fn main() {
    // `cargo test --benches` only wants to know that it can be started.
    if !env::args().any(|arg| arg == "--bench") {
        return;
    }
    build();
    let hour = make();
    agree(&hour);
    let mut ours = Vec::new();
    let mut theirs = [Vec::new(), Vec::new()];
    for _ in 0..ROUNDS {
        ours.push(timed(&mut program(&hour)));
        for (runs, (script, _)) in theirs.iter_mut().zip(PEERS) {
            runs.push(timed(&mut peer(script, &hour)));
        }
    }
    let (seconds, mb) = middle(&ours);
    println!("boothwright sound flutter: {seconds:.3} s, {mb:.0} MB (asked: under {GOAL_MB:.0} MB)");
    for (runs, (script, how)) in theirs.iter().zip(PEERS) {
        let (their_seconds, their_mb) = middle(runs);
        let ratio = their_seconds / seconds;
        println!("{script} ({how}): {their_seconds:.3} s, {their_mb:.0} MB; {ratio:.1} times as long");
    }
    let ratio = middle(&theirs[0]).0 / seconds;
    println!("against one long transform: {ratio:.1} (asked: at least {GOAL_RATIO:.0})");
    assert!(mb < GOAL_MB, "{mb:.0} MB");
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn target() -> PathBuf {
    env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), PathBuf::from)
}

/// Builds the program as people build it.
fn build() {
    let mut cargo = Command::new(env!("CARGO"));
    let built =
        cargo.current_dir(root()).args(["build", "--release", "--locked", "--package", "boothwright"]);
    assert!(built.status().expect("cargo started this").success(), "the program must build");
}

fn boothwright() -> Command {
    Command::new(target().join("release/boothwright"))
}

/// Makes the hour, unless it is there: 48 kHz, 16 bits, two lines, noise 40 dB down.
fn make() -> PathBuf {
    let hour = target().join("an-hour.wav");
    if !hour.exists() {
        let options = ["--seconds", "3600", "--line", "1.931:0.2", "--line", "24:0.1", "--noise", "40"];
        let made = boothwright().args(["sound", "make"]).arg(&hour).args(options).status();
        assert!(made.expect("the program was built").success(), "the hour must be made");
    }
    // What is measured is the measuring, not the disk.
    let bytes = fs::read(&hour).expect("the hour was made").len();
    assert!(bytes > 345_000_000, "{bytes} bytes are no hour; remove {}", hour.display());
    hour
}

fn program(hour: &Path) -> Command {
    let mut command = boothwright();
    command.args(["sound", "flutter", "--json"]).arg(hour);
    command
}

fn peer(script: &str, hour: &Path) -> Command {
    let mut command = Command::new(root().join(".venv/bin/python"));
    command.arg(root().join("benches/peers").join(script)).arg(hour);
    command
}

fn answer(command: &mut Command) -> Value {
    let done = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}; run ./check first"));
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    serde_json::from_slice(&done.stdout).expect("every contender answers with JSON")
}

/// Sees to it that all contenders read the same before anybody is timed.
fn agree(hour: &Path) {
    let ours = answer(&mut program(hour));
    for (script, _) in PEERS {
        let theirs = answer(&mut peer(script, hour));
        let pair = |key: &str| {
            let number =
                |answer: &Value| answer[key].as_f64().unwrap_or_else(|| panic!("{script}: no {key}"));
            (number(&ours), number(&theirs))
        };
        for (key, within) in ABSOLUTE {
            let (our, their) = pair(key);
            assert!((our - their).abs() <= within, "{script}: {key} is {their}, not {our}");
        }
        for (key, within) in RELATIVE {
            let (our, their) = pair(key);
            assert!((their / our - 1.0).abs() <= within, "{script}: {key} is {their}, not {our}");
            println!("{script}: {key} {their:.5}, boothwright {our:.5}");
        }
    }
}

/// Runs a process to its end: seconds, and the most memory that it was seen to hold, in MB.
fn timed(command: &mut Command) -> (f64, f64) {
    let begun = Instant::now();
    let mut child = command.stdout(Stdio::null()).spawn().expect("it ran before");
    let mut peak = 0.0_f64;
    loop {
        peak = peak.max(peak_mb(child.id()).unwrap_or_default());
        if let Some(status) = child.try_wait().expect("the process is this one's child") {
            assert!(status.success(), "{command:?}: {status}");
            return (begun.elapsed().as_secs_f64(), peak);
        }
        thread::sleep(Duration::from_millis(2));
    }
}

/// The most memory that a running process ever held, where the system tells.
fn peak_mb(process: u32) -> Option<f64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().trim_end_matches("kB").trim().parse::<f64>().ok().map(|kb| kb / 1024.0)
}

/// The run that is in the middle by its time, with the highest memory of all.
fn middle(runs: &[(f64, f64)]) -> (f64, f64) {
    let mut seconds: Vec<f64> = runs.iter().map(|run| run.0).collect();
    seconds.sort_by(f64::total_cmp);
    (seconds[seconds.len() / 2], runs.iter().map(|run| run.1).fold(0.0, f64::max))
}
