//! What a reader must know beside the number: deviations, doubts, figures nobody has confirmed.

use serde::{Deserialize, Serialize};

/// A departure from the method, with its reason.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Deviation {
    /// The rule that was not kept.
    pub rule: String,
    /// What was done instead.
    pub what: String,
    /// Why.
    pub reason: String,
    /// Who allowed it.
    pub who: String,
}

/// A fact under this result that turned out wrong, or may have.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Doubt {
    /// What is in doubt.
    pub what: String,
    /// What follows for this result.
    pub effect: String,
    /// Since when it is known, as it is to be printed.
    pub since: String,
}

/// A figure of the method that the laboratory has not yet confirmed against its own copy.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct UnconfirmedFigure {
    /// What the figure is: `tolerance of the water`.
    pub name: String,
    /// Its value with unit.
    pub value: String,
    /// How sure it is, in words: `from memory`, `common practice`.
    pub confidence: String,
}
