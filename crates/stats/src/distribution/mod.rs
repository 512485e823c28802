//! Distributions: what the well-kept library gives, polished where a check wants more digits, and
//! the two that it lacks (noncentral t, studentized range).
//!
//! Error functions come from `libm`, not from the platform, so that the same input gives the same
//! bits on every machine.

pub(crate) mod beta;
pub(crate) mod chi_squared;
pub(crate) mod f;
pub mod noncentral_t;
pub(crate) mod normal;
pub mod studentized_range;
pub(crate) mod t;
