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
use std::sync::Arc;

/// Level of every interval of this module.
pub const LEVEL: f64 = 0.95;

/// The wear of a charge.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    /// Its readings, runs and changes.
    pub history: Arc<History>,
    /// The tolerance that it has to keep, where something says so.
    pub tolerance: Option<Tolerance>,
    /// How fast it wears; the reason where that cannot be said.
    pub trend: Result<Trend, String>,
    /// When it will leave its tolerance.
    pub forecast: Forecast,
}

/// What holds of a charge on whichever day.
#[derive(Debug, Clone)]
pub(crate) struct ChargeRecord {
    history: Arc<History>,
    tolerance: Option<Tolerance>,
    trend: Result<Trend, String>,
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
        let record = self.charge_record(charge);
        let ChargeRecord { history, tolerance, trend } = record.as_ref().as_ref()?.clone();
        let forecast = Forecast::of(self, &history, tolerance.as_ref(), &trend, at);
        Some(Wear { history, tolerance, trend, forecast })
    }

    /// The tolerance that a charge has to keep: that of the method and grading that it ran last, or
    /// that of the mass check that it passed last.
    pub fn charge_tolerance(&self, charge: &ItemCode) -> Option<Tolerance> {
        self.charge_record(charge).as_ref().as_ref()?.tolerance.clone()
    }

    fn charge_record(&self, charge: &ItemCode) -> Arc<Option<ChargeRecord>> {
        self.worked_out.charges.get(charge.clone(), || {
            let history = self.charge_history(charge)?;
            let trend = Trend::of(&history);
            let tolerance = self.tolerance_of(charge);
            Some(ChargeRecord { history: Arc::new(history), tolerance, trend })
        })
    }
}
