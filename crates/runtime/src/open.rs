//! A laboratory opened for work.

use crate::clock::Clock;
use crate::error::{OpenError, SubmitError};
use crate::folder::{self, Folder};
use crate::replay::{self, Damage};
use jiff::Timestamp;
use std::fs::File;
use std::path::Path;
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};
use stonewear_journal::{Draft, Head, Instant, SqliteStore, Store, StoreError, Verification};
use stonewear_lab::state::TestResult;
use stonewear_lab::{Context, Fact, Lab, PersonCode, Recorded, Refusal, Request, decide};
use stonewear_method::Method;
use stonewear_procedure::Procedure;
use stonewear_report::JournalAnchor;

/// A laboratory opened for work: the only way to add to its journal.
#[derive(Debug)]
pub struct OpenLaboratory {
    lab: Lab,
    // A connection belongs to one thread at a time; readers of the state do not need it.
    store: Mutex<SqliteStore>,
    head: Head,
    last_at: Timestamp,
    damage: Option<Damage>,
    methods: Vec<Method>,
    procedures: Vec<Procedure>,
    clock: Clock,
    folder: Folder,
    /// Hash of the first entry.
    first_hash: OnceLock<String>,
    // Held as long as the laboratory is open; the system lets go of it when the program ends.
    _lock: File,
}

/// The facts of one request, decided and not yet kept.
#[derive(Debug, Clone, Copy)]
pub struct Decided<'a> {
    /// When it was asked.
    pub at: Timestamp,
    /// Who asked.
    pub by: &'a PersonCode,
    /// Key of the request.
    pub key: &'a str,
    /// What follows from it.
    pub facts: &'a [Fact],
}

fn each_fact<'a>(decided: &'a [Decided<'a>]) -> impl Iterator<Item = (&'a Decided<'a>, &'a Fact)> {
    decided.iter().flat_map(|one| one.facts.iter().map(move |fact| (one, fact)))
}

/// What became of a request.
#[derive(Debug, Clone)]
pub struct Receipt {
    /// The facts that followed.
    pub facts: Vec<Fact>,
    /// Their places in the journal.
    pub positions: Vec<u64>,
    /// Hash of the last entry, as hexadecimal.
    pub head: String,
}

impl OpenLaboratory {
    /// Opens the laboratory in a folder for work; an empty or missing folder becomes one that
    /// nobody has founded yet.
    ///
    /// # Errors
    /// When another program has it open, the folder cannot be used, or the journal is damaged.
    pub fn open(path: &Path) -> Result<Self, OpenError> {
        let laboratory = Self::open_whatever_its_state(path)?;
        match &laboratory.damage {
            None => Ok(laboratory),
            Some(damage) => Err(OpenError::Damaged(damage.clone())),
        }
    }

    /// Like [`OpenLaboratory::open`], but a damaged journal is opened too: what comes before the
    /// damage can be read, and nothing is added.
    ///
    /// # Errors
    /// When another program has it open, or the folder cannot be used.
    pub fn open_whatever_its_state(path: &Path) -> Result<Self, OpenError> {
        let folder = Folder::new(path);
        folder.create()?;
        let lock = folder.lock()?;
        let journal = folder.journal();
        let store = match SqliteStore::open(&journal) {
            Err(StoreError::Missing(_)) => SqliteStore::create(&journal)?,
            // A journal that can only be read is still worth reading.
            Err(StoreError::ReadOnly) => SqliteStore::open_read_only(&journal)?,
            opened => opened?,
        };
        let replayed = replay::replay(&store)?;
        // The calendar of an invented laboratory goes on from where its scenario stands, so that it
        // looks the same whenever it is opened.
        let is_invented = replayed.lab.identity.as_ref().is_some_and(|identity| identity.invented);
        let clock = match replayed.last_at {
            Some(last_at) if is_invented => Clock::going_on_from(last_at),
            _ => Clock::Machine,
        };
        Ok(Self {
            lab: replayed.lab,
            head: replayed.head,
            last_at: replayed.last_at.unwrap_or(Timestamp::UNIX_EPOCH),
            damage: replayed.damage,
            store: Mutex::new(store),
            methods: folder::methods(&folder)?,
            procedures: stonewear_procedure::built_in_procedures(),
            clock,
            folder,
            first_hash: OnceLock::new(),
            _lock: lock,
        })
    }

    /// Takes the time from elsewhere than the machine.
    pub fn set_clock(&mut self, clock: Clock) {
        self.clock = clock;
    }

    /// The laboratory as it stands.
    pub fn lab(&self) -> &Lab {
        &self.lab
    }

    /// Where it is kept.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// The methods that can be taken into use.
    pub fn methods(&self) -> &[Method] {
        &self.methods
    }

    /// The procedures that are written in files.
    pub fn procedures(&self) -> &[Procedure] {
        &self.procedures
    }

    /// The last place in the journal and its hash.
    pub fn head(&self) -> Head {
        self.head
    }

    /// What tells this laboratory from every other, for as long as it lasts: the hash of the first
    /// entry of its journal. `None` until it is founded, and where that entry cannot be read.
    pub fn first_hash(&self) -> Option<String> {
        if self.first_hash.get().is_none() {
            let hash = replay::hash_at(&*self.store(), 1).ok().flatten()?;
            return Some(self.first_hash.get_or_init(|| hash).clone());
        }
        self.first_hash.get().cloned()
    }

    /// When the last fact was recorded.
    pub fn last_at(&self) -> Timestamp {
        self.last_at
    }

    /// Where the journal is damaged, if it is: then nothing can be added.
    pub fn damage(&self) -> Option<&Damage> {
        self.damage.as_ref()
    }

