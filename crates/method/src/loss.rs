//! The loss, exact until it is rounded once by the rule that the method names.

use crate::figure::Confidence;
use crate::model::{Formula, LossRule, Method};
use serde::Serialize;
use stonewear_measure::rounding::{BadPlace, Rule};
use stonewear_measure::{Decimal, Exact, Limits};
use thiserror::Error;

/// The two masses of one specimen, oven-dry, g.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Weighed {
    /// Before the run.
    pub before_g: Decimal,
    /// Kept on the method's sieve after the run.
    pub after_g: Decimal,
}

/// Why no loss can be worked out.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LossError {
    /// No specimen at all.
    #[error("no specimen was given; {designation} needs {wanted}")]
    NoSpecimen {
        /// How people call the method.
        designation: String,
        /// Specimens that the method wants.
        wanted: u32,
    },
    /// A mass before that no specimen can have.
    #[error("specimen {specimen}: the mass before is {before_g} g; it must be greater than zero")]
    NothingBefore {
        /// Number of the specimen, from 1.
        specimen: usize,
        /// What was given.
        before_g: Decimal,
    },
    /// A negative mass after.
    #[error("specimen {specimen}: the mass after is {after_g} g; it cannot be negative")]
    NegativeAfter {
        /// Number of the specimen, from 1.
        specimen: usize,
        /// What was given.
        after_g: Decimal,
    },
    /// A specimen cannot gain mass.
    #[error(
        "specimen {specimen}: the mass after, {after_g} g, is more than {before_g} g before; are the two in the wrong order, or is the specimen still wet?"
    )]
    Gained {
        /// Number of the specimen, from 1.
        specimen: usize,
        /// Mass after, g.
        after_g: Decimal,
        /// Mass before, g.
        before_g: Decimal,
    },
    /// A formula that takes the loss of the prescribed mass would give less than nothing.
    #[error(
        "specimen {specimen}: {after_g} g was kept, more than the {prescribed_g} g that the method takes the loss of; the loss would be below zero, so weigh again or make up a specimen nearer to {prescribed_g} g"
    )]
    MoreThanPrescribed {
        /// Number of the specimen, from 1.
        specimen: usize,
        /// Mass after, g.
        after_g: Decimal,
        /// The mass that the method prescribes, g.
        prescribed_g: Decimal,
    },
    /// The test gives no loss.
    #[error("{designation} gives no loss; what it gives is worked out from its readings")]
    NoLoss {
        /// How people call the method.
        designation: String,
    },
    /// The loss is put together from those of the sizes.
    #[error(
        "{designation} puts its loss together from the sizes of the sample; it is worked out from the readings of each size"
    )]
    OfSizes {
        /// How people call the method.
        designation: String,
    },
    /// The method's rounding place cannot be used.
    #[error(transparent)]
    Place(#[from] BadPlace),
    /// The masses are beyond what can be reported.
    #[error("the masses are too large for a loss to be worked out")]
    TooLarge,
}

/// A departure from the method that a person may answer for with a reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "rule", rename_all = "kebab-case")]
pub enum Departure {
    /// The mass before is outside the method's tolerance.
    SpecimenMass {
        /// Number of the specimen, from 1.
        specimen: usize,
        /// What was weighed, g.
        before_g: Decimal,
        /// What the method allows, g.
        allowed_g: String,
    },
    /// Fewer or more specimens than the method wants.
    SpecimenCount {
        /// How many there are.
        given: usize,
        /// How many the method wants.
        wanted: u32,
    },
}

impl std::fmt::Display for Departure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::SpecimenMass { specimen, before_g, allowed_g } => write!(
                f,
                "specimen {specimen}: the mass before, {before_g} g, is outside the {allowed_g} g of the method"
            ),
            Self::SpecimenCount { given, wanted } => {
                let were = if *given == 1 { "specimen was" } else { "specimens were" };
                write!(f, "{given} {were} given; the method wants {wanted}")
            }
        }
    }
}

/// The loss of one specimen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpecimenLoss {
    /// The masses it comes from.
    pub weighed: Weighed,
    /// The mass that the loss is taken of, g.
    pub base_g: Decimal,
    /// The exact loss, %.
    pub exact_percent: Exact,
    /// Rounded like the result, %, for showing only: the result is not worked out from it.
    pub rounded_percent: Decimal,
}

/// The loss of a sample: the mean over its specimens, rounded once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loss {
    /// Each specimen.
    pub specimens: Vec<SpecimenLoss>,
    /// The exact mean, %.
    pub exact_percent: Exact,
    /// The reported loss, %.
    pub percent: Decimal,
    /// The place it is rounded to, %.
    pub place: Decimal,
    /// What happens to an exact half.
    pub rule: Rule,
    /// How sure we are of the formula.
    pub formula_confidence: Confidence,
    /// The least sure confidence among the figures that turn the masses into the value: formula,
    /// rounding place and rule, and the prescribed mass where the formula takes the loss of it.
    pub confidence: Confidence,
    /// The formula that was used.
    pub formula: Formula,
}

