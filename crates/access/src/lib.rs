//! Which programs may use a laboratory, and which are told of its facts.
//!
//! - A [`token`] lets a program ask in the name of a person, as far as its scope goes. It is shown
//!   once; only the SHA-256 of its secret is kept. 256 random bits cannot be guessed, so a slow hash
//!   would add nothing.
//! - An [`answer`] that was given to a request with a key is kept, so that the same request sent
//!   again is answered the same.
//! - A [`hook`] is an address that is told of new facts, and how far it has been told.
//!
//! All of it lies in one small database beside the journal. None of it is a fact: secrets do not
//! belong into a record that is handed on, and what is lost here can be made again.

pub mod answer;
pub mod hook;
pub mod token;

mod base;

pub use answer::KeptAnswer;
pub use base::{Access, AccessError};
pub use hook::{Hook, HookState, NewHook};
pub use token::{Bearer, Denied, NewToken, Scope, Token};
