//! Grubbs' tests on the laboratories' means: one extreme value, or the two largest or smallest
//! together (F. E. Grubbs, Annals of Mathematical Statistics 21 (1950) 27-58; ISO 5725-2).

use super::Verdict;
use crate::describe::sorted;
use crate::distribution::t;
use crate::error::{self, Figure, StatsError, Undefined, checked, ratio};
use crate::number::{self, legendre, root};

/// The outcome of the test of the most extreme value.
#[derive(Debug, Clone, PartialEq)]
pub struct Grubbs {
    /// Which value, counted from 1.
    pub index: usize,
    /// The value.
    pub value: f64,
    /// Its distance from the mean in standard deviations.
    pub statistic: f64,
    /// Critical value at 5 %, two-sided.
    pub critical_5: f64,
    /// Critical value at 1 %, two-sided.
    pub critical_1: f64,
    /// At most this is the probability of so large a statistic by chance (two-sided).
    pub p: f64,
    /// What follows.
    pub verdict: Verdict,
}

/// The outcome of the test of the two largest or the two smallest.
#[derive(Debug, Clone, PartialEq)]
pub struct GrubbsPair {
    /// Which values, counted from 1.
    pub indexes: [usize; 2],
    /// Sum of squares without them over that with them: small values speak against them.
    pub statistic: f64,
    /// Critical value at 5 %, both ends allowed for.
    pub critical_5: f64,
    /// Critical value at 1 %.
    pub critical_1: f64,
    /// What follows.
    pub verdict: Verdict,
}

/// Critical value for one extreme of `n` >= 3 values; two-sided means that the extreme may lie at
/// either end.
///
/// # Errors
/// `Undefined` for fewer than three values.
pub fn grubbs_critical(n: usize, alpha: f64, two_sided: bool) -> Figure {
    if n < 3 {
        return Err(Undefined::TooFew { need: 3, got: n });
    }
    let count = n as f64;
    let tail = alpha / if two_sided { 2.0 * count } else { count };
    let t = -t::quantile(tail, count - 2.0);
    checked((count - 1.0) / count.sqrt() * (t * t / (count - 2.0 + t * t)).sqrt())
}

/// Tests the value farthest from the mean.
///
/// # Errors
/// When there are fewer than three values, one is not finite, or they do not vary.
pub fn grubbs(values: &[f64]) -> Result<Grubbs, StatsError> {
    error::at_least("values", 3, values)?;
    let n = values.len();
    let (mean, squares) = number::mean_and_squares(values);
    let mean = checked(mean.to_f64())?;
    let s = checked((squares.to_f64() / (n - 1) as f64).sqrt())?;
    let away = |i: usize| (values[i] - mean).abs();
    let index = (0..n).fold(0, |a, b| if away(b) > away(a) { b } else { a });
    let statistic = ratio(away(index), s, "the list of values")?;
    let (critical_5, critical_1) =
        (grubbs_critical(n, 0.05, true)?, grubbs_critical(n, 0.01, true)?);
    Ok(Grubbs {
        index: index + 1,
        value: values[index],
        statistic,
        critical_5,
        critical_1,
        p: tail(statistic, n),
        verdict: Verdict::new(statistic > critical_5, statistic > critical_1),
    })
}

/// Bonferroni's bound for the probability of a statistic at least this large at either end.
fn tail(statistic: f64, n: usize) -> f64 {
    let count = n as f64;
    let share = statistic * statistic * count / ((count - 1.0) * (count - 1.0));
    if share >= 1.0 {
        return 0.0;
    }
    let t = ((count - 2.0) * share / (1.0 - share)).sqrt();
    (2.0 * count * t::above(t, count - 2.0)).min(1.0)
}

