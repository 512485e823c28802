//! Everything that a test gives, worked out from everything that was read of its specimens.
//!
//! The loss of a run is worked out by [`crate::loss`]; here it stands beside what the companion
//! tests give: a loss weighted by the grading of the sample, a ratio, densities, an absorption.

mod properties;
mod weighted;

use crate::figure::Confidence;
use crate::loss::{LossError, Weighed, loss};
use crate::model::{Formula, Grading, Method, Need, Of};
use std::collections::BTreeMap;
use stonewear_measure::rounding::{BadPlace, Rule};
use stonewear_measure::{Decimal, Exact};
use thiserror::Error;

/// Reading: mass kept on the loss sieve early in a run, g.
pub const KEPT_EARLY: &str = "kept_early";
/// Reading: share of a size in the grading of the sample, %.
pub const GRADING_PERCENT: &str = "grading_percent";
/// Reading: mass of a size that is kept after the treatment, g.
pub const KEPT: &str = "kept";
/// Reading: oven-dry mass in air, g.
pub const DRY: &str = "dry";
/// Reading: mass in air, saturated and surface-dry, g.
pub const SATURATED: &str = "saturated";
/// Reading: apparent mass in water, g.
pub const IN_WATER: &str = "in_water";
/// Reading: density of the water, Mg/m³. A method without it gives densities relative to water.
pub const WATER_DENSITY: &str = "water_density";

/// What was read of one specimen.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Input {
    /// Oven-dry mass before the run, g.
    pub before_g: Option<Decimal>,
    /// Mass kept on the method's sieve after it, g.
    pub after_g: Option<Decimal>,
    /// Mass of each fraction that was weighed in, g, by its place in the grading, from 0.
    pub fractions_g: BTreeMap<usize, Decimal>,
    /// The readings by name, those of a fraction with its place in the grading, from 0.
    pub readings: BTreeMap<(String, Option<usize>), Decimal>,
}

impl Input {
    /// A reading of the whole specimen.
    pub fn reading(&self, name: &str) -> Option<Decimal> {
        self.readings.get(&(name.to_owned(), None)).copied()
    }

    /// A reading of one fraction.
    pub fn of_fraction(&self, name: &str, index: usize) -> Option<Decimal> {
        self.readings.get(&(name.to_owned(), Some(index))).copied()
    }
}

/// Something that no result comes without, and that is not there yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Missing {
    /// The mass before the run.
    Before,
    /// The mass after it.
    After,
    /// The mass of a fraction, by its place in the grading, from 0.
    Fraction(usize),
    /// A reading.
    Reading {
        /// Its name.
        name: String,
        /// The fraction that it is of, by its place in the grading, from 0.
        fraction: Option<usize>,
    },
}

/// As `stonewear work-out` takes it: `before`, `fraction.1`, `kept.2`.
impl std::fmt::Display for Missing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Before => f.write_str("before"),
            Self::After => f.write_str("after"),
            Self::Fraction(index) => write!(f, "fraction.{}", index + 1),
            Self::Reading { name, fraction: None } => f.write_str(name),
            Self::Reading { name, fraction: Some(index) } => write!(f, "{name}.{}", index + 1),
        }
    }
}

/// Why nothing can be worked out.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WorkOutError {
    /// The masses before and after are impossible.
    #[error(transparent)]
    Loss(#[from] LossError),
    /// Something is not there yet.
    #[error("specimen {specimen}: still missing: {what}")]
    Missing {
        /// Number of the specimen, from 1.
        specimen: usize,
        /// What, by name, separated by commas.
        what: String,
    },
    /// Two readings cannot both be right.
    #[error("{what}; {right}")]
    Contradiction {
        /// What is wrong.
        what: String,
        /// What would be right.
        right: String,
    },
    /// The method's rounding place cannot be used.
    #[error(transparent)]
    Place(#[from] BadPlace),
    /// The readings are beyond what can be reported.
    #[error("the readings are too large for anything to be worked out")]
    TooLarge,
}

/// One value that a test gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Worked {
    /// Short name: `loss`, or that of the property.
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// Its unit; empty where it has none.
    pub unit: String,
    /// The exact value.
    pub exact: Exact,
    /// The reported value, rounded once.
    pub value: Decimal,
    /// The place it is rounded to, in the same unit.
    pub place: Decimal,
    /// What happens to an exact half.
    pub rule: Rule,
    /// The least sure confidence among formula, rounding place and rule.
    pub confidence: Confidence,
    /// What was called good by the method, at most; in the same unit.
    pub at_most: Option<Decimal>,
    /// The worked formula, line by line.
    pub lines: Vec<String>,
}

