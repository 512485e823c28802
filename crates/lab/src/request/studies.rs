//! Requests about designed studies.

use super::Request;

forms! {
    /// Plan a study: which runs, in which order, so that a question can be answered.
    PlanStudy {
        /// What it is called.
        title: String,
        /// What it asks: `same`, `equivalent` or `reference`.
        question: String,
        /// The item that it is about; may be empty.
        item: String,
        /// The method of its runs; empty only where values come along.
        method: String,
        /// The sample of its runs; empty only where values come along.
        sample: String,
        /// The factors; the first is the one in question. None for `reference`.
        factors: Vec<FactorForm>,
        /// Anything but empty or `no`: the levels of the second factor lie within those of the first.
        nested: String,
        /// The difference to be seen, or the margin of agreement (±), in the unit of the study.
        difference: String,
        /// Where a margin comes from.
        difference_source: String,
        /// The difference that is expected to be there, where agreement is asked for; empty for 0.
        expected_difference: String,
        /// Probability that is wanted of seeing it, %; empty for 80.
        power: String,
        /// Confidence of the statements, %; empty for 95.
        confidence: String,
        /// Standard deviation of single results; empty for that of the method at the expected value.
        deviation: String,
        /// Where it comes from.
        deviation_source: String,
        /// The value that is expected, % loss: the precision of the method depends on it.
        expected: String,
        /// How often the whole design is repeated, or how many results; empty for as often as the
        /// power needs.
        repetitions: String,
        /// The reference value.
        reference_value: String,
        /// Its standard uncertainty.
        reference_uncertainty: String,
        /// Where it comes from.
        reference_source: String,
        /// What the randomisation comes from, a whole number; drawn by who asks.
        seed: String,
        /// A table of runs that were carried out elsewhere: a column a factor, and one of values.
        table: String,
        /// The column of the table that holds the values; empty for `loss`, or the last one.
        value_column: String,
        /// The unit of the values; empty for % loss.
        unit: String,
        /// The document that the table comes from.
        document: String,
    }
    /// Make a specimen the run of a plan.
    AssignStudyRun {
        /// The study.
        study: String,
        /// The run of its plan, from 1.
        run: String,
        /// The specimen.
        specimen: String,
        /// Why it replaces another.
        reason: String,
        /// Why the run departs from the plan.
        deviation: String,
    }
    /// Take values of runs from a file with the columns `run` and `loss`.
    ImportStudyValues {
        /// The study.
        study: String,
        /// The table as text.
        table: String,
        /// The document that it comes from.
        document: String,
        /// Why values that are there are replaced.
        reason: String,
    }
    /// Conclude a study with one's name, or withdraw it.
    ConcludeStudy {
        /// The study.
        study: String,
        /// What follows from it; or, withdrawn, why.
        remark: String,
        /// Anything but empty or `no`: it is withdrawn without a conclusion.
        withdraw: String,
        /// Why it is concluded although runs are missing or depart from the plan.
        deviation: String,
    }
}

crate::request::described! {
    /// A factor of a study as it is typed.
    FactorForm {
        /// Its name: `position`, `jar`, `charge`, `operator`, `machine`, `turning`, or another.
        name: String,
        /// Its levels, with commas between them.
        levels: String,
    }
}
