//! The laboratory as it stands: what all facts so far fold into.

mod attachment;
mod authorisation;
mod bench;
mod control;
mod custody;
mod doubt;
mod equipment;
mod experiment;
mod imports;
mod method_in_use;
mod papers;
mod policy;
mod round;
mod sample;
mod score;
mod sieving;
mod study;
mod worked_out;

pub use attachment::{Attachment, KeptFile};
pub use authorisation::{Authorisation, AuthorisationChange, Supervision};
pub use bench::{Interruption, Run, RunCorrection, Stopped};
pub use control::{Import, Investigation, ReferenceLot};
pub use custody::Custody;
pub use doubt::{Doubt, Use};
pub use equipment::{
    Check, CheckEnd, CheckState, IntervalChange, Item, Observation, ObservationCorrection,
    StandingChange,
};
pub use experiment::{AssignedSpecimen, Experiment, ExperimentRun};
pub use imports::FileImport;
pub use method_in_use::{Confirmation, MethodInUse};
pub use papers::{NextPaper, PRINTED_FINGERPRINT, SHORTEST_FINGERPRINT, Since};
pub use policy::{OutsideResult, PolicyDecision};
pub use round::{Round, RoundEnd, TakenIn};
pub use sample::{
    DryingMass, Release, ResultVersion, Sample, SampleCorrection, Specimen, TakenReading,
    TestResult, WeighedMass, in_words,
};
pub use score::{Score, ScoreAction};
pub use sieving::{Sieving, SievingRules};
pub use study::{AssignedRun, ImportedRun, Study};
pub(crate) use worked_out::WorkedOut;

use crate::code::{
    AuthorisationCode, CheckCode, DoubtCode, ExperimentCode, ImportCode, InvestigationCode,
    ItemCode, LotCode, PersonCode, ResultCode, RoundCode, RunCode, SampleCode, ScoreCode,
    SpecimenCode, StudyCode,
};
use crate::fact::{
    ChargeChanged, Condition, EventNoted, LetterheadSet, PaperIssued, Right, Standing,
};
use crate::policy::Policy;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ZonedDateTime};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use stonewear_measure::Decimal;
use stonewear_method::MethodId;
use stonewear_procedure::{ItemKind, Procedure};

/// A value with its place in the journal: who gave it, when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Noted<T> {
    /// What was given.
    pub value: T,
    /// When it was recorded.
    pub at: Timestamp,
    /// Who recorded it.
    pub by: PersonCode,
    /// The place of the fact in the journal.
    pub position: u64,
}

/// Name and address.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Identity {
    /// Name of the laboratory.
    pub name: String,
    /// Postal address.
    pub address: String,
    /// Whether everything in it is invented.
    pub invented: bool,
    /// Time zone by which days are counted and times are shown, by its IANA name.
    pub time_zone: String,
}

/// Somebody who works here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Person {
    /// Initials.
    pub code: PersonCode,
    /// Name.
    pub name: String,
    /// What they may do.
    pub rights: Vec<Right>,
    /// Since when, and by whom.
    pub since: Noted<String>,
}

impl Person {
    /// Whether they may do this.
    pub fn may(&self, right: Right) -> bool {
        self.rights.contains(&right)
    }
}

/// How the loss follows a condition, by an experiment of the laboratory.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sensitivity {
    /// The condition.
    pub condition: Condition,
    /// The method it holds for.
    pub method: MethodId,
    /// Percent of the loss per 1 % more revolutions or charge, or per 1 °C warmer water.
    pub percent_of_loss: Decimal,
    /// Its expanded uncertainty (k = 2), in the same unit.
    pub uncertainty: Option<Decimal>,
    /// The experiment.
    pub experiment: String,
}

