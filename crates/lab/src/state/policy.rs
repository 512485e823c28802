//! What the laboratory has decided for itself, and what others found on split samples.

use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_method::MethodId;

/// A policy was decided.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PolicyDecision {
    /// The value from now on.
    pub value: String,
    /// On what grounds.
    pub reason: String,
}

/// What another laboratory found on its part of a sample.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutsideResult {
    /// By which method.
    pub method: MethodId,
    /// Which laboratory.
    pub laboratory: String,
    /// The loss that it reported, %.
    pub loss_percent: Decimal,
    /// The document that says so.
    pub document: String,
    /// Why it replaces what was recorded before of the same document, if it does.
    pub reason: String,
}
