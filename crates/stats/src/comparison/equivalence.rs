//! Equivalence by two one-sided tests (D. J. Schuirmann, Journal of Pharmacokinetics and
//! Biopharmaceutics 15 (1987) 657-680): not "no difference was found" but "a difference beyond the
//! bounds is excluded". Its power is exact: the probability that both tests reject, integrated over
//! the standard deviation that will be found (D. B. Owen, Biometrika 52 (1965) 437-446; K. F. Phillips,
//! Journal of Pharmacokinetics and Biopharmaceutics 18 (1990) 137-144).

use super::paired::differences;
use super::power::Design;
use super::two_samples::welch;
use crate::describe;
use crate::distribution::{chi_squared, normal, t};
use crate::error::{self, Figure, StatsError, Undefined, checked, ratio};
use crate::number::{minimum_where, panels};
use crate::regression::Interval;

/// Differences that would still not matter, in the unit of the results.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    lower: f64,
    upper: f64,
}

impl Bounds {
    /// Bounds around no difference, or around wherever the application puts them.
    ///
    /// # Errors
    /// When one is not finite or they are not in order.
    pub fn new(lower: f64, upper: f64) -> Result<Self, StatsError> {
        error::finite("bounds", &[lower, upper])?;
        error::within("the lower bound", lower, lower < upper, "below the upper bound")?;
        Ok(Self { lower, upper })
    }
}

/// The outcome.
#[derive(Debug, Clone, PartialEq)]
pub struct Equivalence {
    /// Difference of the means, first less second.
    pub difference: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Degrees of freedom.
    pub freedom: f64,
    /// t of the difference against no difference, with its two-sided probability.
    pub t: Figure,
    /// See `t`.
    pub p_difference: Figure,
    /// t against the lower bound.
    pub t_lower: Figure,
    /// Probability of it if the difference were at the lower bound.
    pub p_lower: Figure,
    /// t against the upper bound.
    pub t_upper: Figure,
    /// Probability of it if the difference were at the upper bound.
    pub p_upper: Figure,
    /// The larger of the two.
    pub p: Figure,
    /// Interval at level 1 - 2 alpha: equivalent means that it lies within the bounds.
    pub interval: Interval,
    /// Whether equivalence is shown at alpha.
    pub equivalent: bool,
}

/// Tests two independent sets for equivalence at `alpha`, with separate variances (Welch) or, where
/// `pooled`, with a common one.
///
/// # Errors
/// When a set has fewer than two values, one is not finite, or `alpha` is not between 0 and 0.5.
pub fn equivalence_of_two(
    a: &[f64],
    b: &[f64],
    bounds: Bounds,
    alpha: f64,
    pooled: bool,
) -> Result<Equivalence, StatsError> {
    error::at_least("the first set", 2, a)?;
    error::at_least("the second set", 2, b)?;
    let sizes = [a.len() as f64, b.len() as f64];
    let variances = [describe::variance(a)?, describe::variance(b)?];
    let difference = checked(describe::mean(a)? - describe::mean(b)?)?;
    let all = sizes[0] + sizes[1] - 2.0;
    let (square, freedom) = if pooled {
        let common = ((sizes[0] - 1.0) * variances[0] + (sizes[1] - 1.0) * variances[1]) / all;
        (common * (1.0 / sizes[0] + 1.0 / sizes[1]), all)
    } else {
        let parts = [variances[0] / sizes[0], variances[1] / sizes[1]];
        (parts[0] + parts[1], welch(parts, sizes).unwrap_or(all))
    };
    two_one_sided(difference, square.sqrt(), freedom, bounds, alpha)
}

/// Tests pairs for equivalence at `alpha`.
///
/// # Errors
/// When there are fewer than two pairs, the columns differ in length, a value is not finite, or
/// `alpha` is not between 0 and 0.5.
pub fn equivalence_of_paired(
    a: &[f64],
    b: &[f64],
    bounds: Bounds,
    alpha: f64,
) -> Result<Equivalence, StatsError> {
    let differences = differences(a, b)?;
    let n = differences.len() as f64;
    let standard_error = describe::standard_deviation(&differences)? / n.sqrt();
    two_one_sided(describe::mean(&differences)?, standard_error, n - 1.0, bounds, alpha)
}

