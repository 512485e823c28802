//! One step along the chain: is this entry the one that stands here?

use crate::entry::{EntryRef, Fields};
use crate::hash::Hash;
use crate::store::Head;

/// What is wrong at the place where a journal breaks.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Fault {
    /// Text and hash do not belong together.
    #[error("its text does not match its hash: one of the two was changed after it was written")]
    Changed,
    /// The text is not that of an entry.
    #[error("its text is not that of an entry: {0}")]
    NotAnEntry(String),
    /// Another entry stands in this place.
    #[error("{}", out_of_place(*expected, *found))]
    OutOfPlace {
        /// The position that should stand here.
        expected: u64,
        /// The position that does.
        found: u64,
    },
    /// The entry follows another one than that which stands before it.
    #[error(
        "it was not written behind the entry that stands before it: \
         the hash that it names as previous is another one"
    )]
    Previous,
    /// The store would find the entry under another request than its text names.
    #[error("the store lists it under another request than its text names")]
    Request,
    /// Entries at the end are gone.
    #[error("the end is cut off: entries {from} to {until} are missing")]
    CutOff {
        /// The first that is missing.
        from: u64,
        /// The last that is missing.
        until: u64,
    },
    /// There are more entries than the journal's own record of its end knows.
    #[error(
        "the journal ends with entry {head} by its own record, but more were written behind it"
    )]
    BehindHead {
        /// The position by the record.
        head: u64,
    },
    /// The record of the end names another hash than the last entry has.
    #[error("the record of where the journal ends names another hash than this entry has")]
    HeadHash,
    /// The store could not be read here.
    #[error("the journal cannot be read on from here: {0}")]
    Unreadable(String),
    /// An export begins with a byte order mark.
    #[error(
        "the file begins with a byte order mark, which an export never does: an editor saved it"
    )]
    ByteOrderMark,
    /// A line of an export ends with carriage return and line feed.
    #[error(
        "the line ends with a carriage return and a line feed; an export has the line feed alone"
    )]
    CarriageReturn,
    /// A line of an export is blank.
    #[error("the line is blank; an export has one entry on every line")]
    BlankLine,
    /// The last line of an export has no end.
    #[error("the line has no line feed at its end: the file was cut off within it")]
    UnendedLine,
    /// A line of an export is longer than any entry.
    #[error("the line is longer than any entry may be")]
    LongLine,
    /// A line of an export says what an entry says, but in other characters.
    #[error("the line is not in canonical form (RFC 8785): it was written anew by another program")]
    NotCanonical,
}

fn out_of_place(expected: u64, found: u64) -> String {
    if found > expected {
        format!("it is missing: entry {found} stands in its place")
    } else {
        format!("entry {found} stands in its place: doubled, moved or added")
    }
}

/// Walks along entries and knows which must come next.
#[derive(Debug)]
pub(crate) struct Chain {
    head: Head,
}

impl Chain {
    /// A walk that begins right behind `head`.
    pub(crate) fn behind(head: Head) -> Self {
        Self { head }
    }

    /// The last entry that stood in its place.
    pub(crate) fn head(&self) -> Head {
        self.head
    }

    /// The position that must come next.
    pub(crate) fn next(&self) -> u64 {
        self.head.position.saturating_add(1)
    }

    /// Refuses another position than the next.
    pub(crate) fn expect(&self, found: u64) -> Result<(), Fault> {
        let expected = self.next();
        if found == expected { Ok(()) } else { Err(Fault::OutOfPlace { expected, found }) }
    }

    /// Checks an entry whose hash was found right.
    pub(crate) fn step<'a>(
        &mut self,
        fields: Fields<'a>,
        hash: Hash,
        bytes: &'a [u8],
    ) -> Result<EntryRef<'a>, Fault> {
        let before = self.head;
        self.link(Head { position: fields.position, hash }, fields.previous)?;
        if let Some(fault) = fields.not_an_object() {
            self.head = before;
            return Err(fault);
        }
        Ok(fields.into_entry(hash, bytes))
    }

    /// Goes on to an entry that stands at `head` and names what stands before it.
    pub(crate) fn link(&mut self, head: Head, previous: Hash) -> Result<(), Fault> {
        self.expect(head.position)?;
        if previous != self.head.hash {
            return Err(Fault::Previous);
        }
        self.head = head;
        Ok(())
    }

    /// Compares the walk's end with where the journal ends by a record. On a difference: the
    /// position and what is wrong there.
    pub(crate) fn ends_at(&self, record: Head) -> Result<(), (u64, Fault)> {
        let Head { position, hash } = self.head;
        if record.position > position {
            let (from, until) = (self.next(), record.position);
            Err((from, Fault::CutOff { from, until }))
        } else if record.position < position {
            Err((record.position + 1, Fault::BehindHead { head: record.position }))
        } else if record.hash != hash {
            Err((position, Fault::HeadHash))
        } else {
            Ok(())
        }
    }
}

impl<'a> Fields<'a> {
    /// What is wrong with the fact, if it is no object.
    pub(crate) fn not_an_object(&self) -> Option<Fault> {
        let is_object = self.fact.get().starts_with('{');
        (!is_object).then(|| Fault::NotAnEntry("the fact is not an object".into()))
    }

    /// The entry that was read, with its hash and its text.
    pub(crate) fn into_entry(self, hash: Hash, bytes: &'a [u8]) -> EntryRef<'a> {
        let Fields { at, by, fact, position, previous, request, .. } = self;
        EntryRef { position, previous, hash, at, by, request, fact, bytes }
    }
}

/// What can be said of an entry of a store without those before it: `bytes` against the hash `stated`
/// beside them, then their form.
///
/// The bytes are the hashed ones, so nothing is written anew to compare: one pass of SHA-256
/// and one of the parser.
pub(crate) fn read(stated: Hash, bytes: &[u8]) -> Result<Fields<'_>, Fault> {
    if Hash::of(bytes) != stated {
        return Err(Fault::Changed);
    }
    let fields = parse(bytes)?;
    if fields.hash.is_some() {
        return Err(Fault::NotAnEntry("the hash stands within what it is the hash of".into()));
    }
    Ok(fields)
}

/// Reads the fields of an entry.
pub(crate) fn parse(bytes: &[u8]) -> Result<Fields<'_>, Fault> {
    serde_json::from_slice(bytes).map_err(|error| not_an_entry(&error))
}

/// The parser's words, without its count of lines: an entry is always one.
pub(crate) fn not_an_entry(error: &serde_json::Error) -> Fault {
    let words = error.to_string();
    Fault::NotAnEntry(match words.split_once(" at line ") {
        Some((what, _)) => format!("{what} (column {})", error.column()),
        None => words,
    })
}
