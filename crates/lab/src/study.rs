//! Designed studies: laying out the runs that answer a question, what they will be able to show, and
//! what they showed. All arithmetic is that of `stonewear-stats`; here it is put to the facts.

mod agreement;
mod analysis;
pub(crate) mod design;
pub(crate) mod power;
mod runs;
mod verdict;

pub use analysis::{
    Analysis, Difference, EquivalenceFound, FactorFound, LevelMean, Residuals, TableRow,
};
pub use runs::RunStanding;
pub use verdict::{bare, p_in_words, shown};

/// The unit of a study of losses.
pub const LOSS: &str = "% loss";
