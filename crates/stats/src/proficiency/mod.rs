//! Proficiency tests: assigned values that a few bad results cannot move, and scores against them
//! (ISO 13528).

mod cleanup;
mod pooling;
mod q_method;
mod robust;
mod scores;

pub use cleanup::{CleanUp, Fate, clean_up, within_laboratory};
pub use pooling::{Pooled, der_simonian_laird, paule_mandel};
pub use q_method::{hampel, q_method};
pub use robust::{Robust, algorithm_a, huber_proposal_2, mad_e, n_iqr, uncertainty_of_robust_mean};
pub use scores::{Scores, scores};
