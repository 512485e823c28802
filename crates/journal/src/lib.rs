//! The append-only journal: canonical bytes, hash chain, stores. It knows bytes and order, not
//! what facts mean.
//!
//! - [`Draft`] is what a caller wants recorded; [`Store::append`] turns drafts into entries, all
//!   of them or none, behind the [`Head`] that the caller expects.
//! - An entry is the canonical JSON (RFC 8785) of position, previous hash, time, person, request
//!   and fact. Its hash is the SHA-256 of these bytes, and a store keeps these very bytes.
//! - [`replay`] reads a store once, checks each entry as it goes and hands it on; [`verify`] is a
//!   replay that hands nothing on. Both stop at the first [`Break`] and name the place.
//! - [`export`] writes JSON Lines that anybody can check with the published format
//!   (`docs/journal-format.md`) and another language; [`verify_export`] reads them back.
//!
//! - [`signature`] lets a key of the laboratory vouch, apart from the facts, for how far the journal
//!   had come.
//!
//! There are three stores: [`MemoryStore`] for tests, [`SqliteStore`] for a laboratory by itself,
//! [`postgres::PostgresStore`] for many that share a database. The tests of the crate run one suite over
//! all, and a further store has to pass the same.
//!
//! ```
//! use stonewear_journal::{Draft, Head, MemoryStore, Store, verify};
//!
//! let mut store = MemoryStore::default();
//! let draft = Draft {
//!     at: "2026-11-24T10:41:07.250Z".parse()?,
//!     by: "mk".into(),
//!     request: "7f0c".into(),
//!     fact: serde_json::json!({"type": "weighed", "mass": "1499.8"}),
//! };
//! let entries = store.append(Head::GENESIS, &[draft])?;
//! assert_eq!(entries[0].position, 1);
//! assert!(verify(&store)?.intact());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod canonical;
mod chain;
mod entry;
mod export;
mod hash;
mod instant;
mod memory;
pub mod postgres;
pub mod signature;
mod sqlite;
mod store;
mod together;
mod verify;

pub use chain::Fault;
pub use entry::{Draft, DraftError, Entry, EntryRef, MAX_DEPTH, MAX_ENTRY_BYTES, MAX_INTEGER};
pub use export::{ExportError, export, read_export, verify_export};
pub use hash::{Hash, HashError};
pub use instant::{Instant, InstantError};
pub use memory::MemoryStore;
pub use sqlite::SqliteStore;
pub use store::{Head, RawEntry, Store, StoreError};
pub use together::replay_read;
pub use verify::{Break, Verification, replay, verify};
