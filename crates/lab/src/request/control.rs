//! Requests about reference aggregate, control charts and investigations.

use super::Request;

forms! {
    /// Register a lot of reference aggregate.
    RegisterLot {
        /// The code marked on its bin.
        lot: String,
        /// What people call it.
        name: String,
        /// Where the material comes from.
        source: String,
        /// The method that it is tested by.
        method: String,
        /// And the grading.
        grading: String,
        /// The loss that a document gives it, %; empty where the laboratory finds its own.
        assigned_percent: String,
        /// Expanded uncertainty (k = 2) of that loss, % loss.
        expanded_percent: String,
        /// The document.
        document: String,
        /// How much of it there is, g, or as the balance printed it.
        stock_g: String,
        /// When it arrived, YYYY-MM-DD; empty for today.
        received_on: String,
    }
    /// Say of which lot of reference aggregate a sample is.
    LinkSample {
        /// The sample.
        sample: String,
        /// Its lot.
        lot: String,
        /// Why it is of another lot than was recorded before.
        reason: String,
    }
    /// Record what is left of a lot.
    CountStock {
        /// The lot.
        lot: String,
        /// What is left, g, or as the balance printed it.
        stock_g: String,
        /// Why it is not what the specimens left.
        reason: String,
    }
    /// Take over past reference results from a table.
    ImportReference {
        /// Of which lot.
        lot: String,
        /// On which apparatus they were found.
        apparatus: String,
        /// Where they come from.
        document: String,
        /// The table as text: columns `date` and `loss`, and where known `operator` and `note`.
        table: String,
    }
    /// Freeze what a control chart is judged against.
    FreezeBaseline {
        /// The lot.
        lot: String,
        /// The apparatus.
        apparatus: String,
        /// The first result that it stands on; empty for the first that there is.
        first: String,
        /// The last result that it stands on; empty for the last that there is.
        last: String,
        /// Results that are left out, each with its reason.
        excluded: Vec<ExcludedPoint>,
        /// Centre: `mean`, `assigned` or `stated`; empty for the mean.
        centre: String,
        /// The centre where it is stated, % loss.
        stated_centre: String,
        /// Spread: `moving-range`, `standard-deviation` or `stated`; empty for the moving range.
        spread: String,
        /// The standard deviation where it is stated, % loss.
        stated_sigma: String,
        /// The document of what is stated.
        document: String,
        /// On what grounds these results.
        reason: String,
        /// Why it is frozen although a rule speaks against it.
        deviation: String,
    }
    /// Let a new lot take the place of an old one.
    TakeOverLot {
        /// The new lot.
        lot: String,
        /// The old lot.
        replaces: String,
        /// On which apparatus both were tested.
        apparatus: String,
        /// What is concluded from the step between them.
        reason: String,
        /// Why it is done with fewer results than the laboratory wants.
        deviation: String,
    }
    /// Note something that happened to an item, for its charts.
    NoteEvent {
        /// The item.
        item: String,
        /// `moved`, `repaired`, `new-balls` or `other`.
        what: String,
        /// On which day, YYYY-MM-DD; empty for today.
        on: String,
        /// In words.
        note: String,
    }
    /// Investigate a reference result.
    OpenInvestigation {
        /// The result.
        result: String,
        /// Why.
        reason: String,
    }
    /// Record what a step of an investigation showed.
    RecordFinding {
        /// The investigation.
        investigation: String,
        /// The step.
        step: String,
        /// What was found.
        finding: String,
        /// `yes` where something was wrong.
        fault: String,
    }
    /// Finish an investigation, and release the apparatus that it holds.
    CloseInvestigation {
        /// The investigation.
        investigation: String,
        /// The cause, or that none was found.
        cause: String,
        /// What was done about it.
        done: String,
        /// What became of the results since the last one that was in control.
        past_results: String,
    }
}

crate::request::described! {
    /// A result left out of a baseline.
    ExcludedPoint {
        /// The result.
        point: String,
        /// Why.
        reason: String,
    }
}
