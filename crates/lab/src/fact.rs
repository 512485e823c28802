//! What happened in the laboratory: the facts that the journal keeps for ever.
//!
//! Facts are written once and read by every later version of the program, so a field is only
//! ever added (with a default), never renamed or taken away. Masses and other readings are
//! decimal text, exactly as read; no fact holds a binary float.

use crate::code::{
    CheckCode, DoubtCode, ItemCode, PersonCode, ResultCode, RunCode, SampleCode, SpecimenCode,
};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;
use stonewear_method::{Method, MethodId};
use stonewear_procedure::apparatus::Control;
use stonewear_procedure::{Apparatus, ItemKind, Procedure};

/// A fact with its place in the journal, its time, and the person who gave it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recorded {
    /// Place in the journal, from 1.
    pub position: u64,
    /// When it was recorded.
    pub at: Timestamp,
    /// Who recorded it.
    pub by: PersonCode,
    /// What happened.
    pub fact: Fact,
}

/// A departure from a method or a rule of the laboratory, with the reason that a person gave.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Deviation {
    /// The rule departed from: `item-not-in-service`.
    pub rule: String,
    /// What departs.
    pub what: String,
    /// Why.
    pub reason: String,
}

/// What a person may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Right {
    /// Receive, make up, run, weigh; do checks.
    Test,
    /// Release results with their name.
    Release,
    /// Manage people, equipment and methods.
    Manage,
}

/// Where an item stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// New: its checks are still to be passed.
    BeingProved,
    /// In use.
    InService,
    /// Not to be used until somebody has dealt with it.
    Held,
    /// Never to be used again.
    Retired,
}

impl Standing {
    /// In words, as page and paper say it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::BeingProved => "being proved",
            Self::InService => "in service",
            Self::Held => "held",
            Self::Retired => "retired",
        }
    }
}

/// What was seen or read in a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// Whether it was as the step says.
    AsExpected(bool),
    /// The number that was read.
    Number(Decimal),
}

/// Which mass of a specimen was weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weighing {
    /// A fraction, counted from 0, coarsest first.
    Fraction(usize),
    /// The specimen before the run.
    Before,
    /// What is kept on the method's sieve after it.
    After,
}

/// What lies at one position in a run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Placed {
    /// Tier of the apparatus.
    pub tier: String,
    /// Position on the tier, from 1.
    pub position: u32,
    /// The specimen in the jar.
    pub specimen: SpecimenCode,
    /// The jar; none where the machine itself is the drum.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jar: Option<ItemCode>,
    /// The ball charge, where the method uses one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge: Option<ItemCode>,
    /// Its mass, g.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_g: Option<Decimal>,
    /// How many balls that is, where the method counts them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_balls: Option<u32>,
    /// Water, L; none where the method runs dry.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_l: Option<Decimal>,
    /// How long the specimen soaked, h; none where the method runs dry.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub soaked_h: Option<Decimal>,
}

/// A value that a test gave beside its loss, or where it gives none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PropertyValue {
    /// Its name in the method.
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// Its unit; empty where it has none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// The reported value.
    pub value: Decimal,
}

impl PropertyValue {
    /// What it is with its value: `absorption 1.0 %`.
    pub fn in_words(&self) -> String {
        format!("{} {} {}", self.title, self.value, self.unit).trim_end().to_owned()
    }
}

fn universal_time() -> String {
    "UTC".to_owned()
}

