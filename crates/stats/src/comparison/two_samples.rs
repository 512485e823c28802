//! Verification of one party's results by another's: variances by F, then means by t.
//!
//! FHWA-HRT-04-046, chapter 7: two-sided F test at alpha; when it does not reject, the t test with the
//! pooled variance decides, otherwise the one with separate variances (B. L. Welch, Biometrika 34
//! (1947) 28-35). Both t tests are reported, so that nobody has to take the choice on trust.

use crate::describe;
use crate::distribution::{f, t};
use crate::error::{self, Figure, StatsError, Undefined, checked, ratio};

/// A t test of a difference of means.
#[derive(Debug, Clone, PartialEq)]
pub struct TTest {
    /// Difference over its standard error.
    pub t: Figure,
    /// Standard error of the difference.
    pub standard_error: f64,
    /// Degrees of freedom.
    pub freedom: f64,
    /// Two-sided probability of a |t| at least this large by chance.
    pub p: Figure,
    /// |t| from which the difference is significant at alpha.
    pub critical: f64,
}

/// The comparison of two independent sets.
#[derive(Debug, Clone, PartialEq)]
pub struct Verification {
    /// Means of both sets.
    pub means: [f64; 2],
    /// Variances of both sets.
    pub variances: [f64; 2],
    /// Larger variance over smaller.
    pub f: Figure,
    /// Degrees of freedom of the larger and of the smaller variance.
    pub f_freedom: [usize; 2],
    /// Two-sided probability of so large a ratio by chance.
    pub f_p: Figure,
    /// Ratio from which the variances differ significantly at alpha.
    pub f_critical: f64,
    /// Whether the variances may be taken as equal.
    pub equal_variances: bool,
    /// Pooled variance.
    pub pooled_variance: f64,
    /// The t test with the pooled variance.
    pub pooled: TTest,
    /// The t test with separate variances.
    pub welch: TTest,
    /// Degrees of freedom by the formula that some editions of the FHWA text print: n + 1 in the
    /// denominators and 2 taken off at the end.
    pub freedom_n_plus_one: Figure,
}

impl Verification {
    /// The t test that the rule chooses.
    #[must_use]
    pub fn chosen(&self) -> &TTest {
        if self.equal_variances { &self.pooled } else { &self.welch }
    }

    /// Difference of the means, first less second.
    #[must_use]
    pub fn difference(&self) -> f64 {
        self.means[0] - self.means[1]
    }
}

/// Compares two independent sets at `alpha` (0.01 is usual for verification).
///
/// # Errors
/// When a set has fewer than two values, one is not finite, or `alpha` is not between 0 and 1.
pub fn verification(a: &[f64], b: &[f64], alpha: f64) -> Result<Verification, StatsError> {
    error::at_least("the first set", 2, a)?;
    error::at_least("the second set", 2, b)?;
    error::probability("alpha", alpha)?;
    let means = [describe::mean(a)?, describe::mean(b)?];
    let variances = [describe::variance(a)?, describe::variance(b)?];
    let sizes = [a.len() as f64, b.len() as f64];
    let larger = usize::from(variances[1] > variances[0]);
    let smaller = 1 - larger;
    let freedom = [sizes[larger] - 1.0, sizes[smaller] - 1.0];
    let f = if variances[larger] == 0.0 {
        Err(Undefined::NoVariation { what: "either set" })
    } else {
        ratio(variances[larger], variances[smaller], "one of the sets")
    };
    let f_p = match &f {
        Ok(f) => Ok((2.0 * f::above(*f, freedom[0], freedom[1])).min(1.0)),
        Err(why) => Err(why.clone()),
    };
    let f_critical = checked(f::upper_quantile(0.5 * alpha, freedom[0], freedom[1]))?;
    // Without a ratio the variances differ when only one of them is zero.
    let equal_variances = match &f {
        Ok(f) => *f <= f_critical,
        Err(_) => variances[larger] == 0.0,
    };
    let difference = checked(means[0] - means[1])?;
    let pooled_freedom = sizes[0] + sizes[1] - 2.0;
    let pooled_variance = checked(
        ((sizes[0] - 1.0) * variances[0] + (sizes[1] - 1.0) * variances[1]) / pooled_freedom,
    )?;
    let pooled_error = (pooled_variance * (1.0 / sizes[0] + 1.0 / sizes[1])).sqrt();
    let parts = [variances[0] / sizes[0], variances[1] / sizes[1]];
    let total = parts[0] + parts[1];
    let welch_freedom = welch(parts, sizes).unwrap_or(pooled_freedom);
    Ok(Verification {
        means,
        variances,
        f,
        f_freedom: [freedom[0] as usize, freedom[1] as usize],
        f_p,
        f_critical,
        equal_variances,
        pooled_variance,
        pooled: t_test(difference, pooled_error, pooled_freedom, alpha)?,
        welch: t_test(difference, total.sqrt(), welch_freedom, alpha)?,
        freedom_n_plus_one: {
            let shares = [parts[0] / total, parts[1] / total];
            let sum =
                shares[0] * shares[0] / (sizes[0] + 1.0) + shares[1] * shares[1] / (sizes[1] + 1.0);
            ratio(1.0, sum, "either set").map(|v| v - 2.0)
        },
    })
}

/// Degrees of freedom of Welch and Satterthwaite for two variances of means.
pub(super) fn welch(parts: [f64; 2], sizes: [f64; 2]) -> Figure {
    let total = ratio(1.0, parts[0] + parts[1], "either set").map(|_| parts[0] + parts[1])?;
    let shares = [parts[0] / total, parts[1] / total];
    checked(
        1.0 / (shares[0] * shares[0] / (sizes[0] - 1.0) + shares[1] * shares[1] / (sizes[1] - 1.0)),
    )
}

/// A two-sided t test.
pub(super) fn t_test(
    difference: f64,
    standard_error: f64,
    freedom: f64,
    alpha: f64,
) -> Result<TTest, StatsError> {
    let t = ratio(difference, standard_error, "either set");
    Ok(TTest {
        p: t.clone().map(|t| t::two_sided(t, freedom)),
        t,
        standard_error: checked(standard_error)?,
        freedom,
        critical: checked(-t::quantile(0.5 * alpha, freedom))?,
    })
}
