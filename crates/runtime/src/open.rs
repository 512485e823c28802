//! A laboratory opened for work.

use crate::clock::Clock;
use crate::end::EndNote;
use crate::error::{OpenError, SubmitError};
use crate::folder::{self, Folder};
use crate::hindrance::{CLOCKS_DIFFER, Hindrance};
use crate::late;
use crate::place::Place;
use crate::replay::{self, Damage};
use crate::results::Rows;
use crate::signing::Signing;
use crate::store::AnyStore;
use crate::view::noted;
use jiff::Timestamp;
use std::fs::File;
use std::path::Path;
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, Instant};
use stonewear_journal::{Head, Store, StoreError, Verification};
use stonewear_lab::state::TestResult;
use stonewear_lab::{Context, Fact, Lab, PersonCode, Refusal, Request, decide};
use stonewear_method::Method;
use stonewear_procedure::Procedure;
use stonewear_report::JournalAnchor;

/// How often a request is decided anew because somebody else has appended meanwhile: in a folder somebody
/// got past the lock; in a database others work, too, and wait for their turn after the first attempt.
const ATTEMPTS: u32 = 4;
const ATTEMPTS_SHARED: u32 = 64;
/// A database that does not answer is asked again after this time at the earliest: every page would wait.
const ASK_AGAIN: Duration = Duration::from_secs(3);

/// A laboratory opened for work: the only way to add to its journal.
#[derive(Debug)]
pub struct OpenLaboratory {
    pub(crate) lab: Lab,
    // A connection belongs to one thread at a time; readers of the state do not need it.
    store: Mutex<AnyStore>,
    pub(crate) head: Head,
    pub(crate) last_at: Timestamp,
    pub(crate) damage: Option<Damage>,
    /// Nothing can be written in the folder.
    is_only_readable: bool,
    /// What the last entry met that was not kept, until one is kept again.
    trouble: Mutex<Option<Trouble>>,
    /// Where the journal ended when the last entry was acknowledged.
    pub(crate) end: EndNote,
    pub(crate) signing: Signing,
    /// Who is told how long each append took.
    pub(crate) appended: Option<Listener>,
    methods: Vec<Method>,
    procedures: Vec<Procedure>,
    clock: Clock,
    /// What the rows of results say, as they were written last.
    pub(crate) rows: Rows,
    pub(crate) place: Place,
    folder: Folder,
    /// Hash of the first entry.
    first_hash: OnceLock<String>,
    // Held as long as the laboratory is open; the system lets go of it when the program ends.
    _lock: Option<File>,
}

/// What an append met, and when that was looked at last.
#[derive(Debug, Clone)]
pub(crate) struct Trouble {
    hindrance: Hindrance,
    looked: Instant,
}

/// Somebody who is told how long each append took.
pub(crate) struct Listener(pub(crate) Box<dyn Fn(Duration) + Send + Sync>);

impl std::fmt::Debug for Listener {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Listener")
    }
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

