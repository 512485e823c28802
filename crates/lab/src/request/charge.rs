//! Requests about ball charges.

use super::Request;

forms! {
    /// Record that balls of a charge were added, taken out or renewed.
    ChangeCharge {
        /// The ball charge.
        charge: String,
        /// `added`, `removed` or `renewed`.
        change: String,
        /// Mass of the whole charge before, g.
        before_g: String,
        /// Mass of the whole charge after, g.
        after_g: String,
        /// How many balls were added or taken out, or are in the new charge; may be empty.
        balls: String,
        /// The balance; empty for the only one in service.
        balance: String,
        /// Why.
        reason: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
}
