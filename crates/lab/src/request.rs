//! What people ask of the laboratory, as they typed it.
//!
//! Every number is still text here: reading it is part of the decision, so that the page, the
//! command line and the interface for programs give the same message for the same slip, and what
//! was typed can be shown again.

use serde::{Deserialize, Serialize};

macro_rules! requests {
    ($( $(#[$doc:meta])* $name:ident { $( $(#[$field_doc:meta])* $field:ident : $type:ty, )* } )*) => {
        /// A request. In JSON it carries its name as `request`.
        #[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
        #[serde(tag = "request", rename_all = "kebab-case")]
        pub enum Request {
            $( $(#[$doc])* $name($name), )*
        }

        $(
            $(#[$doc])*
            #[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
            #[serde(default, deny_unknown_fields)]
            pub struct $name {
                $( $(#[$field_doc])* pub $field: $type, )*
            }

            impl From<$name> for Request {
                fn from(request: $name) -> Self {
                    Self::$name(request)
                }
            }
        )*
    };
}

requests! {
    /// Found the laboratory, with its first person.
    FoundLaboratory {
        /// Name of the laboratory.
        name: String,
        /// Postal address.
        address: String,
        /// Initials of the person who founds it.
        founder_code: String,
        /// Their name.
        founder_name: String,
        /// Time zone of the laboratory, like `Europe/Madrid`; empty for universal time.
        time_zone: String,
        /// `yes` when everything in it is invented.
        invented: String,
    }
    /// Add a person.
    AddPerson {
        /// Initials.
        code: String,
        /// Name.
        name: String,
        /// What they may do: `test`, `release`, `manage`.
        rights: Vec<String>,
    }
    /// Change what a person may do.
    SetRights {
        /// Initials.
        person: String,
        /// What they may do from now on: `test`, `release`, `manage`.
        rights: Vec<String>,
        /// On what grounds.
        reason: String,
    }
    /// Take an edition of a method into use.
    AdoptMethod {
        /// The method: `astm-d6928` or `astm-d6928@2010`.
        method: String,
    }
    /// Confirm or correct a number of a method against the laboratory's own copy.
    ConfirmFigure {
        /// The method in use.
        method: String,
        /// Which number: `water.volume_l.tolerance`.
        figure: String,
        /// The corrected value; empty to confirm the value as it is.
        value: String,
        /// Which copy it was compared with.
        against: String,
    }
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
        /// The item that a number was read with.
        instrument: String,
        /// Expanded uncertainty (k = 2) of the number, to guard the verdict with; may be empty.
        uncertainty: String,
        /// Anything worth keeping.
        note: String,
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
        /// Mass received, g, or as the balance printed it; may be empty.
        received_g: String,
        /// How many bags or boxes came; may be empty.
        bags: String,
        /// Who took the sample; may be empty.
        sampled_by: String,
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
    /// Record what an experiment of the laboratory says about how the loss follows a condition.
    RecordSensitivity {
        /// The condition: `revolutions`, `charge`, `water-temperature`.
        condition: String,
        /// The method it holds for.
        method: String,
        /// Percent of the loss per 1 % more revolutions or charge, or per 1 °C warmer water.
        percent_of_loss: String,
        /// Its expanded uncertainty (k = 2), in the same unit.
        uncertainty: String,
        /// The experiment: where its record is.
        experiment: String,
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
    /// Work out a result from other than the number of specimens that the method wants.
    WorkOutResult {
        /// The specimens, all of one sample, method and grading.
        specimens: Vec<String>,
        /// Why the laboratory departs from the rules.
        deviation: String,
    }
    /// Open a doubt: mark every result that stands on something that turned out wrong.
    OpenDoubt {
        /// The item.
        item: String,
        /// What of it, in the words of its procedures: `indication`, `speed`, `timer`.
        attribute: String,
        /// The value as found; may be empty.
        found: String,
        /// Since when, YYYY-MM-DD; empty for the last proof.
        since: String,
        /// What happened.
        reason: String,
    }
    /// Close a doubt for one result.
    CloseDoubt {
        /// The doubt.
        doubt: String,
        /// The result.
        result: String,
        /// What was decided, and why.
        reason: String,
    }
    /// Release a result with one's name.
    ReleaseResult {
        /// The result.
        result: String,
        /// Anything that the report should say.
        remark: String,
        /// Why the laboratory departs from its rules, if it does.
        deviation: String,
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
    /// Attach a file to what was observed. The bytes are kept by their hash, beside the request.
    AttachFile {
        /// The check, item, sample, specimen, run or result.
        to: String,
        /// The step of the check; may be empty.
        step: String,
        /// What the file is called.
        name: String,
        /// Its kind: `image/jpeg`.
        media_type: String,
        /// SHA-256 of its bytes, 64 hexadecimal digits in lower case.
        sha256: String,
        /// How large it is, in bytes.
        bytes: String,
    }
    /// Decide a policy: what the laboratory decides where methods and standards leave it open.
    SetPolicy {
        /// Its name: `decision-rule`.
        policy: String,
        /// Its value from now on: `guarded`.
        value: String,
        /// On what grounds.
        reason: String,
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

/// What lies at one position of the apparatus in a run.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Placement {
    /// Tier of the apparatus.
    pub tier: String,
    /// Position on the tier, from 1.
    pub position: String,
    /// The specimen in the jar; a placement without one is passed over.
    pub specimen: String,
    /// The jar.
    pub jar: String,
    /// The ball charge; empty where the method uses none.
    pub charge: String,
    /// Mass of the charge, g.
    pub charge_g: String,
    /// How many balls that is; empty where the method does not count them.
    pub charge_balls: String,
    /// Water in the jar, L.
    pub water_l: String,
    /// How long the specimen soaked, h.
    pub soaked_h: String,
}

/// What one sieve kept.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SievedRow {
    /// The sieve: its opening in mm, or its US designation.
    pub sieve: String,
    /// Mass kept on it, g.
    pub retained_g: String,
}

impl Request {
    /// The name of the request, as JSON writes it.
    pub fn name(&self) -> String {
        match serde_json::to_value(self) {
            Ok(serde_json::Value::Object(map)) => {
                map.get("request").and_then(|name| name.as_str()).unwrap_or_default().to_owned()
            }
            _ => String::new(),
        }
    }
}
