//! Preparing a database, and admitting laboratories to it: by the role that owns it.

use super::error::in_words;
use super::opening::{check_format, check_prepared};
use super::{DatabaseAddress, DatabaseError, LaboratoryName};
use crate::hash::Hash;
use crate::store::StoreError;
use postgres::Transaction;
use postgres::error::SqlState;

const SCHEMA: &str = include_str!("schema.sql");
/// Held while tables are made: the number means nothing.
const ONE_AT_A_TIME: &str = "SELECT pg_advisory_xact_lock(6067193)";

/// What came of preparing a database.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Prepared {
    /// The tables were made.
    Now,
    /// They were there.
    Already,
}

/// Makes the tables of laboratories in a database, unless they are there.
///
/// # Errors
/// [`DatabaseError::NotOwner`] when the role may not; [`DatabaseError::Newer`]; and the database's own
/// troubles.
pub fn prepare(address: &DatabaseAddress) -> Result<Prepared, StoreError> {
    let mut client = address.connect()?;
    let mut transaction = client.transaction()?;
    transaction.batch_execute(ONE_AT_A_TIME)?;
    let is_there = transaction
        .query_opt("SELECT 1 FROM pg_namespace WHERE nspname = 'stonewear'", &[])?
        .is_some();
    if is_there {
        drop(transaction);
        check_format(&mut client, address)?;
        return Ok(Prepared::Already);
    }
    transaction.batch_execute(SCHEMA).map_err(owners)?;
    transaction.commit()?;
    Ok(Prepared::Now)
}

/// Lets a role work in a laboratory, which is made where it is not there. Whether it was.
///
/// # Errors
/// [`DatabaseError::NoRole`]; [`DatabaseError::NotOwner`]; [`DatabaseError::NotPrepared`]; and the
/// database's own troubles.
pub fn admit(
    address: &DatabaseAddress,
    laboratory: &LaboratoryName,
    role: &str,
) -> Result<bool, StoreError> {
    let mut client = address.connect()?;
    check_prepared(&mut client, address)?;
    check_format(&mut client, address)?;
    let mut transaction = client.transaction()?;
    // One after the other: PostgreSQL does not let two grant one role at once.
    transaction
        .batch_execute("LOCK TABLE stonewear.member IN SHARE ROW EXCLUSIVE MODE")
        .map_err(owners)?;
    let quoted: Option<String> = transaction
        .query_opt("SELECT quote_ident(rolname) FROM pg_roles WHERE rolname = $1", &[&role])?
        .map(|row| row.get(0));
    let quoted = quoted.ok_or_else(|| DatabaseError::NoRole(role.to_owned()))?;
    let is_new = insert(&mut transaction, laboratory.as_str(), role).map_err(owners)?;
    transaction
        .batch_execute(&format!("GRANT stonewear_laboratory TO {quoted}"))
        .map_err(owners)?;
    transaction.commit()?;
    Ok(is_new)
}

fn insert(
    transaction: &mut Transaction<'_>,
    laboratory: &str,
    role: &str,
) -> Result<bool, postgres::Error> {
    let made = transaction.execute(
        "INSERT INTO stonewear.laboratory (laboratory) VALUES ($1) ON CONFLICT DO NOTHING",
        &[&laboratory],
    )?;
    if made == 1 {
        transaction.execute(
            "INSERT INTO stonewear.head (laboratory, position, hash) VALUES ($1, 0, $2)",
            &[&laboratory, &&Hash::GENESIS.as_bytes()[..]],
        )?;
    }
    transaction.execute(
        "INSERT INTO stonewear.member (laboratory, role) VALUES ($1, $2::text::name) ON CONFLICT DO NOTHING",
        &[&laboratory, &role],
    )?;
    Ok(made == 1)
}

/// What only an owner may do, said so.
fn owners(error: postgres::Error) -> StoreError {
    match error.code() {
        Some(code) if *code == SqlState::INSUFFICIENT_PRIVILEGE => {
            DatabaseError::NotOwner(in_words(&error)).into()
        }
        _ => error.into(),
    }
}