/// Tests the two largest and the two smallest, and reports the pair that stands out more.
///
/// # Errors
/// When there are fewer than four values, one is not finite, or they do not vary.
pub fn grubbs_pair(values: &[f64]) -> Result<GrubbsPair, StatsError> {
    error::at_least("values", 4, values)?;
    let n = values.len();
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let in_order = sorted(values);
    let squares = |part: &[f64]| number::mean_and_squares(part).1.to_f64();
    let total = checked(squares(values))?;
    let low = ratio(squares(&in_order[2..]), total, "the list of values")?;
    let high = ratio(squares(&in_order[..n - 2]), total, "the list of values")?;
    let (statistic, pair) =
        if low < high { (low, [order[0], order[1]]) } else { (high, [order[n - 2], order[n - 1]]) };
    let (critical_5, critical_1) = (grubbs_pair_critical(n, 0.05)?, grubbs_pair_critical(n, 0.01)?);
    Ok(GrubbsPair {
        indexes: [pair[0] + 1, pair[1] + 1],
        statistic,
        critical_5,
        critical_1,
        verdict: Verdict::new(statistic < critical_5, statistic < critical_1),
    })
}

/// Critical value of the pair statistic for `n` from 4 to 200 values at `alpha`, either end.
///
/// No closed form exists, and the printed tables stop at forty. For one given pair the statistic
/// is Beta((n-3)/2, 1) and independent of the direction in which the pair lies; the pair counts
/// only if it lies beyond the largest of the rest. So the probability is a one-dimensional
/// integral over that direction, averaged over the shape of the rest, and only that average is
/// sampled (with a fixed sequence, hence the same answer every time). The values of ISO 5725-2 come
/// out within 1 in the third decimal.
///
/// # Errors
/// `Undefined` outside 4 to 200.
pub fn grubbs_pair_critical(n: usize, alpha: f64) -> Figure {
    if n < 4 {
        return Err(Undefined::TooFew { need: 4, got: n });
    }
    if n > 200 {
        return Err(Undefined::Because("the test of a pair is offered for up to 200 values"));
    }
    let extremes = extremes_of_rest(n - 2);
    let pairs = 0.5 * n as f64 * (n - 1) as f64;
    root(0.0, 1.0, |g| pairs * chance_of_pair(g, n, &extremes) - 0.5 * alpha)
}

/// P(a given pair is the top two and its statistic is below `g`).
fn chance_of_pair(g: f64, n: usize, extremes: &[f64]) -> f64 {
    let count = n as f64;
    let power = 0.5 * (count - 3.0);
    // With v along the mean of the pair and u along its difference, both of unit variance, the
    // smaller of the two lies c v - |u|/√2 above the mean of the rest.
    let c = (0.5 + 1.0 / (count - 2.0)).sqrt();
    let widest = libm::atan(c * std::f64::consts::SQRT_2);
    let nodes = legendre(24).on(0.0, widest);
    let average = nodes.integrate(|angle| {
        let reach = c * libm::cos(angle) - libm::sin(angle) * std::f64::consts::FRAC_1_SQRT_2;
        extremes
            .iter()
            .map(|a| {
                let most = reach * reach / (reach * reach + a * a);
                libm::pow(g.min(most), power)
            })
            .sum::<f64>()
            / extremes.len() as f64
    });
    average / std::f64::consts::PI
}

/// Largest deviation from the mean over the root of the sum of squares, for `m` normal values:
/// 100 middle quantiles of a fixed sample.
fn extremes_of_rest(m: usize) -> Vec<f64> {
    use rand_xoshiro::Xoshiro256PlusPlus;
    use rand_xoshiro::rand_core::{Rng, SeedableRng};

    const GROUPS: usize = 100;
    const EACH: usize = 60;
    let mut stream = Xoshiro256PlusPlus::seed_from_u64(5725);
    let mut found: Vec<f64> = (0..GROUPS * EACH)
        .map(|_| {
            let values: Vec<f64> = (0..m)
                .map(|_| {
                    let u = ((stream.next_u64() >> 11) as f64 + 0.5) / (1u64 << 53) as f64;
                    crate::distribution::normal::quantile(u)
                })
                .collect();
            let (mean, squares) = number::mean_and_squares(&values);
            let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (most - mean.to_f64()) / squares.to_f64().sqrt()
        })
        .collect();
    found.sort_by(f64::total_cmp);
    found.into_iter().skip(EACH / 2).step_by(EACH).collect()
}