/// The laboratory: a pure fold over the facts of its journal.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Lab {
    /// Name and address; absent while nobody has founded it.
    pub identity: Option<Identity>,
    /// People by initials.
    pub people: BTreeMap<PersonCode, Person>,
    /// What people are authorised for.
    pub authorisations: BTreeMap<AuthorisationCode, Authorisation>,
    /// Whose work was watched, by whom, in the order of the journal.
    pub supervisions: Vec<Noted<Supervision>>,
    /// Equipment by code.
    pub items: BTreeMap<ItemCode, Item>,
    /// Methods in use.
    pub methods: BTreeMap<MethodId, MethodInUse>,
    /// What the laboratory decided about intervals, by procedure, oldest first.
    pub intervals: BTreeMap<String, Vec<Noted<IntervalChange>>>,
    /// What the laboratory's own experiments say about how the loss follows a condition.
    pub sensitivities: Vec<Noted<Sensitivity>>,
    /// How the laboratory reads its sieve analyses, oldest decision first.
    pub sieving_rules: Vec<Noted<SievingRules>>,
    /// Checks of equipment.
    pub checks: BTreeMap<CheckCode, Check>,
    /// Samples.
    pub samples: BTreeMap<SampleCode, Sample>,
    /// Specimens.
    pub specimens: BTreeMap<SpecimenCode, Specimen>,
    /// Runs.
    pub runs: BTreeMap<RunCode, Run>,
    /// Results.
    pub results: BTreeMap<ResultCode, TestResult>,
    /// Doubts.
    pub doubts: BTreeMap<DoubtCode, Doubt>,
    /// Designed studies.
    pub studies: BTreeMap<StudyCode, Study>,
    /// What the laboratory decided for itself, by policy, oldest first.
    pub policies: BTreeMap<Policy, Vec<Noted<PolicyDecision>>>,
    /// Rounds between laboratories that are organised from here.
    pub rounds: BTreeMap<RoundCode, Round>,
    /// Scores of this laboratory in the proficiency rounds of others.
    pub scores: BTreeMap<ScoreCode, Score>,
    /// Attached files by the code of what they belong to, oldest first.
    pub attachments: BTreeMap<String, Vec<Noted<Attachment>>>,
    /// Lots of reference aggregate.
    pub lots: BTreeMap<LotCode, ReferenceLot>,
    /// The lot that a reference sample is of.
    pub lot_of_sample: BTreeMap<SampleCode, Noted<LotCode>>,
    /// What happened to items beside their checks and standings, oldest first.
    pub events: BTreeMap<ItemCode, Vec<Noted<EventNoted>>>,
    /// Investigations of reference results.
    pub investigations: BTreeMap<InvestigationCode, Investigation>,
    /// What was done to ball charges, oldest first.
    pub charge_changes: BTreeMap<ItemCode, Vec<Noted<ChargeChanged>>>,
    /// Experiments on how the loss follows a condition.
    pub experiments: BTreeMap<ExperimentCode, Experiment>,
    /// Files of the past that were taken over.
    pub file_imports: BTreeMap<ImportCode, FileImport>,
    /// The experiment and run that a specimen was assigned to.
    pub(crate) experiment_by_specimen: BTreeMap<SpecimenCode, (ExperimentCode, u32)>,
    /// Papers that were issued, by their fingerprints.
    pub papers: BTreeMap<String, Noted<PaperIssued>>,
    /// The letterhead of the papers, oldest first: the last one counts.
    pub letterheads: Vec<Noted<LetterheadSet>>,
    /// Every use of an item for a specimen, in the order of the journal.
    pub(crate) uses: BTreeMap<ItemCode, Vec<Use>>,
    /// The result that a specimen is part of.
    pub(crate) result_by_specimen: BTreeMap<SpecimenCode, ResultCode>,
    /// How many codes of a kind a year has used, by letter and year.
    pub(crate) numbers: BTreeMap<String, usize>,
    /// The checks of an item, in the order of the journal.
    pub(crate) checks_by_item: BTreeMap<ItemCode, Vec<CheckCode>>,
    /// The checks of an item that have ended, with the place of their end, in the order of the journal.
    pub(crate) ends_by_item: BTreeMap<ItemCode, Vec<(u64, CheckCode)>>,
    /// The runs that have not ended.
    pub(crate) turning: BTreeSet<RunCode>,
    /// The runs of an apparatus, in the order of the journal.
    pub(crate) runs_by_apparatus: BTreeMap<ItemCode, Vec<RunCode>>,
    /// Every procedure that a check followed, as it then stood: checks that followed the same share it.
    #[serde(skip)]
    pub(crate) followed: BTreeMap<String, Vec<Arc<Procedure>>>,
    /// Facts folded in so far: the position of the last one.
    pub position: u64,
    /// What was worked out from all that.
    #[serde(skip)]
    pub(crate) worked_out: WorkedOut,
}

impl Lab {
    /// A laboratory that nobody has founded yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// True once it has been founded.
    pub fn is_founded(&self) -> bool {
        self.identity.is_some()
    }

    /// An instant by the laboratory's own clock and calendar.
    pub fn local(&self, at: Timestamp) -> ZonedDateTime {
        let name = self.identity.as_ref().map_or("UTC", |identity| identity.time_zone.as_str());
        // A zone that a later version does not know any longer is shown in universal time.
        at.to_zoned_datetime(TimeZone::get(name).unwrap_or(TimeZone::UTC))
    }

    /// The last second of a day by the laboratory's calendar.
    pub fn end_of(&self, day: Date) -> Option<Timestamp> {
        let zone = self.local(Timestamp::UNIX_EPOCH).time_zone().clone();
        let next = day.tomorrow().ok()?.to_zoned_datetime(zone).ok()?;
        next.timestamp().checked_sub(SignedDuration::from_secs(1)).ok()
    }

