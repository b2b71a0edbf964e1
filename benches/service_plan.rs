//! The plan of a service of 200 machines and 5,000 showings: how near its own bound, how long, how much memory; and a
//! plain version of it beside a general integer solver, whole processes in one run.

use benches::{
    race::{self, Run, answer, boothwright, middle, target, timed},
    service::{SERVICE, plain, service},
};
use plan::{Model, cost_of};
use serde_json::Value;
use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

const SEED: u64 = 1;
/// Each is run so often; the middle one counts.
const ROUNDS: usize = 3;
/// What is asked: so near the bound, so fast on two cores, in so much memory.
const GOAL_GAP: f64 = 0.01;
const GOAL_SECONDS: f64 = 20.0;
const GOAL_MB: f64 = 1024.0;
/// The peer: the same plain model as integers, whole, and without machines that wait at home while work is late.
const PEER: &str = "plan_milp.py";
/// So long the peer may take besides, to show what it comes to.
const PEER_SECONDS: f64 = 60.0;

fn main() {
    if !race::asked() {
        return;
    }
    race::build();
    let folder = target().join("service-plan");
    fs::create_dir_all(&folder).expect("the folder can be written");
    let full = written(&folder.join("service.json"), &service(SEED, SERVICE));
    whole_service(&full);
    let model = plain(SEED, SERVICE);
    beside_the_peer(&written(&folder.join("plain.json"), &model), &model);
}

fn written(file: &Path, model: &Model) -> PathBuf {
    fs::write(file, serde_json::to_vec(model).expect("a model is JSON")).expect("the folder can be written");
    file.to_owned()
}

fn program(file: &Path) -> Command {
    let mut command = boothwright();
    command.args(["plan", "solve", "--json"]).arg(file);
    command
}

fn number(answer: &Value, key: &str) -> f64 {
    answer[key].as_f64().unwrap_or_else(|| panic!("`{key}` is a number"))
}

fn runs(file: &Path) -> Run {
    let all: Vec<Run> = (0..ROUNDS).map(|_| timed(&mut program(file))).collect();
    middle(&all)
}

/// The whole model: says how far each goal is met; a plan that breaks one is a measured fact, not a fault of the bench.
fn whole_service(file: &Path) {
    let plan = answer(&mut program(file));
    let run = runs(file);
    let (cost, bound) = (number(&plan, "cost"), number(&plan, "bound"));
    assert!(bound <= cost, "a bound above the cost");
    let gap = (cost - bound) / cost;
    println!("{} machines, {} showings, {} weeks:", SERVICE.machines, SERVICE.showings, SERVICE.weeks);
    println!("  cost {cost:.0}, bound {bound:.0}: {:.2} % (asked: {:.0} %)", gap * 100.0, GOAL_GAP * 100.0);
    println!("  {:.1} s (asked: under {GOAL_SECONDS:.0} s)", run.seconds);
    println!("  {:.0} MB (asked: under {GOAL_MB:.0} MB)", run.peak_mb);
    for (met, what) in
        [(gap <= GOAL_GAP, "gap"), (run.seconds < GOAL_SECONDS, "time"), (run.peak_mb < GOAL_MB, "memory")]
    {
        println!("  {what}: {}", if met { "met" } else { "NOT met" });
    }
}

/// The plain model: what the peer finds in as long as we take, and in longer; both counted by the same rules.
fn beside_the_peer(file: &Path, model: &Model) {
    let ours = answer(&mut program(file));
    let (cost, bound) = (number(&ours, "cost"), number(&ours, "bound"));
    let run = runs(file);
    println!("plain version:");
    println!("  boothwright: {cost:.0}, bound {bound:.0}, {:.1} s, {:.0} MB", run.seconds, run.peak_mb);
    for (seconds, form) in
        [(run.seconds, "whole"), (PEER_SECONDS, "whole"), (run.seconds, "in-time"), (PEER_SECONDS, "in-time")]
    {
        let mut peer = race::peer(PEER);
        peer.arg(file).arg(seconds.to_string()).arg(form);
        let theirs = answer(&mut peer);
        let took = number(&theirs, "seconds");
        if theirs["found"] != true {
            println!("  {PEER}, {form}: no plan in {took:.1} s");
            continue;
        }
        let pairs = |key: &str| -> Vec<(String, String)> {
            serde_json::from_value(theirs[key].clone()).expect("pairs of ids")
        };
        let their_cost =
            cost_of(model, &pairs("crews"), &pairs("doings")).expect("the peer keeps the rules").0;
        let their_bound = theirs["bound"].as_f64();
        println!("  {PEER}, {form}: {their_cost:.0}, its bound {their_bound:.0?}, {took:.1} s");
        println!("    ours costs {:+.2} % of that", (cost / their_cost - 1.0) * 100.0);
    }
}
