//! The time, as the laboratory is told it.

use jiff::Timestamp;
use std::time::Instant;

/// Where the time comes from.
#[derive(Debug, Clone)]
pub enum Clock {
    /// The clock of the machine.
    Machine,
    /// A scenario's calendar that goes on from a moment, at the pace of real time.
    Scenario {
        /// The moment.
        from: Timestamp,
        /// When it was set.
        set: Instant,
    },
}

impl Clock {
    /// A scenario's calendar that goes on from this moment.
    pub fn going_on_from(from: Timestamp) -> Self {
        Self::Scenario { from, set: Instant::now() }
    }

    /// The time now, to the millisecond: that is what the journal keeps.
    #[allow(clippy::disallowed_methods, reason = "this is the one place that asks the machine")]
    pub fn now(&self) -> Timestamp {
        let now = match self {
            Self::Machine => Timestamp::now(),
            Self::Scenario { from, set } => {
                // A scenario that runs out of calendar stands still.
                from.checked_add(set.elapsed()).unwrap_or(*from)
            }
        };
        Timestamp::from_millisecond(now.as_millisecond()).unwrap_or(now)
    }
}
