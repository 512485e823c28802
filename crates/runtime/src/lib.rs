//! One laboratory opened for work: its folder, its journal, its state in memory, its clock.
//!
//! This is the imperative shell around the pure laboratory. A request goes
//! `decide → append → apply`, in this order and under one owner, so that nothing is answered that
//! is not on the disk, and nothing is in memory that is not in the journal.

mod clock;
mod error;
mod files;
mod folder;
mod kept;
mod open;
mod pack;
mod papers;
mod replay;
mod view;

pub use clock::{Clock, drawn_seed};
pub use error::{OpenError, SubmitError};
pub use files::{NewFile, sha256};
pub use kept::KeptFact;
pub use open::{Decided, OpenLaboratory, Receipt};
pub use pack::{PackError, Packed, pack, unpack};
pub use papers::{Prepared, Said, Wanted};
pub use replay::Damage;
pub use view::{LaboratoryView, export, verify_file, verify_folder};
