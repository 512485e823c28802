//! A real PostgreSQL for tests: a private cluster that goes with the test program.
//!
//! One cluster serves all tests of a program; each test makes a database of its own in it. The cluster
//! listens on a socket in its own folder and on nothing else, and ends with the program, also when that is
//! killed. PostgreSQL must be installed (Debian: `apt-get install postgresql`; `./test` does it): without
//! it the tests fail and say so.

use postgres::{Client, NoTls};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Mutex, OnceLock, PoisonError};

/// Where Debian puts the programs of each version.
const PROGRAMS: &str = "/usr/lib/postgresql";
/// The user whom Debian's package makes; PostgreSQL refuses to run as root.
const USER: &str = "postgres";
/// The superuser of the cluster.
const SUPERUSER: &str = "owner_of_all";

/// A running cluster.
#[derive(Debug)]
pub struct Cluster {
    socket: PathBuf,
    // Closed with the program, which ends the cluster.
    keeper: Mutex<Keeper>,
    databases: AtomicU32,
    _child: Child,
}

#[derive(Debug)]
struct Keeper {
    asks: ChildStdin,
    says: BufReader<ChildStdout>,
}

/// A database of its own within the cluster, with roles of its own.
#[derive(Debug)]
pub struct Database<'a> {
    cluster: &'a Cluster,
    name: String,
}

/// The cluster of this program.
///
/// # Panics
/// When PostgreSQL is not installed or does not start: tests that need it fail, they are not skipped.
pub fn cluster() -> &'static Cluster {
    static CLUSTER: OnceLock<Cluster> = OnceLock::new();
    CLUSTER.get_or_init(Cluster::start)
}

impl Cluster {
    /// Starts a cluster of its own, for a test that stops it.
    ///
    /// # Panics
    /// As [`cluster`].
    pub fn start() -> Self {
        let programs = programs();
        let mut command = if is_root() {
            let mut command = Command::new("setpriv");
            let user = format!("--reuid={USER}");
            let group = format!("--regid={USER}");
            command.args([user.as_str(), group.as_str(), "--clear-groups", "sh"]);
            command
        } else {
            Command::new("sh")
        };
        let mut child = command
            .args(["-c", include_str!("start.sh"), "stonewear-cluster"])
            .arg(&programs)
            .current_dir("/")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap_or_else(|error| panic!("a PostgreSQL for tests cannot be started: {error}"));
        let (asks, says) = (child.stdin.take(), child.stdout.take());
        let (Some(asks), Some(says)) = (asks, says) else { unreachable!("both are piped") };
        let mut keeper = Keeper { asks, says: BufReader::new(says) };
        let socket = PathBuf::from(keeper.hears());
        Self { socket, keeper: Mutex::new(keeper), databases: AtomicU32::new(0), _child: child }
    }

    /// Makes an empty database that belongs to a role of its own (`NAME_owner`), which may make roles.
    ///
    /// # Panics
    /// When it cannot be made.
    pub fn database(&self) -> Database<'_> {
        let number = self.databases.fetch_add(1, Ordering::Relaxed);
        let name = format!("trial{number}");
        self.sql("postgres", &format!("CREATE ROLE {name}_owner LOGIN CREATEROLE"));
        self.sql("postgres", &format!("CREATE DATABASE {name} OWNER {name}_owner"));
        Database { cluster: self, name }
    }

    /// The folder that it lives in: of its socket, with its `data`.
    pub fn folder(&self) -> &Path {
        &self.socket
    }

    /// Ends the server as in a crash, and starts it again.
    ///
    /// # Panics
    /// When it does not start.
    pub fn restart(&self) {
        self.ask("restart");
    }

    /// Ends the server as in a crash.
    ///
    /// # Panics
    /// When it does not end.
    pub fn stop(&self) {
        self.ask("stop");
    }

    /// Starts the server that was ended.
    ///
    /// # Panics
    /// When it does not start.
    pub fn start_again(&self) {
        self.ask("start");
    }

    fn ask(&self, what: &str) {
        let mut keeper = self.keeper.lock().unwrap_or_else(PoisonError::into_inner);
        writeln!(keeper.asks, "{what}").unwrap_or_else(|error| panic!("the cluster: {error}"));
        keeper.hears();
    }

    fn sql(&self, database: &str, statements: &str) {
        self.client(database, SUPERUSER)
            .batch_execute(statements)
            .unwrap_or_else(|error| panic!("{statements}: {error:?}"));
    }

    fn client(&self, database: &str, role: &str) -> Client {
        let host = self.socket.display();
        Client::connect(&format!("host={host} user={role} dbname={database}"), NoTls)
            .unwrap_or_else(|error| panic!("{role} at {database}: {error:?}"))
    }
}