    /// The time now. It never goes back behind the last fact, whatever the machine's clock does.
    pub fn now(&self) -> Timestamp {
        self.clock.now().max(self.last_at)
    }

    /// What would become of a request, without anything being recorded.
    ///
    /// # Errors
    /// The refusal that the request would meet.
    pub fn consider(&self, by: &str, request: &Request) -> Result<Vec<Fact>, Refusal> {
        decide(&self.lab, &self.context(by), request)
    }

    /// Decides a request and keeps what follows from it. When this returns, it is on the disk.
    ///
    /// A request with a `key` that was seen before is answered as it was the first time: sent
    /// twice, it happens once.
    ///
    /// # Errors
    /// The laboratory's refusal, or that the facts could not be kept; then nothing has changed. A
    /// request that comes with its file is refused: [`OpenLaboratory::import_file`] and
    /// [`OpenLaboratory::issue`] keep the bytes that its facts name.
    pub fn submit(
        &mut self,
        by: &str,
        key: Option<&str>,
        request: &Request,
    ) -> Result<Receipt, SubmitError> {
        let is_kept = match request {
            Request::AttachFile(file) => self.is_kept(&file.sha256)?,
            _ => !request.comes_with_file(),
        };
        if !is_kept {
            return Err(SubmitError::Refused(Refusal::of(
                "request",
                "file-missing",
                "this is recorded only together with its file",
                "import the file, or issue the paper, on its own page or by its command",
            )));
        }
        self.submit_made(by, key, request)
    }

    /// Whether bytes with this hash are kept.
    fn is_kept(&self, sha256: &str) -> Result<bool, StoreError> {
        let hash = sha256.parse().ok();
        Ok(hash.map(|hash| self.store().get_blob(hash)).transpose()?.flatten().is_some())
    }

    /// As [`OpenLaboratory::submit`], for a request whose file is kept.
    pub(crate) fn submit_made(
        &mut self,
        by: &str,
        key: Option<&str>,
        request: &Request,
    ) -> Result<Receipt, SubmitError> {
        if let Some(key) = key {
            let positions = self.store().find_request(key)?;
            if !positions.is_empty() {
                let facts = replay::facts_at(&*self.store(), &positions)?;
                return Ok(Receipt { facts, positions, head: self.head.hash.to_string() });
            }
        }
        if let Some(damage) = &self.damage {
            return Err(SubmitError::ReadOnly(damage.clone()));
        }
        let at = self.now();
        let facts = decide(&self.lab, &Context { at, ..self.context(by) }, request)?;
        // The first person of a laboratory founds it, so the founder is who asks.
        let by = match facts.get(1) {
            Some(Fact::PersonAdded { person, .. }) if !self.lab.is_founded() => person.clone(),
            _ => PersonCode::from(by),
        };
        let key = key.map_or_else(|| uuid::Uuid::new_v4().to_string(), str::to_owned);
        self.record(&[Decided { at, by: &by, key: &key, facts: &facts }])
    }

    /// Keeps facts that were decided elsewhere, as the demo's scenario has them: all or none.
    ///
    /// # Errors
    /// When they could not be kept; then nothing has changed.
    pub fn record(&mut self, decided: &[Decided<'_>]) -> Result<Receipt, SubmitError> {
        if let Some(damage) = &self.damage {
            return Err(SubmitError::ReadOnly(damage.clone()));
        }
        let mut drafts = Vec::new();
        for (one, fact) in each_fact(decided) {
            drafts.push(Draft {
                at: Instant::from(one.at),
                by: one.by.to_string(),
                request: one.key.to_owned(),
                fact: serde_json::to_value(fact)?,
            });
        }
        let entries = self.store().append(self.head, &drafts)?;
        for (entry, (one, fact)) in entries.iter().zip(each_fact(decided)) {
            let recorded = Recorded {
                position: entry.position,
                at: entry.at.timestamp(),
                by: one.by.clone(),
                fact: fact.clone(),
            };
            self.lab.apply(&recorded);
            self.last_at = recorded.at;
        }
        if let Some(last) = entries.last() {
            self.head = last.head();
        }
        Ok(Receipt {
            facts: each_fact(decided).map(|(_, fact)| fact.clone()).collect(),
            positions: entries.iter().map(|entry| entry.position).collect(),
            head: self.head.hash.to_string(),
        })
    }

    /// Place and hash of the fact that released a result; `None` while it is not released.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn anchor_of(&self, result: &TestResult) -> Result<Option<JournalAnchor>, StoreError> {
        anchor_of(&self.store(), result)
    }

    /// Reads the whole journal again and says whether it is what was written.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn verify(&self) -> Result<Verification, StoreError> {
        stonewear_journal::verify(&*self.store())
    }

    // A store whose holder panicked is as its last transaction left it.
    pub(crate) fn store(&self) -> MutexGuard<'_, SqliteStore> {
        self.store.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Place and hash of the last fact: where the journal stands when a paper is made.
    pub fn anchor(&self) -> JournalAnchor {
        JournalAnchor { position: self.head.position, head: self.head.hash.to_string() }
    }

    fn context(&self, by: &str) -> Context<'_> {
        Context {
            at: self.now(),
            by: PersonCode::from(by),
            methods: &self.methods,
            procedures: &self.procedures,
        }
    }
}

pub(crate) fn anchor_of(
    store: &SqliteStore,
    result: &TestResult,
) -> Result<Option<JournalAnchor>, StoreError> {
    let Some(release) = result.release() else { return Ok(None) };
    let hash = replay::hash_at(store, release.position)?;
    Ok(hash.map(|head| JournalAnchor { position: release.position, head }))
}
