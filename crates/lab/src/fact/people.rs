//! Facts about what people are authorised for.

use crate::authorisation::{Activity, AuthorisationStanding};
use crate::code::{AuthorisationCode, PersonCode};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use stonewear_method::MethodId;

/// A person is authorised for activities by one edition of a method.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AuthorisationGranted {
    /// The authorisation.
    pub authorisation: AuthorisationCode,
    /// Who.
    pub person: PersonCode,
    /// By which method.
    pub method: MethodId,
    /// For what.
    pub activities: Vec<Activity>,
    /// Where the record of the training is, or what was seen of it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub training: String,
    /// Codes of what was witnessed: specimens, results, runs, checks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub evidence: Vec<String>,
    /// The last day on which it holds; absent when it holds until it is withdrawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<Date>,
}

/// An authorisation was suspended, withdrawn, or is in force again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AuthorisationChanged {
    /// The authorisation.
    pub authorisation: AuthorisationCode,
    /// How it stands from now on.
    pub standing: AuthorisationStanding,
    /// On what grounds.
    pub reason: String,
}

/// An authorised person watches the work of another who is not. Whoever recorded it is the one
/// who watches.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SupervisionBegun {
    /// Whose work is watched.
    pub person: PersonCode,
    /// By which method.
    pub method: MethodId,
    /// Which work.
    pub activities: Vec<Activity>,
    /// The last day of it.
    pub until: Date,
}
