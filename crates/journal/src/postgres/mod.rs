//! Journals of many laboratories in one PostgreSQL database.
//!
//! - [`prepare`] makes the tables, [`admit`] a laboratory and says which role works there. Both need the
//!   role that owns the database.
//! - [`PostgresStore`] is one laboratory's journal. Rows of other laboratories are kept from it by
//!   row-level security, so it refuses roles that security does not hold for.
//! - [`Follower`] hears what others append.
//! - [`NetworkStore`] reads what a role may see of all laboratories.
//!
//! A client of PostgreSQL must not be asked on a thread that serves pages, so each store has a thread of
//! its own that does the asking, and begins a new connection where the old one is lost.

mod address;
mod connection;
mod error;
mod follow;
mod name;
mod network;
mod opening;
mod prepare;
mod result;
mod store;

pub use address::DatabaseAddress;
pub use error::DatabaseError;
pub use follow::{Follower, Heard};
pub use name::LaboratoryName;
pub use network::{NetworkStore, ReferenceResult};
pub use prepare::{Prepared, admit, prepare};
pub use result::ResultRow;

use connection::Connection;
use std::sync::Arc;

/// A [`crate::Store`] in a PostgreSQL database that many laboratories may share.
///
/// Any number of processes append and read. Every append is one transaction behind a lock on the record
/// of where the journal ends, and on the server's disk before it returns.
#[derive(Debug)]
pub struct PostgresStore {
    connection: Arc<Connection>,
    laboratory: Arc<str>,
}
