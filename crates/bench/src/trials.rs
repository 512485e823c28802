//! The uncertainty of a loss by Monte Carlo: draws, model, moments, shortest interval (JCGM 101, 7.7).

use crate::Trouble;
use serde_json::{Value, json};
use std::time::Instant;
use stonewear_stats::uncertainty::model::PercentLoss;
use stonewear_stats::uncertainty::monte_carlo::{Setup, run};
use stonewear_stats::uncertainty::{Distribution, Input};

/// The seed of the first run; each has its own.
const FIRST_SEED: u64 = 20_240;

/// Runs it so often, and gives how long each took and the interval of the last.
pub(crate) fn all(trials: usize, runs: u64) -> Result<Value, Trouble> {
    let inputs = [
        Input::new("before", Distribution::Normal { mean: 5000.0, sd: 1.0 })?,
        Input::new("after", Distribution::Normal { mean: 3850.0, sd: 1.5 })?,
        Input::new("resolution", Distribution::Rectangular { lower: -0.05, upper: 0.05 })?,
        Input::new("sieving", Distribution::Triangular { lower: -0.2, mode: 0.0, upper: 0.2 })?,
    ];
    let (mut seconds, mut interval) = (Vec::new(), None);
    for seed in FIRST_SEED..FIRST_SEED + runs {
        let begun = Instant::now();
        let setup = Setup { inputs: &inputs, correlations: &[], level: 0.95, seed };
        let found = run(&PercentLoss, setup, trials)?;
        seconds.push(begun.elapsed().as_secs_f64());
        interval = Some([found.shortest.lower, found.shortest.upper]);
    }
    Ok(json!({"seconds": seconds, "interval": interval}))
}
