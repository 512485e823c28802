//! What happened in the laboratory: the facts that the journal keeps for ever.
//!
//! Facts are written once and read by every later version of the program, so a field is only
//! ever added (with a default), never renamed or taken away. Masses and other readings are
//! decimal text, exactly as read; no fact holds a binary float.

mod charge;
mod control;
mod custody;
mod everyday;
mod experiments;
mod imports;
mod observed;
mod papers;
mod parts;
mod people;
pub mod proficiency;
mod recorded;
pub mod round;
mod study;

pub use charge::{ChargeChange, ChargeChanged};
pub use control::*;
pub use custody::{CustodyStep, Holder, OutsideResultRecorded, SampleHandedOver};
pub use experiments::*;
pub use imports::*;
pub use observed::{DryingWeighed, FileAttached, ReadingTaken, SievingRecorded};
pub use papers::{
    CoveredResult, LetterheadSet, Logo, PaperFact, PaperIssued, PaperKind, PaperLanguage, SheetSize,
};
pub use parts::*;
pub use people::{AuthorisationChanged, AuthorisationGranted, SupervisionBegun};
pub use recorded::Recorded;
use recorded::universal_time;
pub use study::*;

use crate::code::{
    CheckCode, DoubtCode, ItemCode, PersonCode, ResultCode, RunCode, SampleCode, SpecimenCode,
};
use crate::judgement::Judgement;
use crate::policy::Policy;
use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;
use stonewear_method::{Method, MethodId};
use stonewear_procedure::apparatus::Control;
use stonewear_procedure::{Apparatus, ItemKind, Procedure};
use stonewear_sieving::{ClosingRule, Definition};

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
    /// A person is authorised for activities by a method.
    AuthorisationGranted(AuthorisationGranted),
    /// An authorisation was suspended, withdrawn, or is in force again.
    AuthorisationChanged(AuthorisationChanged),
    /// An authorised person watches the work of another.
    SupervisionBegun(SupervisionBegun),
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
        /// The smallest step that an instrument shows, in the unit that it reads.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        resolution: Option<Decimal>,
        /// How an apparatus is built.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        apparatus: Option<Box<Apparatus>>,
    },
    /// How an item is described has changed; what is absent stays as it was.
    ItemCorrected {
        /// The item.
        item: ItemCode,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// Who made it, and its number.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        maker_and_serial: Option<String>,
        /// The smallest step that an instrument shows, in the unit that it reads.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        resolution: Option<Decimal>,
        /// Why.
        reason: String,
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
        /// What was typed or printed for a mass, where that was not a number of grams.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        as_read: String,
    },
    /// What was recorded at a step of a check was not what had been seen or read.
    ObservationCorrected {
        /// The check.
        check: CheckCode,
        /// The step; its last observation is the one corrected.
        step: String,
        /// What had really been seen or read.
        seen: Seen,
        /// What was typed or printed for a mass, where that was not a number of grams.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        as_read: String,
        /// Whether it was as it must be.
        passed: bool,
        /// Why it was recorded otherwise.
        reason: String,
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
        /// Mass received, g.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        received_g: Option<Decimal>,
        /// What was typed or printed for this mass, where that was not a number of grams.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        received_as_read: String,
        /// How many bags or boxes came.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bags: Option<u32>,
        /// Who took the sample.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        sampled_by: String,
        /// The client's address.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        client_address: String,
        /// The client's own reference.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        client_reference: String,
        /// By which plan and method it was taken.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        sampling_plan: String,
        /// The day it was taken.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sampled_on: Option<Date>,
        /// Who brought it.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        delivered_by: String,
        /// Where it is kept.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        place: String,
    },
    /// A sample, or a part of it, went into other hands, to another place, or out of the
    /// laboratory.
    SampleHandedOver(SampleHandedOver),
    /// What was recorded about a sample was corrected; what is absent stays as it was.
    SampleCorrected {
        /// The sample.
        sample: SampleCode,
        /// What changes.
        changes: Box<SampleChanges>,
        /// Why.
        reason: String,
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
        /// Why this grading, where a sieve analysis decided it.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        grading_reason: String,
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
        /// What was typed or printed for it, where that was not a number of grams.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        as_read: String,
        /// The balance.
        balance: ItemCode,
        /// The sieve that kept it, for the mass after the run.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sieve: Option<ItemCode>,
        /// The coarser sieve above it, which takes the weight of the washing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        guard_sieve: Option<ItemCode>,
        /// The oven that dried it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        oven: Option<ItemCode>,
        /// Why an earlier mass is replaced, if one is.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
    },
    /// Something was read of a specimen beside its masses before and after.
    ReadingTaken(ReadingTaken),
    /// A specimen was weighed while it dried.
    DryingWeighed(DryingWeighed),
    /// A specimen lies in its water.
    SoakStarted {
        /// The specimen.
        specimen: SpecimenCode,
        /// When it was entered, where the entry waited on a tablet.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        made: Option<Timestamp>,
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
        /// What it was read with.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        thermometer: Option<ItemCode>,
        /// What lies where.
        placed: Vec<Placed>,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
        /// When it was entered, where the entry waited on a tablet.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        made: Option<Timestamp>,
    },
    /// Jars stand before the end of their run.
    RunInterrupted {
        /// The run.
        run: RunCode,
        /// Revolutions shown, where the machine counts.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        revolutions: Option<Decimal>,
        /// Minutes that they turned since the run began or was resumed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes: Option<Decimal>,
        /// What happened.
        reason: String,
    },
    /// The jars of an interrupted run turn again.
    RunResumed {
        /// The run.
        run: RunCode,
        /// What the counter showed at that moment.
        counter: Decimal,
        /// When it was entered, where the entry waited on a tablet.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        made: Option<Timestamp>,
    },
    /// What was recorded about the conditions of a run was corrected.
    RunCorrected {
        /// The run.
        run: RunCode,
        /// What lay with the specimen that is named in it, all of it as it is known now.
        placed: Placed,
        /// Temperature of the water, °C, as it is known now.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        water_c: Option<Decimal>,
        /// Why.
        reason: String,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
    },
    /// An experiment of the laboratory says how the loss follows a condition.
    SensitivityRecorded(SensitivityRecorded),
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
        /// What others than the laboratory did for it, and who.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        external: String,
        /// What was said of the limit of its sample, by the rule in force; absent where there is
        /// no limit, and from before judgements were kept.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        judgement: Option<Box<Judgement>>,
        /// Departures that somebody answers for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        deviations: Vec<Deviation>,
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
    /// How this laboratory reads its sieve analyses was decided.
    SievingRulesSet {
        /// Definition of the nominal maximum size.
        definition: Definition,
        /// Rule of the closing check.
        closing: ClosingRule,
        /// On what grounds.
        reason: String,
    },
    /// A sample was sieved.
    SievingRecorded(SievingRecorded),
    /// A file was attached to what was observed. Its bytes are kept beside the journal, under
    /// their hash.
    FileAttached(FileAttached),
    /// A policy was decided.
    PolicySet {
        /// Which.
        policy: Policy,
        /// Its value from now on.
        value: String,
        /// On what grounds.
        reason: String,
    },
    /// What another laboratory found on its part of a split sample was recorded.
    OutsideResultRecorded(OutsideResultRecorded),
    /// A study was planned.
    StudyPlanned(Box<StudyPlanned>),
    /// A specimen was made the run of a plan.
    StudyRunAssigned(StudyRunAssigned),
    /// Values of a study came from a file.
    StudyValuesImported(StudyValuesImported),
    /// A study was concluded, or withdrawn.
    StudyConcluded(StudyConcluded),
    /// A lot of reference aggregate is known.
    LotRegistered(LotRegistered),
    /// A sample belongs to a lot.
    SampleLinked(SampleLinked),
    /// What is left of a lot was weighed.
    StockCounted(StockCounted),
    /// Past reference results were taken over from a table.
    ReferenceImported(ReferenceImported),
    /// What a control chart is judged against was frozen.
    BaselineFrozen(BaselineFrozen),
    /// A new lot takes the place of an old one.
    LotTakenOver(LotTakenOver),
    /// Something happened to an item that its charts should show.
    EventNoted(EventNoted),
    /// A reference result is investigated.
    InvestigationOpened(InvestigationOpened),
    /// What a step of an investigation showed.
    FindingRecorded(FindingRecorded),
    /// An investigation is finished.
    InvestigationClosed(InvestigationClosed),
    /// A step of a round between laboratories.
    Round(round::RoundFact),
    /// What this laboratory was told of itself in a proficiency round, and did about it.
    Proficiency(proficiency::ProficiencyFact),
    /// Balls of a charge were added, taken out or renewed.
    ChargeChanged(ChargeChanged),
    /// An experiment was planned.
    ExperimentPlanned(ExperimentPlanned),
    /// A planned run was given its specimen.
    ExperimentAssigned(ExperimentAssigned),
    /// A run was left out of the fit of its experiment.
    ExperimentRunLeftOut(ExperimentRunLeftOut),
    /// An experiment was recorded from a table.
    ExperimentImported(ExperimentImported),
    /// A paper was issued, or the letterhead set.
    Paper(PaperFact),
    /// A file of the laboratory's past was taken over.
    FileImported(Box<FileImported>),
    /// Past tests, as an imported file says.
    PastTestsImported(PastTestsImported),
    /// Past sieve analyses, as an imported file says.
    PastSievingsImported(PastSievingsImported),
}
