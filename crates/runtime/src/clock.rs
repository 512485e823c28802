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
    /// A scenario's calendar that stands still at a moment, so that what is recorded is the same
    /// whenever it is told.
    Standing(Timestamp),
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
            Self::Standing(at) => *at,
            Self::Scenario { from, set } => {
                // A scenario that runs out of calendar stands still.
                from.checked_add(set.elapsed()).unwrap_or(*from)
            }
        };
        Timestamp::from_millisecond(now.as_millisecond()).unwrap_or(now)
    }
}

/// A seed for what is drawn by lot, from the chance of the machine: whoever asks the laboratory for
/// something that is drawn hands it in, so that the laboratory itself stays without chance.
pub fn drawn_seed() -> u64 {
    let (high, low) = uuid::Uuid::new_v4().as_u64_pair();
    // Small enough that every reader of the journal holds it exactly, and people can copy it.
    (high ^ low) % 1_000_000_000
}
