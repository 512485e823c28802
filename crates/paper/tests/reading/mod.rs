//! Files as a reader gets them, by programs of poppler-utils that know nothing of how they were made.

use std::io::Write;
use std::process::{Command, Stdio};

/// What a program of poppler-utils makes of a PDF.
pub(crate) fn through(program: &str, arguments: &[&str], pdf: &[u8]) -> Vec<u8> {
    let mut reader = Command::new(program)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap_or_else(|_| panic!("{program} is needed: install poppler-utils"));
    reader.stdin.take().unwrap().write_all(pdf).unwrap();
    reader.wait_with_output().unwrap().stdout
}

/// The text of a PDF in the order in which it was written, white space reduced to single spaces
/// and line ends.
#[allow(dead_code, reason = "not every test that reads files reads their words")]
pub(crate) fn text_of(pdf: &[u8]) -> String {
    let text = String::from_utf8(through("pdftotext", &["-raw", "-enc", "UTF-8", "-", "-"], pdf));
    let text = text.unwrap();
    let lines = text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    lines.filter(|line| !line.is_empty()).collect::<Vec<_>>().join("\n")
}
