//! One block of trials: draws, model, moments, and the values that can matter to an interval.

use rand_xoshiro::rand_core::SeedableRng;

use super::Stream;
use super::sampler;
use crate::uncertainty::input::{Distribution, Input};
use crate::uncertainty::model::Model;

/// Trials in a block: its columns fit into the processor's cache. Part of the definition of the
/// result, like the seed.
pub(super) const SIZE: usize = 2048;

/// The draws of one block and the room for them.
pub(super) struct Sampler<'a> {
    inputs: &'a [Input],
    /// Lower factor of the correlations among the inputs named.
    correlated: Option<(Vec<usize>, Vec<Vec<f64>>)>,
}

/// Room that is used again for every block a thread makes.
pub(super) struct Room {
    columns: Vec<Vec<f64>>,
    /// The measurand of each trial.
    pub(super) out: Vec<f64>,
}

impl<'a> Sampler<'a> {
    pub(super) fn new(
        inputs: &'a [Input],
        correlated: Option<(Vec<usize>, Vec<Vec<f64>>)>,
    ) -> Self {
        Self { inputs, correlated }
    }

    pub(super) fn room(&self) -> Room {
        Room { columns: vec![vec![0.0; SIZE]; self.inputs.len()], out: vec![0.0; SIZE] }
    }

    /// Makes block `index` with `count` trials in `room`.
    pub(super) fn make(
        &self,
        model: &dyn Model,
        seed: u64,
        index: usize,
        count: usize,
        room: &mut Room,
    ) {
        // Streams far apart: the block number is spread over all bits before it meets the seed, and
        // seeding mixes once more.
        let spread = (index as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(31);
        let mut stream = Stream::seed_from_u64(seed ^ spread);
        for (input, column) in self.inputs.iter().zip(&mut room.columns) {
            sampler::fill(&input.distribution, &mut stream, &mut column[..count]);
        }
        if let Some((which, factor)) = &self.correlated {
            self.correlate(which, factor, count, &mut room.columns);
        }
        let columns: Vec<&[f64]> = room.columns.iter().map(|c| &c[..count]).collect();
        model.evaluate(&columns, &mut room.out[..count]);
    }

    /// Turns independent normal columns into correlated ones, last input first so that each is
    /// still independent when it is needed.
    fn correlate(
        &self,
        which: &[usize],
        factor: &[Vec<f64>],
        count: usize,
        columns: &mut [Vec<f64>],
    ) {
        let parameters = |i: usize| match self.inputs[i].distribution {
            Distribution::Normal { mean, sd } => (mean, sd),
            // Only normal inputs get here.
            _ => (0.0, 0.0),
        };
        for row in (0..which.len()).rev() {
            let mut turned = vec![0.0; count];
            for (&column, weight) in which[..=row].iter().zip(&factor[row]) {
                let (mean, sd) = parameters(column);
                if sd > 0.0 {
                    let scale = weight / sd;
                    for (z, x) in turned.iter_mut().zip(&columns[column]) {
                        *z += scale * (x - mean);
                    }
                }
            }
            let (mean, sd) = parameters(which[row]);
            for (x, z) in columns[which[row]].iter_mut().zip(turned) {
                *x = mean + sd * z;
            }
        }
    }
}

/// Number, mean and sum of squares about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Moments {
    pub(super) count: f64,
    pub(super) mean: f64,
    pub(super) squares: f64,
}

impl Moments {
    pub(super) const NONE: Self = Self { count: 0.0, mean: 0.0, squares: 0.0 };

    pub(super) fn of(values: &[f64]) -> Self {
        let count = values.len() as f64;
        // Four running sums: the additions of one do not wait for each other.
        let mean = four_sums(values, |v| v) / count;
        let squares = four_sums(values, |v| (v - mean) * (v - mean));
        Self { count, mean, squares }
    }

    /// Both together (T. F. Chan, G. H. Golub and R. J. LeVeque, The American Statistician 37 (1983)
    /// 242-247).
    pub(super) fn with(self, other: Self) -> Self {
        let count = self.count + other.count;
        if count == 0.0 {
            return Self::NONE;
        }
        let gap = other.mean - self.mean;
        let share = other.count / count;
        Self {
            count,
            mean: self.mean + gap * share,
            squares: self.squares + other.squares + gap * gap * self.count * share,
        }
    }
}

fn four_sums(values: &[f64], f: impl Fn(f64) -> f64) -> f64 {
    let mut sums = [0.0; 4];
    let chunks = values.chunks_exact(4);
    let rest: f64 = chunks.remainder().iter().map(|v| f(*v)).sum();
    for chunk in chunks {
        for (sum, v) in sums.iter_mut().zip(chunk) {
            *sum += f(*v);
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}
