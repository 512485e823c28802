//! Estimates: doubles that statistics give, and the way back to decimals for words and facts.
//!
//! Readings are exact decimals; what is estimated from many of them is a double until it is
//! rounded on purpose, here and nowhere else.

use stonewear_measure::Decimal;

/// A decimal as statistics take it.
pub fn double(value: Decimal) -> f64 {
    // Every decimal has a nearest double.
    f64::try_from(value).unwrap_or_default()
}

/// Decimals as statistics take them.
pub fn doubles(values: &[Decimal]) -> Vec<f64> {
    values.iter().copied().map(double).collect()
}

/// An estimate to so many significant digits; `None` beyond what a decimal holds.
pub fn significant(value: f64, digits: u32) -> Option<Decimal> {
    Decimal::try_from(value).ok()?.round_sf(digits).map(|rounded| rounded.normalize())
}

/// An estimate rounded to so many decimals, a half to the even digit; `None` beyond what a decimal holds.
pub fn rounded(value: f64, decimals: u32) -> Option<Decimal> {
    let exact = Decimal::try_from(value).ok()?;
    let mut rounded = exact.round_dp(decimals);
    // Every decimal that was asked for is shown, also where it is a zero.
    rounded.rescale(decimals);
    Some(if rounded.is_zero() { rounded.abs() } else { rounded })
}

/// An estimate and its uncertainty, the uncertainty to two significant digits and the estimate to the
/// same place (JCGM 100:2008, 7.2.6), at most 9 decimals.
pub fn with_uncertainty(value: f64, uncertainty: f64) -> Option<(Decimal, Decimal)> {
    let places = decimals_for(uncertainty);
    Some((rounded(value, places)?, rounded(uncertainty, places)?))
}

/// The probability of a test, as it is read: `p = 0.017`, and below one in a thousand only that.
pub fn p_in_words(p: f64) -> String {
    if p < 0.001 { "p < 0.001".to_owned() } else { format!("p = {p:.3}") }
}

/// How many decimals show two significant digits of an uncertainty.
pub fn decimals_for(uncertainty: f64) -> u32 {
    if !uncertainty.is_finite() || uncertainty <= 0.0 {
        return 3;
    }
    // Rounding to two digits may carry: 0.0996 becomes 0.10.
    (0..9).find(|places| uncertainty * 10_f64.powi(*places) >= 9.95).unwrap_or(9).unsigned_abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_uncertainty_has_two_digits_and_its_estimate_the_same_place() {
        for (value, uncertainty, shown) in [
            (0.362_51, 0.017_94, ("0.363", "0.018")),
            (-1.0, 0.099_6, ("-1.00", "0.10")),
            (12_034.6, 118.0, ("12035", "118")),
            (0.9, 0.31, ("0.90", "0.31")),
            (0.0001, 0.0, ("0.000", "0.000")),
        ] {
            let (value, uncertainty) = with_uncertainty(value, uncertainty).unwrap();
            assert_eq!((value.to_string().as_str(), uncertainty.to_string().as_str()), shown);
        }
        assert_eq!(p_in_words(0.000_4), "p < 0.001");
        assert_eq!(p_in_words(0.017_2), "p = 0.017");
        assert_eq!(significant(0.051_146_261_6, 4).unwrap().to_string(), "0.05115");
        assert_eq!(significant(123_456.7, 3).unwrap().to_string(), "123000");
        assert_eq!(significant(1e300, 2), None);
        assert_eq!(rounded(f64::NAN, 2), None);
        assert_eq!(rounded(1e40, 2), None);
    }
}
