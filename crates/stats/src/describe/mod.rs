//! One column of values: mean, spread, order, autocorrelation.

mod order;
mod proportion;
mod summary;

pub(crate) use order::sorted;
pub use order::{median, quantile};
pub use proportion::exact_proportion;
pub(crate) use summary::variance;
pub use summary::{Summary, describe, mean, standard_deviation};
