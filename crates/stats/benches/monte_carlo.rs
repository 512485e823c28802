//! Monte Carlo of a percentage loss: draws, model, moments and shortest interval.
//!
//! The peer is a numpy script of the same work on one thread (PCG64, full sort), 1.12 s for ten
//! million trials on the machine where this was first measured. Run with
//! `cargo bench -p stonewear-stats`; the median of seven runs is printed, and the peak memory where
//! the system tells it.
#![allow(clippy::print_stdout, missing_docs)]

use std::time::Instant;

use stonewear_stats::uncertainty::model::{Expression, Model, PercentLoss};
use stonewear_stats::uncertainty::monte_carlo::{Setup, run};
use stonewear_stats::uncertainty::{Distribution, Input};

fn inputs() -> Result<Vec<Input>, Box<dyn std::error::Error>> {
    Ok(vec![
        Input::new("before", Distribution::Normal { mean: 5000.0, sd: 1.0 })?,
        Input::new("after", Distribution::Normal { mean: 3850.0, sd: 1.5 })?,
        Input::new("resolution", Distribution::Rectangular { lower: -0.05, upper: 0.05 })?,
        Input::new("sieving", Distribution::Triangular { lower: -0.2, mode: 0.0, upper: 0.2 })?,
    ])
}

fn measure(name: &str, model: &dyn Model, trials: usize) -> Result<(), Box<dyn std::error::Error>> {
    let inputs = inputs()?;
    let mut seconds = Vec::new();
    let mut last = None;
    for seed in 20_240..20_247 {
        let begin = Instant::now();
        let setup = Setup { inputs: &inputs, correlations: &[], level: 0.95, seed };
        last = Some(run(model, setup, trials)?);
        seconds.push(begin.elapsed().as_secs_f64());
    }
    seconds.sort_by(f64::total_cmp);
    println!("{name}, {trials} trials: median {:.4} s, best {:.4} s", seconds[3], seconds[0]);
    if let Some(last) = last {
        let (mean, sd, ends) = (last.mean?, last.standard_deviation?, last.shortest);
        println!(
            "  mean {mean:.6}, sd {sd:.6}, shortest 95 % {:.6} to {:.6}",
            ends.lower, ends.upper
        );
    }
    Ok(())
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let names = ["before", "after", "resolution", "sieving"];
    let expression =
        Expression::new("100 * (before - after) / before + resolution + sieving", &names)?;
    for trials in [1_000_000, 10_000_000] {
        measure("formula", &PercentLoss, trials)?;
        measure("expression", &expression, trials)?;
    }
    if let Ok(status) = std::fs::read_to_string("/proc/self/status") {
        let peak = status.lines().find(|line| line.starts_with("VmHWM"));
        println!("peak memory: {}", peak.unwrap_or("not told").trim_start_matches("VmHWM:").trim());
    }
    Ok(())
}
