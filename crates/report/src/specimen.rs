//! A specimen from its fractions through its run to its weighings.

use serde::{Deserialize, Serialize};

/// How a reading lies against its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Inside the limit, or on it.
    Inside,
    /// Beyond the limit.
    Outside,
    /// There is no limit to judge by.
    #[default]
    NotJudged,
}

impl Verdict {
    /// Every verdict.
    pub const ALL: [Self; 3] = [Self::Inside, Self::Outside, Self::NotJudged];

    /// The word for it on every paper.
    pub fn words(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Outside => "outside",
            Self::NotJudged => "no limit",
        }
    }
}

/// What was made up for one jar, run and weighed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Specimen {
    /// Its code in the laboratory.
    pub code: String,
    /// Name of the grading it was made up to, or empty.
    pub grading: String,
    /// What it is made of, coarsest first.
    pub fractions: Vec<Fraction>,
    /// All fractions together; the sieves are left empty.
    pub total: Option<Fraction>,
    /// How it was run.
    pub conditions: Vec<Condition>,
    /// What was weighed before and after.
    pub weighings: Vec<Weighing>,
}

/// One size fraction of a specimen. Sieves in mm, masses in g.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Fraction {
    /// Sieve that everything passes, mm.
    pub passing_mm: String,
    /// Sieve that retains everything, mm.
    pub retained_mm: String,
    /// Mass wanted by the method, with its tolerance if it has one, g.
    pub wanted_g: String,
    /// Mass weighed, g.
    pub weighed_g: String,
    /// Whether the mass weighed is within the tolerance.
    pub verdict: Verdict,
}

/// One condition of the run: jar, charge, water, temperature, speed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Condition {
    /// What was observed.
    pub what: String,
    /// The reading with its unit.
    pub observed: String,
    /// The limit in words, or empty when there is none.
    pub limit: String,
    /// The reading against the limit.
    pub verdict: Verdict,
}

/// One weighing.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Weighing {
    /// Its symbol in the formula, or empty.
    pub symbol: String,
    /// What was weighed.
    pub what: String,
    /// The mass as recorded, g.
    pub mass_g: String,
    /// The balance, or empty.
    pub balance: String,
}
