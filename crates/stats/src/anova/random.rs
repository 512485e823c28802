//! Two crossed factors whose levels are a random choice: tests against the interaction, and variance
//! components from the expected mean squares (D. C. Montgomery, Design and Analysis of Experiments,
//! chapter 13).

use super::factorial::{Factor, Interactions, factorial};
use super::table::{Component, Table};
use crate::error::StatsError;

/// Analysis of two random factors.
#[derive(Debug, Clone, PartialEq)]
pub struct RandomCrossed {
    /// Both factors (tested against the interaction), interaction, error, total.
    pub table: Table,
    /// Components of both factors, interaction and error.
    pub components: Vec<Component>,
}

/// Analyses a balanced layout of two random factors with repetitions.
///
/// # Errors
/// As [`factorial`], and when the layout is not balanced or has no repetitions.
pub fn random_crossed(
    response: &[f64],
    factors: &[Factor<'_>; 2],
) -> Result<RandomCrossed, StatsError> {
    let analysis = factorial(response, factors, Interactions::Pairs)?;
    let rows = analysis.table.rows;
    let [a, b, interaction, error, total] = rows.as_slice() else {
        return Err(StatsError::Layout("two factors are needed".to_string()));
    };
    if !analysis.balanced || error.degrees_of_freedom == 0 {
        return Err(StatsError::Layout(
            "variance components of two factors need every combination equally often, at least twice"
                .to_string(),
        ));
    }
    let levels = (a.degrees_of_freedom + 1, b.degrees_of_freedom + 1);
    let repetitions = (response.len() / (levels.0 * levels.1)) as f64;
    let squares = &interaction.mean_square;
    let components = vec![
        Component::new(&a.source, &a.mean_square, squares, levels.1 as f64 * repetitions),
        Component::new(&b.source, &b.mean_square, squares, levels.0 as f64 * repetitions),
        Component::new(&interaction.source, squares, &error.mean_square, repetitions),
        Component::plain("error", &error.mean_square),
    ];
    let table = Table {
        rows: vec![
            a.clone().against(interaction),
            b.clone().against(interaction),
            interaction.clone(),
            error.clone(),
            total.clone(),
        ],
    };
    Ok(RandomCrossed { table, components })
}
