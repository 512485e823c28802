//! What people ask of the laboratory, as they typed it.
//!
//! Every number is still text here: reading it is part of the decision, so that the page, the
//! command line and the interface for programs give the same message for the same slip, and what
//! was typed can be shown again. One file per matter holds the forms; this one lists them all.

use serde::{Deserialize, Serialize};

/// Makes a form of each block: what is absent is empty, a field that is not known is refused. The
/// comments that stand at a form and its fields are its description for programs too.
macro_rules! forms {
    ($( $(#[doc = $doc:literal])* $name:ident {
        $( $(#[doc = $field_doc:literal])* $field:ident : $type:ty, )*
    } )*) => {
        crate::request::described! { $(
            $(#[doc = $doc])* $name { $( $(#[doc = $field_doc])* $field: $type, )* }
        )* }
        $(
            impl From<$name> for Request {
                fn from(request: $name) -> Self {
                    Self::$name(request)
                }
            }
        )*
    };
}

/// Makes a structure of each block, with its description: a form, or a row of one.
macro_rules! described {
    ($( $(#[doc = $doc:literal])* $name:ident {
        $( $(#[doc = $field_doc:literal])* $field:ident : $type:ty, )*
    } )*) => { $(
        $(#[doc = $doc])*
        #[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
        #[serde(default, deny_unknown_fields)]
        pub struct $name {
            $( $(#[doc = $field_doc])* pub $field: $type, )*
        }

        impl crate::request::Typed for $name {
            fn kind() -> crate::request::Kind {
                crate::request::Kind::Form(crate::request::Form {
                    name: stringify!($name),
                    says: concat!($($doc),*).trim(),
                    fields: vec![$( crate::request::Field {
                        name: stringify!($field),
                        says: concat!($($field_doc),*).trim(),
                        kind: <$type as crate::request::Typed>::kind(),
                    }, )*],
                })
            }
        }
    )* };
}
pub(crate) use described;

mod bench;
mod charge;
mod control;
mod corrections;
mod description;
mod equipment;
mod experiments;
mod imports;
mod laboratory;
mod papers;
mod people;
mod results;
mod rounds;
mod samples;
mod studies;

pub use bench::*;
pub use charge::*;
pub use control::*;
pub use corrections::*;
pub use description::*;
pub use equipment::*;
pub use experiments::*;
pub use imports::*;
pub use laboratory::*;
pub use papers::*;
pub use people::*;
pub use results::*;
pub use rounds::*;
pub use samples::*;
pub use studies::*;

/// Makes the list of all requests, and of their descriptions.
macro_rules! requests {
    ($( $(#[doc = $doc:literal])* $name:ident($form:ty), )*) => {
        /// A request. In JSON it carries its name as `request`.
        #[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
        #[serde(tag = "request", rename_all = "kebab-case")]
        pub enum Request {
            $( $(#[doc = $doc])* $name($form), )*
        }

        impl Request {
            /// Every request there is, with nothing typed yet.
            pub fn empty_ones() -> Vec<Self> {
                vec![$( Self::$name(<$form>::default()), )*]
            }

            /// What can be typed into this request.
            pub fn form(&self) -> Form {
                match self {
                    $( Self::$name(_) => form_of::<$form>(), )*
                }
            }
        }
    };
}

requests! {
    /// Found the laboratory, with its first person.
    FoundLaboratory(FoundLaboratory),
    /// Add a person.
    AddPerson(AddPerson),
    /// Change what a person may do.
    SetRights(SetRights),
    /// Authorise a person for activities by a method.
    GrantAuthorisation(GrantAuthorisation),
    /// Suspend or withdraw an authorisation, or put a suspended one in force again.
    ChangeAuthorisation(ChangeAuthorisation),
    /// Record that one watches the work of a person who is not authorised.
    SuperviseWork(SuperviseWork),
    /// Take an edition of a method into use.
    AdoptMethod(AdoptMethod),
    /// Confirm or correct a number of a method against the laboratory's own copy.
    ConfirmFigure(ConfirmFigure),
    /// Register a piece of equipment.
    RegisterItem(RegisterItem),
    /// Begin a check of an item.
    StartCheck(StartCheck),
    /// Record what was seen or read in a step of a check.
    Observe(Observe),
    /// End a check that cannot be passed: the item is held.
    GiveUpCheck(GiveUpCheck),
    /// Decide how long a pass of a procedure is good for in this laboratory.
    SetInterval(SetInterval),
    /// Put an item into service, hold it, or retire it.
    ChangeStanding(ChangeStanding),
    /// Receive a sample.
    ReceiveSample(ReceiveSample),
    /// Record that a sample went into other hands, to another place, or out of the laboratory.
    HandOverSample(HandOverSample),
    /// Begin a specimen of a sample.
    BeginSpecimen(BeginSpecimen),
    /// Weigh fractions into a specimen.
    WeighFractions(WeighFractions),
    /// Weigh a specimen, washed and oven-dry, before the run.
    WeighBefore(WeighBefore),
    /// Weigh a specimen while it dries, to see whether its mass is constant.
    WeighDrying(WeighDrying),
    /// Put a specimen into its water: the clock of the soak starts.
    StartSoak(StartSoak),
    /// Start a run.
    StartRun(StartRun),
    /// Record that a run has ended.
    StopRun(StopRun),
    /// Record that a run was interrupted before its end: the jars stand, and will turn again.
    InterruptRun(InterruptRun),
    /// Let the jars of an interrupted run turn again.
    ResumeRun(ResumeRun),
    /// Correct what was recorded about the conditions of one specimen in a run. What is empty
    /// stays as it is.
    CorrectRun(CorrectRun),
    /// Correct what was recorded at a step of a check.
    CorrectObservation(CorrectObservation),
    /// Correct what was recorded about a sample. What is empty stays as it is.
    CorrectSample(CorrectSample),
    /// Correct how an item is described. What is empty stays as it is.
    CorrectItem(CorrectItem),
    /// Record what an experiment of the laboratory says about how the loss follows a condition.
    RecordSensitivity(RecordSensitivity),
    /// Weigh what is kept on the method's sieve after the run, oven-dry.
    WeighAfter(WeighAfter),
    /// Record what the method reads of a specimen beside its masses before and after.
    TakeReading(TakeReading),
    /// Work out a result from other than the number of specimens that the method wants.
    WorkOutResult(WorkOutResult),
    /// Open a doubt: mark every result that stands on something that turned out wrong.
    OpenDoubt(OpenDoubt),
    /// Close a doubt for one result.
    CloseDoubt(CloseDoubt),
    /// Release a result with one's name.
    ReleaseResult(ReleaseResult),
    /// Decide how this laboratory reads its sieve analyses.
    SetSievingRules(SetSievingRules),
    /// Record the sieve analysis of a sample: its rows, or a whole table as text.
    RecordSieving(RecordSieving),
    /// Attach a file to what was observed. The bytes are kept by their hash, beside the request.
    AttachFile(AttachFile),
    /// Decide a policy: what the laboratory decides where methods and standards leave it open.
    SetPolicy(SetPolicy),
    /// Record what another laboratory found on its part of a split sample.
    RecordOutsideResult(RecordOutsideResult),
    /// Plan a study: which runs, in which order, so that a question can be answered.
    PlanStudy(PlanStudy),
    /// Make a specimen the run of a plan.
    AssignStudyRun(AssignStudyRun),
    /// Take values of runs from a file.
    ImportStudyValues(ImportStudyValues),
    /// Conclude a study with one's name, or withdraw it.
    ConcludeStudy(ConcludeStudy),
    /// Register a lot of reference aggregate.
    RegisterLot(RegisterLot),
    /// Say of which lot of reference aggregate a sample is.
    LinkSample(LinkSample),
    /// Record what is left of a lot.
    CountStock(CountStock),
    /// Take over past reference results from a table.
    ImportReference(ImportReference),
    /// Freeze what a control chart is judged against.
    FreezeBaseline(FreezeBaseline),
    /// Let a new lot take the place of an old one.
    TakeOverLot(TakeOverLot),
    /// Note something that happened to an item, for its charts.
    NoteEvent(NoteEvent),
    /// Investigate a reference result.
    OpenInvestigation(OpenInvestigation),
    /// Record what a step of an investigation showed.
    RecordFinding(RecordFinding),
    /// Finish an investigation, and release the apparatus that it holds.
    CloseInvestigation(CloseInvestigation),
    /// Plan a round with split samples, organised from here.
    PlanRound(PlanRound),
    /// Let a laboratory take part in a round.
    JoinRound(JoinRound),
    /// Record the homogeneity test of split samples.
    TestHomogeneity(TestHomogeneity),
    /// Take in results of participants.
    TakeInResults(TakeInResults),
    /// Take in results of this laboratory for its own part in a round.
    TakeInOwnResults(TakeInOwnResults),
    /// Decide whether the results of a participant for a material count for precision.
    JudgeCell(JudgeCell),
    /// End a round: its figures are kept, its reports are final.
    CloseRound(CloseRound),
    /// Let an ended round go on.
    ReopenRound(ReopenRound),
    /// Take in the table of a provider of proficiency rounds: rows about this laboratory.
    TakeInScores(TakeInScores),
    /// Record what was done about a score.
    ActOnScore(ActOnScore),
    /// Close the matter of a score.
    CloseScore(CloseScore),
    /// Record that balls of a charge were added, taken out or renewed.
    ChangeCharge(ChangeCharge),
    /// Plan an experiment on how the loss follows a condition of the run.
    PlanExperiment(PlanExperiment),
    /// Give a planned run of an experiment its specimen.
    AssignToExperiment(AssignToExperiment),
    /// Leave a run of an experiment out of its fit.
    LeaveOutOfExperiment(LeaveOutOfExperiment),
    /// Record an experiment from a table.
    ImportExperiment(ImportExperiment),
    /// Issue a paper: from then on it is what the laboratory said.
    IssuePaper(IssuePaper),
    /// Set the letterhead of the laboratory's papers.
    SetLetterhead(SetLetterhead),
    /// Take over the rows of a spreadsheet from before the laboratory was kept here.
    ImportFile(ImportFile),
}

impl Request {
    /// Whether its facts name a file whose bytes are read or made in the same step, so that it makes
    /// no sense without them.
    pub fn comes_with_file(&self) -> bool {
        matches!(self, Self::ImportFile(_) | Self::IssuePaper(_))
    }

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
