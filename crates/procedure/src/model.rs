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
    /// The procedure whose place it takes: an item made for other figures (a charge of 1250 g
    /// instead of 5000 g) is proved for service by this one as well as by that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_for: Option<String>,
    /// How long a pass is good for, unless the laboratory decides otherwise with a reason.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval_months: Option<Interval>,
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

/// After how many months a check is due again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Interval {
    /// Months, at least 1.
    pub value: u32,
    /// Where the interval comes from.
    pub source: String,
    /// How sure we are of it.
    pub confidence: Confidence,
}

/// How sure we are of a number. The words are those of the test methods' files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// Read in the source that is named.
    Seen,
    /// Remembered, not confirmed against the document.
    Memory,
    /// Common practice, no published source.
    Practice,
    /// Worked out here from other numbers.
    Derived,
}

impl Confidence {
    /// Every word that a file may write.
    pub const WORDS: &[(&str, Self)] = &[
        ("seen", Self::Seen),
        ("memory", Self::Memory),
        ("practice", Self::Practice),
        ("derived", Self::Derived),
    ];
}

/// The step that takes the jars out of the machine, in every procedure that puts any in. No step
/// with an empty machine may follow jars unless this one lies between.
pub const TAKES_JARS_OUT: &str = "take-jars-out";

/// Whether jars may be in the machine during a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Jars {
    /// No jar may be in the machine.
    Out,
    /// The jars are in the machine, or are laid in or taken out in this step.
    In,
    /// The step is done on the bench or at another place. It does not put jars into the
    /// machine, and where a procedure does, none is in it during such a step.
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
    /// Why it is done, in our words: common practice, no published source. Empty in checks that
    /// were begun before steps said so.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
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
        /// The two readings that it is the difference of, if it is; `what` and the limits are then
        /// of the difference. Absent where the number itself is read.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        difference: Option<Difference>,
    },
}

/// Two readings whose difference is judged, so that nobody subtracts by hand and both are kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
pub enum Difference {
    /// Both are read in this step: the first less the second.
    Less {
        /// What is read first, in the unit of the step.
        read: String,
        /// What is taken off it.
        less: String,
    },
    /// The reading of an earlier step less that of this one.
    From {
        /// What is read in this step.
        read: String,
        /// The earlier step; it reads a number in the same unit.
        from: String,
    },
}

impl Difference {
    /// What is read in this step first.
    pub fn read(&self) -> &str {
        match self {
            Self::Less { read, .. } | Self::From { read, .. } => read,
        }
    }
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

/// How steps are put together in code.
impl Step {
    /// A step in which somebody sees that `what` is so.
    pub(crate) fn seen(
        id: impl Into<String>,
        title: impl Into<String>,
        jars: Jars,
        instruction: impl Into<String>,
        what: impl Into<String>,
        on_failure: impl Into<String>,
    ) -> Self {
        Self {
            id: id.into(),
            title: title.into(),
            instruction: instruction.into(),
            why: String::new(),
            jars,
            tier: None,
            position: None,
            expect: Expect::Seen { what: what.into() },
            caution: None,
            on_failure: on_failure.into(),
            back_to: None,
        }
    }

    /// The same step, but a number is read.
    pub(crate) fn reading(self, unit: &str, limits: Limits, source: impl Into<String>) -> Self {
        let (Expect::Seen { what } | Expect::Number { what, .. }) = self.expect;
        let (unit, source) = (unit.to_owned(), source.into());
        let expect =
            Expect::Number { what, unit, limits, source, instrument: None, difference: None };
        Self { expect, ..self }
    }

    /// Says that the number is the difference of two readings of this step.
    pub(crate) fn between(mut self, read: &str, less: &str) -> Self {
        if let Expect::Number { difference, .. } = &mut self.expect {
            *difference = Some(Difference::Less { read: read.to_owned(), less: less.to_owned() });
        }
        self
    }

    /// Names the kind of item that the number is read with.
    pub(crate) fn with(mut self, kind: ItemKind) -> Self {
        if let Expect::Number { instrument, .. } = &mut self.expect {
            *instrument = Some(kind);
        }
        self
    }

    pub(crate) fn caution(self, caution: Caution) -> Self {
        Self { caution: Some(caution), ..self }
    }

    pub(crate) fn back_to(self, id: impl Into<String>) -> Self {
        Self { back_to: Some(id.into()), ..self }
    }

    pub(crate) fn at(self, tier: &str, position: Option<u32>) -> Self {
        Self { tier: Some(tier.to_owned()), position, ..self }
    }
}
