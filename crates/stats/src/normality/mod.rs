//! Could these values come from a normal distribution whose mean and standard deviation are not known?

mod anderson_darling;
mod shapiro_wilk;

pub use anderson_darling::{AndersonDarling, anderson_darling, anderson_darling_critical};
pub use shapiro_wilk::{ShapiroWilk, shapiro_wilk};
