//! Opening a laboratory in a database, and refusing what would be unsafe.

use super::connection::{Connection, Line};
use super::{DatabaseAddress, DatabaseError, LaboratoryName, PostgresStore};
use crate::store::StoreError;
use postgres::Client;
use std::sync::Arc;

/// The format that this program writes, and the latest that it knows.
pub(super) const FORMAT: i32 = 1;

/// How long to wait for somebody else's append.
const PATIENCE: &str = "SET lock_timeout = '30s'";

/// What a connection is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Purpose {
    /// To append and read.
    Work,
    /// To read one laboratory.
    Read,
    /// To read whatever the role may see.
    Network,
}

/// How to begin a connection, and to begin it again.
#[derive(Debug, Clone)]
pub(super) struct Opening {
    pub(super) address: DatabaseAddress,
    pub(super) laboratory: Option<LaboratoryName>,
    pub(super) purpose: Purpose,
}

impl PostgresStore {
    /// Opens the journal of a laboratory for appending.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database is not prepared, or the role may not or should not work
    /// there; [`StoreError::Unreachable`] when nobody answers.
    pub fn open(
        address: &DatabaseAddress,
        laboratory: &LaboratoryName,
    ) -> Result<Self, StoreError> {
        Self::begin(address, laboratory, Purpose::Work)
    }

    /// Opens the journal of a laboratory for reading. Appending is refused with
    /// [`StoreError::ReadOnly`].
    ///
    /// # Errors
    /// As [`PostgresStore::open`].
    pub fn open_read_only(
        address: &DatabaseAddress,
        laboratory: &LaboratoryName,
    ) -> Result<Self, StoreError> {
        Self::begin(address, laboratory, Purpose::Read)
    }

    fn begin(
        address: &DatabaseAddress,
        laboratory: &LaboratoryName,
        purpose: Purpose,
    ) -> Result<Self, StoreError> {
        let opening =
            Opening { address: address.clone(), laboratory: Some(laboratory.clone()), purpose };
        Ok(Self {
            connection: Arc::new(Connection::begin(opening)?),
            laboratory: Arc::from(laboratory.as_str()),
        })
    }
}

impl Opening {
    /// Begins a connection on which everything is as it must be.
    pub(super) fn line(&self) -> Result<Line, StoreError> {
        let mut client = self.address.connect()?;
        check_prepared(&mut client, &self.address)?;
        let role = check_role(&mut client)?;
        check_format(&mut client, &self.address)?;
        make_durable(&mut client)?;
        client.batch_execute(PATIENCE)?;
        if let Some(laboratory) = &self.laboratory {
            client.execute(
                "SELECT set_config('stonewear.laboratory', $1, false)",
                &[&laboratory.as_str()],
            )?;
            self.check_admitted(&mut client, laboratory, role)?;
        }
        if self.purpose != Purpose::Work {
            client.batch_execute("SET default_transaction_read_only = on")?;
        }
        Ok(Line::new(client))
    }

    fn check_admitted(
        &self,
        client: &mut Client,
        laboratory: &LaboratoryName,
        role: String,
    ) -> Result<(), StoreError> {
        let question = match self.purpose {
            Purpose::Work => "SELECT stonewear.here() IS NOT DISTINCT FROM $1",
            Purpose::Read => {
                "SELECT EXISTS (SELECT FROM stonewear.laboratory WHERE laboratory = $1)"
            }
            // What it may not see it does not see.
            Purpose::Network => return Ok(()),
        };
        let is_admitted: bool = client.query_one(question, &[&laboratory.as_str()])?.get(0);
        if is_admitted {
            return Ok(());
        }
        Err(DatabaseError::NotAdmitted {
            laboratory: laboratory.to_string(),
            database: self.address.to_string(),
            role,
        }
        .into())
    }
}

/// Refuses a database where nothing was made for laboratories.
pub(super) fn check_prepared(
    client: &mut Client,
    address: &DatabaseAddress,
) -> Result<(), StoreError> {
    let schema = client.query_opt("SELECT FROM pg_namespace WHERE nspname = 'stonewear'", &[])?;
    schema.map(drop).ok_or_else(|| DatabaseError::NotPrepared(address.to_string()).into())
}

/// Refuses a database that is not for this role, or was prepared by a later version.
pub(super) fn check_format(
    client: &mut Client,
    address: &DatabaseAddress,
) -> Result<(), StoreError> {
    let database = address.to_string();
    let row = client
        .query_one("SELECT has_schema_privilege('stonewear', 'USAGE'), current_user::text", &[])?;
    let is_usable: bool = row.get(0);
    if !is_usable {
        return Err(DatabaseError::Stranger { database, role: row.get(1) }.into());
    }
    let row = client.query_opt("SELECT version FROM stonewear.format", &[])?;
    let found: i32 = row.ok_or_else(|| DatabaseError::NotPrepared(database.clone()))?.get(0);
    if found > FORMAT {
        return Err(DatabaseError::Newer { database, found, known: FORMAT }.into());
    }
    Ok(())
}

/// Refuses a role that row-level security does not hold for, or that could change the tables. Says which
/// role it is.
fn check_role(client: &mut Client) -> Result<String, StoreError> {
    let row = client.query_one(
        "SELECT r.rolname::text, r.rolsuper, r.rolbypassrls, \
           pg_has_role(r.oid, (SELECT nspowner FROM pg_namespace WHERE nspname = 'stonewear'), 'MEMBER') \
         FROM pg_roles r WHERE r.rolname = session_user",
        &[],
    )?;
    let role: String = row.get(0);
    let why = if row.get(1) {
        "is a superuser"
    } else if row.get(2) {
        "goes past row-level security (BYPASSRLS)"
    } else if row.get(3) {
        "owns the tables"
    } else {
        return Ok(role);
    };
    Err(DatabaseError::TooMighty { role, why }.into())
}

/// A commit must be on the server's disk before it returns.
fn make_durable(client: &mut Client) -> Result<(), StoreError> {
    let fsync: String = client.query_one("SELECT current_setting('fsync')", &[])?.get(0);
    if fsync != "on" {
        return Err(DatabaseError::NotDurable.into());
    }
    let commit: String =
        client.query_one("SELECT current_setting('synchronous_commit')", &[])?.get(0);
    // Any other setting waits for this server's disk, and some for others besides.
    if commit == "off" {
        client.batch_execute("SET synchronous_commit = on")?;
    }
    Ok(())
}