/// A fact. In JSON it carries its name as `kind`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Fact {
    /// The laboratory exists.
    LaboratoryFounded {
        /// Its name.
        name: String,
        /// Its postal address.
        address: String,
        /// Whether everything in it is invented.
        invented: bool,
        /// Time zone by which days are counted and times are shown, by its IANA name.
        #[serde(default = "universal_time")]
        time_zone: String,
    },
    /// A person works here.
    PersonAdded {
        /// Initials.
        person: PersonCode,
        /// Name.
        name: String,
        /// What they may do.
        rights: Vec<Right>,
    },
    /// What a person may do has changed.
    RightsSet {
        /// Who.
        person: PersonCode,
        /// What they may do from now on.
        rights: Vec<Right>,
        /// On what grounds.
        reason: String,
    },
    /// An edition of a method is in use; the whole of it is kept here, so that every result can
    /// be worked out again from the journal alone.
    MethodAdopted {
        /// The method as it was read.
        method: Box<Method>,
    },
    /// A number of a method was compared with the laboratory's own copy of the document.
    FigureConfirmed {
        /// The method.
        method: MethodId,
        /// Which number.
        figure: String,
        /// The corrected value; absent when it was right.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        value: Option<String>,
        /// Which copy it was compared with.
        against: String,
    },
    /// A piece of equipment is known.
    ItemRegistered {
        /// The code marked on it.
        item: ItemCode,
        /// What it is.
        item_kind: ItemKind,
        /// What people call it.
        name: String,
        /// Who made it, and its number.
        maker_and_serial: String,
        /// Opening of a sieve, mm.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        opening_mm: Option<Decimal>,
        /// How an apparatus is built.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        apparatus: Option<Box<Apparatus>>,
    },
    /// A check has begun; the whole procedure is kept here, as it was followed.
    CheckStarted {
        /// The check.
        check: CheckCode,
        /// The item being checked.
        item: ItemCode,
        /// The procedure.
        procedure: Box<Procedure>,
    },
    /// A step was observed.
    StepObserved {
        /// The check.
        check: CheckCode,
        /// The step.
        step: String,
        /// What was seen or read.
        seen: Seen,
        /// Whether it was as it must be.
        passed: bool,
        /// What a number was read with.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instrument: Option<ItemCode>,
        /// Expanded uncertainty (k = 2) of the number, where the verdict was guarded with it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        uncertainty: Option<Decimal>,
        /// Anything worth keeping.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        note: String,
    },
    /// A check has ended.
    CheckEnded {
        /// The check.
        check: CheckCode,
        /// Whether the item passed.
        passed: bool,
        /// Why it was given up, if it was.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
    },
    /// How long a pass of a procedure is good for in this laboratory was decided.
    IntervalSet {
        /// The procedure.
        procedure: String,
        /// Months, at least 1.
        months: u32,
        /// On what grounds.
        reason: String,
    },
    /// Where an item stands has changed.
    StandingChanged {
        /// The item.
        item: ItemCode,
        /// Where it stands now.
        standing: Standing,
        /// Why.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
    },
    /// A sample has arrived.
    SampleReceived {
        /// The sample.
        sample: SampleCode,
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
        nominal_maximum_mm: Decimal,
        /// Condition on arrival.
        condition: String,
        /// The most loss that is allowed, %, as it is written in the document that sets it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        limit_percent: Option<Decimal>,
        /// That document.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        limit_document: String,
        /// The method that the limit is for, by name; empty for the tests of wear in water.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        limit_method: String,
        /// The day it arrived.
        received_on: Date,
        /// Whether it is of the reference aggregate.
        #[serde(default)]
        reference: bool,
    },
    /// A specimen has been begun.
    SpecimenBegun {
        /// The specimen.
        specimen: SpecimenCode,
        /// Of which sample.
        sample: SampleCode,
        /// By which method.
        method: MethodId,
        /// And grading.
        grading: String,
        /// The balance for its fractions.
        balance: ItemCode,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
    },
    /// A mass was weighed.
    MassWeighed {
        /// Of which specimen.
        specimen: SpecimenCode,
        /// Which mass.
        weighing: Weighing,
        /// The mass, g.
        mass_g: Decimal,
        /// The balance.
        balance: ItemCode,
        /// The sieve that kept it, for the mass after the run.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sieve: Option<ItemCode>,
        /// Why an earlier mass is replaced, if one is.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
    },
    /// Something was read of a specimen beside its masses before and after.
    ReadingTaken {
        /// Of which specimen.
        specimen: SpecimenCode,
        /// The reading, by its name in the method.
        reading: String,
        /// The fraction, counted from 0, coarsest first, where it is of one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        fraction: Option<usize>,
        /// The value, in the unit of the method.
        value: Decimal,
        /// What it was read with.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instrument: Option<ItemCode>,
        /// Why an earlier value is replaced, if one is.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
    },
    /// Jars turn.
    RunStarted {
        /// The run.
        run: RunCode,
        /// In which apparatus.
        apparatus: ItemCode,
        /// What makes it end.
        ended_by: Control,
        /// The count that is wanted.
        revolutions_wanted: Decimal,
        /// Temperature of the water, °C.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        water_c: Option<Decimal>,
        /// What lies where.
        placed: Vec<Placed>,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
    },
    /// Jars stand.
    RunStopped {
        /// The run.
        run: RunCode,
        /// Revolutions shown, where the machine counts.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        revolutions: Option<Decimal>,
        /// Minutes that it turned.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes: Option<Decimal>,
        /// Why an end that was recorded before is replaced, if one is.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
    },
    /// A loss was worked out from the masses of these specimens.
    ResultWorkedOut {
        /// The result.
        result: ResultCode,
        /// Of which sample.
        sample: SampleCode,
        /// From which specimens.
        specimens: Vec<SpecimenCode>,
        /// The reported loss, %; absent where the test gives none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        loss_percent: Option<Decimal>,
        /// What the test gave beside it.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        properties: Vec<PropertyValue>,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
    },
    /// A loss was worked out again, because a mass it stands on was replaced.
    ResultRevised {
        /// The result.
        result: ResultCode,
        /// The loss now, %; absent where the test gives none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        loss_percent: Option<Decimal>,
        /// What the test gave beside it.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        properties: Vec<PropertyValue>,
        /// The reason for which the mass was replaced.
        reason: String,
    },
    /// A person stands for a result.
    ResultReleased {
        /// The result.
        result: ResultCode,
        /// The loss that was released, %; absent where the test gives none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        loss_percent: Option<Decimal>,
        /// What the test gave beside it.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        properties: Vec<PropertyValue>,
        /// Anything that the report should say.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        remark: String,
    },
    /// Something that results stand on turned out wrong, or may have: they are in doubt until a
    /// person closes each.
    DoubtOpened {
        /// The doubt.
        doubt: DoubtCode,
        /// The item.
        item: ItemCode,
        /// What of it.
        attribute: String,
        /// The value as found; what it means follows from the attribute.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        found: Option<Decimal>,
        /// The results in doubt.
        results: Vec<ResultCode>,
        /// What happened.
        reason: String,
    },
    /// A person has dealt with a result in doubt.
    DoubtClosed {
        /// The doubt.
        doubt: DoubtCode,
        /// The result.
        result: ResultCode,
        /// What was decided, and why.
        reason: String,
    },
    /// A file was attached to what was observed. Its bytes are kept beside the journal, under
    /// their hash.
    FileAttached {
        /// The check, item, sample, specimen, run or result.
        to: String,
        /// The step of the check, if it belongs to one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        step: Option<String>,
        /// What the file is called.
        name: String,
        /// Its kind, as its content showed: `image/jpeg`.
        media_type: String,
        /// SHA-256 of its bytes, 64 hexadecimal digits in lower case.
        sha256: String,
        /// How large it is, in bytes.
        bytes: u64,
    },
}
