//! Results sorted into cells: one laboratory, one material.

use crate::error::{StatsError, Undefined, finite};
use crate::number;

/// One test result.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Which laboratory.
    pub laboratory: String,
    /// Which material (level).
    pub material: String,
    /// The result, in the unit of the test.
    pub value: f64,
}

/// All results of one laboratory on one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Which laboratory.
    pub laboratory: String,
    /// The results, at least one.
    pub values: Vec<f64>,
}

impl Cell {
    /// A cell of at least one finite result.
    ///
    /// # Errors
    /// When there is none, or one is not finite.
    pub fn new(laboratory: &str, values: &[f64]) -> Result<Self, StatsError> {
        finite("cell", values)?;
        if values.is_empty() {
            return Err(StatsError::Layout(format!("laboratory {laboratory} has no result")));
        }
        Ok(Self { laboratory: laboratory.to_string(), values: values.to_vec() })
    }

    /// Mean of the results.
    #[must_use]
    pub fn mean(&self) -> f64 {
        number::mean(&self.values).to_f64()
    }

    /// Standard deviation of the results.
    ///
    /// # Errors
    /// `Undefined` for a single result.
    pub fn standard_deviation(&self) -> Result<f64, Undefined> {
        crate::describe::standard_deviation(&self.values)
    }

    pub(crate) fn squares(&self) -> f64 {
        number::mean_and_squares(&self.values).1.to_f64()
    }
}

/// A whole study: materials in the order they first appear, each with its cells.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Study {
    /// The materials with their cells.
    pub materials: Vec<(String, Vec<Cell>)>,
}

impl Study {
    /// Sorts results into cells.
    ///
    /// # Errors
    /// When there is no result, or one is not finite.
    pub fn new(observations: &[Observation]) -> Result<Self, StatsError> {
        let values: Vec<f64> = observations.iter().map(|o| o.value).collect();
        crate::error::at_least("results", 1, &values)?;
        let mut study = Self::default();
        // Found through a map, not by search: a million rows have to stay a matter of a second.
        let mut places = std::collections::HashMap::<(&str, &str), (usize, usize)>::new();
        let mut materials = std::collections::HashMap::<&str, usize>::new();
        for o in observations {
            let m = *materials.entry(&o.material).or_insert_with(|| {
                study.materials.push((o.material.clone(), Vec::new()));
                study.materials.len() - 1
            });
            let cells = &mut study.materials[m].1;
            let (_, c) = *places.entry((&o.material, &o.laboratory)).or_insert_with(|| {
                cells.push(Cell { laboratory: o.laboratory.clone(), values: Vec::new() });
                (m, cells.len() - 1)
            });
            cells[c].values.push(o.value);
        }
        Ok(study)
    }
}
