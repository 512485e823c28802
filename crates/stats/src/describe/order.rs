//! Median and quantiles.

use crate::error::{self, StatsError};

/// A sorted copy of finite values.
pub(crate) fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
}

/// The middle value, or the mean of the two in the middle.
///
/// # Errors
/// For an empty list, and for values that are not finite.
pub fn median(values: &[f64]) -> Result<f64, StatsError> {
    quantile(values, 0.5)
}

/// The value below which the share `p` (0 to 1) lies, by straight line between neighbours in order:
/// position 1 + (n - 1) p (definition 7 of R. J. Hyndman and Y. Fan, The American Statistician 50
/// (1996) 361-365).
///
/// # Errors
/// For an empty list, values that are not finite, and a `p` outside 0…1.
pub fn quantile(values: &[f64], p: f64) -> Result<f64, StatsError> {
    error::number("values", values)?;
    if values.is_empty() {
        return Err(StatsError::TooFew { what: "values", need: 1, got: 0 });
    }
    error::within("the share", p, (0.0..=1.0).contains(&p), "from 0 to 1")?;
    Ok(quantile_of_sorted(&sorted(values), p))
}

/// As [`quantile`], for values in order, at least one.
pub(crate) fn quantile_of_sorted(sorted: &[f64], p: f64) -> f64 {
    let position = p * (sorted.len() - 1) as f64;
    let low = position.floor() as usize;
    let high = (low + 1).min(sorted.len() - 1);
    let part = position - low as f64;
    // This form cannot overflow between -1e308 and 1e308.
    sorted[low] * (1.0 - part) + sorted[high] * part
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_neighbours() {
        assert_eq!(median(&[3.0, 1.0, 2.0]), Ok(2.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Ok(2.5));
        assert_eq!(quantile(&[1.0, 2.0, 3.0, 4.0], 0.25), Ok(1.75));
        assert_eq!(median(&[1e308, 1e308]), Ok(1e308));
        assert!(median(&[]).is_err());
        assert!(median(&[1.0, f64::NAN]).is_err());
    }
}
