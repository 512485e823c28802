//! The pure laboratory: facts, the state they fold into, and the decisions that make new facts.
//!
//! ```text
//! request ─► decide(&Lab, context, request) ─► facts | refusal
//!                    ▲                            │
//!                    └──── Lab::apply(fact) ◄─────┘
//! ```
//!
//! Nothing here knows the time, a disk, a network or a random number: who asks, and when, come in
//! with the [`Context`]. [`decide`] never changes anything and never panics; [`Lab::apply`] never
//! refuses, because what it is given has already happened.

pub mod agreement;
pub mod asked;
pub mod attachment;
pub mod authorisation;
pub mod charge;
pub mod code;
pub mod control;
pub mod decide;
pub mod doubt;
pub mod drying;
pub mod due;
pub mod duplicates;
pub mod estimate;
pub mod evidence;
pub mod experiment;
pub mod fact;
pub mod find;
pub mod judgement;
pub mod next;
pub mod outcome;
pub mod policy;
pub mod proficiency;
pub mod ready;
pub mod refusal;
pub mod release;
pub mod request;
pub mod round;
pub mod state;
pub mod study;
pub mod words;

mod apply;

pub use code::{
    AuthorisationCode, CheckCode, DoubtCode, ExperimentCode, ImportCode, InvestigationCode,
    ItemCode, LotCode, ParticipantCode, PersonCode, ResultCode, RoundCode, RunCode, SampleCode,
    ScoreCode, SpecimenCode, StudyCode,
};
pub use decide::{Context, decide};
pub use fact::{Fact, Recorded};
pub use refusal::{Problem, Refusal};
pub use request::Request;
pub use state::Lab;
