//! The `stonewear` program: it reads arguments, calls the rest, and prints the answer.
//!
//! Every command gives an [`Answer`]: a text for people and a JSON document for programs
//! (`--json`). Exit status: 0 done; 1 done, and the answer is no; 2 wrong input; 3 refused by the
//! laboratory's own rules; 4 the surroundings failed; 10 and above where the help of a command says so.

mod answer;
mod arguments;
mod command;
#[cfg(test)]
mod reference;
mod statistics;

use answer::{Answer, Failure};
use arguments::Arguments;
use clap::Parser;
use std::io::Write;
use std::process::ExitCode;

/// Typesetting and pages are made of many small pieces; the allocator of the system takes half as long again
/// for them.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    // Wrong arguments are wrong input: clap prints them to stderr and leaves with 2.
    let arguments = Arguments::parse();
    let json = arguments.json;
    match command::run(arguments) {
        Ok(answer) => print(&answer, json),
        Err(Failure::Answered(answer, status)) => {
            let printed = print(&answer, json);
            if printed == ExitCode::SUCCESS { ExitCode::from(status) } else { printed }
        }
        Err(failure) => {
            // Nothing can be done about an stderr that is closed.
            let _ = writeln!(std::io::stderr(), "stonewear: {failure}");
            failure.exit_code()
        }
    }
}

fn print(answer: &Answer, json: bool) -> ExitCode {
    let text = match (json, &answer.json) {
        (true, serde_json::Value::Null) => String::new(),
        (true, document) => format!("{document:#}"),
        (false, _) => answer.text.clone(),
    };
    let mut stdout = std::io::stdout().lock();
    let ended = if text.is_empty() { Ok(()) } else { writeln!(stdout, "{}", text.trim_end()) };
    match ended.and_then(|()| stdout.flush()) {
        Ok(()) if answer.is_no => ExitCode::from(1),
        // A reader that has gone away, such as `head`, is no failure of ours.
        Ok(()) => ExitCode::SUCCESS,
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
        Err(_) => Failure::Surroundings("the answer could not be printed".to_owned()).exit_code(),
    }
}
