//! Runs the program in a folder that holds the published data.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// The program under test.
pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_stonewear");

/// The published data.
pub(crate) fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/statistics/data")
}

/// What a command said, and how it ended.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) stdout: String,
    pub(crate) stderr: String,
    pub(crate) status: i32,
}

/// A command line, parted at spaces, in a folder.
pub(crate) fn run_in(folder: &Path, line: &str) -> Said {
    let output = Command::new(PROGRAM)
        .args(line.split_whitespace())
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    Said {
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
        status: output.status.code().expect("it ended by itself"),
    }
}

/// The document of a command on published data, whatever its answer is.
pub(crate) fn document(line: &str) -> Value {
    let said = run_in(&data(), &format!("{line} --json"));
    assert!(said.status < 2, "{line}: {}", said.stderr);
    serde_json::from_str(&said.stdout).unwrap_or_else(|e| panic!("{line}: {e}\n{}", said.stdout))
}

/// A number in a document, by its path: `materials/0/mean`.
pub(crate) fn number(document: &Value, path: &str) -> f64 {
    let found = document.pointer(&format!("/{path}"));
    found.and_then(Value::as_f64).unwrap_or_else(|| panic!("{path}: {found:?} in {document:#}"))
}

/// Holds a number against the published one.
#[track_caller]
pub(crate) fn near(document: &Value, path: &str, published: f64, within: f64) {
    let found = number(document, path);
    assert!((found - published).abs() <= within, "{path}: {found}, published {published}");
}

/// Files of one's own.
pub(crate) struct Desk(TempDir);

impl Desk {
    pub(crate) fn new() -> Self {
        Self(TempDir::new().unwrap())
    }

    pub(crate) fn path(&self) -> &Path {
        self.0.path()
    }

    pub(crate) fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        std::fs::write(self.path().join(name), content).unwrap();
    }

    pub(crate) fn run(&self, line: &str) -> Said {
        run_in(self.path(), line)
    }
}