pub(crate) fn each_fact<'a>(
    decided: &'a [Decided<'a>],
) -> impl Iterator<Item = (&'a Decided<'a>, &'a Fact)> {
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
    /// Opens a laboratory for work; an empty or missing folder becomes one that nobody has founded yet.
    ///
    /// # Errors
    /// When another program has it open, the folder cannot be used, or the journal is damaged.
    pub fn open(place: impl Into<Place>) -> Result<Self, OpenError> {
        let laboratory = Self::open_whatever_its_state(place)?;
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
    pub fn open_whatever_its_state(place: impl Into<Place>) -> Result<Self, OpenError> {
        let place = place.into();
        let folder = Folder::new(place.folder());
        folder.create()?;
        let lock = folder.lock()?;
        let end = EndNote::in_folder(folder.path());
        let noted = noted(&place);
        let signing = Signing::in_folder(folder.path());
        let (store, is_only_readable) = AnyStore::open(&place, lock.is_some())?;
        let replayed = replay::replay(&store, &noted)?;
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
            is_only_readable,
            trouble: Mutex::new(None),
            end,
            signing,
            appended: None,
            store: Mutex::new(store),
            methods: folder::methods(&folder)?,
            procedures: stonewear_procedure::built_in_procedures(),
            clock,
            rows: Rows::new(),
            place,
            folder,
            first_hash: OnceLock::new(),
            _lock: lock,
        })
    }

    /// Takes the time from elsewhere than the machine.
    pub fn set_clock(&mut self, clock: Clock) {
        self.clock = clock;
    }

    /// Tells somebody how long each append took.
    pub fn on_append(&mut self, told: impl Fn(Duration) + Send + Sync + 'static) {
        self.appended = Some(Listener(Box::new(told)));
    }

    /// The laboratory as it stands.
    pub fn lab(&self) -> &Lab {
        &self.lab
    }

    /// The folder of this machine for it.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Where it is kept.
    pub fn place(&self) -> &Place {
        &self.place
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

    /// Why nothing can be recorded now, if so. What may pass is looked at anew each time.
    pub fn hindrance(&self) -> Option<Hindrance> {
        if let Some(damage) = &self.damage {
            return Some(Hindrance::Damaged(damage.clone()));
        }
        if self.is_only_readable {
            return Some(Hindrance::OnlyReadable);
        }
        let troubled = self.trouble().clone();
        if let Some(trouble) = troubled
            && (!trouble.hindrance.is_away() || trouble.looked.elapsed() >= ASK_AGAIN)
        {
            let has_room = self.folder.has_room();
            let tried = has_room.and_then(|()| self.store().try_writing());
            self.note_trouble(tried.as_ref().err());
        }
        let trouble = self.trouble().as_ref().map(|trouble| trouble.hindrance.clone());
        trouble.or_else(|| self.clock_behind())
    }

    /// Whether no entry can be taken until somebody has mended something and started anew: then no
    /// form is offered.
    pub fn is_for_reading_only(&self) -> bool {
        self.damage.is_some() || self.is_only_readable
    }

    /// Takes the clock of the machine for right, although the last fact was recorded later than it
    /// shows: what is recorded from now on carries the time that it shows.
    pub fn take_clock_for_right(&mut self) {
        self.last_at = self.last_at.min(self.clock.now());
    }

    /// Whether the clock of the machine went back behind the last fact, further than clocks are set
    /// right by. A scenario's calendar is not the clock of a machine.
    fn clock_behind(&self) -> Option<Hindrance> {
        let clock = self.clock.now();
        let is_behind = matches!(self.clock, Clock::Machine)
            && self.last_at.duration_since(clock) > CLOCKS_DIFFER;
        is_behind.then_some(Hindrance::ClockBehind { clock, last: self.last_at })
    }

    // A holder that panicked left it as it was.
    fn trouble(&self) -> MutexGuard<'_, Option<Trouble>> {
        self.trouble.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Remembers what an append met, or that it went well.
    pub(crate) fn note_trouble(&self, met: Option<&StoreError>) {
        match met {
            None => *self.trouble() = None,
            Some(error) => {
                let hindrance = Hindrance::of(error);
                let trouble =
                    hindrance.map(|hindrance| Trouble { hindrance, looked: Instant::now() });
                if trouble.is_some() {
                    *self.trouble() = trouble;
                }
            }
        }
    }

    /// The time now. It never goes back behind the last fact: where the clock of the machine was set
    /// back by a little, the time stands still until it has caught up. Where it went back further,
    /// nothing is recorded ([`OpenLaboratory::hindrance`]), for its time would be a lie.
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
        if let Some(behind) = self.clock_behind() {
            return Err(SubmitError::Clock(behind));
        }
        let key = key.map_or_else(|| uuid::Uuid::new_v4().to_string(), str::to_owned);
        let is_shared = self.store().is_shared();
        let most = if is_shared { ATTEMPTS_SHARED } else { ATTEMPTS };
        let mut attempts = 1;
        let mut outcome = self.decide_and_record(by, &key, request);
        while attempts < most
            && matches!(outcome, Err(SubmitError::Store(StoreError::Conflict { .. })))
        {
            // Somebody else has appended: what was decided may be wrong by now.
            if attempts == 1 {
                self.store().take_turn()?;
            }
            attempts += 1;
            outcome = match self.catch_up() {
                Ok(_) => self.decide_and_record(by, &key, request),
                Err(error) => Err(error.into()),
            };
        }
        if attempts > 1 {
            self.store().end_turn();
        }
        outcome
    }

    fn decide_and_record(
        &mut self,
        by: &str,
        key: &str,
        request: &Request,
    ) -> Result<Receipt, SubmitError> {
        let at = self.now();
        let facts =
            decide(&self.lab, &Context { at, made: late::made(key), ..self.context(by) }, request)?;
        // The first person of a laboratory founds it, so the founder is who asks.
        let founder = match facts.get(1) {
            Some(Fact::PersonAdded { person, .. }) if !self.lab.is_founded() => person.clone(),
            _ => PersonCode::from(by),
        };
        let positions = self.keep(&[Decided { at, by: &founder, key, facts: &facts }])?;
        Ok(Receipt { facts, positions, head: self.head.hash.to_string() })
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
    pub(crate) fn store(&self) -> MutexGuard<'_, AnyStore> {
        self.store.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Place and hash of the last fact: where the journal stands when a paper is made.
    pub fn anchor(&self) -> JournalAnchor {
        JournalAnchor { position: self.head.position, head: self.head.hash.to_string() }
    }

    pub(crate) fn context(&self, by: &str) -> Context<'_> {
        Context {
            at: self.now(),
            made: None,
            by: PersonCode::from(by),
            methods: &self.methods,
            procedures: &self.procedures,
        }
    }
}

pub(crate) fn anchor_of(
    store: &AnyStore,
    result: &TestResult,
) -> Result<Option<JournalAnchor>, StoreError> {
    let Some(release) = result.release() else { return Ok(None) };
    let hash = replay::hash_at(store, release.position)?;
    Ok(hash.map(|head| JournalAnchor { position: release.position, head }))
}
