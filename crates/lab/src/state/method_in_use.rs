//! Methods that the laboratory has taken into use.

use super::Noted;
use serde::Serialize;
use stonewear_method::{Method, MethodId};

/// A number compared with the laboratory's own copy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Confirmation {
    /// Which number.
    pub figure: String,
    /// The value it was corrected to; absent when it was right.
    pub corrected_to: Option<String>,
    /// Which copy it was compared with.
    pub against: String,
}

/// A method in use: as it was read, and as it stands after the laboratory's confirmations.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MethodInUse {
    /// Its identity.
    pub id: MethodId,
    /// As it stands now.
    pub method: Method,
    /// Since when, and taken into use by whom.
    pub adopted: Noted<()>,
    /// Every version so far, with the place in the journal from which it holds; the first is the
    /// method as it was read.
    pub versions: Vec<(u64, Method)>,
    /// What the laboratory has confirmed or corrected, oldest first.
    pub confirmations: Vec<Noted<Confirmation>>,
}

impl MethodInUse {
    /// The method as it stood when the fact at this place in the journal was recorded: a result
    /// keeps the version that it was worked out by.
    pub fn at(&self, position: u64) -> &Method {
        self.versions
            .iter()
            .rev()
            .find(|(from, _)| *from <= position)
            .map_or(&self.method, |(_, method)| method)
    }
}
