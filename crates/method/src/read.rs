//! Reading a method file: the whole method, or every fault with its line.

mod decode;
mod fields;
mod tree;

use crate::model::Method;
use crate::rules::broken;
use fields::Desk;
use std::fmt;
use thiserror::Error;

/// What is wrong at one place of a method file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub right: String,
}

/// What is wrong; what would be right.
impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.what, self.right)
    }
}

/// A method file that cannot be used, with all of its faults by line; never without any.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub struct MethodFileError {
    /// Name of the file.
    pub file: String,
    /// Its faults, first line first.
    pub faults: Vec<Fault>,
}

/// One line for each fault: `astm.toml:12:3: what is wrong; what would be right`.
impl fmt::Display for MethodFileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.faults.iter().enumerate() {
            let newline = if index == 0 { "" } else { "\n" };
            write!(f, "{newline}{}:{}:{}: {fault}", self.file, fault.line, fault.column)?;
        }
        Ok(())
    }
}

/// Reads a method from the text of its file. Numbers are taken digit by digit as they are written,
/// never through a binary float.
///
/// # Errors
/// With every fault found. Form comes first: only a file whose keys and values can all be read is
/// held against the rules of [`crate::rules`]; text that is no TOML gives its first fault only.
pub fn read(file_name: &str, text: &str) -> Result<Method, MethodFileError> {
    let refused = |mut desk: Desk| {
        desk.faults.sort_by_key(|fault| fault.at);
        let faults = desk.faults.into_iter().map(|fault| {
            let (line, column) = line_and_column(text, fault.at);
            Fault { line, column, what: fault.what, right: fault.right }
        });
        MethodFileError { file: file_name.to_owned(), faults: faults.collect() }
    };
    let mut desk = Desk::default();
    let root = match tree::parse(text) {
        Ok(root) => root,
        Err(error) => {
            desk.fault(error.at, error.what, error.right);
            return Err(refused(desk));
        }
    };
    let method = match decode::method(&mut desk, root) {
        Some(method) if desk.faults.is_empty() => method,
        _ => return Err(refused(desk)),
    };
    for rule in broken(&method) {
        let at = desk.place(&rule.path);
        desk.fault(at, rule.what, rule.right);
    }
    if desk.faults.is_empty() { Ok(method) } else { Err(refused(desk)) }
}

/// The line and column of a byte, both from 1. What lies after the end of the text is said of its
/// last line that has anything on it, so that the line can always be found.
fn line_and_column(text: &str, at: usize) -> (usize, usize) {
    let end = text.floor_char_boundary(at.min(text.trim_end().len()));
    let before = text.get(..end).unwrap_or_default();
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let line = before.matches('\n').count() + 1;
    let column = before.get(line_start..).unwrap_or_default().chars().count() + 1;
    (line, column)
}

#[cfg(test)]
mod tests;
