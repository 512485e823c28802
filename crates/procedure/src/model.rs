//! What a check procedure says.

use crate::kind::ItemKind;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use stonewear_measure::Limits;

/// A check as data: ordered steps that prove something about an item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Procedure {
    /// Short name: `function-check`.
    pub id: String,
    /// What it is, in words.
    pub title: String,
    /// Which kind of item it proves.
    #[serde(rename = "for")]
    pub proves_kind: ItemKind,
    /// What it proves about the item: `function`, `mass`, `seal`.
    pub proves: Vec<String>,
    /// Whether an item of this kind must have passed it before it enters service.
    #[serde(default)]
    pub needed_for_service: bool,
    /// What the source keys used in the steps stand for.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub sources: BTreeMap<String, String>,
    /// The steps, in order.
    #[serde(rename = "step")]
    pub steps: Vec<Step>,
}

impl Procedure {
    /// The step of this name.
    pub fn step(&self, id: &str) -> Option<&Step> {
        self.steps.iter().find(|step| step.id == id)
    }
}

/// Whether jars may be in the machine during a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Jars {
    /// No jar may be in the machine.
    Out,
    /// The jars are in the machine.
    In,
    /// The step does not concern the machine.
    #[serde(rename = "not-involved")]
    NotInvolved,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Short name within the procedure.
    pub id: String,
    /// What it is about, in a few words.
    pub title: String,
    /// What to do, in short sentences.
    pub instruction: String,
    /// Whether jars may be in the machine.
    pub jars: Jars,
    /// The tier that it concerns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tier: Option<String>,
    /// The position on the tier, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub position: Option<u32>,
    /// What must be seen or read.
    pub expect: Expect,
    /// What can hurt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caution: Option<Caution>,
    /// What to do when it is not as expected.
    pub on_failure: String,
    /// The step to go back to after a failure was mended; absent: this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back_to: Option<String>,
}

/// What must be seen or read in a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "observe", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Expect {
    /// Somebody sees that it is so.
    Seen {
        /// What must be so.
        what: String,
    },
    /// A number is read.
    Number {
        /// What is read.
        what: String,
        /// In which unit; empty for a count.
        #[serde(default)]
        unit: String,
        /// Within which limits.
        #[serde(default)]
        limits: Limits,
        /// Where the limits come from: a source key, or words such as `common practice, no
        /// published source` or `from memory, unconfirmed`.
        #[serde(default)]
        source: String,
        /// The kind of item that it is read with, to be named in the observation.
        #[serde(default, rename = "with", skip_serializing_if = "Option::is_none")]
        instrument: Option<ItemKind>,
    },
}

/// What can hurt in a step. It never replaces local codes and licensed practice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// The danger and what to do about it.
    pub text: String,
    /// Where the advice comes from.
    pub source: String,
}
