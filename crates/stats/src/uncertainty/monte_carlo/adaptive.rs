//! As many trials as the wanted digits need (JCGM 101, 7.9).

use super::run::{MonteCarlo, Setup, run};
use crate::error::{self, StatsError, Undefined, checked};
use crate::number;

/// What is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Significant decimal digits of the standard uncertainty, 1 to 4.
    pub digits: usize,
    /// Whether the shortest interval has to settle, or the one with equal tails. The ends of the
    /// shortest settle much later where the distribution is flat.
    pub shortest: bool,
    /// Trials after which to stop all the same.
    pub most: usize,
}

/// The result, and how far it got.
#[derive(Debug, Clone, PartialEq)]
pub struct Adaptive {
    /// All trials together.
    pub result: MonteCarlo,
    /// Whether everything settled before the most trials were made.
    pub settled: bool,
    /// Half a unit in the last wanted digit: the numerical tolerance, in the unit of the measurand.
    pub tolerance: f64,
}

/// Trials of one batch: at least 10⁴ and 100/(1 - p), in whole blocks.
fn batch_size(level: f64) -> usize {
    let least = (100.0 / (1.0 - level)).ceil().max(1e4) as usize;
    least.div_ceil(super::block::SIZE) * super::block::SIZE
}

/// Batches before the first look. The guide looks after two; a standard error from two batches is so
/// uncertain that the run often stops too early (G. Wübbeler, P. M. Harris, M. G. Cox and C. Elster,
/// Metrologia 47 (2010) 317-324).
const BEFORE_LOOKING: usize = 10;

/// Makes batches until twice the standard error of the mean, of the standard uncertainty and of both
/// ends of the interval is below the tolerance, then reports all trials together.
///
/// # Errors
/// As [`run`], when `wanted` is out of range, and when the measurand has no mean or no standard
/// deviation that could settle.
pub fn adaptive(
    model: &dyn super::super::model::Model,
    setup: Setup<'_>,
    wanted: Wanted,
) -> Result<Adaptive, StatsError> {
    let good = (1..=4).contains(&wanted.digits);
    error::within("the number of digits", wanted.digits as f64, good, "from 1 to 4")?;
    error::probability("the level", setup.level)?;
    let size = batch_size(setup.level);
    let good = wanted.most >= BEFORE_LOOKING * size;
    error::within(
        "the most trials",
        wanted.most as f64,
        good,
        "room for ten batches, 102400 trials at 95 %",
    )?;
    let mut batches: Vec<[f64; 4]> = Vec::new();
    let (mut settled, mut tolerance) = (false, 0.0);
    while (batches.len() + 1) * size <= wanted.most && !settled {
        // A batch has a seed of its own; the final run over everything is independent of them.
        let seed = setup.seed.wrapping_add(1 + batches.len() as u64);
        let batch = run(model, Setup { seed, ..setup }, size)?;
        let ends = if wanted.shortest { batch.shortest } else { batch.interval };
        batches.push([batch.mean?, batch.standard_deviation?, ends.lower, ends.upper]);
        if batches.len() < BEFORE_LOOKING {
            continue;
        }
        let column = |k: usize| batches.iter().map(|b| b[k]).collect::<Vec<f64>>();
        let u = number::mean(&column(1)).to_f64();
        tolerance = numerical_tolerance(u, wanted.digits)?;
        let h = batches.len() as f64;
        settled = (0..4).all(|k| {
            let squares = number::mean_and_squares(&column(k)).1.to_f64();
            2.0 * (squares / (h * (h - 1.0))).sqrt() <= tolerance
        });
    }
    let result = run(model, setup, batches.len() * size)?;
    Ok(Adaptive { result, settled, tolerance })
}

/// Half a unit in the last of `digits` significant digits of `u` (JCGM 101, 7.9.2).
fn numerical_tolerance(u: f64, digits: usize) -> Result<f64, Undefined> {
    if u == 0.0 {
        return Ok(0.0);
    }
    let place = libm::floor(libm::log10(u)) as i32 + 1 - digits as i32;
    checked(0.5 * libm::pow(10.0, f64::from(place)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tolerance_is_that_of_the_guide() {
        // JCGM 101, 7.9.2, examples: u = 0.000 35 g with two digits gives 0.5e-5; 2 K with one, 0.5.
        assert!((numerical_tolerance(0.000_35, 2).expect("a tolerance") - 0.000_005).abs() < 1e-18);
        assert!((numerical_tolerance(2.0, 1).expect("a tolerance") - 0.5).abs() < 1e-15);
    }
}
