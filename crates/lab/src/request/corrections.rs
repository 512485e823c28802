//! Requests that correct what was recorded.

use super::Request;

forms! {
    /// Correct what was recorded about the conditions of one specimen in a run. What is empty
    /// stays as it is.
    CorrectRun {
        /// The run.
        run: String,
        /// The specimen; empty for the only one in the run.
        specimen: String,
        /// Its jar.
        jar: String,
        /// Its ball charge.
        charge: String,
        /// Mass of the charge, g.
        charge_g: String,
        /// How many balls that is, where the method counts them.
        charge_balls: String,
        /// Water in its jar, L.
        water_l: String,
        /// How long it soaked, h.
        soaked_h: String,
        /// Temperature of the water of the whole run, °C.
        water_c: String,
        /// Why.
        reason: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
    /// Correct what was recorded at a step of a check.
    CorrectObservation {
        /// The check.
        check: String,
        /// The step.
        step: String,
        /// `yes` or `no`, or the number that was really read.
        seen: String,
        /// What is taken off it, where a step judges the difference of two readings.
        less: String,
        /// Why.
        reason: String,
    }
    /// Correct what was recorded about a sample. What is empty stays as it is.
    CorrectSample {
        /// The sample.
        sample: String,
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
        /// The client's address.
        client_address: String,
        /// The client's own reference.
        client_reference: String,
        /// By which plan and method it was taken.
        sampling_plan: String,
        /// Nominal maximum size, mm.
        nominal_maximum_mm: String,
        /// Condition on arrival.
        condition: String,
        /// The most loss that is allowed, %.
        limit_percent: String,
        /// The document that sets this limit.
        limit_document: String,
        /// The method that the limit is for, like `astm-c131`.
        limit_method: String,
        /// Why.
        reason: String,
    }
    /// Correct how an item is described. What is empty stays as it is.
    CorrectItem {
        /// The item.
        item: String,
        /// What people call it.
        name: String,
        /// Who made it, and its number.
        maker_and_serial: String,
        /// The smallest step that an instrument shows, in the unit that it reads.
        resolution: String,
        /// Why.
        reason: String,
    }
}
