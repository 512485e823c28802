//! From a response back to the predictor, and the moment when a trend crosses a limit.
//!
//! The interval is Fieller's (E. C. Fieller, Journal of the Royal Statistical Society B 16 (1954)
//! 175-185; N. R. Draper and H. Smith, Applied Regression Analysis, 3rd ed., section 3.2): all x at
//! which the response asked for lies inside the band of the line. When the slope is not
//! significant at the level, that set is not an interval, and this module says which shape it has
//! instead of printing two numbers that bound nothing.

use super::band::Interval;
use super::line::Line;
use crate::distribution::t;
use crate::error::{self, Figure, StatsError, Undefined, checked};
use crate::number;

/// What is set equal to the line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Responses<'a> {
    /// A fixed value that the mean line reaches: a limit.
    MeanLine(f64),
    /// One or more new responses read at the unknown x; their scatter is added, and with several it
    /// also adds to the estimate of it.
    New(&'a [f64]),
}

/// The set of x that the data allow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Crossing {
    /// Between two ends.
    Between(Interval),
    /// The slope is not significant: everything up to `lower` and everything from `upper`.
    Outside(Interval),
    /// The slope is not significant: no x is excluded.
    Anywhere,
}

/// An inverted response, in the unit of x.
#[derive(Debug, Clone, PartialEq)]
pub struct Inverse {
    /// Where the line has the response.
    pub estimate: f64,
    /// Large-sample standard error of it.
    pub standard_error: Figure,
    /// estimate ± t · standard error: the usual approximation.
    pub wald: Result<Interval, Undefined>,
    /// Fieller's set.
    pub crossing: Result<Crossing, Undefined>,
    /// Squared ratio of t to the slope's own t value; from 1 upward the set is unbounded.
    pub g: Figure,
}

/// The x at which the line takes the response, with its two-sided interval at the level (0 to 1).
/// For a one-sided bound at 95 % ask for the two-sided level 0.90 and use one end.
///
/// # Errors
/// When the level is not between 0 and 1, a response is not finite or missing, or the line is
/// level (then no x has the response).
pub fn invert(line: &Line, responses: Responses<'_>, level: f64) -> Result<Inverse, StatsError> {
    error::probability("the level", level)?;
    let (y0, share, squares, freedom) = match responses {
        Responses::MeanLine(limit) => {
            error::finite("the limit", &[limit])?;
            (limit, 0.0, line.residual_squares, line.degrees_of_freedom)
        }
        Responses::New(values) => {
            error::at_least("new responses", 1, values)?;
            let (mean, about) = number::mean_and_squares(values);
            let more = values.len() - 1;
            let squares = line.residual_squares + about.to_f64();
            (mean.to_f64(), 1.0 / values.len() as f64, squares, line.degrees_of_freedom + more)
        }
    };
    if line.slope == 0.0 {
        let why = "the line is level, so no x has that response";
        return Err(Undefined::Because(why).into());
    }
    let from_mean = (y0 - line.intercept) / line.slope - line.x_mean;
    let estimate = checked(line.x_mean + from_mean)?;
    let s: Figure = if freedom == 0 {
        Err(Undefined::TooFew { need: 3, got: line.n })
    } else {
        checked((squares / freedom as f64).sqrt())
    };
    let quantile = t::quantile(0.5 + 0.5 * level, freedom.max(1) as f64);
    let base = share + 1.0 / line.n as f64;
    let about = from_mean * from_mean / line.x_squares;
    let standard_error =
        s.clone().and_then(|s| checked(s / line.slope.abs() * (base + about).sqrt()));
    let g = s.clone().and_then(|s| checked((quantile * s / line.slope).powi(2) / line.x_squares));
    let crossing = s.and_then(|s| {
        let g = g.clone()?;
        let reach = quantile * s / line.slope.abs();
        fieller(line.x_mean, from_mean, reach, base, about, g)
    });
    let wald = standard_error.clone().and_then(|e| Interval::about(estimate, quantile * e));
    Ok(Inverse { estimate, standard_error, wald, crossing, g })
}

/// When the mean line reaches a limit: [`invert`] of the limit.
///
/// # Errors
/// As [`invert`].
pub fn limit_crossing(line: &Line, limit: f64, level: f64) -> Result<Inverse, StatsError> {
    invert(line, Responses::MeanLine(limit), level)
}

/// The roots of (from_mean - u)² = reach² (base + u²/Sxx) with u counted from the mean of x.
fn fieller(
    x_mean: f64,
    from_mean: f64,
    reach: f64,
    base: f64,
    about: f64,
    g: f64,
) -> Result<Crossing, Undefined> {
    let rest = 1.0 - g;
    let discriminant = rest * base + about;
    if rest == 0.0 {
        return Err(Undefined::Because(
            "the slope lies exactly at the border of significance, so the interval has one end",
        ));
    }
    if discriminant < 0.0 {
        return Ok(Crossing::Anywhere);
    }
    let half = reach * discriminant.sqrt();
    let one = checked(x_mean + (from_mean - half) / rest)?;
    let two = checked(x_mean + (from_mean + half) / rest)?;
    let ends = Interval { lower: one.min(two), upper: one.max(two) };
    Ok(if rest > 0.0 { Crossing::Between(ends) } else { Crossing::Outside(ends) })
}
