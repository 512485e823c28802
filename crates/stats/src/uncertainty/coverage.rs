//! Effective degrees of freedom, coverage factor, expanded uncertainty (JCGM 100, annex G).

use crate::distribution::t;
use crate::error::{Figure, StatsError, Undefined, checked, probability};

/// An expanded uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Expanded {
    /// Coverage probability, 0 to 1.
    pub level: f64,
    /// Effective degrees of freedom; none means infinitely many.
    pub freedom: Option<f64>,
    /// Coverage factor: the t quantile at the degrees of freedom rounded down (G.4.1).
    pub factor: f64,
    /// Factor times standard uncertainty, in the unit of the measurand.
    pub uncertainty: f64,
}

/// Effective degrees of freedom by Welch and Satterthwaite: u⁴ / Σ uᵢ⁴/νᵢ, for contributions
/// `(uᵢ, νᵢ)`, where none means that uᵢ is known exactly (JCGM 100, G.4.1). The result is none when
/// all are.
///
/// # Errors
/// `Undefined` when every contribution is zero.
pub fn effective_freedom(contributions: &[(f64, Option<f64>)]) -> Result<Option<f64>, Undefined> {
    // Shares instead of fourth powers: those leave double range for micrograms and for tonnes.
    let total: f64 = checked(contributions.iter().fold(0.0, |sum, (u, _)| libm::hypot(sum, *u)))?;
    if total == 0.0 {
        return Err(Undefined::NoVariation { what: "the measurand" });
    }
    let sum: f64 = contributions
        .iter()
        .filter_map(|(u, freedom)| freedom.map(|freedom| libm::pow(u / total, 4.0) / freedom))
        .sum();
    // Many more degrees of freedom than atoms in a specimen are infinitely many.
    Ok((sum > 1e-30).then(|| 1.0 / sum))
}

/// Expands a standard uncertainty to a coverage probability `level`.
///
/// # Errors
/// When the level is not between 0 and 1.
pub fn expanded(
    standard_uncertainty: f64,
    freedom: Option<f64>,
    level: f64,
) -> Result<Expanded, StatsError> {
    probability("the level", level)?;
    let factor = coverage_factor(freedom, level)?;
    let uncertainty = checked(factor * standard_uncertainty)?;
    Ok(Expanded { level, freedom, factor, uncertainty })
}

fn coverage_factor(freedom: Option<f64>, level: f64) -> Figure {
    let upper = 0.5 + 0.5 * level;
    // Below one degree of freedom there is nothing to round down to.
    let freedom = freedom.map_or(f64::INFINITY, |v| if v >= 1.0 { v.floor() } else { v });
    checked(t::quantile(upper, freedom))
}