impl Worked {
    /// The value with its unit: `5.6 %`, `2.65`.
    pub fn with_unit(&self) -> String {
        format!("{} {}", self.value, self.unit).trim_end().to_owned()
    }
}

/// The name under which [`work_out`] gives the loss.
pub const LOSS: &str = "loss";

/// What is still missing of one specimen, in the order in which it is come by.
pub fn missing(method: &Method, grading: &Grading, input: &Input) -> Vec<Missing> {
    let mut missing = Vec::new();
    let weighted =
        method.loss.as_ref().is_some_and(|rule| rule.formula.value == Formula::WeightedByGrading);
    if method.weighs_before_and_after() {
        missing.extend(input.before_g.is_none().then_some(Missing::Before));
    }
    let always = method.readings.iter().filter(|reading| reading.need == Need::Always);
    for reading in always {
        let name = reading.name.clone();
        match reading.of {
            Of::Specimen if input.reading(&name).is_none() => {
                missing.push(Missing::Reading { name, fraction: None });
            }
            Of::Specimen => {}
            Of::Fraction => {
                for index in 0..grading.fractions.len() {
                    if input.of_fraction(&name, index).is_some() {
                        continue;
                    }
                    // A size that is not tested has no mass to be kept of.
                    let untested = weighted
                        && name == KEPT
                        && !input.fractions_g.contains_key(&index)
                        && weighted::may_stay_untested(method, input, index);
                    if !untested {
                        missing
                            .push(Missing::Reading { name: name.clone(), fraction: Some(index) });
                    }
                }
            }
        }
        if weighted && reading.name == GRADING_PERCENT {
            let wanted = (0..grading.fractions.len()).filter(|index| {
                !input.fractions_g.contains_key(index)
                    && !weighted::may_stay_untested(method, input, *index)
            });
            missing.extend(wanted.map(Missing::Fraction));
        }
    }
    if method.weighs_before_and_after() {
        missing.extend(input.after_g.is_none().then_some(Missing::After));
    }
    missing
}

/// Works out everything that `method` gives for these specimens: the loss first, where there is
/// one, then the properties in the order of the method. A property is left out where a reading
/// that it needs was not taken and the method does not insist on it. Over several specimens each
/// value is the mean of the exact ones, rounded once.
///
/// # Errors
/// When something is missing or impossible.
pub fn work_out(
    method: &Method,
    grading: &Grading,
    specimens: &[Input],
) -> Result<Vec<Worked>, WorkOutError> {
    for (specimen, input) in (1_usize..).zip(specimens) {
        let missing = missing(method, grading, input);
        if !missing.is_empty() {
            let what = missing.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            return Err(WorkOutError::Missing { specimen, what });
        }
    }
    let mut worked = Vec::new();
    if let Some(rule) = &method.loss {
        worked.push(match rule.formula.value {
            Formula::WeightedByGrading => weighted::loss(method, rule, grading, specimens)?,
            Formula::OfMassBefore | Formula::OfNominalMass => of_masses(method, specimens)?,
        });
    }
    for property in &method.properties {
        worked.extend(properties::of(method, property, specimens)?);
    }
    Ok(worked)
}

/// What is impossible about the readings that are there, although others may still be missing.
///
/// # Errors
/// With the first contradiction.
pub fn contradiction(
    method: &Method,
    grading: &Grading,
    input: &Input,
) -> Result<(), WorkOutError> {
    if let (Some(before_g), Some(after_g)) = (input.before_g, input.after_g)
        && method.weighs_before_and_after()
    {
        loss(method, &[Weighed { before_g, after_g }])?;
    }
    weighted::contradiction(grading, input)?;
    for property in &method.properties {
        properties::of(method, property, std::slice::from_ref(input))?;
    }
    Ok(())
}

fn of_masses(method: &Method, specimens: &[Input]) -> Result<Worked, WorkOutError> {
    let weighed: Vec<Weighed> = specimens
        .iter()
        .filter_map(|input| Some(Weighed { before_g: input.before_g?, after_g: input.after_g? }))
        .collect();
    let loss = loss(method, &weighed)?;
    Ok(Worked {
        name: LOSS.to_owned(),
        title: "loss".to_owned(),
        unit: "%".to_owned(),
        lines: loss.worked(),
        value: loss.percent,
        place: loss.place,
        rule: loss.rule,
        confidence: loss.confidence,
        at_most: None,
        exact: loss.exact_percent,
    })
}

/// `rounded once to 0.1 %, an exact half goes to the even digit: 14.8 %`.
fn rounded_line(place: Decimal, unit: &str, rule: Rule, value: Decimal) -> String {
    let of = |number: Decimal| format!("{number} {unit}").trim_end().to_owned();
    format!("rounded once to {}, {}: {}", of(place), rule.in_words(), of(value))
}

#[cfg(test)]
mod tests;
