//! The loss in per cent, with corrections in per cent added.

use super::Model;

/// 100 (before - after) / before, plus every further input as it is: terms in per cent of mass for
/// what the weighing does not see (resolution, sieving, charge, revolutions, temperature, sampling).
///
/// Input 0 is the mass before, input 1 the mass after, in one unit.
#[derive(Debug, Clone, Copy, Default)]
pub struct PercentLoss;

impl Model for PercentLoss {
    fn evaluate(&self, inputs: &[&[f64]], out: &mut [f64]) {
        let [before, after, corrections @ ..] = inputs else {
            out.fill(f64::NAN);
            return;
        };
        for ((out, a), b) in out.iter_mut().zip(*before).zip(*after) {
            *out = (a - b) / a * 100.0;
        }
        for correction in corrections {
            for (out, c) in out.iter_mut().zip(*correction) {
                *out += c;
            }
        }
    }
}
