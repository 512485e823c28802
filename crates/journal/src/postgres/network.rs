//! What a role may see of all laboratories of a database.

use super::connection::Connection;
use super::opening::{Opening, Purpose};
use super::{DatabaseAddress, LaboratoryName, PostgresStore};
use crate::store::StoreError;
use jiff::Timestamp;
use std::sync::Arc;

/// The laboratories of a database, read as far as row-level security lets the role see: a laboratory's own
/// role sees itself, a role that `stonewear_network` was granted to sees all.
#[derive(Debug)]
pub struct NetworkStore {
    connection: Arc<Connection>,
}

/// A loss of a reference aggregate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReferenceResult {
    /// Which laboratory found it.
    pub laboratory: String,
    /// The code that it has there.
    pub result: String,
    /// Where the reference aggregate comes from.
    pub reference: String,
    /// By which method.
    pub method: String,
    /// In which grading.
    pub grading: String,
    /// The loss, %, to 0.01: a decimal.
    pub charted_percent: String,
    /// When it was found.
    pub found_at: Timestamp,
}

impl NetworkStore {
    /// Opens a database to read all that the role may see; as a laboratory, where its role is one's.
    ///
    /// # Errors
    /// As [`PostgresStore::open`].
    pub fn open(
        address: &DatabaseAddress,
        laboratory: Option<&LaboratoryName>,
    ) -> Result<Self, StoreError> {
        let opening = Opening {
            address: address.clone(),
            laboratory: laboratory.cloned(),
            purpose: Purpose::Network,
        };
        Ok(Self { connection: Arc::new(Connection::begin(opening)?) })
    }

    /// The laboratories, by name.
    ///
    /// # Errors
    /// The database's own troubles.
    pub fn laboratories(&self) -> Result<Vec<LaboratoryName>, StoreError> {
        let names: Vec<String> = self.connection.ask(|line, _| {
            // A plan holds the policies of when it was made: what a role was granted or lost since counts.
            line.client.batch_execute("DISCARD PLANS")?;
            let rows = line
                .client
                .query("SELECT laboratory FROM stonewear.laboratory ORDER BY laboratory", &[])?;
            Ok(rows.iter().map(|row| row.get(0)).collect())
        })?;
        let read = names.iter().map(|name| name.parse().map_err(StoreError::from));
        read.collect()
    }

    /// The journal of one of them, to be read.
    pub fn journal(&self, laboratory: &LaboratoryName) -> PostgresStore {
        PostgresStore {
            connection: self.connection.clone(),
            laboratory: Arc::from(laboratory.as_str()),
        }
    }

    /// The losses of reference aggregates that nobody doubts, by laboratory and time.
    ///
    /// # Errors
    /// The database's own troubles.
    pub fn reference_results(&self) -> Result<Vec<ReferenceResult>, StoreError> {
        self.connection.ask(|line, _| {
            let statement = line.statement(
                "SELECT laboratory, result, reference, method, grading, charted_percent::text, \
                 (extract(epoch FROM found_at) * 1000)::bigint FROM stonewear.result \
                 WHERE reference IS NOT NULL AND charted_percent IS NOT NULL AND NOT in_doubt \
                 ORDER BY laboratory, found_at, result",
            )?;
            let rows = line.client.query(&statement, &[])?;
            rows.iter()
                .map(|row| {
                    Ok(ReferenceResult {
                        laboratory: row.get(0),
                        result: row.get(1),
                        reference: row.get(2),
                        method: row.get(3),
                        grading: row.get(4),
                        charted_percent: row.get(5),
                        found_at: Timestamp::from_millisecond(row.get(6))
                            .map_err(|error| StoreError::Damaged(error.to_string()))?,
                    })
                })
                .collect()
        })
    }
}
