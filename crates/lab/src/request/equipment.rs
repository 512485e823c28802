//! Requests about equipment and its checks.

use super::Request;

forms! {
    /// Register a piece of equipment.
    RegisterItem {
        /// The code marked on it.
        code: String,
        /// Kind: `apparatus`, `jar`, `ball-charge`, …
        kind: String,
        /// What people call it.
        name: String,
        /// Who made it, and its number.
        maker_and_serial: String,
        /// Opening of a sieve, mm.
        opening_mm: String,
        /// The smallest step that an instrument shows, in the unit that it reads; may be empty.
        resolution: String,
        /// How an apparatus is built.
        apparatus: Option<stonewear_procedure::Apparatus>,
    }
    /// Begin a check of an item.
    StartCheck {
        /// The item.
        item: String,
        /// The procedure: `function-check`.
        procedure: String,
    }
    /// Record what was seen or read in a step of a check.
    Observe {
        /// The check.
        check: String,
        /// The step.
        step: String,
        /// `yes` or `no`, or the number that was read.
        seen: String,
        /// What is taken off it, where a step judges the difference of two readings.
        less: String,
        /// The item that a number was read with.
        instrument: String,
        /// Expanded uncertainty (k = 2) of the number, to guard the verdict with; may be empty.
        uncertainty: String,
        /// Anything worth keeping.
        note: String,
        /// `yes` for a second observation of a step that was passed already, such as one that
        /// another person made at the same time. The check goes on where it is if it agrees, and
        /// back to the step if not.
        second: String,
    }
    /// End a check that cannot be passed: the item is held.
    GiveUpCheck {
        /// The check.
        check: String,
        /// Why.
        reason: String,
    }
    /// Decide how long a pass of a procedure is good for in this laboratory.
    SetInterval {
        /// The procedure.
        procedure: String,
        /// Months.
        months: String,
        /// On what grounds.
        reason: String,
    }
    /// Put an item into service, hold it, or retire it.
    ChangeStanding {
        /// The item.
        item: String,
        /// `in-service`, `held` or `retired`.
        standing: String,
        /// Why; needed to hold and to retire, and to release from a hold.
        reason: String,
    }
}
