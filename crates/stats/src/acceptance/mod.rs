//! Acceptance by variables: percent within limits, what a plan accepts, tolerance intervals.

mod plan;
mod quality_index;
mod tolerance;

pub use plan::{Plan, plan_for};
pub use quality_index::{Acceptance, acceptance, percent_within_limits, quality_index_for};
pub use tolerance::{
    ToleranceInterval, k_one_sided, k_one_sided_natrella, k_two_sided, k_two_sided_howe,
    tolerance_interval,
};
