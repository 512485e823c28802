//! First-order propagation with correlations (JCGM 100, 5.1 and 5.2).
//!
//! Sensitivity coefficients are central differences over one standard uncertainty, refined by
//! Richardson's extrapolation: exact for models up to the fourth degree, and a scale at which the
//! model is meant to be used.

use super::coverage::{Expanded, effective_freedom, expanded};
use super::input::{Correlation, Input, matrix};
use super::model::{self, Model};
use crate::error::{Figure, StatsError, Undefined, checked, ratio};

/// What one input adds.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// Name of the input.
    pub name: String,
    /// Its estimate.
    pub estimate: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Partial derivative of the model, unit of the measurand over that of the input.
    pub sensitivity: f64,
    /// |sensitivity| times standard uncertainty, in the unit of the measurand.
    pub uncertainty: f64,
    /// Share of the variance, correlation terms split evenly between their two inputs; the shares
    /// add up to 1, and one can be negative where correlation helps.
    pub share: Figure,
}

/// The result of first-order propagation.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstOrder {
    /// The measurand at the estimates.
    pub value: f64,
    /// Combined standard uncertainty.
    pub standard_uncertainty: f64,
    /// The contributions in the order of the inputs.
    pub contributions: Vec<Contribution>,
    /// Expanded to the level asked for. With correlated inputs the effective degrees of freedom
    /// rest on the contributions as if they were independent, as the GUM has no other formula.
    pub expanded: Result<Expanded, Undefined>,
}

/// Propagates uncertainties through a model to first order.
///
/// # Errors
/// When there is no input, a distribution is wrong or has no standard deviation, correlations
/// contradict each other, the level is not between 0 and 1, or the model has no value nearby.
pub fn first_order(
    model: &dyn Model,
    inputs: &[Input],
    correlations: &[Correlation],
    level: f64,
) -> Result<FirstOrder, StatsError> {
    crate::error::probability("the level", level)?;
    let point = Point::new(inputs)?;
    let matrix = matrix(inputs.len(), correlations)?;
    let value = point.value(model)?;
    let signed = point.signed_contributions(model)?;
    // Each row of the quadratic form is what its input adds.
    let parts: Vec<f64> = (0..signed.len())
        .map(|i| signed[i] * matrix[i].iter().zip(&signed).map(|(r, c)| r * c).sum::<f64>())
        .collect();
    let variance: f64 = checked(parts.iter().sum::<f64>().max(0.0))?;
    let contributions: Vec<Contribution> = inputs
        .iter()
        .enumerate()
        .map(|(i, input)| Contribution {
            name: input.name.clone(),
            estimate: point.estimates[i],
            standard_uncertainty: point.uncertainties[i],
            sensitivity: point.sensitivity(model, i, signed[i]),
            uncertainty: signed[i].abs(),
            share: ratio(parts[i], variance, "the measurand"),
        })
        .collect();
    let freedoms: Vec<(f64, Option<f64>)> =
        signed.iter().zip(inputs).map(|(c, input)| (*c, input.freedom)).collect();
    let standard_uncertainty = variance.sqrt();
    let expanded = effective_freedom(&freedoms).and_then(|freedom| {
        expanded(standard_uncertainty, freedom, level).map_err(|_| Undefined::BeyondDouble)
    });
    Ok(FirstOrder { value, standard_uncertainty, contributions, expanded })
}

/// Several measurands of the same inputs.
#[derive(Debug, Clone, PartialEq)]
pub struct Outputs {
    /// The measurands.
    pub values: Vec<f64>,
    /// Their standard uncertainties.
    pub uncertainties: Vec<f64>,
    /// Their correlations, row by row.
    pub correlations: Vec<Vec<Figure>>,
}

/// Propagates to several measurands at once, with the correlations between them (JCGM 100, H.2.3).
///
/// # Errors
/// As [`first_order`].
pub fn several(
    models: &[&dyn Model],
    inputs: &[Input],
    correlations: &[Correlation],
) -> Result<Outputs, StatsError> {
    let point = Point::new(inputs)?;
    let matrix = matrix(inputs.len(), correlations)?;
    let values =
        models.iter().map(|m| point.value(*m)).collect::<Result<Vec<f64>, StatsError>>()?;
    let signed = models
        .iter()
        .map(|m| point.signed_contributions(*m))
        .collect::<Result<Vec<Vec<f64>>, StatsError>>()?;
    let covariance = |a: &[f64], b: &[f64]| -> f64 {
        let row = |i: usize| matrix[i].iter().zip(b).map(|(r, c)| r * c).sum::<f64>();
        (0..a.len()).map(|i| a[i] * row(i)).sum()
    };
    let uncertainties: Vec<f64> = signed.iter().map(|s| covariance(s, s).max(0.0).sqrt()).collect();
    let correlations = (0..models.len())
        .map(|i| {
            (0..models.len())
                .map(|j| {
                    let spread = uncertainties[i] * uncertainties[j];
                    ratio(covariance(&signed[i], &signed[j]), spread, "a measurand")
                        .map(|r| r.clamp(-1.0, 1.0))
                })
                .collect()
        })
        .collect();
    Ok(Outputs { values, uncertainties, correlations })
}

