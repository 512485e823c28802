//! The program under test: a laboratory in a folder of its own, served, and killed.

use crate::client::Client;
use serde_json::Value;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tempfile::TempDir;

/// The program that was built beside this test.
pub(crate) const BESIDE: &str = env!("CARGO_BIN_EXE_stonewear");

/// A laboratory and the token by which its clients ask.
pub(crate) struct Laboratory {
    folder: TempDir,
    program: PathBuf,
    pub(crate) token: String,
}

impl Laboratory {
    pub(crate) fn founded(program: &Path) -> Self {
        let folder = TempDir::new().unwrap();
        let mut laboratory = Self { folder, program: program.to_owned(), token: String::new() };
        laboratory.told(&[
            "found",
            "--name",
            "Invented Laboratory",
            "--address",
            "1 Invented Road",
            "--founder",
            "AB",
            "--founder-name",
            "Ada Brook",
        ]);
        let made = laboratory.told(&[
            "token", "new", "--by", "AB", "--person", "AB", "--scope", "manage", "--name", "crash",
        ]);
        laboratory.token = made["secret"].as_str().unwrap().to_owned();
        laboratory
    }

    fn command(&self) -> Command {
        let mut command = Command::new(&self.program);
        command.current_dir(self.folder.path()).stdin(Stdio::null());
        command
    }

    /// What a command answers, which must succeed.
    fn told(&self, words: &[&str]) -> Value {
        let output = self.command().args(words).arg("--json").output().unwrap();
        let trouble = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{words:?}: {trouble}");
        serde_json::from_slice(&output.stdout).unwrap()
    }

    /// The file of its journal.
    pub(crate) fn journal(&self) -> PathBuf {
        self.folder.path().join("laboratory/journal.sqlite")
    }

    /// Holds that the program itself finds the journal intact; how many facts there are.
    pub(crate) fn verified(&self) -> u64 {
        let verified = self.told(&["journal", "verify"]);
        assert_eq!(verified["good"], true, "{verified}");
        verified["facts"].as_u64().unwrap()
    }

    /// Holds that the newest backup that stands complete, whatever kill came between, comes back.
    pub(crate) fn comes_back(&self) {
        let listed = self.told(&["backup", "list", "backups"]);
        assert_ne!(listed["backups"].as_array().map(Vec::len), Some(0), "no backup was made");
        let checked = self.told(&["backup", "check", "backups"]);
        assert_eq!(checked["good"], true, "{checked}");
    }

    pub(crate) fn path(&self) -> &Path {
        self.folder.path()
    }
}

/// A server that was begun. It is killed, never stopped.
pub(crate) struct Server {
    child: Child,
    /// Empty until it listens.
    pub(crate) address: String,
}

impl Drop for Server {
    fn drop(&mut self) {
        // Where something did not hold, nothing is left running.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Server {
    /// Begun, and not waited for.
    pub(crate) fn begun(laboratory: &Laboratory) -> Self {
        let mut command = laboratory.command();
        // A backup is begun at each start, so that kills hit some on their way.
        command.args(["serve", "--listen", "127.0.0.1:0", "--backup-to", "backups"]);
        let child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        Self { child, address: String::new() }
    }

    /// Begun, and listening.
    pub(crate) fn ready(laboratory: &Laboratory) -> Self {
        let mut server = Self::begun(laboratory);
        let mut line = String::new();
        BufReader::new(server.child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let said = line.split_once("http://").and_then(|(_, rest)| rest.split_once('/'));
        let (address, _) = said.unwrap_or_else(|| {
            panic!("it does not start again in {}: {line:?}", laboratory.path().display())
        });
        server.address = address.to_owned();
        server
    }

    pub(crate) fn killed_after(mut self, life: Duration) {
        std::thread::sleep(life);
        // SIGKILL, as the system's own killer of processes sends it.
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Killed in the midst of what the clients send.
    pub(crate) fn killed_after_work(
        self,
        life: Duration,
        laboratory: &Laboratory,
        clients: &mut [Client],
    ) {
        let is_over = AtomicBool::new(false);
        let (address, is_over) = (self.address.clone(), &is_over);
        std::thread::scope(|scope| {
            for client in clients {
                let (address, token) = (&address, &laboratory.token);
                scope.spawn(move || client.works(address, token, is_over));
            }
            self.killed_after(life);
            is_over.store(true, Ordering::Relaxed);
        });
    }
}
