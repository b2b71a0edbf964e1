//! Reads a model from the standard input and prints what its plan came to.

use std::io::Read;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    let model: plan::Model = serde_json::from_str(&text)?;
    let began = std::time::Instant::now();
    let mut effort = plan::Effort::for_model(&model);
    let args: Vec<u64> = std::env::args().skip(1).filter_map(|arg| arg.parse().ok()).collect();
    if let [steps, sweeps, nodes] = args[..] {
        (effort.price_steps, effort.sweeps, effort.nodes) = (steps as usize, sweeps as usize, nodes);
    }
    let plan = plan::solve(&model, &effort)?;
    let took = began.elapsed();
    println!(
        "cost {:.6}, bound {:.6}, gap {:.4} %, proven {}, {took:.2?}",
        plan.cost.0,
        plan.bound.0,
        plan.gap * 100.0,
        plan.proven
    );
    Ok(())
}
