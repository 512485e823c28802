//! What each factor of a study does: its mean square adjusted for the other factors, the means of its
//! levels, all differences between them at a common confidence, and what the model leaves.
//!
//! In a balanced layout this is the textbook analysis. Where runs are missing, each factor is tested
//! with the others taken into account first, means are those of a level with the other factors
//! averaged (least-squares means), and interactions are left out (D. C. Montgomery, Design and
//! Analysis of Experiments, sections 4.1 and 5.3 on missing values; 3.5 for the comparisons).

use super::factorial::{Factor, Interactions, factorial};
use super::table::Table;
use super::tukey::Difference;
use crate::distribution::studentized_range;
use crate::error::{self, StatsError, Undefined, checked, ratio};
use crate::regression::{Design, Fit, Interval, fit};

/// One level of a factor.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Its name.
    pub name: String,
    /// How many results it has.
    pub results: usize,
    /// Its mean, with the other factors averaged.
    pub mean: f64,
}

/// One factor.
#[derive(Debug, Clone, PartialEq)]
pub struct FactorEffect {
    /// Its name.
    pub name: String,
    /// Its levels, in the order in which they first come.
    pub levels: Vec<Level>,
    /// All differences of two levels: second less first.
    pub differences: Vec<Difference>,
    /// Half of what two levels have to differ by to be told apart: intervals of this half width about
    /// the means overlap unless the levels differ. With missing runs the mean over all pairs.
    pub half_width: f64,
}

/// The analysis of all factors.
#[derive(Debug, Clone, PartialEq)]
pub struct Effects {
    /// Main effects, interactions, error, total. Where the layout is not balanced, the sums of squares
    /// of the factors are adjusted and do not add up to the total.
    pub table: Table,
    /// Whether every pair of levels of two factors occurs equally often.
    pub balanced: bool,
    /// Whether interactions were left out because runs are missing.
    pub interactions_left_out: bool,
    /// Each factor.
    pub factors: Vec<FactorEffect>,
    /// Standard deviation of what the model leaves.
    pub residual_standard_deviation: f64,
    /// Its degrees of freedom.
    pub freedom: usize,
    /// What the model leaves of each value, in the order of the values.
    pub residuals: Vec<f64>,
}

/// Analyses the factors of a study, differences at `level` (0 to 1).
///
/// # Errors
/// As [`factorial`], and when no degree of freedom is left for the error.
pub fn effects(
    response: &[f64],
    factors: &[Factor<'_>],
    interactions: Interactions,
    level: f64,
) -> Result<Effects, StatsError> {
    error::probability("the level", level)?;
    let main = factorial(response, factors, Interactions::None)?;
    let wanted = interactions == Interactions::Pairs && factors.len() > 1;
    let with_pairs = match wanted && main.balanced {
        true => factorial(response, factors, interactions).ok().filter(has_error),
        false => None,
    };
    let interactions_left_out = wanted && with_pairs.is_none();
    let balanced = main.balanced;
    let table = match &with_pairs {
        Some(full) => full.table.clone(),
        None if balanced => main.table,
        None => adjusted(response, factors)?,
    };
    let [.., error_row, _] = table.rows.as_slice() else {
        return Err(StatsError::Layout("the analysis has no error".to_owned()));
    };
    let freedom = error_row.degrees_of_freedom;
    if freedom == 0 {
        let text = "no degrees of freedom are left for the error: more runs are needed".to_owned();
        return Err(StatsError::Layout(text));
    }
    let residual_standard_deviation = error_row.mean_square.clone().map(f64::sqrt)?;
    let found = (0..factors.len())
        .map(|of| effect(response, factors, of, (residual_standard_deviation, freedom), level))
        .collect::<Result<Vec<_>, _>>()?;
    let residuals = match with_pairs {
        Some(_) => about_cells(response, factors),
        None => about_fit(response, factors)?,
    };
    Ok(Effects {
        table,
        balanced,
        interactions_left_out,
        factors: found,
        residual_standard_deviation,
        freedom,
        residuals,
    })
}

fn has_error(analysis: &super::Factorial) -> bool {
    analysis.table.row("error").is_some_and(|row| row.degrees_of_freedom > 0)
}

/// Each factor after all others: its own row of the analysis in which it comes last.
fn adjusted(response: &[f64], factors: &[Factor<'_>]) -> Result<Table, StatsError> {
    let mut rows = Vec::new();
    let mut rest = Vec::new();
    for (place, factor) in factors.iter().enumerate() {
        let mut order: Vec<Factor<'_>> = factors.to_vec();
        order.remove(place);
        order.push(factor.clone());
        let table = factorial(response, &order, Interactions::None)?.table;
        rows.extend(table.row(factor.name).cloned());
        rest = table.rows.into_iter().rev().take(2).rev().collect();
    }
    rows.extend(rest);
    Ok(Table { rows })
}

/// The levels of a factor in the order in which they first come.
fn levels_of<'a>(factor: &Factor<'a>) -> Vec<&'a String> {
    let mut levels: Vec<&String> = Vec::new();
    for level in factor.levels {
        if !levels.contains(&level) {
            levels.push(level);
        }
    }
    levels
}

