//! Distributions: what the well-kept library gives, polished where a check wants more digits, and
//! those that it lacks (noncentral t and F, studentized range).
//!
//! Error functions come from `libm`, not from the platform, so that the same input gives the same
//! bits on every machine.

pub(crate) mod beta;
pub(crate) mod chi_squared;
pub(crate) mod f;
pub(crate) mod noncentral_f;
pub mod noncentral_t;
pub(crate) mod normal;
pub mod studentized_range;
pub(crate) mod t;
