//! What the losses of an experiment say: a line or a curve, how well it fits, and how sensitive the
//! loss is to the condition where the method has it.

use super::{LEVEL, MeasuredLoss};
use crate::estimate::{double, with_uncertainty};
use crate::fact::Condition;
use stonewear_measure::Decimal;
use stonewear_stats::regression::{
    Design, Fit, NestedTest, Prediction, Residual, extra_sum_of_squares, fit, pure_error,
};
use stonewear_stats::{StatsError, Undefined};

/// Losses that a line needs so that something is left to judge it by.
const FEWEST: usize = 3;
/// Below this probability a line does not fit.
const DOES_NOT_FIT: f64 = 0.05;

/// What was fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Model {
    /// A straight line.
    Line,
    /// A curve of the second degree.
    Quadratic,
}

impl Model {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Line => "a straight line",
            Self::Quadratic => "a curve of the second degree",
        }
    }
}

/// Whether a model fits, held against the scatter of runs at one level.
#[derive(Debug, Clone, PartialEq)]
pub struct LackOfFit {
    /// The test; the reason where there is none.
    pub test: Result<NestedTest, String>,
}

impl LackOfFit {
    /// Whether the model does not fit.
    pub fn is_significant(&self) -> bool {
        self.test.as_ref().is_ok_and(|test| test.p < DOES_NOT_FIT)
    }

    /// In words.
    pub fn in_words(&self) -> String {
        match &self.test {
            Ok(test) => format!(
                "lack of fit F = {:.2} with {} and {} degrees of freedom, p = {:.3}",
                test.f, test.numerator, test.denominator, test.p
            ),
            Err(why) => format!("lack of fit cannot be tested: {why}"),
        }
    }
}

/// How much of the loss follows the condition, where the method has it.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundSensitivity {
    /// Percent of the loss per 1 % more of the condition, or per 1 °C.
    pub percent_of_loss: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Both as they are recorded: the value, and the expanded uncertainty (k = 2).
    pub recorded: Option<(Decimal, Decimal)>,
}

/// What an experiment says.
#[derive(Debug, Clone)]
pub struct Analysis {
    /// The condition.
    pub condition: Condition,
    /// Levels and losses that were fitted.
    pub points: Vec<(f64, f64)>,
    /// The value that the method gives the condition.
    pub nominal: Option<Decimal>,
    /// The straight line, whether it was chosen or not.
    pub line: Fit,
    /// How well it fits.
    pub line_fits: LackOfFit,
    /// Which model was chosen.
    pub model: Model,
    /// The chosen model.
    pub chosen: Fit,
    /// Why it was chosen.
    pub why: String,
    /// The loss at the method's value, by the chosen model.
    pub at_nominal: Option<Prediction>,
    /// The sensitivity there; the reason where there is none.
    pub sensitivity: Result<FoundSensitivity, String>,
}

impl Analysis {
    /// What these losses say.
    pub(super) fn of(
        condition: Condition,
        losses: &[MeasuredLoss],
        nominal: Option<Decimal>,
    ) -> Result<Self, String> {
        let fitted: Vec<&MeasuredLoss> = losses.iter().filter(|one| one.is_in_fit).collect();
        if fitted.len() < FEWEST {
            return Err(format!(
                "a line needs at least {FEWEST} losses; there are {}",
                fitted.len()
            ));
        }
        let x: Vec<f64> = fitted.iter().map(|one| double(one.level)).collect();
        let planned: Vec<f64> = fitted.iter().map(|one| double(one.planned)).collect();
        let y: Vec<f64> = fitted.iter().map(|one| double(one.loss_percent)).collect();
        let said = |error: StatsError| match error {
            StatsError::Dependent { .. } => "all losses were found at one level".to_owned(),
            other => other.to_string(),
        };
        let of_degree = |degree: usize, from: f64| {
            let moved: Vec<f64> = x.iter().map(|x| x - from).collect();
            fit(Design::polynomial("level", &moved, degree, true)?, &y)
        };
        let line = of_degree(1, 0.0).map_err(said)?;
        let line_fits = lack_of_fit(&line, &planned, &y);
        let mut levels = planned.clone();
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        let curve = of_degree(2, 0.0).ok().filter(|curve| curve.degrees_of_freedom > 0);
        let (model, chosen, why) = match (curve, line_fits.is_significant(), levels.len()) {
            (Some(curve), true, 3..) => {
                let still = lack_of_fit(&curve, &planned, &y);
                let rest = if still.is_significant() {
                    format!(
                        "; it does not fit well either ({}), so take it with care",
                        still.in_words()
                    )
                } else {
                    String::new()
                };
                let why = format!("the line does not fit ({}){rest}", line_fits.in_words());
                (Model::Quadratic, curve, why)
            }
            (_, true, _) => {
                let why = format!(
                    "the line does not fit ({}), and there are too few levels for a curve",
                    line_fits.in_words()
                );
                (Model::Line, line.clone(), why)
            }
            _ => (
                Model::Line,
                line.clone(),
                format!("nothing speaks against a line ({})", line_fits.in_words()),
            ),
        };
        let degree = if model == Model::Line { 1 } else { 2 };
        let at_nominal = nominal.and_then(|nominal| chosen.predict(&[double(nominal)], LEVEL).ok());
        let range = x.iter().fold((f64::MAX, f64::MIN), |(low, high), x| (x.min(low), x.max(high)));
        let sensitivity = match nominal {
            None => Err("the method gives no value for it".to_owned()),
            Some(nominal) if double(nominal) < range.0 || double(nominal) > range.1 => {
                Err(format!(
                    "the {nominal} {} of the method lie outside of the levels, where a fit says nothing",
                    condition.unit()
                ))
            }
            Some(nominal) => of_degree(degree, double(nominal))
                .map_err(said)
                .and_then(|there| sensitivity(condition, double(nominal), &there)),
        };
        Ok(Self {
            condition,
            points: x.into_iter().zip(y).collect(),
            nominal,
            line,
            line_fits,
            model,
            chosen,
            why,
            at_nominal,
            sensitivity,
        })
    }

