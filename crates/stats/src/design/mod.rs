//! Designed studies: which run comes when, decided by chance from a seed, and what a design can see.

mod effect;
mod random;

pub use effect::{Effect, detectable_difference, power_of_effect, power_of_equivalence};
pub use random::Chance;
