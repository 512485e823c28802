//! Signatures over the journal, kept apart from the facts: who vouches that it stood so, and when.
//!
//! The chain of hashes shows that nothing was changed *between* its first entry and its last. Whoever
//! may write the file could still compute the whole chain anew. So a key of the laboratory (Ed25519,
//! RFC 8032) signs now and then how far the journal has come: position, hash there, instant. As each
//! hash covers all before it, one signature vouches for every entry up to its place.
//!
//! The signatures are lines of a file of their own, [`Book`]; each names the SHA-256 of the line before
//! it. A new key is introduced by a line that the old one signs. [`Ledger`] reads such a file and holds
//! it against a journal; `docs/journal-format.md` tells the form to the world.

mod book;
mod key;
mod ledger;
mod line;
pub mod stamp;

pub use book::{Book, SignatureError, Stand};
pub use key::{PublicKey, SecretKey};
pub use ledger::{Coverage, KeySeen, Ledger, Loss};
pub use line::{Kind, Line};