    /// The fitted loss at a level, with its intervals.
    pub fn loss_at(&self, level: f64) -> Option<Prediction> {
        self.chosen.predict(&[level], LEVEL).ok()
    }

    /// The interval of the sensitivity at the level of this module, by Student's t.
    pub fn sensitivity_in_words(&self) -> String {
        match &self.sensitivity {
            Err(why) => format!("how sensitive the loss is cannot be said: {why}"),
            Ok(found) => match found.recorded {
                Some((value, expanded)) => {
                    let rest = if value.abs() > expanded {
                        String::new()
                    } else {
                        "; the experiment does not tell it from none".to_owned()
                    };
                    format!(
                        "the loss changes by {value} % ± {expanded} % (k = 2) of itself {}{rest}",
                        self.condition.per()
                    )
                }
                None => "how sensitive the loss is cannot be written as a number".to_owned(),
            },
        }
    }
}

fn lack_of_fit(fitted: &Fit, planned: &[f64], y: &[f64]) -> LackOfFit {
    let smaller = Residual {
        squares: fitted.residual_sum_of_squares,
        degrees_of_freedom: fitted.degrees_of_freedom,
    };
    let test = pure_error(planned, y).map_err(|error| error.to_string()).and_then(|pure| {
        if pure.degrees_of_freedom == 0 {
            return Err("no level was run twice".to_owned());
        }
        extra_sum_of_squares(smaller, pure)
            .map_err(|error| error.to_string())
            .and_then(|test: Result<NestedTest, Undefined>| test.map_err(|why| why.to_string()))
    });
    LackOfFit { test }
}

/// Slope over value at the method's level, from a fit whose zero lies there: for S = c b / a,
/// u²(S) / S² = u²(b) / b² + u²(a) / a² - 2 u(a, b) / (a b) (JCGM 100:2008, 5.2.2), written so that
/// b may be zero.
fn sensitivity(
    condition: Condition,
    nominal: f64,
    there: &Fit,
) -> Result<FoundSensitivity, String> {
    let coefficient = |n: usize| {
        let found = there.coefficients.get(n).ok_or("not fitted")?;
        found.estimate.clone().map_err(|why| why.to_string())
    };
    let (loss, slope) = (coefficient(0)?, coefficient(1)?);
    if loss <= 0.0 {
        return Err("the fitted loss there is not above zero".to_owned());
    }
    // One percent of the condition, or one degree.
    let step = if condition.is_per_percent() { nominal / 100.0 } else { 1.0 };
    let covariance = |one, other| there.covariance(one, other).map_err(|why| why.to_string());
    let (of_loss, of_slope, of_both) = (covariance(0, 0)?, covariance(1, 1)?, covariance(0, 1)?);
    let ratio = slope / loss;
    let variance = (of_slope - 2.0 * ratio * of_both + ratio * ratio * of_loss) / (loss * loss);
    let percent_of_loss = 100.0 * step * ratio;
    let standard_uncertainty = 100.0 * step * variance.max(0.0).sqrt();
    let recorded = with_uncertainty(percent_of_loss, 2.0 * standard_uncertainty);
    Ok(FoundSensitivity { percent_of_loss, standard_uncertainty, recorded })
}
