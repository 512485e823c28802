//! What people are authorised for, and whose work is watched.

use super::Noted;
use crate::authorisation::{Activity, AuthorisationStanding};
use crate::code::{AuthorisationCode, PersonCode};
use jiff::civil::Date;
use serde::Serialize;
use stonewear_method::MethodId;

/// That a person is authorised for activities by a method.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Authorisation {
    /// Its code.
    pub code: AuthorisationCode,
    /// Who is authorised.
    pub person: PersonCode,
    /// By which method.
    pub method: MethodId,
    /// For what.
    pub activities: Vec<Activity>,
    /// Where the record of the training is, or what was seen of it.
    pub training: String,
    /// Codes of what was witnessed.
    pub evidence: Vec<String>,
    /// The last day on which it holds.
    pub until: Option<Date>,
    /// Who granted it, and when.
    pub granted: Noted<()>,
    /// What became of it since, oldest first.
    pub changes: Vec<Noted<AuthorisationChange>>,
}

/// How an authorisation stands since some day, and on what grounds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AuthorisationChange {
    /// How it stands from then on.
    pub standing: AuthorisationStanding,
    /// On what grounds.
    pub reason: String,
}

/// That somebody watches the work of a person who is not authorised; noted by who watches.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Supervision {
    /// Whose work is watched.
    pub person: PersonCode,
    /// By which method.
    pub method: MethodId,
    /// Which work.
    pub activities: Vec<Activity>,
    /// The last day of it.
    pub until: Date,
}

impl Authorisation {
    /// The last change before this place in the journal.
    pub fn change_before(&self, before: u64) -> Option<&Noted<AuthorisationChange>> {
        self.changes.iter().rev().find(|change| change.position < before)
    }

    /// How it stood before this place in the journal, whatever the day.
    pub fn standing_before(&self, before: u64) -> AuthorisationStanding {
        self.change_before(before)
            .map_or(AuthorisationStanding::InForce, |change| change.value.standing)
    }
}
