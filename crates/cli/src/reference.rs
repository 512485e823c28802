//! Holds `docs/commands.md` against the arguments that the program takes.
//!
//! `UPDATE_DOCS=1 cargo test -p stonewear reference` writes the generated part anew.

use crate::arguments::Arguments;
use clap::{Command, CommandFactory, Parser};

/// What follows this line is generated.
const MARK: &str = "<!-- Generated from the program's own help; reference.rs says how. -->\n";

fn path() -> std::path::PathBuf {
    std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/commands.md")
}

/// Every command that does something, with its whole name.
fn commands() -> Vec<(String, Command)> {
    fn collect(name: &str, command: &Command, into: &mut Vec<(String, Command)>) {
        let inner: Vec<_> =
            command.get_subcommands().filter(|inner| inner.get_name() != "help").collect();
        if inner.is_empty() {
            into.push((name.to_owned(), command.clone()));
        }
        for one in inner {
            let mut one = one.clone();
            // The examples of a group stand for those of its commands that have none.
            if let (None, Some(examples)) = (one.get_after_help(), command.get_after_help()) {
                one = one.after_help(examples.clone());
            }
            collect(&format!("{name} {}", one.get_name()), &one, into);
        }
    }
    let mut root = Arguments::command().term_width(100);
    root.build();
    let mut all = Vec::new();
    collect("stonewear", &root, &mut all);
    all
}

fn generated() -> String {
    let mut text = String::new();
    for (name, mut command) in commands() {
        let help = command.render_help().to_string();
        let help = help.lines().map(str::trim_end).collect::<Vec<_>>().join("\n");
        text.push_str(&format!("\n### {name}\n\n```text\n{}\n```\n", help.trim_end()));
    }
    text
}

#[test]
fn the_reference_says_what_the_program_does() {
    let text = std::fs::read_to_string(path()).unwrap();
    let (written, found) = text.split_once(MARK).expect("the mark in docs/commands.md");
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(path(), format!("{written}{MARK}{}", generated())).unwrap();
        return;
    }
    assert!(
        found == generated(),
        "docs/commands.md is stale; write it anew with UPDATE_DOCS=1 cargo test -p stonewear reference"
    );
}

#[test]
fn every_command_has_an_example_that_can_be_read() {
    for (name, command) in commands() {
        let help = command.get_after_help().unwrap_or_else(|| panic!("{name} has no example"));
        // A long example goes on in the next line, as in a shell.
        let help = help.to_string().replace("\\\n", " ");
        let examples: Vec<&str> =
            help.lines().map(str::trim).filter(|line| line.starts_with("stonewear ")).collect();
        assert!(!examples.is_empty(), "{name} has no example");
        let group = name.split(' ').take(2).collect::<Vec<_>>().join(" ");
        for example in examples {
            assert!(example.starts_with(&group), "{name}: {example}");
            let line = example.split(" > ").next().unwrap_or_default();
            Arguments::try_parse_from(words(line)).unwrap_or_else(|error| panic!("{error}"));
        }
    }
}

/// The words of a command line; single quotes keep spaces together, as in a shell.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (index, part) in line.split('\'').enumerate() {
        if index % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}
