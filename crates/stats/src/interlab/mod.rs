//! Between laboratories: how well a test method repeats and reproduces (ASTM E691, ISO 5725-2).

mod cells;
mod cochran;
mod consistency;
mod grubbs;
mod precision;
mod relation;

pub use cells::{Cell, Observation, Study};
pub use cochran::{Cochran, cochran, cochran_critical};
pub use consistency::{Consistency, consistency, h_critical, k_critical};
pub use grubbs::{Grubbs, GrubbsPair, grubbs, grubbs_critical, grubbs_pair, grubbs_pair_critical};
pub use precision::{LIMIT_FACTOR, Precision, precision};
pub use relation::{Relation, relations, sensitivity_ratio};

/// What a test says about the most extreme value: nothing, or one of the two levels of ISO 5725-2.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Not significant at 5 %.
    Consistent,
    /// Significant at 5 % but not at 1 %: kept, unless a reason is found.
    Straggler,
    /// Significant at 1 %.
    Outlier,
}

impl Verdict {
    /// From the two critical comparisons.
    pub(crate) fn new(beyond_5: bool, beyond_1: bool) -> Self {
        match (beyond_5, beyond_1) {
            (_, true) => Self::Outlier,
            (true, false) => Self::Straggler,
            _ => Self::Consistent,
        }
    }
}
