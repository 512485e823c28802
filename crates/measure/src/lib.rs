//! Exact decimals, rounding and limits: everything about a quantity, nothing about laboratories.
//!
//! * [`reading`]: a number as somebody typed it, read without losing a digit.
//! * [`balance`]: a mass as somebody typed it or a balance printed it.
//! * [`exact`]: ratios of exact decimals, so that a loss is rounded once, from its true value.
//! * [`rounding`]: the rounding rules that test methods name.
//! * [`limits`]: what a value must not go below or above, and on which side it went.
//!
//! No binary float lives in this crate: a reported number never passes through one.

pub mod balance;
pub mod exact;
pub mod limits;
pub mod reading;
pub mod rounding;

pub use balance::{MassError, MassReading, MassUnit};
pub use exact::Exact;
pub use limits::{Limits, Side};
pub use reading::{ReadingError, read};
pub use rounding::{Rounding, Rule};
pub use rust_decimal::Decimal;
