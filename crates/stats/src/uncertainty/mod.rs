//! Measurement uncertainty: first order (JCGM 100, the GUM), Monte Carlo (JCGM 101), and top-down
//! from a laboratory's own data (the way of thinking of ISO 21748).

mod coverage;
mod first_order;
mod input;
pub mod model;
pub mod monte_carlo;
mod observations;
mod top_down;

pub use coverage::{Expanded, effective_freedom, expanded};
pub use first_order::{Contribution, FirstOrder, Outputs, first_order, second_order, several};
pub use input::{Correlation, Distribution, Input};
pub use observations::{Observed, observed};
pub use top_down::{TopDown, top_down};
