//! Who may come in, which programs may use a laboratory, and which are told of its facts.
//!
//! - An [`account`] lets a person of the laboratory prove who they are by a pass phrase; only its
//!   Argon2id hash is kept. A [`session`] is what a browser holds afterwards.
//! - [`sign_in`] puts it together: phrases are tried under [`limits`], and what happens is written
//!   into the access [`log`], whose entries are chained.
//! - A [`passkey`] does what the phrase does, by a key on a device of its person's; its answers are judged
//!   in [`webauthn`]. A person can be [`vouched`] for by their organisation; what it says is judged in
//!   [`openid`].
//! - A [`token`] lets a program ask in the name of a person, as far as its scope goes. It is shown
//!   once; only the SHA-256 of its secret is kept. 256 random bits cannot be guessed, so a slow hash
//!   would add nothing.
//! - An [`answer`] that was given to a request with a key is kept, so that the same request sent
//!   again is answered the same.
//! - A [`hook`] is an address that is told of new facts, and how far it has been told.
//!
//! All of it lies in one small database beside the journal. None of it is a fact: secrets do not
//! belong into a record that is handed on, and what is lost here can be made again by whoever is at
//! the machine and may write into the folder.

pub mod account;
pub mod answer;
pub mod challenge;
pub mod code;
pub mod device;
pub mod hook;
pub mod limits;
pub mod log;
pub mod openid;
pub mod passkey;
pub mod phrase;
pub mod session;
pub mod sign_in;
pub mod signature;
pub mod token;
pub mod vouched;
pub mod webauthn;

mod base;

pub use account::{Account, NotOpened, Opening};
pub use answer::KeptAnswer;
pub use base::{Access, AccessError, secret};
pub use code::Code;
pub use hook::{Hook, HookState, NewHook};
pub use log::{Event, Kind, Note};
pub use passkey::{Passkey, Site};
pub use phrase::{Phrase, Weak};
pub use session::{Lasting, Session};
pub use sign_in::{Attempt, Browser, NotIn, SignedIn};
pub use token::{Bearer, Denied, NewToken, Scope, Token};
