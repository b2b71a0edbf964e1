//! Whole processes side by side: time, peak memory and answers.

use serde_json::Value;
use std::{
    env, fs,
    path::{Path, PathBuf},
    process::{Command, Stdio},
    thread,
    time::{Duration, Instant},
};

/// How often a running process is looked at for its memory.
const LOOK_EVERY: Duration = Duration::from_millis(1);

/// One whole run.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Run {
    /// From start to end, in seconds.
    pub seconds: f64,
    /// The most memory that it was seen to hold, in MB.
    pub peak_mb: f64,
}

/// True where cargo was asked to measure; `cargo test --benches` only wants to know that a benchmark can be started.
pub fn asked() -> bool {
    env::args().any(|arg| arg == "--bench")
}

/// Returns the root of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Returns the folder into which cargo builds.
pub fn target() -> PathBuf {
    env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), PathBuf::from)
}

/// Returns how long this process has had the processor, in seconds.
///
/// # Panics
/// Where the system does not tell, as Linux does.
pub fn processor_seconds() -> f64 {
    let told = fs::read_to_string("/proc/self/stat").expect("Linux tells of each process");
    // The name may hold anything, in brackets; the time stands twelve fields after it, in hundredths.
    let after = told.rsplit(')').next().unwrap_or_default();
    let hundredths = after.split_whitespace().nth(11).and_then(|it| it.parse::<f64>().ok());
    hundredths.expect("a number") / 100.0
}

/// Builds the program as people build it.
///
/// # Panics
/// Where it cannot be built.
pub fn build() {
    let mut cargo = Command::new(env!("CARGO"));
    let built =
        cargo.current_dir(root()).args(["build", "--release", "--locked", "--package", "boothwright"]);
    assert!(built.status().expect("cargo started this").success(), "the program must build");
}

/// The program, built before.
pub fn boothwright() -> Command {
    Command::new(target().join("release/boothwright"))
}

/// A peer: a script of `peers/` in the Python environment that `./check` makes.
pub fn peer(script: &str) -> Command {
    let mut command = Command::new(root().join(".venv/bin/python"));
    command.arg(root().join("benches/peers").join(script));
    command
}

/// What a contender prints.
///
/// # Panics
/// Where it cannot be started, fails, or prints anything but JSON.
pub fn answer(command: &mut Command) -> Value {
    let done = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}; run ./check first"));
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    serde_json::from_slice(&done.stdout).expect("every contender answers with JSON")
}

/// Runs a process to its end.
///
/// # Panics
/// Where it cannot be started, or fails.
pub fn timed(command: &mut Command) -> Run {
    let begun = Instant::now();
    let mut child = command.stdout(Stdio::null()).spawn().expect("it ran before");
    let mut peak = 0.0_f64;
    loop {
        peak = peak.max(peak_mb(child.id()).unwrap_or_default());
        if let Some(status) = child.try_wait().expect("the process is this one's child") {
            assert!(status.success(), "{command:?}: {status}");
            return Run { seconds: begun.elapsed().as_secs_f64(), peak_mb: peak };
        }
        thread::sleep(LOOK_EVERY);
    }
}

/// The most memory that a running process ever held, where the system tells.
fn peak_mb(process: u32) -> Option<f64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().trim_end_matches("kB").trim().parse::<f64>().ok().map(|kb| kb / 1024.0)
}

/// The time in the middle, with the highest memory of all.
///
/// # Panics
/// Where nothing was run.
pub fn middle(runs: &[Run]) -> Run {
    let mut seconds: Vec<f64> = runs.iter().map(|run| run.seconds).collect();
    seconds.sort_by(f64::total_cmp);
    let peak_mb = runs.iter().map(|run| run.peak_mb).fold(0.0, f64::max);
    Run { seconds: seconds[seconds.len() / 2], peak_mb }
}
