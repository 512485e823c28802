//! Export as JSON Lines, and the reading of such a file.
//!
//! A line is the object of an entry plus its `hash`, canonical again. As keys are sorted, `hash`
//! stands right behind `fact`; so a line is the stored bytes with the hash cut in, and checking a
//! line is cutting it out. `docs/journal-format.md` tells the same to the world.

use crate::canonical;
use crate::chain::{Chain, Fault, not_an_entry, parse, read};
use crate::entry::{EntryRef, MAX_ENTRY_BYTES};
use crate::hash::Hash;
use crate::store::{Head, Store, StoreError};
use crate::verify::{Break, Verification, replay};
use serde_json::Value;
use serde_json::value::RawValue;
use std::io::{self, BufRead, Read, Write};
use std::ops::ControlFlow;

/// Why an export could not be written.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The journal could not be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The export could not be written.
    #[error("the export cannot be written: {0}")]
    Write(#[from] io::Error),
}

/// Writes all entries of `store` to `out`, one a line, each checked before it is written.
///
/// A broken journal is exported up to its first break, which the verification names. Keep the
/// head of the verification apart from the file: with it a cut tail of the file is found.
///
/// # Errors
/// When the store cannot be read or `out` not be written; what was written until then is no whole
/// export.
pub fn export(
    store: &(impl Store + ?Sized),
    out: &mut dyn Write,
) -> Result<Verification, ExportError> {
    let mut written = Ok(());
    let mut line = Vec::new();
    let verification = replay(store, Head::GENESIS, &mut |entry| {
        line.clear();
        put_line(&entry, &mut line);
        written = out.write_all(&line);
        if written.is_ok() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    })?;
    written?;
    out.flush()?;
    Ok(verification)
}

/// Length of `"hash":"…",`.
const HASH_FIELD: usize = 8 + 64 + 2;

/// Longer than any line: the longest entry with its hash and line feed, and one byte.
const LINE_LIMIT: u64 = (MAX_ENTRY_BYTES + HASH_FIELD + 2) as u64;

fn put_line(entry: &EntryRef<'_>, line: &mut Vec<u8>) {
    let (head, tail) = entry.bytes.split_at(behind_fact(entry.bytes, entry.fact));
    line.extend_from_slice(head);
    line.extend_from_slice(&hash_field(entry.hash));
    line.extend_from_slice(tail);
    line.push(b'\n');
}

fn hash_field(hash: Hash) -> [u8; HASH_FIELD] {
    let mut field = [0; HASH_FIELD];
    field[..8].copy_from_slice(b"\"hash\":\"");
    field[8..72].copy_from_slice(&hash.hex());
    field[72..].copy_from_slice(b"\",");
    field
}

/// Where, in the text that `fact` was borrowed from, the next field begins: behind the fact and
/// its comma.
fn behind_fact(text: &[u8], fact: &RawValue) -> usize {
    let start = fact.get().as_ptr().addr() - text.as_ptr().addr();
    (start + fact.get().len() + 1).min(text.len())
}

/// Reads an export and says whether it is what was written. With `expected`, the head that was
/// noted when the export was made, a cut tail is found too.
///
/// # Errors
/// When `reader` cannot be read; whatever stands in the file is no error but a [`Break`].
pub fn verify_export(reader: impl BufRead, expected: Option<Head>) -> io::Result<Verification> {
    let mut verification = read_export(reader, &mut |_| ControlFlow::Continue(()))?;
    if let (None, Some(expected)) = (&verification.broken, expected)
        && let Err((position, fault)) = Chain::behind(verification.head).ends_at(expected)
    {
        verification.broken = Some(Break { position, line: Some(position), fault });
    }
    Ok(verification)
}

/// Reads an export line by line (never the whole file at once) and hands each entry on to `visit`
/// once it is found right, until `visit` breaks, the chain breaks or the file ends.
///
/// # Errors
/// When `reader` cannot be read; whatever stands in the file is no error but a [`Break`].
pub fn read_export(
    mut reader: impl BufRead,
    visit: &mut dyn FnMut(EntryRef<'_>) -> ControlFlow<()>,
) -> io::Result<Verification> {
    let mut chain = Chain::behind(Head::GENESIS);
    let (mut line, mut entry) = (Vec::new(), Vec::new());
    let mut broken = None;
    loop {
        line.clear();
        // Bounded, so that a file without line feeds does not fill the memory.
        if reader.by_ref().take(LINE_LIMIT).read_until(b'\n', &mut line)? == 0 {
            break;
        }
        match check_line(&mut chain, &line, &mut entry) {
            Ok(entry) => {
                if visit(entry).is_break() {
                    break;
                }
            }
            Err(fault) => {
                // Every line holds the entry with the line's number, so both are the same count.
                let position = chain.next();
                broken = Some(Break { position, line: Some(position), fault });
                break;
            }
        }
    }
    Ok(Verification { facts: chain.head().position, head: chain.head(), broken })
}

fn check_line<'a>(
    chain: &mut Chain,
    line: &[u8],
    entry: &'a mut Vec<u8>,
) -> Result<EntryRef<'a>, Fault> {
    if line.starts_with(b"\xEF\xBB\xBF") {
        return Err(Fault::ByteOrderMark);
    }
    let Some(text) = line.strip_suffix(b"\n") else {
        let long = line.len() as u64 >= LINE_LIMIT;
        return Err(if long { Fault::LongLine } else { Fault::UnendedLine });
    };
    if text.trim_ascii().is_empty() {
        return Err(Fault::BlankLine);
    }
    if text.ends_with(b"\r") {
        return Err(Fault::CarriageReturn);
    }
    let fields = parse(text)?;
    let Some(stated) = fields.hash else {
        return Err(Fault::NotAnEntry("the hash is missing".into()));
    };
    canonical_text(text)?;
    let (head, rest) = text.split_at(behind_fact(text, fields.fact));
    let tail = rest.strip_prefix(&hash_field(stated)).ok_or(Fault::NotCanonical)?;
    entry.clear();
    entry.extend_from_slice(head);
    entry.extend_from_slice(tail);
    chain.step(read(stated, entry)?, stated, entry)
}

/// Refuses a line that is not the canonical text of what it says. A store need not be asked this:
/// its bytes are what was hashed. A file may come from anywhere, and the next reader may hash
/// what it *says*.
fn canonical_text(text: &[u8]) -> Result<(), Fault> {
    let value: Value = serde_json::from_slice(text).map_err(|error| not_an_entry(&error))?;
    if let Some(fact) = value.get("fact") {
        canonical::check_fact(fact).map_err(|error| Fault::NotAnEntry(error.to_string()))?;
    }
    let canonical = canonical::bytes(&value).map_err(|error| not_an_entry(&error))?;
    if canonical == text { Ok(()) } else { Err(Fault::NotCanonical) }
}
