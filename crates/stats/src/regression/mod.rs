//! Least squares: straight lines, polynomials, several predictors; bands, inversion, errors in both
//! variables.

mod band;
mod deming;
mod design;
mod fit;
mod inverse;
mod line;
mod nested;
mod parallel;
mod qr;

pub use band::{Interval, Prediction};
pub use deming::{Deming, deming};
pub use design::Design;
pub use fit::{Coefficient, Fit, fit};
pub use inverse::{Crossing, Inverse, Responses, invert, limit_crossing};
pub use line::{Line, straight_line};
pub use nested::{NestedTest, Residual, extra_sum_of_squares, pure_error};
pub use parallel::{ParallelLines, parallel_lines};
pub(crate) use qr::{Failure, decompose};
