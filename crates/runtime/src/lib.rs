//! One laboratory opened for work: its folder, its journal, its state in memory, its clock.
//!
//! This is the imperative shell around the pure laboratory. A request goes
//! `decide → append → apply`, in this order and under one owner, so that nothing is answered that
//! is not on the disk, and nothing is in memory that is not in the journal.

mod backup;
mod between;
mod clock;
mod end;
mod error;
mod files;
mod folder;
mod following;
mod hindrance;
mod keeping;
mod kept;
mod late;
mod network;
mod open;
mod pack;
mod papers;
mod place;
mod replay;
mod results;
mod signing;
mod store;
mod together;
mod view;

pub use backup::{
    BackedUp, BackupError, Checked, LastBackup, Manifest, Returned, Until, back_up, backups,
    check_backup, last_backup, note_backup_trouble, restore, returned,
};
pub use between::{Carried, CarryError, pull, push};
pub use clock::{Clock, drawn_seed};
pub use error::{OpenError, SubmitError};
pub use files::{NewFile, sha256};
pub use hindrance::Hindrance;
pub use kept::KeptFact;
pub use late::{is_key, late_key};
pub use network::{
    ChartStanding, Compared, Comparison, LaboratoryStanding, Network, NetworkReport,
};
pub use open::{Decided, OpenLaboratory, Receipt};
pub use pack::{PackError, Packed, pack, unpack};
pub use papers::{Prepared, Said, Wanted};
pub use place::{Place, SharedDatabase};
pub use replay::Damage;
pub use signing::{
    SignatureStands, SigningError, Verified, accept_end, keep_stamp, new_signing_key, public_key,
    sign_folder, stamp_request, verify_export_with, verify_whole,
};
pub use stonewear_journal::postgres::{Follower, Heard};
pub use together::Asked;
pub use view::{LaboratoryView, export, verify_file, verify_folder};
