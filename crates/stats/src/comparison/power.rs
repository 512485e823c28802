//! Power and sample sizes of t and F tests, through the noncentral t distribution and not through a
//! normal approximation (J. Cohen, Statistical Power Analysis for the Behavioral Sciences, 2nd ed.).

use crate::distribution::{f, noncentral_t, t};
use crate::error::{self, StatsError, Undefined, checked};
use crate::number::{minimum_where, root};

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Design {
    /// One set against a fixed value, or pairs through their differences.
    OneSample,
    /// Two independent sets of equal size.
    TwoSamples,
}

impl Design {
    /// What the standardized difference is multiplied with, and the degrees of freedom, for `n`
    /// results in each set.
    pub(super) fn factor_and_freedom(self, n: f64) -> (f64, f64) {
        match self {
            Self::OneSample => (n.sqrt(), n - 1.0),
            Self::TwoSamples => ((0.5 * n).sqrt(), 2.0 * n - 2.0),
        }
    }
}

/// In which direction a difference is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tails {
    /// Only in the direction of the difference.
    One,
    /// In both.
    Two,
}

/// Probability that a t test at `alpha` with `n` results (in each set) finds a difference of `d`
/// standard deviations.
///
/// # Errors
/// When an argument is out of range.
pub fn power_of_t(
    design: Design,
    tails: Tails,
    d: f64,
    alpha: f64,
    n: usize,
) -> Result<f64, StatsError> {
    check(d, alpha)?;
    error::within("the number of results", n as f64, n >= 2, "at least 2")?;
    Ok(power_at(design, tails, d, alpha, n as f64))
}

fn check(d: f64, alpha: f64) -> Result<(), StatsError> {
    error::finite("the difference", &[d])?;
    error::probability("alpha", alpha)
}

fn power_at(design: Design, tails: Tails, d: f64, alpha: f64, n: f64) -> f64 {
    let (factor, freedom) = design.factor_and_freedom(n);
    let delta = d.abs() * factor;
    let tail = if tails == Tails::Two { 0.5 * alpha } else { alpha };
    let critical = -t::quantile(tail, freedom);
    // P(T > t; δ) = P(T < -t; -δ), which keeps its digits when it is small.
    let right = noncentral_t::integral(-critical, freedom, -delta);
    let wrong = match tails {
        Tails::One => 0.0,
        Tails::Two => noncentral_t::integral(-critical, freedom, delta),
    };
    (right + wrong).min(1.0)
}

/// The number of results (in each set) with which a t test at `alpha` finds a difference of `d`
/// standard deviations with probability `power`: as a real number, and rounded up.
///
/// # Errors
/// When an argument is out of range, `d` is zero, or no number in reach suffices.
pub fn sample_size_for_t(
    design: Design,
    tails: Tails,
    d: f64,
    alpha: f64,
    power: f64,
) -> Result<(f64, usize), StatsError> {
    check(d, alpha)?;
    error::probability("the power", power)?;
    if d == 0.0 {
        return Err(Undefined::Because("no number of results finds a difference of zero").into());
    }
    let reached = |n: f64| power_at(design, tails, d, alpha, n);
    let n = minimum_where(2, 1 << 30, |n| Ok(reached(n as f64) >= power))?;
    // Between the number before and this one lies the real solution; below two results there is
    // no standard deviation and none is looked for.
    let real = if n == 2 { 2.0 } else { root((n - 1) as f64, n as f64, |n| reached(n) - power)? };
    Ok((real, n))
}

/// Probability that a two-sided F test at `alpha` with `n` results in each set finds variances that
/// differ by the factor `ratio`.
///
/// # Errors
/// When an argument is out of range.
pub fn power_of_f(ratio: f64, alpha: f64, n: usize) -> Result<f64, StatsError> {
    error::positive("the ratio of the variances", ratio)?;
    error::probability("alpha", alpha)?;
    error::within("the number of results", n as f64, n >= 2, "at least 2")?;
    let freedom = (n - 1) as f64;
    let critical = checked(f::upper_quantile(0.5 * alpha, freedom, freedom))?;
    let power = f::above(critical / ratio, freedom, freedom)
        + f::below(1.0 / (critical * ratio), freedom, freedom);
    Ok(power.min(1.0))
}

/// The smallest number of results in each set with which a two-sided F test at `alpha` finds
/// variances that differ by the factor `ratio` with probability `power`.
///
/// # Errors
/// When an argument is out of range, the ratio is 1, or no number in reach suffices.
pub fn sample_size_for_f(ratio: f64, alpha: f64, power: f64) -> Result<usize, StatsError> {
    error::probability("the power", power)?;
    if ratio == 1.0 {
        let why = "no number of results finds equal variances to differ";
        return Err(Undefined::Because(why).into());
    }
    minimum_where(2, 1 << 20, |n| Ok(power_of_f(ratio, alpha, n)? >= power))
}
