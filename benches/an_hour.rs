//! An hour of a flutter film, measured by the program and by its peers: whole processes, one run, ratios and memory.

use benches::race::{self, Run, answer, boothwright, middle, target, timed};
use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
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
    if !race::asked() {
        return;
    }
    race::build();
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
    let Run { seconds, peak_mb: mb } = middle(&ours);
    println!("boothwright sound flutter: {seconds:.3} s, {mb:.0} MB (asked: under {GOAL_MB:.0} MB)");
    for (runs, (script, how)) in theirs.iter().zip(PEERS) {
        let theirs = middle(runs);
        let ratio = theirs.seconds / seconds;
        println!(
            "{script} ({how}): {:.3} s, {:.0} MB; {ratio:.1} times as long",
            theirs.seconds, theirs.peak_mb
        );
    }
    let ratio = middle(&theirs[0]).seconds / seconds;
    println!("against one long transform: {ratio:.1} (asked: at least {GOAL_RATIO:.0})");
    assert!(mb < GOAL_MB, "{mb:.0} MB");
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
    let mut command = race::peer(script);
    command.arg(hour);
    command
}

/// Sees to it that all contenders read the same before anybody is timed.
fn agree(hour: &Path) {
    let ours = answer(&mut program(hour));
    for (script, _) in PEERS {
        let theirs = answer(&mut peer(script, hour));
        let pair = |key: &str| {
            let number = |answer: &serde_json::Value| {
                answer[key].as_f64().unwrap_or_else(|| panic!("{script}: no {key}"))
            };
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
