//! Control charts.
//!
//! Phase 1 (setting limits from a baseline) and phase 2 (judging new points against limits that
//! stand) are different questions and different types: only [`baseline`] estimates, and what it
//! leaves out is listed with a reason; [`Established`] limits never move by themselves.

mod baseline;
mod constants;
mod cusum;
mod ewma;
mod individuals;
mod limits;
mod rules;
mod subgroups;

pub use baseline::{Baseline, Exclusion, Suspect, baseline};
pub use constants::{Constants, c4, d2, d3};
pub use cusum::{CusumChart, CusumDesign, CusumPoint, cusum};
pub use ewma::{EwmaChart, EwmaDesign, EwmaLimits, EwmaPoint, ewma};
pub use individuals::{IndividualsChart, MovingRange, individuals};
pub use limits::{Established, Limits, Point};
pub use rules::{Rule, Side, Signal};
pub use subgroups::{Spread, SubgroupChart, mean_range, mean_sd};
