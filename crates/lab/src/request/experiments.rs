//! Requests about experiments on how the loss follows a condition of the run.

use super::Request;

forms! {
    /// Plan an experiment: which levels of a condition, how many runs at each, in an order drawn by
    /// chance from a seed.
    PlanExperiment {
        /// What it is to tell, in a few words.
        title: String,
        /// The condition: `revolutions`, `charge`, `water-temperature`, `water-volume`.
        condition: String,
        /// The method.
        method: String,
        /// The grading of the method; empty where it has only one.
        grading: String,
        /// The sample that all specimens are of; may be empty.
        sample: String,
        /// The levels, in the unit of the condition; empty ones are passed over.
        levels: Vec<String>,
        /// Runs at each level.
        replicates: String,
        /// The seed of the order, a whole number from 0 to 4294967295.
        seed: String,
    }
    /// Give a planned run of an experiment its specimen.
    AssignToExperiment {
        /// The experiment.
        experiment: String,
        /// The run by its number in the plan; empty for the next without a specimen.
        run: String,
        /// The specimen.
        specimen: String,
        /// Why a specimen that is already assigned is replaced.
        reason: String,
    }
    /// Leave a run of an experiment out of its fit.
    LeaveOutOfExperiment {
        /// The experiment.
        experiment: String,
        /// The run by its number.
        run: String,
        /// Why.
        reason: String,
    }
    /// Record an experiment that was done elsewhere or before, from a table.
    ImportExperiment {
        /// What it is to tell, in a few words.
        title: String,
        /// The condition: `revolutions`, `charge`, `water-temperature`, `water-volume`.
        condition: String,
        /// The method.
        method: String,
        /// The grading of the method; empty where it has only one.
        grading: String,
        /// The table as text, columns `level` and `loss`.
        table: String,
        /// Where the figures are on record.
        source: String,
    }
}