/// The main effects as a regression: the factor `of` against its level `base`, the others as
/// contrasts that average to nothing. The intercept is then the mean of that level.
fn against(
    response: &[f64],
    factors: &[Factor<'_>],
    of: usize,
    base: &str,
) -> Result<Fit, StatsError> {
    let mut columns: Vec<(String, Vec<f64>)> = Vec::new();
    for (place, factor) in factors.iter().enumerate() {
        let levels = levels_of(factor);
        // The factor in question stands last, so that its coefficients are the last ones.
        if place == of {
            continue;
        }
        let last = levels.last().copied();
        for level in &levels[..levels.len() - 1] {
            let code = |own: &String| match own {
                own if own == *level => 1.0,
                own if Some(own) == last => -1.0,
                _ => 0.0,
            };
            let name = format!("{} {level}", factor.name);
            columns.push((name, factor.levels.iter().map(code).collect()));
        }
    }
    for level in levels_of(&factors[of]).into_iter().filter(|level| *level != base) {
        let code = |own: &String| f64::from(u8::from(own == level));
        columns.push((level.clone(), factors[of].levels.iter().map(code).collect()));
    }
    let columns: Vec<(&str, &[f64])> =
        columns.iter().map(|(name, values)| (name.as_str(), values.as_slice())).collect();
    fit(Design::predictors(&columns, true)?, response)
}

fn effect(
    response: &[f64],
    factors: &[Factor<'_>],
    of: usize,
    (deviation, freedom): (f64, usize),
    level: f64,
) -> Result<FactorEffect, StatsError> {
    let factor = &factors[of];
    let names = levels_of(factor);
    let k = names.len();
    let critical = studentized_range::quantile(level, k, freedom as f64)?;
    let (mut levels, mut differences) = (Vec::new(), Vec::new());
    let (mut widths, mut pairs) = (0.0, 0.0);
    for (first, name) in names.iter().enumerate() {
        let fitted = against(response, factors, of, name)?;
        // Standard errors of the main effects alone; the error that counts may be another one.
        let scale = match fitted.residual_standard_deviation {
            Ok(own) if own > 0.0 => deviation / own,
            _ => 0.0,
        };
        let [intercept, ..] = fitted.coefficients.as_slice() else { continue };
        let results = factor.levels.iter().filter(|own| own == name).count();
        let mean = intercept.estimate.clone()?;
        levels.push(Level { name: (*name).clone(), results, mean });
        let own = &fitted.coefficients[fitted.coefficients.len() - (k - 1)..];
        // The levels before this one have been compared with it already.
        for (second, coefficient) in own.iter().enumerate().skip(first) {
            let second = second + 1;
            let difference = coefficient.estimate.clone()?;
            let error = scale * coefficient.standard_error.clone().unwrap_or(0.0);
            let half = checked(critical * error / std::f64::consts::SQRT_2)?;
            let q = ratio(difference.abs() * std::f64::consts::SQRT_2, error, "the error");
            let p = q.and_then(|q| {
                let below = studentized_range::below(q, k, freedom as f64);
                below.map(|below| 1.0 - below).map_err(|_| Undefined::BeyondDouble)
            });
            widths += half;
            pairs += 1.0;
            let interval = interval(difference, half);
            differences.push(Difference { first, second, difference, interval, p });
        }
    }
    let half_width = checked(0.5 * widths / pairs)?;
    Ok(FactorEffect { name: factor.name.to_owned(), levels, differences, half_width })
}

fn interval(centre: f64, half: f64) -> Result<Interval, Undefined> {
    Ok(Interval { lower: checked(centre - half)?, upper: checked(centre + half)? })
}

/// What each value differs by from the mean of its combination of levels.
fn about_cells(response: &[f64], factors: &[Factor<'_>]) -> Vec<f64> {
    let cell = |row: usize| factors.iter().map(|factor| &factor.levels[row]).collect::<Vec<_>>();
    (0..response.len())
        .map(|row| {
            let own = cell(row);
            let same: Vec<f64> = (0..response.len())
                .filter(|other| cell(*other) == own)
                .map(|other| response[other])
                .collect();
            response[row] - same.iter().sum::<f64>() / same.len() as f64
        })
        .collect()
}

/// What each value differs by from what the main effects say.
fn about_fit(response: &[f64], factors: &[Factor<'_>]) -> Result<Vec<f64>, StatsError> {
    let first = levels_of(&factors[0]);
    let fitted = against(response, factors, 0, first[0])?;
    let said = |row: usize| -> Result<f64, StatsError> {
        let mut total = fitted.coefficients[0].estimate.clone()?;
        let mut place = 1;
        for (of, factor) in factors.iter().enumerate().skip(1).chain([(0, &factors[0])]) {
            let levels = levels_of(factor);
            let own = levels.iter().position(|level| **level == factor.levels[row]).unwrap_or(0);
            for column in 0..levels.len() - 1 {
                let weight = match of {
                    0 => f64::from(u8::from(own == column + 1)),
                    _ if own == column => 1.0,
                    _ if own == levels.len() - 1 => -1.0,
                    _ => 0.0,
                };
                total += weight * fitted.coefficients[place].estimate.clone()?;
                place += 1;
            }
        }
        Ok(total)
    };
    (0..response.len()).map(|row| Ok(response[row] - said(row)?)).collect()
}
