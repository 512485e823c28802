//! Decisions about conformity when results are uncertain (JCGM 106, ILAC-G8).

mod decimal;
mod probability;
mod risk;
mod rule;

pub use decimal::probability_above;
pub use probability::{Tolerance, conformance_probability, guard_factor, guarded};
pub use risk::{GlobalRisk, Process, global_risk, guard_band_for_consumer_risk};
pub use rule::{GuardedRule, Judgement, Rule, Statement, judge};
