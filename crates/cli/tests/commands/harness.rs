//! Runs the program as a user does, in a folder of its own, and shows what it said.

use regex::Regex;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::LazyLock;
use tempfile::TempDir;

/// The program under test.
pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_stonewear");

/// A folder in which commands are given.
pub(crate) struct Desk(TempDir);

/// What a command said, and how it ended.
pub(crate) struct Said {
    pub(crate) stdout: String,
    pub(crate) stderr: String,
    pub(crate) status: i32,
}

impl Desk {
    pub(crate) fn new() -> Self {
        Self(TempDir::new().unwrap())
    }

    /// A laboratory founded by AB, where CD may only test.
    pub(crate) fn founded() -> Self {
        let desk = Self::new();
        desk.done(
            "found --name 'Invented Laboratory' --address '1 Invented Road' \
             --founder AB --founder-name 'Ada Brook' --invented",
        );
        desk.done("person add --by AB CD --name 'Cyd Dell' --may test");
        desk
    }

    pub(crate) fn path(&self) -> &Path {
        self.0.path()
    }

    pub(crate) fn write(&self, name: &str, text: &str) -> PathBuf {
        let path = self.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    }

    /// Changes one letter of the founder's name, as somebody with an editor for files could.
    pub(crate) fn damage_journal(&self) {
        let path = self.path().join("laboratory/journal.sqlite");
        let mut bytes = std::fs::read(&path).unwrap();
        let at = bytes.windows(9).position(|window| window == b"Ada Brook").expect("the name");
        bytes[at + 4] = b'C';
        std::fs::write(&path, &bytes).unwrap();
    }

    /// The program with this command line, not yet started.
    pub(crate) fn command(&self, line: &str) -> Command {
        let mut command = Command::new(PROGRAM);
        command.args(words(line)).current_dir(self.path()).stdin(Stdio::null());
        command
    }

    pub(crate) fn run(&self, line: &str) -> Said {
        let output = self.command(line).output().unwrap();
        Said {
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
            status: output.status.code().expect("it ended by itself"),
        }
    }

    /// A command that must succeed; what it said.
    pub(crate) fn done(&self, line: &str) -> String {
        let said = self.run(line);
        assert_eq!((said.status, said.stderr.as_str()), (0, ""), "{line}\n{}", said.stdout);
        said.stdout
    }

    /// A command that must succeed with `--json`; its document.
    pub(crate) fn json(&self, line: &str) -> Value {
        let text = self.done(&format!("{line} --json"));
        serde_json::from_str(&text).unwrap_or_else(|error| panic!("{line}: {error}\n{text}"))
    }

    /// A command that must fail: the message, after nothing was said on stdout.
    pub(crate) fn fails(&self, status: i32, line: &str) -> String {
        let said = self.run(line);
        assert_eq!((said.status, said.stdout.as_str()), (status, ""), "{line}\n{}", said.stderr);
        redacted(self.path(), said.stderr.trim_end())
    }

    /// All that a command says, with what differs from run to run redacted.
    pub(crate) fn told(&self, line: &str) -> String {
        let Said { stdout, stderr, status } = self.run(line);
        let text = format!("{stdout}{stderr}[exit status {status}]");
        redacted(self.path(), &text)
    }

    /// A field of the last fact that a command led to.
    pub(crate) fn fact(&self, line: &str, field: &str) -> String {
        let answer = self.json(line);
        let fact = answer["facts"].as_array().unwrap().last().unwrap();
        fact[field].as_str().unwrap_or_else(|| panic!("{field} in {fact}")).to_owned()
    }
}

/// Replaces folders, hashes, times and the year in codes.
pub(crate) fn redacted(folder: &Path, text: &str) -> String {
    static PATTERNS: LazyLock<[(Regex, &str); 5]> = LazyLock::new(|| {
        [
            (r"\b[0-9a-f]{64}\b", "[HASH]"),
            (r"\d{4}-\d\d-\d\dT[0-9:.]+Z", "[TIME]"),
            (r"\b([CLRS])\d\d-(\d{3})", "${1}YY-${2}"),
            (r"process \d+", "process [ID]"),
            (r"like \d{4}-\d\d-\d\d", "like [DAY]"),
        ]
        .map(|(pattern, instead)| (Regex::new(pattern).unwrap(), instead))
    });
    let text = text.replace(&folder.display().to_string(), "[FOLDER]");
    PATTERNS
        .iter()
        .fold(text, |text, (pattern, instead)| pattern.replace_all(&text, *instead).into_owned())
}

/// The words of a command line; single quotes keep spaces together, as in a shell.
pub(crate) fn words(line: &str) -> Vec<String> {
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
