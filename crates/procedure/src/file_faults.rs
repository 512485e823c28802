//! What is wrong in a file that a person wrote: where, what, and what would be right.

use std::fmt;
use thiserror::Error;

/// One fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong.
    pub wrong: String,
    /// What would be right.
    pub right: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.wrong, self.right)
    }
}

/// All faults of one file, in the order of its lines: whoever mends it should not have to come
/// back for the next one.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}", said(self))]
pub struct FileFaults {
    /// The file, as the caller named it.
    pub file: String,
    /// The faults; never empty.
    pub faults: Vec<Fault>,
}

fn said(faults: &FileFaults) -> String {
    let lines: Vec<String> = faults
        .faults
        .iter()
        .map(|fault| format!("{}, line {}: {fault}", faults.file, fault.line))
        .collect();
    lines.join("\n")
}
