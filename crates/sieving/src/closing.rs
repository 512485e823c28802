//! The closing check: do the masses after sieving add up to the mass before?

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use stonewear_measure::{Decimal, Exact};
use stonewear_method::Confidence;
use thiserror::Error;

/// How far the sum after sieving may lie from the mass before: each document has its own limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ClosingRule {
    /// ASTM C136 and AASHTO T 27: 0.3 %.
    #[default]
    AstmC136,
    /// EN 933-1: 1 %.
    En9331,
}

impl ClosingRule {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::AstmC136, Self::En9331];

    /// Its name, as a command or a fact writes it.
    pub fn name(self) -> &'static str {
        match self {
            Self::AstmC136 => "astm-c136",
            Self::En9331 => "en-933-1",
        }
    }

    /// The most that the masses may differ by, % of the mass before.
    pub fn limit_percent(self) -> Decimal {
        match self {
            Self::AstmC136 => Decimal::from_parts(3, 0, 0, false, 1),
            Self::En9331 => Decimal::ONE,
        }
    }

    /// The documents that set the limit.
    pub fn source(self) -> &'static str {
        match self {
            Self::AstmC136 => "ASTM C136, AASHTO T 27",
            Self::En9331 => "EN 933-1",
        }
    }

    /// How sure the limit is: both are remembered, neither was read in its document.
    pub fn confidence(self) -> Confidence {
        Confidence::Memory
    }
}

impl fmt::Display for ClosingRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A text that names no closing rule.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not a closing rule; write astm-c136 or en-933-1")]
pub struct UnknownClosingRule(String);

impl FromStr for ClosingRule {
    type Err = UnknownClosingRule;
    fn from_str(text: &str) -> Result<Self, UnknownClosingRule> {
        Self::ALL
            .into_iter()
            .find(|rule| rule.name() == text)
            .ok_or_else(|| UnknownClosingRule(text.to_owned()))
    }
}

/// The outcome of the check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// By which rule.
    pub rule: ClosingRule,
    /// What was put on the sieves: the mass after washing, or else the mass before, g.
    pub put_on_g: Decimal,
    /// What the sieves and the pan hold together, g.
    pub found_g: Decimal,
    /// By how much both differ, % of what was put on; never negative.
    pub difference_percent: Exact,
}

impl Closing {
    /// Compares both masses; `None` when nothing was put on.
    pub(crate) fn of(rule: ClosingRule, put_on_g: Decimal, found_g: Decimal) -> Option<Self> {
        let apart = Exact::from((put_on_g - found_g).abs()).times(&crate::hundred());
        let difference_percent = apart.divided_by(&Exact::from(put_on_g))?;
        Some(Self { rule, put_on_g, found_g, difference_percent })
    }

    /// Whether the masses agree within the rule; a difference of exactly the limit does.
    pub fn holds(&self) -> bool {
        self.difference_percent <= Exact::from(self.rule.limit_percent())
    }
}

/// One sentence, as page and paper say it.
impl fmt::Display for Closing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let way = match self.found_g.cmp(&self.put_on_g) {
            std::cmp::Ordering::Less => "lost",
            std::cmp::Ordering::Equal => "apart",
            std::cmp::Ordering::Greater => "gained",
        };
        write!(
            f,
            "{} g after sieving against {} g before: {} % {way}; {} allows {} %",
            self.found_g,
            self.put_on_g,
            crate::shown(&self.difference_percent, Decimal::from_parts(1, 0, 0, false, 2)),
            self.rule.source(),
            self.rule.limit_percent()
        )
    }
}