/// Works out the loss that `method` defines for these specimens.
///
/// Nothing is checked here that a reason can excuse: see [`departures`].
///
/// # Errors
/// When the masses are impossible: none, zero, negative, or a gain of mass.
pub fn loss(method: &Method, specimens: &[Weighed]) -> Result<Loss, LossError> {
    if specimens.is_empty() {
        return Err(LossError::NoSpecimen {
            designation: method.designation.clone(),
            wanted: method.specimen.count.value,
        });
    }
    let designation = || method.designation.clone();
    let Some(rule) = &method.loss else {
        return Err(LossError::NoLoss { designation: designation() });
    };
    let rounding = rule.rounding()?;
    let formula = rule.formula.value;
    let base_g = |weighed: Weighed| match formula {
        Formula::OfMassBefore => Ok(weighed.before_g),
        Formula::OfNominalMass => Ok(prescribed_g(method).unwrap_or(weighed.before_g)),
        Formula::WeightedByGrading => Err(LossError::OfSizes { designation: designation() }),
    };
    let specimens = (1_usize..)
        .zip(specimens)
        .map(|(number, &weighed)| {
            let base_g = base_g(weighed)?;
            let exact_percent = loss_of(number, weighed, base_g)?;
            let rounded_percent = rounding.apply(&exact_percent).ok_or(LossError::TooLarge)?;
            Ok(SpecimenLoss { weighed, base_g, exact_percent, rounded_percent })
        })
        .collect::<Result<Vec<_>, LossError>>()?;
    let exact_percent =
        Exact::mean(specimens.iter().map(|one| &one.exact_percent)).ok_or(LossError::TooLarge)?;
    Ok(Loss {
        percent: rounding.apply(&exact_percent).ok_or(LossError::TooLarge)?,
        exact_percent,
        specimens,
        place: rounding.place(),
        rule: rounding.rule(),
        formula_confidence: rule.formula.confidence,
        confidence: confidence_of(method, rule),
        formula,
    })
}

/// The mass that the method prescribes, g; the rules of files see to it that a run has one.
fn prescribed_g(method: &Method) -> Option<Decimal> {
    method.specimen.mass_g.as_ref().map(|mass| mass.nominal.value)
}

pub(crate) fn confidence_of(method: &Method, rule: &LossRule) -> Confidence {
    let rounded = rule.round_to_percent.confidence.less_sure(rule.rounding_rule.confidence);
    let mut worked_out = rule.formula.confidence;
    let prescribed = method.specimen.mass_g.as_ref().map(|mass| mass.nominal.confidence);
    if let (Formula::OfNominalMass, Some(prescribed)) = (rule.formula.value, prescribed) {
        worked_out = worked_out.less_sure(prescribed);
    }
    if let (Formula::WeightedByGrading, Some(below)) =
        (rule.formula.value, &rule.untested_below_percent)
    {
        worked_out = worked_out.less_sure(below.confidence);
    }
    worked_out.less_sure(rounded)
}

/// Where these masses depart from what the method allows, although a loss can be worked out.
pub fn departures(method: &Method, specimens: &[Weighed]) -> Vec<Departure> {
    let allowed: Limits = method.specimen_limits();
    let mut found: Vec<Departure> = (1_usize..)
        .zip(specimens)
        .filter(|(_, weighed)| !allowed.hold(weighed.before_g))
        .map(|(specimen, weighed)| Departure::SpecimenMass {
            specimen,
            before_g: weighed.before_g,
            allowed_g: method.specimen_mass(),
        })
        .collect();
    let wanted = method.specimen.count.value;
    if u32::try_from(specimens.len()) != Ok(wanted) {
        found.push(Departure::SpecimenCount { given: specimens.len(), wanted });
    }
    found
}

fn loss_of(specimen: usize, weighed: Weighed, base_g: Decimal) -> Result<Exact, LossError> {
    let Weighed { before_g, after_g } = weighed;
    if before_g <= Decimal::ZERO || base_g <= Decimal::ZERO {
        return Err(LossError::NothingBefore { specimen, before_g });
    }
    if after_g < Decimal::ZERO {
        return Err(LossError::NegativeAfter { specimen, after_g });
    }
    if after_g > before_g {
        return Err(LossError::Gained { specimen, after_g, before_g });
    }
    if after_g > base_g {
        return Err(LossError::MoreThanPrescribed { specimen, after_g, prescribed_g: base_g });
    }
    let base = Exact::from(base_g);
    let lost = base.minus(&Exact::from(after_g));
    Exact::from(Decimal::ONE_HUNDRED)
        .times(&lost)
        .divided_by(&base)
        .ok_or(LossError::NothingBefore { specimen, before_g })
}

impl Loss {
    /// The worked formula, line by line: in symbols, with its numbers, the exact value, and the
    /// rounding by name. Shown wherever the loss is.
    pub fn worked(&self) -> Vec<String> {
        let (base_symbol, kept_symbol) = match self.formula {
            Formula::OfMassBefore | Formula::WeightedByGrading => ("A", "B"),
            Formula::OfNominalMass => ("M", "m"),
        };
        let mut lines = vec![format!("loss = {}", self.formula.in_symbols())];
        for (number, one) in (1_usize..).zip(&self.specimens) {
            let (base, after) = (one.base_g, one.weighed.after_g);
            lines.push(format!(
                "specimen {number}: {base_symbol} = {base} g, {kept_symbol} = {after} g: \
                 100 × ({base} − {after}) / {base} = {} %",
                one.exact_percent
            ));
        }
        if self.specimens.len() > 1 {
            lines.push(format!(
                "mean of {} specimens = {} %",
                self.specimens.len(),
                self.exact_percent
            ));
        }
        lines.push(format!(
            "rounded once to {} %, {}: {} %",
            self.place,
            self.rule.in_words(),
            self.percent
        ));
        lines
    }
}

#[cfg(test)]
mod tests;