/// Combined standard uncertainty with the terms of second order for independent inputs (JCGM 100,
/// 5.1.2 note), which matter where a sensitivity coefficient is zero at the estimates.
///
/// # Errors
/// As [`first_order`].
pub fn second_order(model: &dyn Model, inputs: &[Input]) -> Result<f64, StatsError> {
    let point = Point::new(inputs)?;
    let value = point.value(model)?;
    let signed = point.signed_contributions(model)?;
    let mut variance: f64 = signed.iter().map(|c| c * c).sum();
    for (i, contribution) in signed.iter().enumerate() {
        for j in 0..inputs.len() {
            // Differences one standard uncertainty wide, so derivatives come with their factors.
            let step = |a: f64, b: f64| point.shifted(model, &[(i, a), (j, b)]);
            let (mixed, third) = if i == j {
                let second = step(1.0, 0.0) - 2.0 * value + step(-1.0, 0.0);
                let third = 0.5
                    * (step(2.0, 0.0) - 2.0 * step(1.0, 0.0) + 2.0 * step(-1.0, 0.0)
                        - step(-2.0, 0.0));
                (second, third)
            } else {
                let plus = step(1.0, 1.0) - step(1.0, -1.0);
                let minus = step(-1.0, 1.0) - step(-1.0, -1.0);
                let curve = |a: f64| step(a, 1.0) - 2.0 * step(a, 0.0) + step(a, -1.0);
                (0.25 * (plus - minus), 0.5 * (curve(1.0) - curve(-1.0)))
            };
            variance += 0.5 * mixed * mixed + contribution * third;
        }
    }
    Ok(checked(variance.max(0.0))?.sqrt())
}

/// The place at which a model is linearized.
struct Point {
    estimates: Vec<f64>,
    uncertainties: Vec<f64>,
}

impl Point {
    fn new(inputs: &[Input]) -> Result<Self, StatsError> {
        if inputs.is_empty() {
            return Err(StatsError::TooFew { what: "inputs", need: 1, got: 0 });
        }
        let mut uncertainties = Vec::with_capacity(inputs.len());
        for input in inputs {
            input.distribution.check()?;
            let u = input.uncertainty()?;
            crate::error::not_negative("a standard uncertainty", u)?;
            uncertainties.push(u);
        }
        Ok(Self {
            estimates: inputs.iter().map(|i| i.distribution.mean()).collect(),
            uncertainties,
        })
    }

    /// The model with some inputs moved by multiples of their uncertainties.
    fn shifted(&self, model: &dyn Model, moves: &[(usize, f64)]) -> f64 {
        let mut inputs = self.estimates.clone();
        for &(i, steps) in moves {
            inputs[i] += steps * self.uncertainties[i];
        }
        model::at(model, &inputs)
    }

    fn value(&self, model: &dyn Model) -> Result<f64, StatsError> {
        checked(self.shifted(model, &[])).map_err(|_| {
            Undefined::Because("the model has no value at the estimates of its inputs").into()
        })
    }

    /// Sensitivity times standard uncertainty, with its sign, for each input.
    fn signed_contributions(&self, model: &dyn Model) -> Result<Vec<f64>, StatsError> {
        (0..self.estimates.len())
            .map(|i| {
                let difference = |h: f64| {
                    (self.shifted(model, &[(i, h)]) - self.shifted(model, &[(i, -h)])) / (2.0 * h)
                };
                let (wide, narrow) = (difference(1.0), difference(0.5));
                checked((4.0 * narrow - wide) / 3.0).map_err(|_| {
                    Undefined::Because(
                        "the model has no value one uncertainty away from an estimate",
                    )
                    .into()
                })
            })
            .collect()
    }

    /// The derivative itself, also for an input that is known exactly.
    fn sensitivity(&self, model: &dyn Model, i: usize, signed: f64) -> f64 {
        let u = self.uncertainties[i];
        if u > 0.0 {
            return signed / u;
        }
        let step = 1e-5 * self.estimates[i].abs().max(1e-5);
        let mut at = self.estimates.clone();
        at[i] += step;
        let above = model::at(model, &at);
        at[i] -= 2.0 * step;
        let slope = (above - model::at(model, &at)) / (2.0 * step);
        if slope.is_finite() { slope } else { 0.0 }
    }
}
