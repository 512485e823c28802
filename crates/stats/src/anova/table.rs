//! Rows of an analysis of variance.

use crate::distribution::f;
use crate::error::{Figure, Undefined, checked, ratio};

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What varies.
    pub source: String,
    /// Degrees of freedom.
    pub degrees_of_freedom: usize,
    /// Sum of squares, in the square of the unit.
    pub sum_of_squares: f64,
    /// Sum of squares over degrees of freedom.
    pub mean_square: Figure,
    /// Mean square over the one it is tested against; undefined for the last rows.
    pub f: Figure,
    /// Probability of so large an F by chance.
    pub p: Figure,
}

/// The table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Rows, the error last but one and the total last.
    pub rows: Vec<Row>,
}

/// A variance component of a random effect.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Of what.
    pub source: String,
    /// The estimate, in the square of the unit, never below zero.
    pub variance: Figure,
    /// Whether the estimate came out below zero and was set to zero.
    pub truncated: bool,
}

impl Row {
    /// A row without a test.
    pub(super) fn plain(source: &str, freedom: usize, squares: f64) -> Self {
        let none = || Err(Undefined::Because("nothing to test it against"));
        Self {
            source: source.to_string(),
            degrees_of_freedom: freedom,
            sum_of_squares: squares,
            mean_square: ratio(squares, freedom as f64, "a source without degrees of freedom"),
            f: none(),
            p: none(),
        }
    }

    /// The row tested against another.
    pub(super) fn against(mut self, other: &Self) -> Self {
        self.f = match (&self.mean_square, &other.mean_square) {
            (Ok(_), Ok(0.0)) => Err(Undefined::NoVariation { what: "what it is tested against" }),
            (Ok(own), Ok(error)) => checked(own / error),
            _ => Err(Undefined::Because("no degrees of freedom are left to test it against")),
        };
        let freedoms = (self.degrees_of_freedom as f64, other.degrees_of_freedom as f64);
        self.p = self.f.clone().map(|value| f::above(value, freedoms.0, freedoms.1));
        self
    }
}

impl Table {
    /// The row of a source.
    #[must_use]
    pub fn row(&self, source: &str) -> Option<&Row> {
        self.rows.iter().find(|row| row.source == source)
    }
}

impl Component {
    /// (larger - smaller) / divisor, cut off at zero.
    pub(super) fn new(source: &str, larger: &Figure, smaller: &Figure, divisor: f64) -> Self {
        let raw =
            larger.clone().and_then(|l| smaller.clone().and_then(|s| checked((l - s) / divisor)));
        Self {
            source: source.to_string(),
            truncated: matches!(raw, Ok(v) if v < 0.0),
            variance: raw.map(|v| v.max(0.0)),
        }
    }

    /// A mean square that is a component as it stands.
    pub(super) fn plain(source: &str, mean_square: &Figure) -> Self {
        Self { source: source.to_string(), variance: mean_square.clone(), truncated: false }
    }
}
