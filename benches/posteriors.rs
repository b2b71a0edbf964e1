//! All posteriors of the published network of 76 variables, beside two libraries: inference only, once loaded.

use faults::{bif, exact::JunctionTree, network::Evidence};
use serde_json::Value;
use std::{
    fs,
    hint::black_box,
    path::Path,
    process::Command,
    time::{Duration, Instant},
};

/// The peers reckon in double precision, too.
const WITHIN: f64 = 1e-9;
/// Our passes are so short that many are timed together.
const TOGETHER: u32 = 100;
/// At least so many times as fast as the Python library, and as the compiled one.
const PROMISED: [(&str, f64); 2] = [("pgmpy", 100.0), ("pyagrum", 2.0)];

fn main() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let folder = benches::folder();
    fs::create_dir_all(&folder).expect("the folder can be written");
    let file = folder.join("network-of-76.bif");
    let peers = Command::new(root.join(".venv/bin/python"))
        .arg(root.join("benches/peers/posteriors.py"))
        .arg(&file)
        .output()
        .expect("`./check` makes the Python environment of the peers");
    assert!(peers.status.success(), "the peers failed: {}", String::from_utf8_lossy(&peers.stderr));
    let peers: Value = serde_json::from_slice(&peers.stdout).expect("the peers print JSON");

    let text = fs::read_to_string(&file).expect("the peers wrote the network");
    let network = bif::read(&text).expect("a published network is sound");
    let mut evidence = Evidence::new();
    for (name, state) in peers["seen"].as_object().expect("what was observed is an object") {
        let state = state.as_str().expect("a state is a text");
        evidence.seen(&network, name, state).expect("the peers observe what the network has");
    }
    let tree = JunctionTree::new(&network).expect("the network is small enough");
    let found = tree.posteriors(&network, &evidence).expect("what was observed can be");
    for id in network.ids() {
        let variable = network.variable(id);
        for (state, ours) in variable.states().iter().zip(found.of(id)) {
            let theirs = peers["posteriors"][variable.name()][state].as_f64().expect("a chance is a number");
            assert!((ours - theirs).abs() < WITHIN, "{} = {state}: {ours} and {theirs}", variable.name());
        }
    }
    println!("{} variables, all posteriors within {WITHIN:e} of pyAgrum's", network.variables().len());

    let compile = median(|| drop(black_box(JunctionTree::new(&network))), 1);
    let ours = median(|| drop(black_box(tree.posteriors(&network, &evidence))), TOGETHER);
    println!("ours: {ours:?} (compiling the tree once: {compile:?})");
    for (peer, promised) in PROMISED {
        let seconds = peers["seconds"][peer].as_f64().expect("a time is a number");
        let ratio = seconds / ours.as_secs_f64();
        let compiled_anew = seconds / (ours + compile).as_secs_f64();
        println!(
            "{peer}: {:?}, {ratio:.0} times ours ({compiled_anew:.1} with our tree compiled anew each time)",
            Duration::from_secs_f64(seconds)
        );
        assert!(ratio >= promised, "promised: {promised} times");
    }
}

/// The median time of some work.
fn median(work: impl Fn(), together: u32) -> Duration {
    let mut taken: Vec<Duration> = (0..31)
        .map(|_| {
            let before = Instant::now();
            (0..together).for_each(|_| work());
            before.elapsed() / together
        })
        .collect();
    taken.sort_unstable();
    taken[taken.len() / 2]
}
