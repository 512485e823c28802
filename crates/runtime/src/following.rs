//! Following what other processes append to a laboratory in a database.

use crate::open::OpenLaboratory;
use stonewear_journal::StoreError;
use stonewear_journal::postgres::{Follower, Heard};

impl OpenLaboratory {
    /// Begins to listen for what others append; `None` where nobody else does, for the journal is a file.
    /// `told` is called on a thread of its own: with a later place, or after the line was lost and found
    /// again, it is time to [`OpenLaboratory::catch_up`].
    ///
    /// # Errors
    /// When no thread can be had.
    pub fn follow(
        &self,
        told: impl FnMut(Heard) + Send + 'static,
    ) -> Result<Option<Follower>, StoreError> {
        let follow = |database: &crate::SharedDatabase| {
            Follower::begin(&database.address, &database.laboratory, told)
        };
        self.place().database().map(follow).transpose()
    }
}
