//! One factor, groups of any size. Sums at twice double precision: the certified sets of NIST with
//! twelve constant leading digits lose nothing here that the doubles still hold.

use super::table::{Component, Row, Table};
use crate::error::{self, Figure, StatsError, checked};
use crate::number::{self, Dd};

/// A one-way analysis.
#[derive(Debug, Clone, PartialEq)]
pub struct OneWay {
    /// Between, within, total.
    pub table: Table,
    /// Share of the variation between groups.
    pub r_squared: Figure,
    /// √ of the mean square within.
    pub residual_standard_deviation: Figure,
    /// Components when the groups are a random choice: between (by the effective group size) and
    /// within.
    pub components: Vec<Component>,
    /// Means of the groups.
    pub means: Vec<f64>,
    /// Sizes of the groups.
    pub sizes: Vec<usize>,
}

/// Analyses groups.
///
/// # Errors
/// When there are fewer than two groups, one is empty, or a value is not finite.
pub fn one_way(groups: &[Vec<f64>]) -> Result<OneWay, StatsError> {
    if groups.len() < 2 {
        return Err(StatsError::TooFew { what: "groups", need: 2, got: groups.len() });
    }
    groups.iter().try_for_each(|g| error::at_least("a group", 1, g))?;
    let n: usize = groups.iter().map(Vec::len).sum();
    let mean = number::sum(groups.iter().flatten().copied()) / Dd::from(n as f64);
    let parts: Vec<(Dd, Dd)> = groups.iter().map(|g| number::mean_and_squares(g)).collect();
    let within: Dd = parts.iter().map(|p| p.1).sum();
    let between: Dd = parts
        .iter()
        .zip(groups)
        .map(|(p, g)| (p.0 - mean).squared() * Dd::from(g.len() as f64))
        .sum();
    let total = between + within;
    let k = groups.len();
    let error = Row::plain("within", n - k, checked(within.to_f64())?);
    let first = Row::plain("between", k - 1, checked(between.to_f64())?).against(&error);
    let squares: f64 = groups.iter().map(|g| (g.len() * g.len()) as f64).sum();
    let size = (n as f64 - squares / n as f64) / (k - 1) as f64;
    Ok(OneWay {
        r_squared: error::ratio(1.0, total.to_f64(), "the response")
            .and_then(|_| checked((between / total).to_f64())),
        residual_standard_deviation: error.mean_square.clone().map(f64::sqrt),
        components: vec![
            Component::new("between", &first.mean_square, &error.mean_square, size),
            Component::plain("within", &error.mean_square),
        ],
        means: parts.iter().map(|p| p.0.to_f64()).collect(),
        sizes: groups.iter().map(Vec::len).collect(),
        table: Table {
            rows: vec![first, error, Row::plain("total", n - 1, checked(total.to_f64())?)],
        },
    })
}
