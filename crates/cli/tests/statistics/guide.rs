//! Holds every example of `docs/statistics.md` against what the program says.
//!
//! `UPDATE_DOCS=1 cargo test -p stonewear --test statistics guide` writes the answers anew.

use crate::desk::{Desk, PROGRAM};
use std::path::Path;
use std::process::Command;

const OPEN: &str = "```console\n";
const CLOSE: &str = "```\n";

/// The lines that begin with `$ ` are given to a shell, one after the other, in one folder; below them
/// stands what they print.
fn answered(text: &str, desk: &Desk) -> String {
    let mut whole = String::new();
    let mut rest = text;
    while let Some((before, block)) = rest.split_once(OPEN) {
        let (block, after) = block.split_once(CLOSE).expect("a block that is closed");
        whole.push_str(before);
        whole.push_str(OPEN);
        for line in block.lines().filter_map(|line| line.strip_prefix("$ ")) {
            whole.push_str(&format!("$ {line}\n{}", shell(line, desk)));
        }
        whole.push_str(CLOSE);
        rest = after;
    }
    whole + rest
}

fn shell(line: &str, desk: &Desk) -> String {
    let folder = Path::new(PROGRAM).parent().unwrap();
    let path = std::env::var("PATH").unwrap_or_default();
    let output = Command::new("sh")
        .args(["-c", line])
        .current_dir(desk.path())
        .env("PATH", format!("{}:{path}", folder.display()))
        .output()
        .unwrap();
    let said =
        String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    match output.status.code().unwrap() {
        0 => said,
        status => format!("{said}[exit status {status}]\n"),
    }
}

#[test]
fn the_guide_prints_what_the_program_says() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/statistics.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let desk = Desk::new();
    let answered = answered(&text, &desk);
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(&path, answered).unwrap();
        return;
    }
    for (found, wanted) in text.lines().zip(answered.lines()) {
        assert_eq!(found, wanted, "docs/statistics.md is stale; UPDATE_DOCS=1 writes it anew");
    }
    assert_eq!(text.len(), answered.len());
    for command in [
        "describe",
        "fit",
        "anova",
        "chart",
        "run-length",
        "interlab",
        "relations",
        "proficiency",
        "robust",
        "compare",
        "equivalence",
        "sample-size",
        "acceptance",
        "plan",
        "tolerance",
        "judge",
        "uncertainty",
        "budget",
        "trend",
        "outliers",
    ] {
        assert!(text.contains(&format!("$ stonewear {command} ")), "no example of {command}");
    }
}