fn two_one_sided(
    difference: f64,
    standard_error: f64,
    freedom: f64,
    bounds: Bounds,
    alpha: f64,
) -> Result<Equivalence, StatsError> {
    error::within("alpha", alpha, alpha > 0.0 && alpha < 0.5, "above 0 and below 0.5")?;
    let standard_error = checked(standard_error)?;
    let over = |gap: f64| ratio(gap, standard_error, "either set");
    let t = over(difference);
    let t_lower = over(difference - bounds.lower);
    let t_upper = over(difference - bounds.upper);
    let p_lower = t_lower.clone().map(|t| t::above(t, freedom));
    let p_upper = t_upper.clone().map(|t| t::below(t, freedom));
    let p = p_lower.clone().and_then(|l| p_upper.clone().map(|u| l.max(u)));
    let half = -t::quantile(alpha, freedom) * standard_error;
    let interval = Interval::about(difference, half)?;
    Ok(Equivalence {
        difference,
        standard_error,
        freedom,
        p_difference: t.clone().map(|t| t::two_sided(t, freedom)),
        t,
        t_lower,
        p_lower,
        t_upper,
        p_upper,
        p,
        equivalent: interval.lower > bounds.lower && interval.upper < bounds.upper,
        interval,
    })
}

/// Probability that equivalence will be shown when the true difference is `difference`, its estimate
/// has the true standard error `standard_error`, and the standard deviation rests on `freedom` degrees
/// of freedom.
///
/// # Errors
/// When a number is not finite, the standard error or the freedom is not above zero, or `alpha` is
/// not between 0 and 0.5.
pub fn exact_power(
    difference: f64,
    standard_error: f64,
    freedom: f64,
    bounds: Bounds,
    alpha: f64,
) -> Result<f64, StatsError> {
    error::finite("the difference", &[difference])?;
    error::positive("the standard error", standard_error)?;
    error::freedom(freedom)?;
    error::within("alpha", alpha, alpha > 0.0 && alpha < 0.5, "above 0 and below 0.5")?;
    let critical = -t::quantile(alpha, freedom);
    let low = (bounds.lower - difference) / standard_error;
    let high = (bounds.upper - difference) / standard_error;
    // Beyond this standard deviation the two tests can no longer both reject.
    let widest = (high - low) / (2.0 * critical);
    let (start, end) = chi_squared::range_of_s(freedom);
    let end = end.min(widest);
    if end <= start {
        return Ok(0.0);
    }
    let breaks: Vec<f64> = (0..=24).map(|i| start + (end - start) * f64::from(i) / 24.0).collect();
    let power = panels(12, &breaks).integrate(|s| {
        let inside = normal::between(low + critical * s, high - critical * s);
        inside.max(0.0) * chi_squared::density_of_s(s, freedom)
    });
    Ok(power.clamp(0.0, 1.0))
}

/// The smallest number of results (in each set, or of pairs) with which equivalence is shown with
/// probability `power`, for a true `difference` and a standard deviation `sd` of single results (of
/// differences for pairs); with the power that it has.
///
/// # Errors
/// When an argument is out of range, or the difference is so close to a bound that no number of
/// results in reach suffices.
pub fn sample_size_for_equivalence(
    design: Design,
    difference: f64,
    sd: f64,
    bounds: Bounds,
    alpha: f64,
    power: f64,
) -> Result<(usize, f64), StatsError> {
    error::positive("the standard deviation", sd)?;
    error::probability("the power", power)?;
    let inside = difference > bounds.lower && difference < bounds.upper;
    if !inside {
        let why = "a true difference at or beyond a bound can never be shown to lie within";
        return Err(Undefined::Because(why).into());
    }
    let reached = |n: usize| {
        let (factor, freedom) = design.factor_and_freedom(n as f64);
        exact_power(difference, sd / factor, freedom, bounds, alpha)
    };
    let n = minimum_where(2, 1 << 24, |n| Ok(reached(n)? >= power))?;
    Ok((n, reached(n)?))
}

/// Tests a set against a reference value for equivalence at `alpha`: the standard uncertainty of the
/// value is part of the standard error, and is taken as known without doubt, so that the degrees of
/// freedom grow with it (JCGM 100:2008, G.4.1).
///
/// # Errors
/// When the set has fewer than two values, one is not finite, the uncertainty is below zero, or
/// `alpha` is not between 0 and 0.5.
pub fn equivalence_to_reference(
    values: &[f64],
    (reference, uncertainty): (f64, f64),
    bounds: Bounds,
    alpha: f64,
) -> Result<Equivalence, StatsError> {
    error::at_least("the results", 2, values)?;
    error::finite("the reference value", &[reference])?;
    error::not_negative("its uncertainty", uncertainty)?;
    let n = values.len() as f64;
    let own = describe::variance(values)? / n;
    let all = own + uncertainty * uncertainty;
    let freedom = match own > 0.0 {
        true => ((n - 1.0) * (all / own) * (all / own)).min(MOST_FREEDOM),
        false => MOST_FREEDOM,
    };
    let difference = checked(describe::mean(values)? - reference)?;
    two_one_sided(difference, all.sqrt(), freedom, bounds, alpha)
}

/// Degrees of freedom from which the t distribution is the normal one for every purpose.
const MOST_FREEDOM: f64 = 1e9;
