//! Laboratories made, facts appended, journals read again; and beside each the least that any program would
//! have to do for it.

use crate::Trouble;
use rusqlite::{Connection, params};
use serde::de::IgnoredAny;
use serde_json::{Value, json};
use std::path::Path;
use std::time::Instant;
use stonewear_journal::{Draft, Head, SqliteStore, Store};
use stonewear_runtime::{Decided, OpenLaboratory};

/// Facts that follow from ten released samples of the invented laboratory, about.
const FACTS_OF_TEN: usize = 95;
/// Facts of founding, people and equipment, before the first sample, about.
const FACTS_BEFORE: usize = 230;
/// Requests that are written at once.
const AT_ONCE: usize = 2_000;

/// Makes a laboratory with about so many facts.
pub(crate) fn laboratory(facts: usize, folder: &Path) -> Result<Value, Trouble> {
    let mut laboratory = OpenLaboratory::open(folder)?;
    let samples = facts.saturating_sub(FACTS_BEFORE).saturating_mul(10).div_ceil(FACTS_OF_TEN);
    let batches = stonewear_demo::busy(1, samples, laboratory.methods(), laboratory.procedures())?;
    for some in batches.chunks(AT_ONCE) {
        let decided: Vec<Decided<'_>> = some
            .iter()
            .map(|one| Decided { at: one.at, by: &one.by, key: &one.key, facts: &one.facts })
            .collect();
        laboratory.record(&decided)?;
    }
    Ok(json!({"facts": laboratory.lab().position}))
}

/// What an entry is made of.
struct Kept {
    hash: [u8; 32],
    request: String,
    bytes: Vec<u8>,
}

fn kept(folder: &Path, most: usize) -> Result<Vec<Kept>, Trouble> {
    let connection = Connection::open(folder.join("journal.sqlite"))?;
    let mut select = connection
        .prepare("SELECT hash, request, canonical FROM entry ORDER BY position LIMIT ?1")?;
    let rows = select.query_map([i64::try_from(most)?], |row| {
        Ok(Kept { hash: row.get(0)?, request: row.get(1)?, bytes: row.get(2)? })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Appends facts one at a time: by our store, and by a bare loop of inserts with the same durability.
pub(crate) fn append(facts: usize, from: &Path, folder: &Path) -> Result<Value, Trouble> {
    let entries = kept(from, facts)?;
    let drafts = entries.iter().map(draft).collect::<Result<Vec<_>, Trouble>>()?;
    // By turns, so that neither has the quieter disk.
    let (mut ours, mut bare) = (Vec::new(), Vec::new());
    for round in 0..3 {
        ours.push(
            entries.len() as f64 / our_append(&folder.join(format!("ours-{round}")), &drafts)?,
        );
        bare.push(
            entries.len() as f64 / bare_append(&folder.join(format!("bare-{round}")), &entries)?,
        );
    }
    Ok(json!({"facts": entries.len(), "ours_a_second": ours, "bare_a_second": bare}))
}

fn draft(entry: &Kept) -> Result<Draft, Trouble> {
    let read: Value = serde_json::from_slice(&entry.bytes)?;
    let text = |name: &str| read[name].as_str().unwrap_or_default().to_owned();
    Ok(Draft {
        at: text("at").parse()?,
        by: text("by"),
        request: text("request"),
        fact: read["fact"].clone(),
    })
}

fn our_append(path: &Path, drafts: &[Draft]) -> Result<f64, Trouble> {
    let mut store = SqliteStore::create(path)?;
    let mut head = Head::GENESIS;
    let begun = Instant::now();
    for draft in drafts {
        let entries = store.append(head, std::slice::from_ref(draft))?;
        head = entries.last().ok_or("nothing was appended")?.head();
    }
    Ok(begun.elapsed().as_secs_f64())
}

fn bare_append(path: &Path, entries: &[Kept]) -> Result<f64, Trouble> {
    let connection = Connection::open(path)?;
    connection.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(()))?;
    connection.pragma_update(None, "synchronous", "full")?;
    connection.execute_batch(
        "CREATE TABLE entry (position INTEGER PRIMARY KEY, hash BLOB NOT NULL, request TEXT NOT NULL, \
         canonical BLOB NOT NULL) STRICT; CREATE INDEX by_request ON entry (request);",
    )?;
    let mut insert = connection.prepare(
        "INSERT INTO entry (position, hash, request, canonical) VALUES (?1, ?2, ?3, ?4)",
    )?;
    let begun = Instant::now();
    for (position, entry) in (1_i64..).zip(entries) {
        insert.execute(params![position, entry.hash, entry.request, entry.bytes])?;
    }
    Ok(begun.elapsed().as_secs_f64())
}

/// Opens a laboratory: read, check, fold. Beside it, the same bytes parsed to nothing and to a tree.
pub(crate) fn replay(folder: &Path, runs: usize) -> Result<Value, Trouble> {
    let entries = kept(folder, usize::MAX >> 1)?;
    let (mut ours, mut nothing, mut tree) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..runs {
        let begun = Instant::now();
        let laboratory = OpenLaboratory::open(folder)?;
        ours.push(begun.elapsed().as_secs_f64());
        if laboratory.lab().position != entries.len() as u64 {
            return Err("not every fact was read".into());
        }
        drop(laboratory);
        let begun = Instant::now();
        for entry in &entries {
            serde_json::from_slice::<IgnoredAny>(&entry.bytes)?;
        }
        nothing.push(begun.elapsed().as_secs_f64());
        let begun = Instant::now();
        let mut fields = 0;
        for entry in &entries {
            let read: Value = serde_json::from_slice(&entry.bytes)?;
            fields += read.as_object().map_or(0, serde_json::Map::len);
        }
        tree.push(begun.elapsed().as_secs_f64());
        if fields < entries.len() {
            return Err("what was parsed is no entry".into());
        }
    }
    let bytes: usize = entries.iter().map(|entry| entry.bytes.len()).sum();
    Ok(json!({
        "facts": entries.len(), "bytes": bytes, "seconds": ours, "parsed_to_nothing": nothing, "parsed_to_a_tree": tree,
    }))
}
