//! A run with a given number of trials.

use rayon::prelude::*;

use super::block::{Moments, SIZE, Sampler};
use super::tails::{Tails, Thresholds};
use crate::error::{self, Figure, StatsError, Undefined, checked};
use crate::regression::Interval;
use crate::uncertainty::input::{Correlation, Distribution, Input, cholesky, matrix};
use crate::uncertainty::model::Model;

/// What is propagated and how.
#[derive(Debug, Clone, Copy)]
pub struct Setup<'a> {
    /// The inputs, in the order of the model.
    pub inputs: &'a [Input],
    /// Correlations; only between normal inputs, because the joint distribution of others is not
    /// given by a correlation coefficient (JCGM 101, 6.4.8).
    pub correlations: &'a [Correlation],
    /// Coverage probability of the intervals, 0 to 1.
    pub level: f64,
    /// Seed of the random numbers.
    pub seed: u64,
}

/// The result of a Monte Carlo run, in the unit of the measurand.
#[derive(Debug, Clone, PartialEq)]
pub struct MonteCarlo {
    /// Number of trials.
    pub trials: usize,
    /// Mean of the measurand; undefined where an input has none (t with one degree of freedom).
    pub mean: Figure,
    /// Standard deviation: the standard uncertainty. Undefined where an input has none: t with two
    /// degrees of freedom, three observations, scatters without bound, and so would this figure from
    /// run to run. The intervals exist all the same.
    pub standard_deviation: Figure,
    /// Interval with equal probability on both sides.
    pub interval: Interval,
    /// Shortest interval.
    pub shortest: Interval,
}

/// Fewest trials a run may have.
const FEWEST: usize = 100;
/// Most trials: beyond this the answer has more digits than any input.
const MOST: usize = 200_000_000;

/// Propagates distributions with `trials` trials, 100 to 2·10⁸.
///
/// # Errors
/// When the setup is wrong, there are too few trials for the level, or the model has no value for
/// some trial.
pub fn run(model: &dyn Model, setup: Setup<'_>, trials: usize) -> Result<MonteCarlo, StatsError> {
    let good = (FEWEST..=MOST).contains(&trials);
    error::within("the number of trials", trials as f64, good, "from 100 to 200000000")?;
    let sampler = setup.sampler()?;
    let inside = inside(trials, setup.level)?;
    let outside = 1.0 - inside as f64 / trials as f64;
    let thresholds = Thresholds::guess(pilot(model, setup.seed, trials, &sampler), outside);
    let (moments, tails) = match pass(model, setup.seed, trials, inside, &sampler, thresholds)? {
        (moments, Some(tails)) => (moments, tails),
        (_, None) => match pass(model, setup.seed, trials, inside, &sampler, Thresholds::ALL)? {
            (moments, Some(tails)) => (moments, tails),
            (_, None) => return Err(Undefined::BeyondDouble.into()),
        },
    };
    let interval = |(lower, upper)| Interval { lower, upper };
    Ok(MonteCarlo {
        trials,
        mean: if least_freedom(setup.inputs) > 1.0 {
            checked(moments.mean)
        } else {
            Err(Undefined::Because(
                "an input is t with one degree of freedom or fewer, which has no mean",
            ))
        },
        standard_deviation: if least_freedom(setup.inputs) > 2.0 {
            checked((moments.squares / (moments.count - 1.0)).sqrt())
        } else {
            Err(Undefined::Because(
                "an input is t with two degrees of freedom or fewer, which has no standard deviation",
            ))
        },
        interval: interval(tails.symmetric(inside)),
        shortest: interval(tails.shortest(inside)),
    })
}

/// The fewest degrees of freedom of an input that scatters as t.
fn least_freedom(inputs: &[Input]) -> f64 {
    let freedoms = inputs.iter().filter_map(|input| match input.distribution {
        Distribution::T { scale, freedom, .. } if scale > 0.0 => Some(freedom),
        _ => None,
    });
    freedoms.fold(f64::INFINITY, f64::min)
}

/// The number of values that an interval holds: pM rounded half up (JCGM 101, 7.7.1).
pub(super) fn inside(trials: usize, level: f64) -> Result<usize, StatsError> {
    let inside = (level * trials as f64 + 0.5).floor() as usize;
    let fits = inside >= 1 && inside < trials;
    let expected = "such that at least one trial lies outside; make more trials or lower it";
    error::within("the level", level, fits, expected)?;
    Ok(inside)
}