    /// Items of a kind, in the order of their codes.
    pub fn items_of(&self, kind: ItemKind) -> impl Iterator<Item = &Item> {
        self.items.values().filter(move |item| item.kind == kind)
    }

    /// Items of a kind that are in service.
    pub fn in_service(&self, kind: ItemKind) -> impl Iterator<Item = &Item> {
        self.items_of(kind).filter(|item| item.standing() == Standing::InService)
    }

    /// The edition of a method that is in use under this name: its identity with or without the edition, or as
    /// its publisher writes it.
    pub fn method_in_use(&self, typed: &str) -> Option<&MethodInUse> {
        self.methods.values().rev().find(|one| one.method.answers_to(typed))
    }

    /// A method in use as its publisher writes it; what is not in use stays as it is named.
    pub fn dated(&self, method: &str) -> String {
        self.method_in_use(method).map_or_else(|| method.to_owned(), |one| one.method.dated())
    }

    /// The specimens of a sample, in order.
    pub fn specimens_of<'a>(
        &'a self,
        sample: &'a SampleCode,
    ) -> impl Iterator<Item = &'a Specimen> {
        let codes = self.samples.get(sample).map(|sample| sample.specimens.as_slice());
        codes.unwrap_or_default().iter().filter_map(|code| self.specimens.get(code))
    }

    /// The run that turns now in an apparatus.
    pub fn turning_in(&self, apparatus: &ItemCode) -> Option<&Run> {
        let turning = self.turning.iter().rev().filter_map(|code| self.runs.get(code));
        turning.into_iter().find(|run| run.apparatus == *apparatus)
    }

    /// What the laboratory's own last experiment says about a condition, for a method.
    pub fn sensitivity(
        &self,
        condition: Condition,
        method: &MethodId,
    ) -> Option<&Noted<Sensitivity>> {
        let fits = |one: &&Noted<Sensitivity>| {
            one.value.condition == condition && one.value.method == *method
        };
        self.sensitivities.iter().rev().find(fits)
    }

    /// The result that a specimen is part of.
    pub fn result_of(&self, specimen: &SpecimenCode) -> Option<&TestResult> {
        self.result_by_specimen.get(specimen).and_then(|result| self.results.get(result))
    }

    /// The result of a sample, if it has one.
    pub fn result_of_sample(&self, sample: &SampleCode) -> Option<&TestResult> {
        self.specimens_of(sample).find_map(|specimen| self.result_of(&specimen.code))
    }

    /// The doubts that touch a result, open or closed.
    pub fn doubts_of<'a>(&'a self, result: &'a ResultCode) -> impl Iterator<Item = &'a Doubt> {
        self.doubts.values().filter(move |doubt| doubt.results.contains(result))
    }

    /// Checks of an item, oldest first.
    pub fn checks_of<'a>(&'a self, item: &ItemCode) -> impl Iterator<Item = &'a Check> + use<'a> {
        let codes = self.checks_by_item.get(item).map(Vec::as_slice).unwrap_or_default();
        codes.iter().filter_map(|code| self.checks.get(code))
    }

    /// How many months a pass of a procedure is good for: as the laboratory decided, or else as
    /// the procedure says.
    pub fn interval_months(&self, procedure: &Procedure) -> Option<u32> {
        let decided = self.intervals.get(&procedure.id).and_then(|changes| changes.last());
        let written = procedure.interval_months.as_ref().map(|interval| interval.value);
        decided.map(|change| change.value.months).or(written)
    }

    /// Until when a check proves its item, if it was passed and a pass runs out.
    pub fn proves_until(&self, check: &Check) -> Option<Timestamp> {
        check.good_for(self.interval_months(&check.procedure)?)
    }

    /// Checks of an item that it had passed before this place in the journal, the last to end first. So the
    /// last that is wanted is found without walking through those of years.
    pub fn passed_before<'a>(
        &'a self,
        item: &ItemCode,
        position: u64,
    ) -> impl Iterator<Item = &'a Check> + use<'a> {
        let ended = self.ends_by_item.get(item).map(Vec::as_slice).unwrap_or_default();
        let until = ended.partition_point(|(end, _)| *end < position);
        let newest_first = ended[..until].iter().rev();
        newest_first.filter_map(|(_, code)| self.checks.get(code)).filter(|check| check.passed())
    }

    /// The check that lets an item be in service now: the last one that it passed.
    pub fn proof_of(&self, item: &ItemCode) -> Option<&Check> {
        self.passed_before(item, u64::MAX).find(|check| check.lets_into_service())
    }

    /// The last check of an item by this procedure that it passed.
    pub fn last_passed(&self, item: &ItemCode, procedure: &str) -> Option<&Check> {
        self.passed_before(item, u64::MAX).find(|check| check.procedure.id == procedure)
    }
}
