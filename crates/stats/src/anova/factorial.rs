//! Several crossed factors, fixed: with their interactions of two, or main effects alone (randomized
//! blocks, Latin squares).
//!
//! Sums of squares are sequential, in the order the factors are given, from one least-squares fit.
//! In a balanced layout the order does not matter; [`factorial`] says when it does.

use std::collections::BTreeMap;

use super::table::{Row, Table};
use crate::error::{self, StatsError, Undefined, checked};
use crate::number::{self, Dd};
use crate::regression::{Failure, decompose};

/// A factor: its name and the level of each observation.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor<'a> {
    /// Name of the factor.
    pub name: &'a str,
    /// The level of each observation.
    pub levels: &'a [String],
}

/// Which interactions are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Interactions {
    /// None: what the factors do not explain is error.
    None,
    /// Every pair of factors.
    Pairs,
}

/// A table, with a word on the layout.
#[derive(Debug, Clone, PartialEq)]
pub struct Factorial {
    /// Main effects, interactions, error, total.
    pub table: Table,
    /// Whether every pair of levels of two factors occurs equally often: then the order of the
    /// factors does not matter.
    pub balanced: bool,
}

/// More columns than this make the fit slow; no laboratory's design comes near.
const MOST_COLUMNS: usize = 400;

/// Analyses a response by one to five factors.
///
/// # Errors
/// When lengths differ, a value is not finite, a factor has one level only, a combination needed for
/// an interaction has no value, or there are too many levels.
pub fn factorial(
    response: &[f64],
    factors: &[Factor<'_>],
    interactions: Interactions,
) -> Result<Factorial, StatsError> {
    error::at_least("response", 2, response)?;
    let good = (1..=5).contains(&factors.len());
    error::within("the number of factors", factors.len() as f64, good, "from 1 to 5")?;
    let coded = factors
        .iter()
        .map(|factor| Coded::new(factor, response.len()))
        .collect::<Result<Vec<Coded>, StatsError>>()?;
    let mut sources: Vec<(String, Vec<Vec<Dd>>)> =
        coded.iter().map(|c| (c.name.clone(), c.columns.clone())).collect();
    if interactions == Interactions::Pairs {
        for (i, a) in coded.iter().enumerate() {
            for b in &coded[i + 1..] {
                let products = a
                    .columns
                    .iter()
                    .flat_map(|x| b.columns.iter().map(|y| product(x, y)))
                    .collect();
                sources.push((format!("{} × {}", a.name, b.name), products));
            }
        }
    }
    let table = fit(response, sources)?;
    Ok(Factorial { table, balanced: balanced(&coded) })
}

fn product(x: &[Dd], y: &[Dd]) -> Vec<Dd> {
    x.iter().zip(y).map(|(&x, &y)| x * y).collect()
}

/// A factor as contrasts: one column for each level but the last, which is -1 in all of them.
struct Coded {
    name: String,
    columns: Vec<Vec<Dd>>,
    level_of: Vec<usize>,
    levels: usize,
}

impl Coded {
    fn new(factor: &Factor<'_>, n: usize) -> Result<Self, StatsError> {
        if factor.levels.len() != n {
            return Err(StatsError::UnequalLengths {
                what: "a factor and the response",
                left: factor.levels.len(),
                right: n,
            });
        }
        let mut known = BTreeMap::new();
        let level_of: Vec<usize> = factor
            .levels
            .iter()
            .map(|level| {
                let next = known.len();
                *known.entry(level).or_insert(next)
            })
            .collect();
        let levels = known.len();
        if levels < 2 {
            let text = format!(
                "the factor {} has one level only, so nothing can be compared",
                factor.name
            );
            return Err(StatsError::Layout(text));
        }
        if levels > MOST_COLUMNS {
            let text = format!(
                "the factor {} has {levels} levels; at most {MOST_COLUMNS} can be analysed (is it a \
                 measured value?)",
                factor.name
            );
            return Err(StatsError::Layout(text));
        }
        let columns = (0..levels - 1)
            .map(|column| {
                let code = |&level: &usize| {
                    if level == column {
                        Dd::from(1.0)
                    } else if level == levels - 1 {
                        Dd::from(-1.0)
                    } else {
                        Dd::ZERO
                    }
                };
                level_of.iter().map(code).collect()
            })
            .collect();
        Ok(Self { name: factor.name.to_string(), columns, level_of, levels })
    }
}

fn fit(response: &[f64], sources: Vec<(String, Vec<Vec<Dd>>)>) -> Result<Table, StatsError> {
    let n = response.len();
    // The mean goes first and from the response as well, so that a common offset costs no digits.
    let centre = number::mean(response);
    let y: Vec<Dd> = response.iter().map(|&v| Dd::from(v) - centre).collect();
    let total: Dd = y.iter().map(|v| v.squared()).sum();
    let mut columns = vec![vec![Dd::from(1.0); n]];
    let mut ends = Vec::new();
    for (_, of_source) in &sources {
        columns.extend(of_source.iter().cloned());
        ends.push(columns.len());
    }
    if columns.len() > MOST_COLUMNS {
        return Err(StatsError::Layout(format!(
            "these factors have {} combinations; at most {MOST_COLUMNS} can be analysed",
            columns.len()
        )));
    }
    if columns.len() > n {
        return Err(StatsError::Layout(format!(
            "{} values cannot separate {} effects; leave interactions out or measure more",
            n,
            columns.len()
        )));
    }
    let count = columns.len();
    let decomposition = decompose(columns, y).map_err(|failure| match failure {
        Failure::Dependent(column) => {
            let source = ends.iter().position(|end| column < *end).unwrap_or(0);
            StatsError::Layout(format!(
                "{} cannot be told apart from the sources before it: some combination of levels has \
                 no value",
                sources[source].0
            ))
        }
        Failure::Undefined(why) => why.into(),
    })?;
    let error = Row::plain("error", n - count, checked(decomposition.residual_squares.to_f64())?);
    let mut rows = Vec::new();
    let mut start = 1;
    for ((name, _), end) in sources.iter().zip(ends) {
        let squares: Dd = decomposition.effects[start..end].iter().map(|e| e.squared()).sum();
        rows.push(Row::plain(name, end - start, checked(squares.to_f64())?).against(&error));
        start = end;
    }
    rows.push(error);
    rows.push(Row::plain("total", n - 1, checked(total.to_f64())?));
    if rows.iter().all(|row| row.sum_of_squares == 0.0) {
        return Err(Undefined::NoVariation { what: "the response" }.into());
    }
    Ok(Table { rows })
}

fn balanced(coded: &[Coded]) -> bool {
    let even = |counts: Vec<usize>| counts.windows(2).all(|pair| pair[0] == pair[1]);
    let of_pair = |a: &Coded, b: &Coded| {
        let mut counts = vec![0; a.levels * b.levels];
        for (i, j) in a.level_of.iter().zip(&b.level_of) {
            counts[i * b.levels + j] += 1;
        }
        even(counts)
    };
    let mut single = vec![0; coded[0].levels];
    coded[0].level_of.iter().for_each(|i| single[*i] += 1);
    even(single)
        && coded.iter().enumerate().all(|(i, a)| coded[i + 1..].iter().all(|b| of_pair(a, b)))
}
