//! How a paper is asked for by those who need not know how it is made.

use crate::{Labels, Sheet, TestReport};
use thiserror::Error;

/// Turns what a paper says into a file to print.
///
/// The same data gives the same bytes, on every machine: no clock, no chance, no fonts of the
/// surroundings. Papers may be asked for from several threads at once.
pub trait Typesetter: Send + Sync {
    /// A test report as PDF.
    ///
    /// # Errors
    /// When the data cannot be printed, with the reason in words. Blank texts are no error, save the
    /// instant of issue.
    fn test_report(&self, report: &TestReport) -> Result<Vec<u8>, TypesetError>;

    /// Labels as PDF.
    ///
    /// # Errors
    /// When a code is too long for a label, or the data cannot be printed, with the reason in words.
    fn labels(&self, labels: &Labels) -> Result<Vec<u8>, TypesetError>;

    /// A sheet as PDF.
    ///
    /// # Errors
    /// When a drawing is no SVG, a table has a row of another length than its head, or the data
    /// cannot be printed, with the reason in words.
    fn sheet(&self, sheet: &Sheet) -> Result<Vec<u8>, TypesetError>;
}

/// Why there is no paper.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TypesetError {
    /// An instant cannot be read.
    #[error("{field} is “{given}”; write it in UTC like 2026-03-18T14:05:00Z")]
    Instant {
        /// Which field.
        field: &'static str,
        /// What it holds.
        given: String,
    },
    /// The page could not be laid out.
    #[error("the page could not be laid out: {0}")]
    Layout(String),
    /// The page could not be written as a file.
    #[error("the page could not be written as PDF: {0}")]
    Write(String),
    /// The typesetter itself is incomplete: a font or template that should be built in is not.
    #[error("the typesetter is incomplete: {0}")]
    Incomplete(String),
}
