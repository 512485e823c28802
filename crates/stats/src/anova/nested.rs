//! Two stages, one inside the other: batches within suppliers, specimens within samples
//! (D. C. Montgomery, Design and Analysis of Experiments, chapter 14).

use super::table::{Component, Row, Table};
use crate::error::{self, StatsError, checked};
use crate::number::{self, Dd};

/// A nested analysis.
#[derive(Debug, Clone, PartialEq)]
pub struct Nested {
    /// Outer (tested against inner), inner within outer (tested against error), error, total.
    pub table: Table,
    /// Components of inner, error and outer, where the layout is balanced.
    pub components: Vec<Component>,
}

/// Analyses `data[outer][inner][repetition]`, names for the two stages given. The layout has to be
/// balanced for the variance components; the table is right without.
///
/// # Errors
/// When there are fewer than two outer groups, one is empty, or a value is not finite.
pub fn nested(data: &[Vec<Vec<f64>>], outer: &str, inner: &str) -> Result<Nested, StatsError> {
    if data.len() < 2 {
        return Err(StatsError::TooFew { what: "outer groups", need: 2, got: data.len() });
    }
    for group in data {
        if group.is_empty() {
            return Err(StatsError::TooFew { what: "inner groups", need: 1, got: 0 });
        }
        group.iter().try_for_each(|g| error::at_least("an inner group", 1, g))?;
    }
    let all: Vec<f64> = data.iter().flatten().flatten().copied().collect();
    let (grand, total) = number::mean_and_squares(&all);
    let (mut between, mut inside, mut error) = (Dd::ZERO, Dd::ZERO, Dd::ZERO);
    for group in data {
        let of_group: Vec<f64> = group.iter().flatten().copied().collect();
        let mean = number::mean(&of_group);
        between = between + (mean - grand).squared() * Dd::from(of_group.len() as f64);
        for cell in group {
            let (of_cell, squares) = number::mean_and_squares(cell);
            inside = inside + (of_cell - mean).squared() * Dd::from(cell.len() as f64);
            error = error + squares;
        }
    }
    let (a, cells, n) = (data.len(), data.iter().map(Vec::len).sum::<usize>(), all.len());
    let error = Row::plain("error", n - cells, checked(error.to_f64())?);
    let within = format!("{inner} within {outer}");
    let inside = Row::plain(&within, cells - a, checked(inside.to_f64())?).against(&error);
    let between = Row::plain(outer, a - 1, checked(between.to_f64())?).against(&inside);
    let (b, r) = (data[0].len(), data[0][0].len());
    let balanced = data.iter().all(|g| g.len() == b && g.iter().all(|c| c.len() == r));
    let components = if balanced {
        let size = r as f64;
        vec![
            Component::new(outer, &between.mean_square, &inside.mean_square, size * b as f64),
            Component::new(&within, &inside.mean_square, &error.mean_square, size),
            Component::plain("error", &error.mean_square),
        ]
    } else {
        Vec::new()
    };
    let total = Row::plain("total", n - 1, checked(total.to_f64())?);
    Ok(Nested { table: Table { rows: vec![between, inside, error, total] }, components })
}
