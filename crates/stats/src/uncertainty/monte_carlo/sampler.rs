//! Draws from the distributions of JCGM 101, clause 6.4, one column at a time.

use rand_xoshiro::rand_core::Rng;

use super::Stream;
use super::ziggurat::{Ziggurat, table, unit};
use crate::uncertainty::input::Distribution;

/// Fills a column with draws.
pub(super) fn fill(distribution: &Distribution, stream: &mut Stream, out: &mut [f64]) {
    let ziggurat = table();
    match *distribution {
        Distribution::Constant(value) => out.fill(value),
        Distribution::Normal { mean, sd } => {
            out.iter_mut().for_each(|v| *v = mean + sd * ziggurat.normal(stream));
        }
        Distribution::Rectangular { lower, upper } => {
            let width = upper - lower;
            out.iter_mut().for_each(|v| *v = lower + width * unit(stream.next_u64()));
        }
        Distribution::Triangular { lower, mode, upper } => {
            triangle(lower, mode, upper, stream, out);
        }
        Distribution::Arcsine { lower, upper } => {
            let (middle, half) = (0.5 * lower + 0.5 * upper, 0.5 * (upper - lower));
            let turn = 2.0 * std::f64::consts::PI;
            out.iter_mut()
                .for_each(|v| *v = middle + half * libm::sin(turn * unit(stream.next_u64())));
        }
        Distribution::T { location, scale, freedom } => {
            out.iter_mut().for_each(|v| {
                let z = ziggurat.normal(stream);
                let chi = 2.0 * gamma(0.5 * freedom, ziggurat, stream);
                *v = location + scale * z / libm::sqrt(chi / freedom);
            });
        }
        Distribution::CurvilinearTrapezoid { lower, upper, inexactness } => {
            let twice = 2.0 * inexactness;
            out.iter_mut().for_each(|v| {
                let from = (lower - inexactness) + twice * unit(stream.next_u64());
                let to = lower + upper - from;
                *v = from + (to - from) * unit(stream.next_u64());
            });
        }
    }
}

/// A triangle: the sum of two rectangles when it is symmetric (6.4.5), by inversion otherwise.
fn triangle(lower: f64, mode: f64, upper: f64, stream: &mut Stream, out: &mut [f64]) {
    let width = upper - lower;
    let middle = 0.5 * lower + 0.5 * upper;
    if (mode - middle).abs() <= 1e-12 * width {
        let half = 0.5 * width;
        out.iter_mut().for_each(|v| {
            let sum = unit(stream.next_u64()) + unit(stream.next_u64());
            *v = lower + half * sum;
        });
        return;
    }
    let share = (mode - lower) / width;
    out.iter_mut().for_each(|v| {
        let u = unit(stream.next_u64());
        *v = if u < share {
            lower + libm::sqrt(u * width * (mode - lower))
        } else {
            upper - libm::sqrt((1.0 - u) * width * (upper - mode))
        };
    });
}

/// Gamma variate of shape `a` (G. Marsaglia and W. W. Tsang, ACM Transactions on Mathematical
/// Software 26 (2000) 363-372).
fn gamma(a: f64, ziggurat: &Ziggurat, stream: &mut Stream) -> f64 {
    if a < 1.0 {
        let u = 1.0 - unit(stream.next_u64());
        return gamma(a + 1.0, ziggurat, stream) * libm::pow(u, 1.0 / a);
    }
    let d = a - 1.0 / 3.0;
    let c = 1.0 / libm::sqrt(9.0 * d);
    loop {
        let x = ziggurat.normal(stream);
        let root = 1.0 + c * x;
        if root <= 0.0 {
            continue;
        }
        let v = root * root * root;
        let u = 1.0 - unit(stream.next_u64());
        if libm::log(u) < 0.5 * x * x + d - d * v + d * libm::log(v) {
            return d * v;
        }
    }
}
