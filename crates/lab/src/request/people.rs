//! Requests about what people are authorised for.

use super::Request;

forms! {
    /// Authorise a person for activities by a method.
    GrantAuthorisation {
        /// Initials.
        person: String,
        /// The method.
        method: String,
        /// For what: `make-up`, `run`, `weigh-after`, `release`.
        activities: Vec<String>,
        /// Where the record of the training is, or what was seen of it.
        training: String,
        /// Codes of what was witnessed: specimens, results, runs, checks; several with commas.
        evidence: String,
        /// The last day on which it holds, YYYY-MM-DD; empty for what the laboratory decided.
        until: String,
    }
    /// Suspend or withdraw an authorisation, or put a suspended one in force again.
    ChangeAuthorisation {
        /// The authorisation: `A26-003`.
        authorisation: String,
        /// How it stands from now on: `suspended`, `withdrawn`, `in-force`.
        standing: String,
        /// On what grounds.
        reason: String,
    }
    /// Record that one watches the work of a person who is not authorised.
    SuperviseWork {
        /// Initials of whose work is watched.
        person: String,
        /// The method.
        method: String,
        /// Which work: `make-up`, `run`, `weigh-after`.
        activities: Vec<String>,
        /// The last day of it, YYYY-MM-DD; empty for today.
        until: String,
    }
}