impl<'a> Setup<'a> {
    /// Checks the setup.
    pub(super) fn sampler(&self) -> Result<Sampler<'a>, StatsError> {
        error::probability("the level", self.level)?;
        if self.inputs.is_empty() {
            return Err(StatsError::TooFew { what: "inputs", need: 1, got: 0 });
        }
        self.inputs.iter().try_for_each(|i| i.distribution.check())?;
        let full = matrix(self.inputs.len(), self.correlations)?;
        let which: Vec<usize> = (0..self.inputs.len())
            .filter(|&i| full[i].iter().enumerate().any(|(j, r)| j != i && *r != 0.0))
            .collect();
        if which.is_empty() {
            return Ok(Sampler::new(self.inputs, None));
        }
        for &i in &which {
            if !matches!(self.inputs[i].distribution, Distribution::Normal { .. }) {
                return Err(StatsError::Layout(format!(
                    "{} is correlated with another input and is not normal; a correlation \
                     coefficient alone does not say how such inputs vary together",
                    self.inputs[i].name
                )));
            }
        }
        let part: Vec<Vec<f64>> =
            which.iter().map(|&i| which.iter().map(|&j| full[i][j]).collect()).collect();
        Ok(Sampler::new(self.inputs, Some((which, cholesky(&part)?))))
    }
}

/// The number of trials in block `index`.
fn count(trials: usize, index: usize) -> usize {
    (trials - index * SIZE).min(SIZE)
}

/// The values of the first blocks.
fn pilot(model: &dyn Model, seed: u64, trials: usize, sampler: &Sampler<'_>) -> Vec<f64> {
    let mut room = sampler.room();
    let mut values = Vec::new();
    for index in 0..trials.div_ceil(SIZE).min(16) {
        let count = count(trials, index);
        sampler.make(model, seed, index, count, &mut room);
        values.extend_from_slice(&room.out[..count]);
    }
    values
}

/// What a run of consecutive blocks leaves.
struct Part {
    moments: Vec<Moments>,
    low: Vec<f64>,
    high: Vec<f64>,
}

/// Blocks that one task makes before its results are joined with others.
const TOGETHER: usize = 64;

/// Makes all blocks.
fn pass(
    model: &dyn Model,
    seed: u64,
    trials: usize,
    inside: usize,
    sampler: &Sampler<'_>,
    thresholds: Thresholds,
) -> Result<(Moments, Option<Tails>), StatsError> {
    let blocks = trials.div_ceil(SIZE);
    let parts: Vec<Part> = (0..blocks.div_ceil(TOGETHER))
        .into_par_iter()
        .map(|task| {
            let mut room = sampler.room();
            // A little more than what is expected, so that the room need not grow.
            let expected = TOGETHER * SIZE * (trials - inside) / trials * 5 / 4 + SIZE;
            let mut part = Part {
                moments: Vec::with_capacity(TOGETHER),
                low: Vec::with_capacity(expected),
                high: Vec::with_capacity(expected),
            };
            for index in task * TOGETHER..blocks.min((task + 1) * TOGETHER) {
                let count = count(trials, index);
                sampler.make(model, seed, index, count, &mut room);
                part.moments.push(Moments::of(&room.out[..count]));
                thresholds.pick(&room.out[..count], &mut part.low, &mut part.high);
            }
            part
        })
        .collect();
    let all = parts.iter().flat_map(|p| &p.moments);
    let moments = all.fold(Moments::NONE, |sum, block| sum.with(*block));
    if !moments.mean.is_finite() || !moments.squares.is_finite() {
        return Err(Undefined::Because(
            "the model has no value for some trials: it divides by zero, takes the logarithm or root \
             of a negative number, or leaves double precision there",
        )
        .into());
    }
    let joined = |pick: fn(&Part) -> &Vec<f64>| {
        let slices: Vec<&[f64]> = parts.iter().map(|p| pick(p).as_slice()).collect();
        slices.concat()
    };
    Ok((moments, Tails::new(joined(|p| &p.low), joined(|p| &p.high), trials, inside)))
}
