//! What a command answers, and how it fails.

use serde_json::Value;
use std::fmt;
use std::process::ExitCode;
use stonewear_lab::Refusal;
use stonewear_runtime::{OpenError, PackError};

/// What a command answers.
#[derive(Debug, Default)]
pub(crate) struct Answer {
    /// For people.
    pub(crate) text: String,
    /// For programs.
    pub(crate) json: Value,
    /// True when the answer is no: a broken journal, not ready, not conforming.
    pub(crate) is_no: bool,
}

impl Answer {
    pub(crate) fn new(text: impl Into<String>, json: Value) -> Self {
        Self { text: text.into(), json, is_no: false }
    }

    /// Everything that there is to say was printed already.
    pub(crate) fn said() -> Self {
        Self::default()
    }
}

/// Why a command failed.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The input is wrong: which, where, and what would be right. Exit status 2.
    WrongInput(String),
    /// A rule of the laboratory says no. Exit status 3.
    Refused(String),
    /// File, network or disk failed. Exit status 4.
    Surroundings(String),
    /// Nothing failed: the command answers with an exit status of its own, which its help lists.
    Answered(Box<Answer>, u8),
}

impl Failure {
    pub(crate) fn exit_code(&self) -> ExitCode {
        ExitCode::from(match self {
            Self::Answered(_, status) => *status,
            Self::WrongInput(_) => 2,
            Self::Refused(_) => 3,
            Self::Surroundings(_) => 4,
        })
    }

    /// Wrong input, from anything that says what is wrong.
    pub(crate) fn wrong_input(error: impl fmt::Display) -> Self {
        Self::WrongInput(error.to_string())
    }

    /// A failure of the surroundings, from anything that says what failed.
    pub(crate) fn surroundings(error: impl fmt::Display) -> Self {
        Self::Surroundings(error.to_string())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::WrongInput(message) | Self::Refused(message) | Self::Surroundings(message) => {
                f.write_str(message)
            }
            Self::Answered(answer, _) => f.write_str(&answer.text),
        }
    }
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        // What is not known here was typed wrong, like what cannot be read.
        let unknown = refusal.problems.iter().any(|problem| problem.rule.ends_with("-unknown"));
        if unknown || refusal.is_wrong_input() {
            Self::WrongInput(refusal.to_string())
        } else if refusal.excusable() {
            Self::Refused(format!(
                "{refusal}\n(with --deviation REASON it is done all the same, and the report says so)"
            ))
        } else {
            Self::Refused(refusal.to_string())
        }
    }
}

impl From<PackError> for Failure {
    fn from(error: PackError) -> Self {
        match error {
            PackError::Open(error) => error.into(),
            PackError::Broken { .. } | PackError::Attached { .. } | PackError::NotEmpty(_) => {
                Self::WrongInput(error.to_string())
            }
            PackError::File { .. } => Self::surroundings(error),
        }
    }
}

impl From<OpenError> for Failure {
    fn from(error: OpenError) -> Self {
        match error {
            // A method file of the laboratory's own is something that people write.
            OpenError::MethodFile(fault) => Self::WrongInput(fault),
            other => Self::surroundings(other),
        }
    }
}
