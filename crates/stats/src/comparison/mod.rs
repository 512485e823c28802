//! Two sets of results: do they differ, do they agree, how many are needed to tell.

mod equivalence;
mod paired;
mod power;
mod spread;
mod two_samples;

pub use equivalence::{
    Bounds, Equivalence, equivalence_of_paired, equivalence_of_two, equivalence_to_reference,
    exact_power, sample_size_for_equivalence,
};
pub use paired::{Paired, paired};
pub use power::{Design, Tails, power_of_f, power_of_t, sample_size_for_f, sample_size_for_t};
pub use spread::{SpreadRatio, spread_over_known, spread_over_other};
pub use two_samples::{TTest, Verification, verification};