impl Keeper {
    fn hears(&mut self) -> String {
        let mut line = String::new();
        let read = self.says.read_line(&mut line).unwrap_or(0);
        assert!(read > 0, "the PostgreSQL for tests did not start; what it said stands above");
        line.trim_end().to_owned()
    }
}

impl Database<'_> {
    /// The address for a role of this database: `owner` and those made by [`Database::role`].
    pub fn address(&self, role: &str) -> String {
        self.address_of(&self.whole_name(role))
    }

    /// The whole name of a role of this database.
    pub fn whole_name(&self, role: &str) -> String {
        format!("{}_{role}", self.name)
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// A plain connection for the superuser to a cluster that listens on a port.
    ///
    /// # Panics
    /// When there is none.
    pub fn client_at(&self, port: u16) -> Client {
        let (host, name) = (self.cluster.socket.display(), &self.name);
        let address = format!("host={host} port={port} user={SUPERUSER} dbname={name}");
        Client::connect(&address, NoTls).unwrap_or_else(|error| panic!("{address}: {error:?}"))
    }

    /// The address for the superuser of the cluster.
    pub fn superuser(&self) -> String {
        self.address_of(SUPERUSER)
    }

    fn address_of(&self, role: &str) -> String {
        // A folder as host is written so in an address.
        let host = self.cluster.socket.display().to_string().replace('/', "%2F");
        format!("postgres://{role}@{host}/{}", self.name)
    }

    /// Makes a role that can log in, with further attributes, and says its whole name.
    ///
    /// # Panics
    /// When it cannot be made.
    pub fn role(&self, role: &str, attributes: &str) -> String {
        let role = self.whole_name(role);
        self.cluster.sql(&self.name, &format!("CREATE ROLE {role} LOGIN {attributes}"));
        role
    }

    /// Does something as the superuser.
    ///
    /// # Panics
    /// When it cannot be done.
    pub fn sql(&self, statements: &str) {
        self.cluster.sql(&self.name, statements);
    }

    /// A plain connection for a role of this database, by its whole name; for the superuser, none.
    ///
    /// # Panics
    /// When there is none.
    pub fn client(&self, role: Option<&str>) -> Client {
        self.cluster.client(&self.name, role.unwrap_or(SUPERUSER))
    }
}

/// The folder of the newest programs.
fn programs() -> PathBuf {
    let version = |path: &Path| -> Option<u32> { path.file_name()?.to_str()?.parse().ok() };
    let entries = std::fs::read_dir(PROGRAMS).into_iter().flatten().flatten();
    let found = entries.map(|entry| entry.path()).filter(|path| path.join("bin/initdb").exists());
    let newest = found.max_by_key(|path| version(path));
    newest.map(|path| path.join("bin")).unwrap_or_else(|| {
        panic!(
            "these tests need PostgreSQL, and there is none in {PROGRAMS}; on Debian: apt-get install \
             postgresql"
        )
    })
}

fn is_root() -> bool {
    let output = Command::new("id").arg("-u").output();
    output.is_ok_and(|output| output.stdout.trim_ascii() == b"0")
}
