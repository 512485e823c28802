//! The ball charge: its mass before every run, what was done to it, how fast it wears, and when it
//! will leave the tolerance of the method.
//!
//! ```text
//! history ─► trend ─► forecast ─► due, warnings of readiness
//!    └─────► stones (which kind wears it how fast)
//! checks ──► worn (share of balls below the nominal size)
//! runs ────► jar  (what each jar has turned)
//! ```
//!
//! Masses and counts are exact; rates, intervals and forecasts are estimates and stand in no fact.

mod forecast;
mod history;
mod jar;
mod stones;
mod trend;
mod worn;

pub(crate) use forecast::due_of;
pub use forecast::{ChargeDue, Forecast, Leaving, Pace, charge_due};
pub use history::{History, MassReading, ReadFrom, Tolerance, Turning};
pub use jar::{BoreReading, JarUse};
pub use stones::{StoneWear, Stones};
pub use trend::{Basis, Trend};
pub use worn::WornShare;

use crate::code::ItemCode;
use crate::state::Lab;
use jiff::Timestamp;

/// Level of every interval of this module.
pub const LEVEL: f64 = 0.95;

/// The wear of a charge.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    /// Its readings, runs and changes.
    pub history: History,
    /// The tolerance that it has to keep, where something says so.
    pub tolerance: Option<Tolerance>,
    /// How fast it wears; the reason where that cannot be said.
    pub trend: Result<Trend, String>,
    /// When it will leave its tolerance.
    pub forecast: Forecast,
}

impl Wear {
    /// How fast each kind of stone wears it.
    pub fn stones(&self) -> Stones {
        Stones::of(&self.history)
    }
}

impl Lab {
    /// The wear of a ball charge as it stands at an instant; `None` where there is no such charge.
    pub fn wear(&self, charge: &ItemCode, at: Timestamp) -> Option<Wear> {
        let history = self.charge_history(charge)?;
        let tolerance = self.charge_tolerance(charge);
        let trend = Trend::of(&history);
        let forecast = Forecast::of(self, &history, tolerance.as_ref(), &trend, at);
        Some(Wear { history, tolerance, trend, forecast })
    }
}
