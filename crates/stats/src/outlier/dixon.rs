//! Dixon's ratios, with critical values computed and not tabulated.
//!
//! W. J. Dixon, Biometrics 9 (1953) 74-89; the distribution by two-dimensional quadrature, after the
//! densities in G. C. McBane, Journal of Statistical Software 16 (2006), issue 3. The classical tables,
//! copied for seventy years, are off by up to 0.006 at four and by 0.003 at six values; D. B.
//! Rorabacher's of 1991 keep some of that.

use crate::describe::sorted;
use crate::distribution::normal;
use crate::error::{self, Figure, StatsError, Undefined, ratio};
use crate::number::{Nodes, legendre, panels, root};

/// Which ratio: how many values count at the suspected end, and how many are left out at the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ratio {
    /// Gap to the nearest over the whole range; 3 to 7 values.
    R10,
    /// Gap to the nearest over the range without the other extreme; 8 to 10 values.
    R11,
    /// Gap to the second nearest over the range without the other extreme; 11 to 13 values.
    R21,
    /// Gap to the second nearest over the range without two at the other end; 14 to 100 values.
    R22,
}

impl Ratio {
    /// The ratio that Dixon recommends for `n` values.
    ///
    /// # Errors
    /// `Undefined` outside 3 to 100.
    pub fn for_count(n: usize) -> Result<Self, Undefined> {
        match n {
            0..3 => Err(Undefined::TooFew { need: 3, got: n }),
            3..=7 => Ok(Self::R10),
            8..=10 => Ok(Self::R11),
            11..=13 => Ok(Self::R21),
            14..=100 => Ok(Self::R22),
            _ => Err(Undefined::Because("Dixon's test is offered for up to 100 values")),
        }
    }

    /// Values in the numerator's gap and values left out at the other end.
    fn numbers(self) -> (usize, usize) {
        match self {
            Self::R10 => (1, 0),
            Self::R11 => (1, 1),
            Self::R21 => (2, 1),
            Self::R22 => (2, 2),
        }
    }

    /// The usual name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::R10 => "r10",
            Self::R11 => "r11",
            Self::R21 => "r21",
            Self::R22 => "r22",
        }
    }
}

/// The outcome, for the end that stands out more.
#[derive(Debug, Clone, PartialEq)]
pub struct Dixon {
    /// Which ratio was used.
    pub ratio: Ratio,
    /// The ratio at the low end.
    pub low: f64,
    /// The ratio at the high end.
    pub high: f64,
    /// Which value is suspected, counted from 1.
    pub index: usize,
    /// The value.
    pub value: f64,
    /// Critical ratio at alpha, either end.
    pub critical: f64,
    /// Probability of so large a ratio at either end by chance.
    pub p: f64,
    /// Whether it is significant.
    pub outlier: bool,
}

/// Tests the more suspicious end of 3 to 100 values at `alpha`, two-sided: each end has half of it.
///
/// # Errors
/// When the number of values is out of range, one is not finite, or they do not vary.
pub fn dixon(values: &[f64], alpha: f64) -> Result<Dixon, StatsError> {
    error::at_least("values", 3, values)?;
    error::probability("alpha", alpha)?;
    let n = values.len();
    let kind = Ratio::for_count(n)?;
    let (near, far) = kind.numbers();
    let order = sorted(values);
    let low = ratio(order[near] - order[0], order[n - 1 - far] - order[0], "the list of values")?;
    let high =
        ratio(order[n - 1] - order[n - 1 - near], order[n - 1] - order[far], "the list of values")?;
    let (statistic, value) = if low > high { (low, order[0]) } else { (high, order[n - 1]) };
    let critical = dixon_critical(n, 0.5 * alpha)?;
    let table = Table::new(n, kind);
    Ok(Dixon {
        ratio: kind,
        low,
        high,
        index: values.iter().position(|v| *v == value).unwrap_or(0) + 1,
        value,
        critical,
        p: (2.0 * table.above(statistic)).clamp(0.0, 1.0),
        outlier: statistic > critical,
    })
}

/// Critical ratio for `n` from 3 to 100 values at one end with probability `tail`.
///
/// # Errors
/// `Undefined` outside 3 to 100, or for a tail that is not between 0 and 1.
pub fn dixon_critical(n: usize, tail: f64) -> Figure {
    let kind = Ratio::for_count(n)?;
    if !(tail > 0.0 && tail < 1.0) {
        return Err(Undefined::Because("the level has to lie above 0 and below 1"));
    }
    let table = Table::new(n, kind);
    root(0.0, 1.0, |r| table.above(r) - tail)
}

/// Everything about the two outer values that does not depend on the ratio asked for.
struct Table {
    /// For each pair of places: x, the distance to the other end, the probability between,
    /// and the weight.
    places: Vec<[f64; 4]>,
    between: usize,
    near: usize,
}

impl Table {
    /// The density of the largest value x and of the value x - v from which the denominator is
    /// measured, on a grid.
    fn new(n: usize, kind: Ratio) -> Self {
        let (near, far) = kind.numbers();
        // Values strictly between the two.
        let between = n - 2 - far;
        let mut ln_front = 0.0;
        for i in between + 1..=n {
            ln_front += libm::log(i as f64);
        }
        for i in 2..=far {
            ln_front -= libm::log(i as f64);
        }
        let front = libm::exp(ln_front);
        let outer: Nodes = panels(20, &[-7.0, -3.0, -1.0, 0.5, 2.0, 4.0, 8.5]);
        let inner = legendre(20);
        let mut places = Vec::with_capacity(outer.len() * 60);
        for (x, weight) in outer.iter() {
            let reach = x + 8.5;
            for edge in [(0.0, 0.15), (0.15, 0.45), (0.45, 1.0)] {
                for (v, inner_weight) in inner.on(edge.0 * reach, edge.1 * reach).iter() {
                    let other = normal::below(x - v);
                    let share = normal::between(x - v, x);
                    let density = front
                        * other.powi(far as i32)
                        * share.powi(between as i32)
                        * normal::density(x)
                        * normal::density(x - v);
                    let total = weight * inner_weight * density;
                    if total > 1e-16 {
                        places.push([x, v, share, total]);
                    }
                }
            }
        }
        Self { places, between, near }
    }

    /// P(ratio > r): given both outer values, those between are independent, and the ratio exceeds r
    /// when fewer than `near` of them lie within r v of the largest.
    fn above(&self, r: f64) -> f64 {
        if r <= 0.0 {
            return 1.0;
        }
        if r >= 1.0 {
            return 0.0;
        }
        let count = self.between as i32;
        let total: f64 = self
            .places
            .iter()
            .map(|&[x, v, share, weight]| {
                let p = (normal::between(x - r * v, x) / share).clamp(0.0, 1.0);
                let rest = 1.0 - p;
                let mut chance = rest.powi(count);
                if self.near == 2 {
                    chance += f64::from(count) * p * rest.powi(count - 1);
                }
                weight * chance
            })
            .sum();
        total.clamp(0.0, 1.0)
    }
}
