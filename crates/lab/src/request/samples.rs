//! Requests about samples: reception, custody, sieve analysis, what others found.

use super::Request;

forms! {
    /// Receive a sample.
    ReceiveSample {
        /// Where the material comes from.
        source: String,
        /// Who asked for the test.
        client: String,
        /// For which works.
        project: String,
        /// What it is.
        material: String,
        /// What it is to be used for.
        intended_use: String,
        /// Nominal maximum size, mm.
        nominal_maximum_mm: String,
        /// Condition on arrival, as it matters for the test.
        condition: String,
        /// The most loss that is allowed, %; empty when none is agreed.
        limit_percent: String,
        /// The document that sets this limit.
        limit_document: String,
        /// The method that the limit is for, like `astm-c131`; empty for the tests of wear in water.
        limit_method: String,
        /// When it arrived, YYYY-MM-DD; empty for today.
        received_on: String,
        /// `yes` when it is a specimen of the reference aggregate.
        reference: String,
        /// The lot of reference aggregate that it is of; empty for none.
        lot: String,
        /// Mass received, g, or as the balance printed it; may be empty.
        received_g: String,
        /// How many bags or boxes came; may be empty.
        bags: String,
        /// Who took the sample; may be empty.
        sampled_by: String,
        /// By which plan and method it was taken.
        sampling_plan: String,
        /// The client's address.
        client_address: String,
        /// The client's own reference.
        client_reference: String,
        /// When it was taken, YYYY-MM-DD; may be empty.
        sampled_on: String,
        /// Who brought it; may be empty.
        delivered_by: String,
        /// Where it is kept; may be empty.
        place: String,
    }
    /// Record that a sample went into other hands, to another place, or out of the laboratory.
    HandOverSample {
        /// The sample.
        sample: String,
        /// `handed-over`, `stored`, `split`, `returned` or `disposed`; empty for handed over, or
        /// stored where only a place is named.
        step: String,
        /// Who has it, or the part split off, now: initials, or the name of somebody outside.
        to: String,
        /// Where it is kept now.
        place: String,
        /// Its condition, where that matters.
        condition: String,
        /// How it was split, why it was returned or disposed of; or anything worth keeping.
        note: String,
    }
    /// Decide how this laboratory reads its sieve analyses.
    SetSievingRules {
        /// Definition of the nominal maximum size: `one-above-10-percent`, …
        definition: String,
        /// Rule of the closing check: `astm-c136` or `en-933-1`.
        closing: String,
        /// On what grounds.
        reason: String,
    }
    /// Record the sieve analysis of a sample: its rows, or a whole table as text.
    RecordSieving {
        /// The sample.
        sample: String,
        /// What each sieve kept; a row without a mass is a sieve that was not used.
        rows: Vec<SievedRow>,
        /// What the pan held, g.
        pan_g: String,
        /// In place of rows and pan: a table as text, columns `sieve_mm` and `retained_g`.
        table: String,
        /// Oven-dry mass before, g.
        before_g: String,
        /// Oven-dry mass after washing, g; empty when it was not washed.
        after_wash_g: String,
        /// Mass of the whole sample received, g; may be empty.
        received_g: String,
        /// Definition of the nominal maximum size; empty for the laboratory's own.
        definition: String,
        /// Rule of the closing check; empty for the laboratory's own.
        closing: String,
        /// The balance; empty for the only one in service.
        balance: String,
        /// Why an analysis that is already recorded is replaced.
        reason: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
    /// Record what another laboratory found on its part of a split sample.
    RecordOutsideResult {
        /// The sample.
        sample: String,
        /// By which method.
        method: String,
        /// Which laboratory.
        laboratory: String,
        /// The loss that it reported, %.
        loss_percent: String,
        /// The document that says so.
        document: String,
        /// Why a loss that is already recorded of this document is replaced.
        reason: String,
    }
}

crate::request::described! {
    /// What one sieve kept.
    SievedRow {
        /// The sieve: its opening in mm, or its US designation.
        sieve: String,
        /// Mass kept on it, g.
        retained_g: String,
    }
}
