//! Requests at the bench: specimens, their masses and readings, runs.

use super::Request;

forms! {
    /// Begin a specimen of a sample.
    BeginSpecimen {
        /// The sample.
        sample: String,
        /// The method; it is taken into use if it is not yet.
        method: String,
        /// The grading of the method.
        grading: String,
        /// The balance that the fractions are weighed on; empty for the only one in service.
        balance: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
    /// Weigh fractions into a specimen.
    WeighFractions {
        /// The specimen.
        specimen: String,
        /// One mass a fraction, g, coarsest first; an empty text leaves the fraction as it is.
        masses_g: Vec<String>,
        /// Why a mass that is already recorded is replaced.
        reason: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
    /// Weigh a specimen, washed and oven-dry, before the run.
    WeighBefore {
        /// The specimen.
        specimen: String,
        /// Mass, g.
        mass_g: String,
        /// The balance; empty for the only one in service.
        balance: String,
        /// The oven that dried it; empty for the only one in service, if there is one.
        oven: String,
        /// Why a mass that is already recorded is replaced.
        reason: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
    /// Weigh a specimen while it dries, to see whether its mass is constant.
    WeighDrying {
        /// The specimen.
        specimen: String,
        /// Mass, g.
        mass_g: String,
        /// The balance; empty for the only one in service.
        balance: String,
        /// The oven; empty for the only one in service, if there is one.
        oven: String,
    }
    /// Put a specimen into its water: the clock of the soak starts.
    StartSoak {
        /// The specimen.
        specimen: String,
    }
    /// Start a run.
    StartRun {
        /// The apparatus.
        apparatus: String,
        /// What makes it end: `revolutions` or `time`.
        ended_by: String,
        /// Temperature of the water, °C.
        water_c: String,
        /// What it was read with; empty for the only thermometer in service, if there is one.
        thermometer: String,
        /// What lies where.
        placements: Vec<Placement>,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
    /// Record that a run has ended.
    StopRun {
        /// The run.
        run: String,
        /// Revolutions shown.
        revolutions: String,
        /// Minutes that it turned.
        minutes: String,
        /// Why an end that is already recorded is replaced.
        reason: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
    /// Record that a run was interrupted before its end: the jars stand, and will turn again.
    InterruptRun {
        /// The run.
        run: String,
        /// Revolutions shown when the jars stood.
        revolutions: String,
        /// Minutes that they turned since the run began or was resumed.
        minutes: String,
        /// What happened.
        reason: String,
    }
    /// Let the jars of an interrupted run turn again.
    ResumeRun {
        /// The run.
        run: String,
        /// What the counter shows at that moment; empty for zero.
        counter: String,
    }
    /// Weigh what is kept on the method's sieve after the run, oven-dry.
    WeighAfter {
        /// The specimen.
        specimen: String,
        /// Mass, g.
        mass_g: String,
        /// The balance; empty for the only one in service.
        balance: String,
        /// The sieve that kept it; empty for the only one of that opening in service.
        sieve: String,
        /// The coarser sieve above it; empty for the only one of that opening in service, if
        /// there is one.
        guard_sieve: String,
        /// The oven that dried it; empty for the only one in service, if there is one.
        oven: String,
        /// Why a mass that is already recorded is replaced.
        reason: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
    /// Record what the method reads of a specimen beside its masses before and after.
    TakeReading {
        /// The specimen.
        specimen: String,
        /// The reading, by its name in the method: `kept_early`.
        reading: String,
        /// The value; where it is read of every fraction one each, coarsest first, and an empty one
        /// leaves its fraction as it is.
        values: Vec<String>,
        /// What it was read with; empty for the only one of its kind in service.
        instrument: String,
        /// Why a value that is already recorded is replaced.
        reason: String,
        /// Why the laboratory departs from the rules, if it does.
        deviation: String,
    }
}

crate::request::described! {
    /// What lies at one position of the apparatus in a run.
    Placement {
        /// Tier of the apparatus.
        tier: String,
        /// Position on the tier, from 1.
        position: String,
        /// The specimen in the jar; a placement without one is passed over.
        specimen: String,
        /// The jar.
        jar: String,
        /// The ball charge; empty where the method uses none.
        charge: String,
        /// Mass of the charge, g.
        charge_g: String,
        /// How many balls that is; empty where the method does not count them.
        charge_balls: String,
        /// Water in the jar, L.
        water_l: String,
        /// How long the specimen soaked, h.
        soaked_h: String,
    }
}
