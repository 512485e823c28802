//! Scores of one laboratory's result (ISO 13528, 9.4 to 9.7).

use crate::error::{self, Figure, StatsError, ratio};

/// The scores. |z| up to 2 is satisfactory, from 3 on asks for action; |E_n| below 1 means that the
/// stated uncertainties cover the difference.
#[derive(Debug, Clone, PartialEq)]
pub struct Scores {
    /// Difference over the standard deviation for proficiency assessment.
    pub z: Figure,
    /// As z, with the uncertainty of the assigned value added.
    pub z_prime: Figure,
    /// Difference over the combined standard uncertainties.
    pub zeta: Figure,
    /// Difference over the combined expanded uncertainties.
    pub e_n: Figure,
    /// Whether the assigned value is too uncertain for z (above 0.3 of the standard deviation), so
    /// that z' is the one to use.
    pub z_prime_required: bool,
}

/// Scores a result `x` with standard uncertainty `u_x` and expanded uncertainty `expanded_x`
/// against an assigned value with its own; `sigma_pt` is the standard deviation for proficiency
/// assessment. All in one unit.
///
/// # Errors
/// When a number is not finite, or a spread is negative.
pub fn scores(
    (x, u_x, expanded_x): (f64, f64, f64),
    (assigned, u_assigned, expanded_assigned): (f64, f64, f64),
    sigma_pt: f64,
) -> Result<Scores, StatsError> {
    error::finite("result and assigned value", &[x, assigned])?;
    for spread in [u_x, expanded_x, u_assigned, expanded_assigned, sigma_pt] {
        error::not_negative("a standard deviation or uncertainty", spread)?;
    }
    let difference = error::checked(x - assigned)?;
    Ok(Scores {
        z: ratio(difference, sigma_pt, "the standard deviation for assessment"),
        z_prime: ratio(difference, libm::hypot(sigma_pt, u_assigned), "the assigned value"),
        zeta: ratio(difference, libm::hypot(u_x, u_assigned), "what is stated as uncertainty"),
        e_n: ratio(
            difference,
            libm::hypot(expanded_x, expanded_assigned),
            "what is stated as uncertainty",
        ),
        z_prime_required: u_assigned > 0.3 * sigma_pt,
    })
}
